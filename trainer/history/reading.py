"""What is read of the attempts of a history; each line as it was written, or it is said that it isn't."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from operator import itemgetter
from typing import Any

from trainer.history.attempt import COLUMNS, Attempt, attempt_of
from trainer.history.errors import TrainerError
from trainer.history.lines import ATTEMPTS, UNDONE, Lines
from trainer.history.opened import Opened
from trainer.history.seal import Row, damaged, held, none_missing, selected, total

WHOLE = selected("attempts")
CHECK = len(COLUMNS)  # where the check value stands in a row of them
# A call that was taken back counts for nothing.
COUNTS = f"attempts.id NOT IN ({UNDONE})"


class Reading(Opened):
    """A history whose attempts can be read."""

    def attempts(self, level: str | None = None, since: int | None = None) -> list[Attempt]:
        """The attempts that count, in the order they were made; one that was taken back doesn't.

        Parameters
        ----------
        level : str, optional
            Only those of this level.
        since : int, optional
            Only those from this moment on, ms since 1970.
        """
        return [attempt_of(row[:CHECK]) for row in self._select(level, since)]

    def values(
        self, *names: str, level: str | None = None, since: int | None = None, least: int = 0
    ) -> list[tuple[Any, ...]]:
        """Only some values of each attempt that counts, by column names; faster than all of them.

        Columns are those of an export, with ``epoch_ms`` and ``offset_s`` for ``time``; ``potted``
        and ``right`` come as 0 or 1.

        Raises
        ------
        Damaged
            If there aren't as many as are known to be, ``least``.
        """
        for name in names:
            if name not in COLUMNS:
                raise TrainerError(f"no column {name!r}; allowed: {', '.join(COLUMNS)}")
        places = [COLUMNS.index(name) for name in names]
        found = self._select(level, since)
        if len(found) < least:
            raise damaged(self.file, f"of {least} attempts {len(found)} are left")
        return [tuple(row[place] for place in places) for row in found]

    def brief(self, names: Sequence[str], many: int = 5000) -> Iterator[list[Row]]:
        """Some values of each attempt that counts, in order, ``many`` attempts at a time.

        Columns as in :meth:`values`. All come from one state of the history.
        """
        with self._guard() as db:
            some = itemgetter(*(COLUMNS.index(name) for name in names))
            cursor = db.execute(f"SELECT {WHOLE}, {COUNTS} FROM attempts ORDER BY id")
            for rows in none_missing(self.file, db, "attempts", cursor, many):
                yield [some(row) for row in rows if row[-1]]

    def attempts_of(self, ids: Iterable[str]) -> list[Attempt]:
        """The attempts with these ids, in the order they were made."""
        found = list[Row]()
        with self._guard() as db:
            for some in _batches(ids, 500):
                marks = ", ".join("?" * len(some))
                rows = db.execute(f"SELECT {WHOLE} FROM attempts WHERE id IN ({marks})", some).fetchall()
                if len(rows) < len(some):
                    raise damaged(self.file, "a line of attempts is missing")
                found += held(self.file, "attempts", rows)
        return [attempt_of(row[:CHECK]) for row in sorted(found, key=itemgetter(0))]

    def attempts_of_set(self, set_id: str) -> list[Attempt]:
        """The attempts of a set that count, in the order they were made."""
        return [a for a in self._where("set_id = ?", (set_id,)) if a.set_id == set_id]

    def attempts_of_days(self, first: str, last: str, least: int = 0) -> Iterator[Attempt]:
        """The attempts of the local days from one to another that count, in the order they were made.

        They are read as they are asked for, by their ids: of busy days there are more than one wants to have
        at once, or to sort.

        Raises
        ------
        Damaged
            If there aren't as many as are known to be, ``least``.
        """
        with self._guard() as db:
            sql = f"SELECT id FROM attempts WHERE local_day BETWEEN ? AND ? AND {COUNTS} ORDER BY id"
            ids = [attempt_id for (attempt_id,) in db.execute(sql, (first, last))]
        found = 0
        for some in _batches(ids, 500):
            for attempt in self.attempts_of(some):
                if first <= attempt.local_day <= last:
                    found += 1
                    yield attempt
        if found < least:
            raise damaged(self.file, f"of {least} attempts {found} are left")

    def attempts_after(self, attempt_id: str) -> list[Attempt]:
        """The attempts that were made after one, that count, in order."""
        return self._where("id > ?", (attempt_id,))

    def count_after(self, attempt_id: str) -> int:
        """How many attempts were made after one, also those that don't count."""
        with self._guard() as db:
            (later,) = db.execute("SELECT count(*) FROM attempts WHERE id > ?", (attempt_id,)).fetchone()
            return int(later)

    def last_attempts(self, many: int) -> list[Attempt]:
        """So many of the last attempts that count, in the order they were made."""
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {WHOLE} FROM attempts WHERE {COUNTS} ORDER BY id DESC LIMIT ?", (many,)
            ).fetchall()
            return [attempt_of(row[:CHECK]) for row in reversed(held(self.file, "attempts", rows))]

    def last_id_before(self, day: str) -> str:
        """The id of the last attempt of a local day before this one; '' if there is none."""
        with self._guard() as db:
            row = db.execute(
                f"SELECT {WHOLE} FROM attempts WHERE local_day < ? ORDER BY id DESC LIMIT 1", (day,)
            ).fetchall()
            return str(held(self.file, "attempts", row)[0][0]) if row else ""

    def _where(self, condition: str, values: Sequence[str]) -> list[Attempt]:
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {WHOLE} FROM attempts WHERE {condition} AND {COUNTS} ORDER BY id", values
            ).fetchall()
            return [attempt_of(row[:CHECK]) for row in held(self.file, "attempts", rows)]

    def last_call(self) -> tuple[Attempt, bool] | None:
        """The last attempt of all, and whether it has been taken back; None before the first."""
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {WHOLE}, NOT {COUNTS} FROM attempts ORDER BY id DESC LIMIT 1"
            ).fetchall()
            held(self.file, "attempts", rows)
        return (attempt_of(rows[0][:CHECK]), bool(rows[0][-1])) if rows else None

    def count(self) -> int:
        """How many attempts there are that count."""
        with self._guard() as db:
            (undone,) = db.execute("SELECT count(DISTINCT attempt_id) FROM undone NOT INDEXED").fetchone()
            return total(self.file, db, "attempts") - int(undone)

    def ever(self) -> int:
        """How many attempts there are, those that were taken back among them."""
        with self._guard() as db:
            return total(self.file, db, "attempts")

    def days(self) -> list[str]:
        """The local days with practice, in order; one whose calls were all taken back is none."""
        with self._guard() as db:
            rows = db.execute(f"SELECT DISTINCT local_day FROM attempts WHERE {COUNTS} ORDER BY 1").fetchall()
        return [day for (day,) in rows]

    def _select(self, level: str | None, since: int | None) -> Sequence[Row]:
        with self._guard() as db:
            if level is None and since is None:
                cursor = db.execute(f"SELECT {WHOLE}, {COUNTS} FROM attempts ORDER BY id")
                batches = none_missing(self.file, db, "attempts", cursor)
                return [row for rows in batches for row in rows if row[-1]]
            rows = db.execute(
                f"SELECT {WHOLE} FROM attempts WHERE (:level IS NULL OR level = :level) "
                f"AND (:since IS NULL OR epoch_ms >= :since) AND {COUNTS} ORDER BY id",
                {"level": level, "since": since},
            ).fetchall()
            return held(self.file, "attempts", rows)

    def rows(self, many: int = 1000, kind: Lines = ATTEMPTS) -> Iterator[list[Row]]:
        """Every line of a kind as it is stored, in order of its ``whole``, ``many`` at a time.

        Those that were taken back are among them, each with when it was. All come from one state of
        the history, whatever is added meanwhile.
        """
        with self._guard() as db:
            check = len(kind.columns)
            for rows in none_missing(self.file, db, kind.table, db.execute(kind.every), many):
                if kind.undoable and any((row[-2] is None) == row[-1] for row in rows):
                    raise damaged(self.file, "an index isn't that of its table")
                yield [(*row[:check], *row[check + 1 : -1]) if kind.undoable else row[:check] for row in rows]


def _batches(values: Iterable[str], many: int) -> Iterator[tuple[str, ...]]:
    rest = iter(values)
    while some := tuple(islice(rest, many)):
        yield some
