"""Where levels are found: the built-in ones and the player's own."""

import difflib
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from trainer.shots.level import Level
from trainer.shots.plain import plain
from trainer.shots.reading import LevelError, read_level

SUFFIX = ".toml"
MOST_BYTES = 64 * 1024  # a level is a page of text; more is a mistake


@dataclass(frozen=True)
class Shelf:
    """Every level that can be played, in the order of the path, and the problems of those that can't."""

    levels: tuple[Level, ...]
    problems: tuple[str, ...] = ()

    def find(self, name: str) -> Level:
        """The level of this name; LookupError names the nearest ones."""
        for level in self.levels:
            if level.name == name:
                return level
        names = [level.name for level in self.levels]
        near = difflib.get_close_matches(name, names, 1, 0.5)
        hint = f"did you mean {near[0]}?" if near else f"levels: {', '.join(names)}"
        raise LookupError(f"no level is called {name!r}; {hint}")


def built_in() -> Traversable:
    """The folder of the built-in levels.

    A wheel carries them inside the package. In an editable install or a bare checkout they lie
    beside it, at the top of the repository.
    """
    inside = resources.files("trainer") / "levels"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[2] / "levels"


def open_shelf(own: Path | None = None) -> Shelf:
    """Read the built-in levels and those in the folder ``own``, where there is one.

    An own level with a built-in one's name takes its place.
    """
    found: dict[str, Level] = {}
    problems: list[str] = []
    folders: list[Traversable] = [built_in()]
    if own is not None and own.is_dir():
        folders.append(own)
    for folder in folders:
        for file in sorted(folder.iterdir(), key=lambda f: f.name):
            if not file.name.endswith(SUFFIX):
                continue
            try:
                level = read_file(file)
            except LevelError as error:
                problems.extend(error.problems)
            else:
                found[level.name] = level
    ordered = sorted(found.values(), key=lambda level: (level.place, level.name))
    return Shelf(tuple(ordered), tuple(problems))


def read_file(file: Traversable) -> Level:
    """Read one level file; LevelError holds every problem, an unreadable file among them."""
    name = file.name.removesuffix(SUFFIX)
    where = plain(str(file))
    if not name or not all(c.isascii() and (c.isalnum() or c in "-_") for c in name):
        raise LevelError([f"{where}: a level's file name holds letters, digits, - and _, then .toml"])
    # Opening a pipe would wait for somebody to write to it.
    if isinstance(file, Path) and file.exists() and not (file.is_file() or file.is_dir()):
        raise LevelError([f"{where}: not a file"])
    try:
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise LevelError([f"{where}: can't be read: {error.strerror or error}"]) from None
    if len(raw) > MOST_BYTES:
        raise LevelError([f"{where}: larger than {MOST_BYTES // 1024} KiB; a level is a page of text"])
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise LevelError([f"{where}: not UTF-8 text, at byte {error.start}"]) from None
    return read_level(text, name, where)
