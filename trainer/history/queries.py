"""What is read of a history."""

import sqlite3
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from operator import itemgetter
from pathlib import Path
from typing import Any

from trainer.history.attempt import ATTEMPTS, Attempt
from trainer.history.errors import Damaged, TrainerError, damaged
from trainer.history.layout import LAYOUTS, KeptLayout
from trainer.history.note import NOTES, Note
from trainer.history.record import Record, Row, T, names_of
from trainer.history.schema import check, explain, refuse_outdated

COLUMNS = names_of(ATTEMPTS.columns, "attempts.")
LOOK = ("set_id", "number", "view", "drill", "cut_deg", "right")
# A call that was taken back counts for nothing.
COUNTS = "attempts.id NOT IN (SELECT attempt_id FROM undone)"
# One look into the index for each day, instead of one for each call.
DAYS = f"""
    WITH RECURSIVE days(day) AS (
        SELECT min(local_day) FROM attempts WHERE {COUNTS}
        UNION ALL
        SELECT (SELECT min(local_day) FROM attempts WHERE local_day > day AND {COUNTS})
        FROM days WHERE day IS NOT NULL
    )
    SELECT day FROM days WHERE day IS NOT NULL
"""
# A sign for each call, in the order of the index: that is by day and id. Nothing tells a run sooner.
DAY_COUNTS = f"""
    SELECT local_day, group_concat("right", ''), group_concat(potted, '')
    FROM attempts INDEXED BY attempts_by_day WHERE {COUNTS} GROUP BY local_day ORDER BY local_day
"""


@dataclass(frozen=True)
class Day:
    """A local day with practice: calls, right ones, potted ones, and the longest runs of both."""

    day: str
    calls: int
    right: int
    potted: int
    best_run: int
    best_run_of_pots: int


class Queries:
    """An open history as it is read: one thread at a time."""

    def __init__(self, file: Path, connection: sqlite3.Connection):
        self.file = file
        self._db = connection
        self._lock = threading.RLock()
        self._damage: Damaged | None = None  # what was found beside

    @contextmanager
    def _guard(self) -> Iterator[sqlite3.Connection]:
        """One thread at a time, and SQLite's errors in clear words."""
        with self._lock:
            if self._damage is not None:
                raise self._damage
            try:
                yield self._db
            except sqlite3.Error as error:
                refuse_outdated(self._db, self.file)  # what a newer version has changed is no damage
                raise explain(self.file, error) from None
            except UnicodeEncodeError:
                raise TrainerError("a text holds lone surrogates; allowed: Unicode") from None

    def check(self) -> None:
        """Check the whole file.

        Raises
        ------
        TrainerError
            If it is damaged.
        """
        with self._guard() as db:
            check(db, self.file)

    def _made(self, kind: Record[T], rows: Iterable[Row]) -> list[T]:
        """The records that rows hold."""
        try:
            return [kind.of_row(row) for row in rows]
        except (ValueError, TypeError, LookupError, RecursionError):  # changed by hand
            raise damaged(self.file, f"a value of {kind.table} is none that the trainer writes") from None

    # Attempts

    def attempts(self, level: str | None = None, since: int | None = None) -> list[Attempt]:
        """The attempts that count, in the order they were made; one that was taken back doesn't.

        Parameters
        ----------
        level : str, optional
            Only those of this level.
        since : int, optional
            Only those from this moment on, ms since 1970.
        """
        wanted = [COUNTS]
        if level is not None:
            wanted.append("level = :level")
        if since is not None:
            wanted.append("epoch_ms >= :since")
        sql = f"SELECT {COLUMNS} FROM attempts WHERE {' AND '.join(wanted)} ORDER BY id"
        with self._guard() as db:
            return self._made(ATTEMPTS, db.execute(sql, {"level": level, "since": since}))

    def brief(self, names: Sequence[str], many: int = 5000, level: str | None = None) -> Iterator[list[Row]]:
        """Some values of each attempt that counts, in order, ``many`` at a time; of a level, if one is named.

        Columns are those of an export, with ``epoch_ms`` and ``offset_s`` for ``time``; ``potted`` and
        ``right`` come as 0 or 1. All come from one state of the history.
        """
        with self._guard() as db:
            of_level = "" if level is None else "level = :level AND "
            sql = f"SELECT {_known(names)} FROM attempts WHERE {of_level}{COUNTS} ORDER BY id"
            cursor = db.execute(sql, {"level": level})
            while rows := cursor.fetchmany(many):
                yield rows

    def attempts_of(self, ids: Iterable[str]) -> list[Attempt]:
        """The attempts with these ids, in the order they were made."""
        found = list[Row]()
        with self._guard() as db:
            for some in _batches(ids, 500):
                marks = ", ".join("?" * len(some))
                found += db.execute(f"SELECT {COLUMNS} FROM attempts WHERE id IN ({marks})", some).fetchall()
        return self._made(ATTEMPTS, sorted(found, key=itemgetter(0)))

    def attempts_of_set(self, set_id: str) -> list[Attempt]:
        """The attempts of a set that count, in the order they were made."""
        return self._where("set_id = ?", (set_id,))

    def attempts_of_days(self, first: str, last: str) -> Iterator[Attempt]:
        """The attempts of the local days from one to another that count, in the order they were made.

        They are read as they are asked for, by their ids: of busy days there are more than one wants to have
        at once, or to sort.
        """
        with self._guard() as db:
            sql = f"SELECT id FROM attempts WHERE local_day BETWEEN ? AND ? AND {COUNTS} ORDER BY id"
            ids = [attempt_id for (attempt_id,) in db.execute(sql, (first, last))]
        for some in _batches(ids, 500):
            yield from self.attempts_of(some)

    def attempts_after(self, attempt_id: str) -> list[Attempt]:
        """The attempts that were made after one, that count, in order."""
        return self._where("id > ?", (attempt_id,))

    def count_after(self, attempt_id: str) -> int:
        """How many attempts were made after one, also those that don't count."""
        return int(self._one("SELECT count(*) FROM attempts WHERE id > ?", attempt_id)[0])

    def last_attempts(self, many: int, drills: Sequence[str] = ()) -> list[Attempt]:
        """So many of the last attempts that count, in the order they were made; of ``drills``, if any."""
        named = f"drill IN ({', '.join('?' * len(drills))}) AND " if drills else ""
        sql = f"SELECT {COLUMNS} FROM attempts WHERE {named}{COUNTS} ORDER BY id DESC LIMIT ?"
        with self._guard() as db:
            rows = db.execute(sql, (*drills, many)).fetchall()
        return self._made(ATTEMPTS, reversed(rows))

    def last_id_before(self, day: str) -> str:
        """The id of the last attempt of a local day before this one; '' if there is none."""
        (last,) = self._one("SELECT max(id) FROM attempts WHERE local_day < ?", day)
        return str(last or "")

    def last_call(self) -> tuple[Attempt, bool] | None:
        """The last attempt of all, and whether it has been taken back; None before the first."""
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {COLUMNS}, NOT {COUNTS} FROM attempts ORDER BY id DESC LIMIT 1"
            ).fetchall()
        return (self._made(ATTEMPTS, rows)[0], bool(rows[0][-1])) if rows else None

    def _where(self, condition: str, values: Sequence[str]) -> list[Attempt]:
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {COLUMNS} FROM attempts WHERE {condition} AND {COUNTS} ORDER BY id", values
            ).fetchall()
        return self._made(ATTEMPTS, rows)

    # Counts

    def count(self, day: str | None = None) -> int:
        """How many attempts there are that count, over all or on a local day."""
        if day is not None:
            return int(self._one(f"SELECT count(*) FROM attempts WHERE local_day = ? AND {COUNTS}", day)[0])
        (undone,) = self._one("SELECT count(DISTINCT attempt_id) FROM undone")
        return self.ever() - int(undone)

    def has_calls(self) -> bool:
        """Whether there is any attempt that counts."""
        return bool(self._one(f"SELECT EXISTS (SELECT 1 FROM attempts WHERE {COUNTS})")[0])

    def ever(self) -> int:
        """How many attempts there are, those that were taken back among them."""
        return int(self._one("SELECT count(*) FROM attempts")[0])

    def days(self) -> list[str]:
        """The local days with practice, in order; one whose calls were all taken back is none."""
        with self._guard() as db:
            return [day for (day,) in db.execute(DAYS)]

    def day_counts(self) -> tuple[list[Day], int]:
        """What each local day with practice comes to, in order, and the longest run of pots over all."""
        with self._guard() as db:
            rows = db.execute(DAY_COUNTS).fetchall()
        days = [Day(day, len(r), r.count("1"), p.count("1"), _longest(r), _longest(p)) for day, r, p in rows]
        return days, _longest("".join(pots for *_, pots in rows))

    def count_of_level(self, level: str) -> int:
        """How many attempts of a level count."""
        return int(self._one(f"SELECT count(*) FROM attempts WHERE level = ? AND {COUNTS}", level)[0])

    def longest_set(self, level: str, since: str) -> int:
        """How many attempts count of that set of a level which has most since a local day."""
        sql = f"""SELECT count(*) FROM attempts WHERE level = ? AND local_day >= ? AND {COUNTS}
            GROUP BY set_id"""
        with self._guard() as db:
            return max((int(many) for (many,) in db.execute(sql, (level, since))), default=0)

    def calls_of_level(self, level: str) -> Iterator[tuple[str, bool]]:
        """Drill, and whether it was right, of each attempt of a level that counts, in order."""
        sql = f'SELECT drill, "right" FROM attempts WHERE level = ? AND {COUNTS} ORDER BY id'
        with self._guard() as db:
            for drill, right in db.execute(sql, (level,)):
                yield drill, bool(right)

    def days_of_level(self, level: str) -> list[str]:
        """The local days with attempts of a level that count, in order."""
        sql = f"SELECT DISTINCT local_day FROM attempts WHERE level = ? AND {COUNTS} ORDER BY local_day"
        with self._guard() as db:
            return [day for (day,) in db.execute(sql, (level,))]

    def sets_of_level(self, level: str) -> list[list[bool]]:
        """Whether each attempt was right, of each set of a level, in order; of those that count."""
        sql = f'SELECT set_id, "right" FROM attempts WHERE level = ? AND {COUNTS} ORDER BY id'
        found = dict[str, list[bool]]()
        with self._guard() as db:
            for set_id, right in db.execute(sql, (level,)):
                found.setdefault(set_id, []).append(bool(right))
        return list(found.values())

    def looks_of_level(self, level: str) -> Iterator[Row]:
        """Set, number, view, drill, cut and whether it was right, of each attempt of a level that counts."""
        sql = f"SELECT {names_of(LOOK)} FROM attempts WHERE level = ? AND {COUNTS} ORDER BY id"
        with self._guard() as db:
            yield from db.execute(sql, (level,))

    def _one(self, sql: str, *values: Any) -> Row:
        with self._guard() as db:
            row: Row = db.execute(sql, values).fetchone()
        return row

    # All of a kind

    def rows(self, many: int = 1000, kind: Record[Any] = ATTEMPTS) -> Iterator[list[Row]]:
        """Every record of a kind as it is stored, in order of its ``whole``, ``many`` at a time.

        Those that were taken back are among them, each with when it was. All come from one state of
        the history, whatever is added meanwhile.
        """
        with self._guard() as db:
            cursor = db.execute(kind.every)
            while rows := cursor.fetchmany(many):
                yield rows

    def notes(self) -> list[Note]:
        """Every note and every line that takes one back, in the order they were made."""
        return self._made(NOTES, (row for rows in self.rows(kind=NOTES) for row in rows))

    def layouts(self) -> list[KeptLayout]:
        """Every layout of every card, in the order they were made."""
        return self._made(LAYOUTS, (row for rows in self.rows(kind=LAYOUTS) for row in rows))


def _known(names: Sequence[str]) -> str:
    """Columns of attempts for SQL."""
    for name in names:
        if name not in ATTEMPTS.columns:
            raise TrainerError(f"no column {name!r}; allowed: {', '.join(ATTEMPTS.columns)}")
    return names_of(names)


def _longest(signs: str) -> int:
    """The longest run of ones."""
    return max(map(len, signs.split("0")))


def _batches(values: Iterable[str], many: int) -> Iterator[tuple[str, ...]]:
    rest = iter(values)
    while some := tuple(islice(rest, many)):
        yield some
