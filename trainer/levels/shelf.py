"""Where levels and tables are found: the built-in ones and the player's own."""

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from trainer.geometry.tables import TABLES, Table
from trainer.levels.level import Level
from trainer.levels.reading import read_level
from trainer.levels.table_file import read_table_file, with_own
from trainer.levels.toml_reader import SUFFIX, FileError, read_text


@dataclass(frozen=True)
class Shelf:
    """Every level that can be played, in the order of the path, and the tables they may be played on.

    ``problems`` are those of the files that can't be used.
    """

    levels: tuple[Level, ...]
    problems: tuple[str, ...] = ()
    tables: Mapping[str, Table] = field(default_factory=lambda: TABLES)

    def find(self, name: str) -> Level:
        """The level of this name; LookupError names the nearest ones."""
        for level in self.levels:
            if level.name == name:
                return level
        for problem in self.problems:
            if Path(problem.partition(f"{SUFFIX}: ")[0]).name == name:
                raise LookupError(problem)
        names = [level.name for level in self.levels]
        near = difflib.get_close_matches(name, names, 1, 0.5)
        hint = f"did you mean {near[0]}?" if near else f"levels: {', '.join(names)}"
        raise LookupError(f"no level is called {name!r}; {hint}")


def built_in() -> Traversable:
    """The folder of the built-in levels.

    A wheel carries them inside the package. In an editable install or a bare checkout they lie
    beside it, at the top of the repository.
    """
    inside = resources.files("trainer.levels") / "built_in"
    return inside if inside.is_dir() else Path(__file__).resolve().parents[2] / "levels"


def open_shelf(own: Path | None = None, own_tables: Path | None = None) -> Shelf:
    """Read the built-in levels and tables and those in the folders ``own`` and ``own_tables``.

    A folder that isn't there holds nothing. An own level with a built-in one's name takes its place;
    so does an own table whose file says so, see :mod:`trainer.levels.table_file`.
    """
    tables, table_problems = read_tables(own_tables)
    every = with_own(tables)
    found: dict[str, Level] = {}
    problems = list(table_problems)
    folders: list[Traversable] = [built_in()]
    if own is not None and own.is_dir():
        folders.append(own)
    for folder in folders:
        for file in _files(folder):
            try:
                # The built-in levels have shots on the built-in tables: tests hold that, and it takes long.
                level = read_file(file, every, drawn=folder is not folders[0] or bool(tables))
            except FileError as error:
                problems.extend(error.problems)
            else:
                found[level.name] = level
    ordered = sorted(found.values(), key=lambda level: (level.place, level.name))
    return Shelf(tuple(ordered), tuple(problems), every)


def read_tables(folder: Path | None) -> tuple[dict[str, Table], tuple[str, ...]]:
    """The player's own tables by name, and the problems of the files that can't be used."""
    found: dict[str, Table] = {}
    problems: list[str] = []
    if folder is not None and folder.is_dir():
        for file in _files(folder):
            try:
                table = read_table_file(file)
            except FileError as error:
                problems.extend(error.problems)
            else:
                found[table.name] = table
    return found, tuple(problems)


def read_file(file: Traversable, tables: Mapping[str, Table] = TABLES, *, drawn: bool = True) -> Level:
    """Read one level file; FileError holds every problem, an unreadable file among them.

    ``drawn``: draw some of its shots too, to see that there are any.
    """
    name, where, text = read_text(file, "level")
    return read_level(text, name, where, tables, drawn=drawn)


def _files(folder: Traversable) -> Iterator[Traversable]:
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if file.name.endswith(SUFFIX):
            yield file
