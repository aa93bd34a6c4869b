"""Two histories become one: every line once, and an attempt one that was taken back on either side is.

The union doesn't depend on which side takes in the other: ids tell attempts apart, and of several lines
that say when a call was taken back the earliest counts.
"""

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trainer.history.attempt import UNDONE
from trainer.history.clock import Moment
from trainer.history.record import Record, Row, names_of

INCOMING = "staging.incoming"  # the table of what is to be merged
Line = tuple[str, int, int, str, str]  # id, epoch_ms, offset_s, zone, local_day

NEWLY_UNDONE = (
    "i.undone_ms IS NOT NULL AND NOT EXISTS (SELECT 1 FROM undone WHERE attempt_id = i.id "
    "AND (undone.epoch_ms, undone.offset_s) <= (i.undone_ms, i.undone_s))"
)


class Clash(Exception):
    """Rows to merge whose ids are there with other values; ``places`` is where they came from."""

    def __init__(self, places: tuple[int, ...]):
        super().__init__(f"{len(places)} ids are there with other values")
        self.places = places


@dataclass(frozen=True)
class Merged:
    """How many lines were added, how many were there already, and how many calls don't count any more."""

    added: int
    already_there: int
    undone: int = 0


@contextmanager
def staged(
    db: sqlite3.Connection, rows: Iterable[tuple[int, Row]], kind: Record[Any], aside: Path
) -> Iterator[None]:
    """Rows in order of the kind's ``whole``, each with the place it came from, in a table of their own.

    It is in a file ``aside``, which is gone at the end: a large history's would not fit into memory.
    """
    db.execute("ATTACH ? AS staging", (str(aside),))
    try:
        # Nobody needs it afterwards. Real numbers have no declared type: see ``fields.Number``.
        db.execute("PRAGMA staging.journal_mode = OFF").fetchone()
        db.execute("PRAGMA staging.synchronous = OFF")
        db.execute("BEGIN")
        rest = names_of(kind.whole[1:])
        db.execute(
            f"CREATE TABLE {INCOMING} (id TEXT, place INTEGER, {rest}, PRIMARY KEY (id, place)) WITHOUT ROWID"
        )
        marks = ", ".join("?" * (len(kind.whole) + 1))
        lines = ((row[0], place, *row[1:]) for place, row in rows)
        db.executemany(f"INSERT INTO {INCOMING} VALUES ({marks})", lines)
        db.execute("COMMIT")
        yield
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")
        db.execute("DETACH staging")
        aside.unlink(missing_ok=True)


def merge_staged(db: sqlite3.Connection, kind: Record[Any], line: Callable[[Moment], Line]) -> Merged:
    """Add what is staged and isn't there yet; ``line`` gives the beginning of a line for a moment.

    Raises
    ------
    Clash
        If an id is there with other values.
    """
    columns = names_of(kind.columns)
    staged, first = db.execute(f"SELECT count(*), min(id) FROM {INCOMING}").fetchone()
    added = db.execute(
        f"INSERT INTO {kind.table} ({columns}) SELECT {columns} FROM {INCOMING} WHERE true "
        "ORDER BY id, place ON CONFLICT (id) DO NOTHING"
    ).rowcount
    clashes = db.execute(
        f"SELECT i.place FROM {INCOMING} AS i JOIN {kind.table} AS a ON a.id = i.id "
        f"WHERE ({names_of(kind.columns, 'a.')}) IS NOT ({names_of(kind.columns, 'i.')}) ORDER BY i.place"
    ).fetchall()
    if clashes:
        raise Clash(tuple(place for (place,) in clashes))
    if added and kind.undoable:
        drop_snapshots(db, first)
    return Merged(added, staged - added, _merge_undone(db, line) if kind.undoable else 0)


def _merge_undone(db: sqlite3.Connection, line: Callable[[Moment], Line]) -> int:
    """Add that staged attempts were taken back; how many more don't count now."""
    before = _undone(db)
    taken_back = db.execute(
        f"SELECT id, undone_ms, undone_s FROM {INCOMING} AS i WHERE {NEWLY_UNDONE} ORDER BY 2, 3, 1"
    ).fetchall()
    for attempt_id, ms, offset_s in taken_back:
        add_undone(db, attempt_id, line(Moment(ms, offset_s)))
    return _undone(db) - before


def add_undone(db: sqlite3.Connection, attempt_id: str, line: Line) -> None:
    """The line that takes a call back."""
    db.execute(UNDONE.insert, (line[0], attempt_id, *line[1:]))
    drop_snapshots(db, attempt_id)


def drop_snapshots(db: sqlite3.Connection, attempt_id: str) -> None:
    """Drop what follows from this attempt among others: it counts from now on, or no more."""
    db.execute("DELETE FROM snapshots WHERE last_id >= ?", (attempt_id,))


def _undone(db: sqlite3.Connection) -> int:
    return int(db.execute("SELECT count(DISTINCT attempt_id) FROM undone").fetchone()[0])
