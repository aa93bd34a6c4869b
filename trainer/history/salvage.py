"""What is still whole in a damaged history: the lines that are as they were written."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from trainer.history.errors import Damaged
from trainer.history.lines import ATTEMPTS, NOTES, Lines, names_of
from trainer.history.merging import Clash
from trainer.history.seal import COUNTED, Row, held, selected, total
from trainer.history.store import History

# What reading a line or a page may come to; SQLite's own message may hold what was read, and be no text.
BROKEN = (Damaged, sqlite3.Error, UnicodeDecodeError)


@dataclass(frozen=True)
class Saved:
    """Calls and notes that a damaged history gave, and how many of its calls are nowhere any more; None where
    it doesn't say how many it had.
    """

    calls: int
    notes: int
    lost: int | None


def salvage(history: History, file: Path) -> Saved:
    """Add to a history what is whole in a damaged one and missing here.

    ``file`` is left as it is; a log beside it belongs to it.

    Raises
    ------
    TrainerError
        If the history can't be written.
    """
    with _opened_copy(file) as db:
        had = {table: _total(file, db, table) for table in COUNTED}
        added = {}
        for kind in (ATTEMPTS, NOTES):
            with suppress(Clash):  # then the copy knows better
                whole = enumerate(_whole(file, db, kind, had))
                added[kind.table] = history.merge(whole, kind, copied=False).added
    many, there = had["attempts"], history.ever()
    return Saved(
        added.get("attempts", 0), added.get("notes", 0), None if many is None else max(many - there, 0)
    )


@contextmanager
def _opened_copy(file: Path) -> Iterator[sqlite3.Connection]:
    """A copy of the damaged file with its log, where SQLite may do what it likes."""
    with TemporaryDirectory(dir=file.parent) as folder:
        for ending in ("", "-wal"):
            with suppress(FileNotFoundError):
                shutil.copyfile(f"{file}{ending}", Path(folder) / f"{file.name}{ending}")
        with closing(sqlite3.connect(Path(folder) / file.name, isolation_level=None)) as db:
            db.text_factory = lambda raw: raw.decode(errors="replace")
            db.execute("PRAGMA cell_size_check = ON")
            db.execute("PRAGMA temp_store = MEMORY")
            yield db


def _total(file: Path, db: sqlite3.Connection, table: str) -> int | None:
    with suppress(*BROKEN):
        return total(file, db, table)
    return None


def _whole(file: Path, db: sqlite3.Connection, kind: Lines, had: dict[str, int | None]) -> Iterator[Row]:
    """The lines of a kind that are as they were written, in order of its ``whole``."""
    undone: dict[str, Row] = {}
    if kind.undoable:
        for _, attempt_id, *when in _lines(file, db, "undone", had["undone"]):
            moment = when[0], when[1]
            undone[attempt_id] = min(undone.get(attempt_id, moment), moment)
    for row in _lines(file, db, kind.table, had[kind.table]):
        yield (*row, *undone.get(row[0], (None, None))) if kind.undoable else row


def _lines(file: Path, db: sqlite3.Connection, table: str, many: int | None) -> Iterator[Row]:
    for line_id in sorted(_ids(db, table, many)):
        with suppress(*BROKEN):
            rows = db.execute(
                f"SELECT {selected(table)} FROM {table} NOT INDEXED WHERE id = ?", (line_id,)
            ).fetchall()
            yield from (row[:-1] for row in held(file, table, rows))


def _ids(db: sqlite3.Connection, table: str, many: int | None) -> set[str]:
    """The ids that can still be read: from either end of the table, and of each of its indices, to where
    something is broken.
    """
    found: set[Any] = set()
    ways = [("NOT INDEXED", ["id"])]
    with suppress(*BROKEN):
        for (name,) in db.execute(
            f"SELECT name FROM pragma_index_list('{table}') WHERE origin = 'c'"
        ).fetchall():
            columns = db.execute(f"SELECT name FROM pragma_index_info('{name}')").fetchall()
            ways.append((f'INDEXED BY "{name}"', [column for (column,) in columns]))
    for way, columns in ways:
        for order in ("ASC", "DESC"):
            by = names_of(columns).replace(",", f" {order},")
            with suppress(*BROKEN):
                for (line_id,) in db.execute(f"SELECT id FROM {table} {way} ORDER BY {by} {order}"):
                    found.add(line_id)
            found = {line_id for line_id in found if isinstance(line_id, str)}
            if len(found) == many:
                return found
    return found
