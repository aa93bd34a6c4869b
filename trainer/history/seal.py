"""A check value for every line of the history: it tells of damage that SQLite can't see."""

import sqlite3
import struct
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import lru_cache
from itertools import compress
from operator import lt
from pathlib import Path
from typing import Any

from trainer.history.attempt import COLUMNS
from trainer.history.errors import Damaged, shown
from trainer.history.fields import FORBIDDEN
from trainer.history.lines import NOTES, names_of

Row = tuple[Any, ...]

# The columns that the check of a line is over, in order. A step that adds a column to one of these tables
# seals its lines anew.
SEALED: dict[str, tuple[str, ...]] = {
    "attempts": COLUMNS,
    "undone": ("id", "attempt_id", "epoch_ms", "offset_s", "zone", "local_day"),
    "notes": NOTES.columns,
    "sets": ("id", "epoch_ms", "offset_s", "zone", "level", "drill", "seed", "shots", "finished"),
    "settings": ("key", "value"),
    "derived": ("name", "last_id", "attempts", "undone", "text"),
}
COUNTED = ("attempts", "undone", "notes", "sets")  # whose lines ``totals`` counts
FUNCTION = "line_check"


def line_check(values: Sequence[Any]) -> int:
    """The check of a line's values: the same with every version of Python and of SQLite."""
    reals, others, pack = _parted(tuple(map(type, values)))
    told = ascii([*compress(values, others)]).encode()
    return zlib.crc32(pack(*compress(values, reals)), zlib.crc32(told))


@lru_cache(maxsize=256)  # the lines of a table are of few such kinds
def _parted(kinds: tuple[type, ...]) -> tuple[list[bool], list[bool], Callable[..., bytes]]:
    """Which values of a line are real numbers, which aren't, and what packs the former."""
    reals = [kind is float for kind in kinds]
    return reals, [not real for real in reals], struct.Struct(f"<{sum(reals)}d").pack


def is_plain(values: Sequence[Any]) -> bool:
    """Whether no text among a line's values could be obeyed by a terminal: none such was ever kept."""
    text = "".join([value for value in values if value.__class__ is str])
    return text.isprintable() or FORBIDDEN.search(text) is None


def teach(db: sqlite3.Connection) -> None:
    """Let SQL on this connection work out the check of a line's values."""
    db.create_function(FUNCTION, -1, lambda *values: line_check(values), deterministic=True)


def check_of(table: str, columns: Iterable[str] | None = None) -> str:
    """SQL for the check of a line of a table."""
    return f"{FUNCTION}({names_of(SEALED[table] if columns is None else columns)})"


def inserting(table: str) -> str:
    """SQL that adds a line to a table, or to the one that it takes the place of."""
    columns = (*SEALED[table], "check")
    return f"INTO {table} ({names_of(columns)}) VALUES ({', '.join('?' * len(columns))})"


def with_check(values: Sequence[Any]) -> Row:
    """A line's values as :func:`inserting` takes them."""
    return (*values, line_check(values))


def selected(table: str) -> str:
    """The columns to select for :func:`held`."""
    return names_of((*SEALED[table], "check"), f"{table}.")


def held(file: Path, table: str, rows: Sequence[Row]) -> Sequence[Row]:
    """Rows that begin with what :func:`selected` selects, each as it was when it was written.

    Raises
    ------
    Damaged
        If one isn't.
    """
    many = len(SEALED[table])
    for row in rows:
        values = row[:many]
        if line_check(values) != row[many] or not is_plain(values):
            raise damaged(file, f"a line of {table} isn't as it was written")
    return rows


def all_held(file: Path, db: sqlite3.Connection, table: str) -> Iterator[Row]:
    """Every line of a table in order; at the end also none is missing."""
    cursor = db.execute(f"SELECT {selected(table)} FROM {table} NOT INDEXED ORDER BY 1")
    for rows in none_missing(file, db, table, cursor):
        yield from rows


def none_missing(
    file: Path, db: sqlite3.Connection, table: str, cursor: sqlite3.Cursor, many: int = 1000
) -> Iterator[list[Row]]:
    """What a cursor over every line of a table gives, see :func:`held`, ``many`` at a time.

    Raises
    ------
    Damaged
        If a line isn't as it was written, or not in its place, or if one is missing.
    """
    # Others may add lines meanwhile, and never take one away.
    least, found, last = total(file, db, table) if table in COUNTED else 0, 0, ""
    while rows := cursor.fetchmany(many):
        ids = [last, *(row[0] for row in held(file, table, rows))]
        if not all(map(lt, ids, ids[1:])):
            raise damaged(file, f"the lines of {table} are not in their order")
        last = ids[-1]
        found += len(rows)
        yield rows
    if table in COUNTED and not least <= found <= total(file, db, table):
        raise damaged(file, f"of {table} {found} lines are left of {least}")


def total(file: Path, db: sqlite3.Connection, name: str) -> int:
    """How many lines a table has; or another number of the history's own: its version, its schema's check.

    Raises
    ------
    Damaged
        If that isn't known any more.
    """
    row = db.execute('SELECT n, totals."check" FROM totals WHERE name = ?', (name,)).fetchone()
    if row is None or row[0].__class__ is not int or row[1] != ~row[0]:
        raise damaged(file, f"the number of {name} isn't as it was written")
    return int(row[0])


def version_kept(file: Path, db: sqlite3.Connection) -> int | None:
    """The version that a history says a second time; None where it is older than that."""
    with suppress(sqlite3.OperationalError):
        return total(file, db, "version")
    return None


def check_few(file: Path, db: sqlite3.Connection) -> None:
    """Check the lines of all tables that are small, and that every number is known."""
    for name in COUNTED:
        total(file, db, name)
    for table in ("undone", "notes", "settings"):
        for _ in all_held(file, db, table):
            pass


def check_all(file: Path, db: sqlite3.Connection) -> None:
    """Check every line; those apart that follow from others, and can be worked out again."""
    for table in SEALED:
        if table != "derived":
            for _ in all_held(file, db, table):
                pass


def damaged(file: Path, why: str) -> Damaged:
    """What is said of a damaged history."""
    return Damaged(
        f"{shown(file)} is damaged ({why}) and is left as it is; trainer backups lists what trainer "
        "restore can put in its place, or move it away and import your last export",
        file,
        why,
    )
