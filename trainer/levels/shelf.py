"""Where levels and tables are found: the built-in ones and the player's own."""

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from trainer.geometry.tables import TABLES, Table
from trainer.levels.level import Level
from trainer.levels.reading import read_level
from trainer.levels.table_file import read_table_file, with_own
from trainer.levels.toml_reader import SUFFIX, FileError, read_text


class Shelf:
    """Every level that can be played, and the tables they may be played on.

    A level's file is read when somebody asks for the level, and once.

    Parameters
    ----------
    built_in, own : mapping of str to Traversable
        The files of the built-in levels and of the player's own, by the names of the levels. An own one takes
        the place of a built-in one, unless it can't be used.
    tables : mapping of str to Table
        The tables that a level may name.
    problems : sequence of str
        What is wrong with files of tables.
    drawn : bool
        Draw shots of built-in levels too, to see that there are any; of own ones it is always done.
    """

    def __init__(
        self,
        built_in: Mapping[str, Traversable],
        own: Mapping[str, Traversable],
        tables: Mapping[str, Table],
        problems: Sequence[str],
        *,
        drawn: bool,
    ):
        self.tables = tables
        self._built_in, self._own, self._drawn = built_in, own, drawn
        self._problems = tuple(problems)
        self._read: dict[str, Level | None] = {}
        self._wrong: dict[str, list[str]] = {}

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """Every level, in the order of the path."""
        return self.some(self.names)

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all files, also of those that can't be used."""
        return tuple(dict.fromkeys((*self._built_in, *self._own)))

    @property
    def problems(self) -> tuple[str, ...]:
        """Those of the files that can't be used."""
        self.some(self.names)
        return (*self._problems, *(each for name in self.names for each in self._wrong.get(name, ())))

    def some(self, names: Iterable[str]) -> tuple[Level, ...]:
        """The levels of these names that can be used, in the order of the path."""
        found = [level for level in map(self._level, names) if level is not None]
        return tuple(sorted(found, key=lambda level: (level.place, level.name)))

    def path(self) -> Iterator[Level]:
        """Every level in the order of the path, whose shots are drawn when it is its turn, not before.

        Where a file can't be read as a level, all are looked at first, as for :attr:`levels`.
        """
        try:
            places = [(self._place(name), name) for name in self.names]
        except FileError:
            yield from self.levels
            return
        for _, name in sorted(places):
            level = self._level(name)
            if level is not None:
                yield level

    def _place(self, name: str) -> int:
        """Where a level stands on the path, as its file says; FileError where that can't be used."""
        level, file = self._read.get(name), self._own.get(name) or self._built_in[name]
        return (level or read_file(file, self.tables, drawn=False)).place

    def _level(self, name: str) -> Level | None:
        """The level of this name; None where there is none that can be used."""
        if name not in self._read:
            self._read[name] = None
            for files, drawn in ((self._own, True), (self._built_in, self._drawn)):
                if name in files and self._read[name] is None:
                    try:
                        self._read[name] = read_file(files[name], self.tables, drawn=drawn)
                    except FileError as error:
                        self._wrong.setdefault(name, []).extend(error.problems)
        return self._read[name]

    def find(self, name: str) -> Level:
        """The level of this name; LookupError names the nearest ones."""
        level = self._level(name)
        if level is not None:
            return level
        if name in self._wrong:
            raise LookupError(self._wrong[name][0])
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
    tables, problems = read_tables(own_tables)
    # The built-in levels have shots on the built-in tables: tests hold that, and it takes long.
    mine = own if own is not None and own.is_dir() else None
    return Shelf(_named(built_in()), _named(mine), with_own(tables), problems, drawn=bool(tables))


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


def _named(folder: Traversable | None) -> dict[str, Traversable]:
    """The files of a folder by the names of what they hold."""
    return {} if folder is None else {file.name.removesuffix(SUFFIX): file for file in _files(folder)}


def _files(folder: Traversable) -> Iterator[Traversable]:
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if file.name.endswith(SUFFIX):
            yield file
