"""The history: attempts, sets, notes from the table and settings in one SQLite file."""

import sqlite3
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from itertools import islice
from operator import itemgetter
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from trainer.records import backups, merging
from trainer.records.attempt import (
    COLUMNS,
    Attempt,
    attempt_of,
    check_stroke,
    row_of,
    values_of,
)
from trainer.records.clock import ROLLOVER_HOUR, Clock, Moment, local_day
from trainer.records.errors import Damaged, RecordsError, shown
from trainer.records.fields import FIELDS, NAMES, BadValue
from trainer.records.folder import make_folder
from trainer.records.ids import Ids
from trainer.records.lines import ATTEMPTS, NOTES, UNDONE, Lines
from trainer.records.merging import Merged
from trainer.records.note import Note, note_of, note_row, note_values
from trainer.records.schema import check, connect, explain, reading
from trainer.records.seal import (
    Row,
    all_held,
    check_of,
    damaged,
    held,
    inserting,
    line_check,
    none_missing,
    selected,
    total,
    with_check,
)

FILE = "history.sqlite3"
COPIED_AT_ONCE = 8_000_000  # bytes: up to this size the day's copy takes no time that a player would notice
WHOLE = selected("attempts")
CHECK = len(COLUMNS)  # where the check value stands in a row of them
# A call that was taken back counts for nothing.
COUNTS = f"attempts.id NOT IN ({UNDONE})"
# Attempts of a set among the next after its beginning, without the index that may be damaged.
AT_LEAST = (
    "SELECT count(*) FROM (SELECT set_id FROM attempts NOT INDEXED WHERE id > ?1 ORDER BY id LIMIT 2000) "
    "WHERE set_id = ?1"
)


@dataclass(frozen=True)
class PlayedSet:
    """A set as it was begun; ``done`` is the number of its attempts so far, also of those taken back."""

    id: str
    level: str
    drill: str
    seed: int
    shots: int
    done: int
    finished: bool = False


class Records:
    """An open history. Threads may share it, and other programs may have it open too.

    Before the first write of a local day a copy is kept, see :mod:`trainer.records.backups`; one that takes
    its time is made while play goes on. Where that fails ``backup_problem`` says why, at the latest when the
    history is closed; else it is ''. ``rollover_hour`` is the hour at which
    a day begins, 0 to 23: for what is kept from now on.
    """

    def __init__(
        self, file: Path, connection: sqlite3.Connection, clock: Clock, rollover_hour: int = ROLLOVER_HOUR
    ):
        self.file = file
        self.clock = clock
        self.rollover_hour = rollover_hour
        self._db = connection
        self._lock = threading.RLock()
        self._ids = Ids()
        self._copied_day = ""
        self._copying: threading.Thread | None = None
        self.backup_problem = ""
        self._note_last_id()

    @classmethod
    def open(cls, folder: Path, clock: Clock, rollover_hour: int = ROLLOVER_HOUR) -> Self:
        """Open the history of a data folder; both are created where they aren't there yet.

        ``rollover_hour`` is the hour at which a day begins, see :class:`Records`.

        Raises
        ------
        RecordsError
            If the folder can't be used, or the history is newer, damaged, not ours or in use.
        """
        make_folder(folder)
        file = folder / FILE

        def keep_old(old: sqlite3.Connection) -> None:
            backups.keep(old, folder, local_day(clock.now(), rollover_hour), backups.MIGRATION)

        connection = connect(file, keep_old)
        try:
            return cls(file, connection, clock, rollover_hour)
        except BaseException:
            connection.close()
            raise

    def close(self) -> None:
        """Close the file, when a copy under way is whole; may be called twice."""
        self.wait_for_copy()
        with self._lock:
            self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @contextmanager
    def _guard(self) -> Iterator[sqlite3.Connection]:
        """One thread at a time, and SQLite's errors in clear words."""
        with self._lock:
            try:
                yield self._db
            except (sqlite3.Error, UnicodeDecodeError) as error:
                raise explain(self.file, error) from None
            except UnicodeEncodeError:
                raise RecordsError("a text holds lone surrogates; allowed: Unicode") from None

    @contextmanager
    def _writing(self, *, copied: bool = True) -> Iterator[sqlite3.Connection]:
        """All or nothing; what can be worked out again needs no copy before."""
        with self._guard() as db:
            if copied:
                self._copy_daily()
            db.execute("BEGIN IMMEDIATE")
            try:
                yield db
                db.execute("COMMIT")
            except BaseException:
                # A full disk may have rolled it back already.
                if db.in_transaction:
                    db.execute("ROLLBACK")
                raise

    def _copy_daily(self) -> None:
        """Keep the day's copy; a large one is made beside, of the history as it is now."""
        day = self.today
        if day == self._copied_day:
            return
        self._copied_day = day
        try:
            if not backups.daily_is_due(self.file.parent, day):
                return
            if self.file.stat().st_size <= COPIED_AT_ONCE:
                backups.keep(self._db, self.file.parent, day, backups.DAILY)
                return
            self.wait_for_copy()
            state = reading(self.file)
        except (RecordsError, OSError) as error:
            self.backup_problem = str(error)
            return
        self._copying = threading.Thread(target=self._copy_beside, args=(state, day), name="daily copy")
        self._copying.start()

    def _copy_beside(self, state: sqlite3.Connection, day: str) -> None:
        with closing(state):
            try:
                backups.keep(state, self.file.parent, day, backups.DAILY)
            except RecordsError as error:
                self.backup_problem = str(error)

    def wait_for_copy(self) -> None:
        """Wait until a copy that is being made beside is whole."""
        if self._copying is not None:
            self._copying.join()
            self._copying = None

    def _note_last_id(self) -> None:
        with self._guard() as db:
            for table in ("attempts", "sets", "undone", "notes"):
                (last,) = db.execute(f"SELECT max(id) FROM {table}").fetchone()
                if last is not None:
                    self._ids.seen(last)

    def new_id(self, moment: Moment) -> str:
        """An id for a line; ids sort in the order they are given out."""
        return self._ids.new(moment.epoch_ms)

    def day_of(self, moment: Moment) -> str:
        """The player's day that a moment counts for, ``YYYY-MM-DD``: to be frozen with what is kept."""
        return local_day(moment, self.rollover_hour)

    @property
    def today(self) -> str:
        """The player's day it is, ``YYYY-MM-DD``."""
        return self.day_of(self.clock.now())

    # Attempts

    def append(self, attempt: Attempt) -> None:
        """Keep an attempt; it is on disk when this returns.

        Raises
        ------
        RecordsError
            If a value isn't allowed, the id is there already, or it can't be written.
        """
        values = values_of(attempt)
        for i, field in enumerate(FIELDS):
            try:
                values[i] = field.check(values[i])
            except BadValue as error:
                raise RecordsError(f"attempt, {field.name}: {error}") from None
        try:
            check_stroke(values)
        except BadValue as error:
            raise RecordsError(f"attempt, stroke: {error}") from None
        with self._writing() as db:
            try:
                db.execute(f"INSERT {inserting('attempts')}", with_check(row_of(values)))
            except sqlite3.IntegrityError:
                raise RecordsError(f"attempt {attempt.id} is in the history already") from None

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
                raise RecordsError(f"no column {name!r}; allowed: {', '.join(COLUMNS)}")
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

    # What follows from the attempts

    def get_derived(self, name: str) -> str | None:
        """A text that was kept with :meth:`put_derived`; None where there is none, or the attempts that it
        follows from aren't there as they were.
        """
        with self._guard() as db:
            try:
                row = db.execute(
                    f"SELECT {selected('derived')} FROM derived WHERE name = ?", (name,)
                ).fetchone()
            except (sqlite3.Error, UnicodeDecodeError) as error:
                if isinstance(explain(self.file, error), Damaged):
                    return None  # it can be had again
                raise
            if row is None or line_check(row[:-1]) != row[-1]:
                return None
            _, last_id, attempts, undone, text, _ = row
            all_there = total(self.file, db, "attempts")
            (later,) = db.execute("SELECT count(*) FROM attempts WHERE id > ?", (last_id,)).fetchone()
            same = attempts == all_there - later and undone == self._undone_up_to(db, last_id)
        return str(text) if same else None

    def put_derived(self, name: str, last_id: str, text: str) -> None:
        """Keep a text that follows from the attempts up to one of them, and can be worked out again."""
        with self._writing(copied=False) as db:
            (later,) = db.execute("SELECT count(*) FROM attempts WHERE id > ?", (last_id,)).fetchone()
            attempts = total(self.file, db, "attempts") - later
            row = (name, last_id, attempts, self._undone_up_to(db, last_id), text)
            db.execute(f"INSERT OR REPLACE {inserting('derived')}", with_check(row))

    @staticmethod
    def _undone_up_to(db: sqlite3.Connection, last_id: str) -> int:
        (count,) = db.execute(
            "SELECT count(*) FROM undone NOT INDEXED WHERE attempt_id <= ?", (last_id,)
        ).fetchone()
        return int(count)

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

    def merge(
        self, rows: Iterable[tuple[int, Row]], kind: Lines = ATTEMPTS, *, copied: bool = True
    ) -> Merged:
        """Add rows that aren't there yet, and that calls were taken back; all or nothing.

        Parameters
        ----------
        rows : iterable of (place, row)
            Checked rows in order of the kind's ``whole``, each with the place it came from. If getting the
            next one raises, nothing is written.
        kind : Lines
            What they are.
        copied : bool
            Keep a copy of the history as it is before.

        Raises
        ------
        Clash
            If an id is there with other values.
        RecordsError
            If the copy of the history that is kept before can't be.
        """
        self.wait_for_copy()
        with self._guard() as db:
            # Staged aside first, so that nobody waits while the rows are read.
            with merging.staged(db, rows, kind, backups.new_part(self.file.parent)):
                if copied:
                    backups.keep(db, self.file.parent, self.today, backups.IMPORT)
                with self._writing(copied=copied):
                    merged = merging.merge_staged(db, kind, self._line, self.file)
            self._note_last_id()
        return merged

    # Taking back

    def last_call(self) -> tuple[Attempt, bool] | None:
        """The last attempt of all, and whether it has been taken back; None before the first."""
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {WHOLE}, NOT {COUNTS} FROM attempts ORDER BY id DESC LIMIT 1"
            ).fetchall()
            held(self.file, "attempts", rows)
        return (attempt_of(rows[0][:CHECK]), bool(rows[0][-1])) if rows else None

    def undo(self, attempt_id: str) -> bool:
        """Take a call back: a line is added that says so, and it counts for nothing from now on.

        Returns
        -------
        bool
            False if that was done before; then nothing is added.

        Raises
        ------
        RecordsError
            If there is no such attempt, or it can't be written.
        """
        with self._writing() as db:
            if db.execute("SELECT 1 FROM undone WHERE attempt_id = ?", (attempt_id,)).fetchone():
                return False
            try:
                merging.add_undone(db, attempt_id, self._line(self.clock.now()))
            except sqlite3.IntegrityError:
                raise RecordsError(f"{shown(self.file)} has no attempt {attempt_id!r}") from None
        return True

    def _line(self, moment: Moment) -> tuple[str, int, int, str, str]:
        """What every line has: id, the three parts of its moment, and the local day."""
        return (self.new_id(moment), moment.epoch_ms, moment.offset_s, moment.zone, self.day_of(moment))

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

    def check(self) -> None:
        """Check the whole file.

        Raises
        ------
        RecordsError
            If it is damaged.
        """
        with self._guard() as db:
            check(db, self.file)

    # Notes from the table

    def append_note(self, note: Note) -> None:
        """Keep a note, or a line that takes one back; it is on disk when this returns.

        Raises
        ------
        RecordsError
            If a value isn't allowed, the id is there already, or it can't be written.
        """
        values, column = note_values(note), ""
        try:
            for i, field in enumerate(NOTES.fields):
                column = field.name
                values[i] = field.check(values[i])
            for column, together in NOTES.together:  # noqa: B007 (told below)
                together(values)
        except BadValue as error:
            raise RecordsError(f"note, {column}: {error}") from None
        with self._writing() as db:
            try:
                db.execute(f"INSERT {inserting('notes')}", with_check(note_row(values)))
            except sqlite3.IntegrityError:
                raise RecordsError(f"note {note.id} is in the history already") from None

    def notes(self) -> list[Note]:
        """Every note and every line that takes one back, in the order they were made."""
        with self._guard() as db:
            return [note_of(row[:-1]) for row in all_held(self.file, db, "notes")]

    # Sets

    def start_set(self, level: str, drill: str, seed: int, shots: int) -> PlayedSet:
        """Begin a set; its shots are drawn from ``seed``, and ``shots`` of them are planned."""
        if not -(2**63) <= seed < 2**63:
            raise RecordsError(f"a seed of {seed} is too large; allowed: up to 2^63")
        for name, value in (("level", level), ("drill", drill), ("of", shots)):
            try:
                FIELDS[NAMES.index(name)].check(value)
            except BadValue as error:
                raise RecordsError(f"set, {name}: {error}") from None
        moment = self.clock.now()
        played = PlayedSet(self.new_id(moment), level, drill, seed, shots, 0, False)
        with self._writing() as db:
            row = (played.id, moment.epoch_ms, moment.offset_s, moment.zone, level, drill, seed, shots, 0)
            db.execute(f"INSERT {inserting('sets')}", with_check(row))
        return played

    def unfinished_set(self, level: str, drill: str) -> PlayedSet | None:
        """The last set of this level and drill, if it isn't finished."""
        with self._guard() as db:
            rows = db.execute(
                f"SELECT {selected('sets')}, (SELECT count(*) FROM attempts WHERE set_id = sets.id) "
                "FROM sets WHERE level = ? AND drill = ? ORDER BY id DESC LIMIT 1",
                (level, drill),
            ).fetchall()
            for set_id, _, _, _, *of, finished, _, done in held(self.file, "sets", rows):
                if not finished:
                    if db.execute(AT_LEAST, (set_id,)).fetchone()[0] > done:
                        check(db, self.file)  # an index isn't that of its table
                    return PlayedSet(set_id, of[0], of[1], of[2], of[3], done)
        return None

    def finish_set(self, set_id: str) -> None:
        """Say that a set is over."""
        with self._writing() as db:
            where = "WHERE id = ?"
            sealed = db.execute(f"SELECT {selected('sets')} FROM sets {where}", (set_id,)).fetchall()
            held(self.file, "sets", sealed)
            db.execute(f"UPDATE sets SET finished = 1 {where}", (set_id,))
            db.execute(f'UPDATE sets SET "check" = {check_of("sets")} {where}', (set_id,))
            if not sealed:
                raise RecordsError(f"{shown(self.file)} has no set {set_id!r}")

    def last_level(self) -> tuple[str, str] | None:
        """Level and drill that were played last, None before the first."""
        with self._guard() as db:
            for table in ("sets", "attempts"):  # an import brings attempts without their sets
                sql = f"SELECT {selected(table)}, level, drill FROM {table} ORDER BY id DESC LIMIT 1"
                for *_, level, drill in held(self.file, table, db.execute(sql).fetchall()):
                    return str(level), str(drill)
        return None

    # Settings

    def get_setting(self, key: str, default: str | None = None) -> str | None:
        """A setting's value, or ``default``."""
        with self._guard() as db:
            found = {row[0]: row[1] for row in all_held(self.file, db, "settings")}
        return found.get(key, default)

    def put_setting(self, key: str, value: str) -> None:
        """Keep a setting."""
        with self._writing() as db:
            db.execute(f"INSERT OR REPLACE {inserting('settings')}", with_check((key, value)))


def _batches(values: Iterable[str], many: int) -> Iterator[tuple[str, ...]]:
    rest = iter(values)
    while some := tuple(islice(rest, many)):
        yield some
