"""The history: attempts, sets, notes from the table and settings in one SQLite file."""

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from trainer.history import backups, merging
from trainer.history.attempt import Attempt, values_of
from trainer.history.attempt_fields import FIELDS, NAMES
from trainer.history.clock import Moment
from trainer.history.errors import Damaged, TrainerError, shown
from trainer.history.fields import BadValue
from trainer.history.lines import ATTEMPTS, NOTES, Lines
from trainer.history.merging import Merged
from trainer.history.note import Note, note_of, note_values
from trainer.history.reading import COUNTS, Reading
from trainer.history.schema import check, explain
from trainer.history.seal import (
    Row,
    all_held,
    check_of,
    held,
    inserting,
    line_check,
    selected,
    total,
    with_check,
)

# Attempts of a set among the next after its beginning, without the index that may be damaged.
LOOKED_AT = 200  # sets
LAST_CALL = f"(SELECT max(id) FROM attempts WHERE set_id = sets.id AND {COUNTS})"
LATER = "SELECT 1 FROM sets AS later WHERE (later.level, later.drill) = (sets.level, sets.drill)"
LEFT = (
    f"SELECT {selected('sets')}, {LAST_CALL} AS last FROM sets "
    "WHERE id IN (SELECT id FROM sets ORDER BY id DESC LIMIT ?) AND NOT finished "
    f"AND NOT EXISTS ({LATER} AND later.id > sets.id) AND last IS NOT NULL ORDER BY id DESC"
)
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


class History(Reading):
    """A history to read and to write. Threads may share it, and other programs may have it open too."""

    # Attempts

    def append(self, attempt: Attempt) -> None:
        """Keep an attempt; it is on disk when this returns.

        Raises
        ------
        TrainerError
            If a value isn't allowed, the id is there already, or it can't be written.
        """
        self._add(ATTEMPTS, [*values_of(attempt), None])

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
        TrainerError
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

    def _add(self, kind: Lines, values: list[Any]) -> None:
        what, column = kind.one.rpartition(" ")[2], ""
        try:
            for i, field in enumerate(kind.fields):
                column = field.name
                values[i] = field.check(values[i])
            for column, together in kind.together:  # noqa: B007 (told below)
                together(values)
        except BadValue as error:
            raise TrainerError(f"{what}, {column}: {error}") from None
        row = kind.row_of(values)[: len(kind.columns)]
        with self._writing() as db:
            try:
                db.execute(f"INSERT {inserting(kind.table)}", with_check(row))
            except sqlite3.IntegrityError:
                raise TrainerError(f"{what} {values[0]} is in the history already") from None

    # Taking back

    def undo(self, attempt_id: str) -> bool:
        """Take a call back: a line is added that says so, and it counts for nothing from now on.

        Returns
        -------
        bool
            False if that was done before; then nothing is added.

        Raises
        ------
        TrainerError
            If there is no such attempt, or it can't be written.
        """
        with self._writing() as db:
            if db.execute("SELECT 1 FROM undone WHERE attempt_id = ?", (attempt_id,)).fetchone():
                return False
            try:
                merging.add_undone(db, attempt_id, self._line(self.clock.now()))
            except sqlite3.IntegrityError:
                raise TrainerError(f"{shown(self.file)} has no attempt {attempt_id!r}") from None
        return True

    def _line(self, moment: Moment) -> tuple[str, int, int, str, str]:
        """What every line has: id, the three parts of its moment, and the local day."""
        return (self.new_id(moment), moment.epoch_ms, moment.offset_s, moment.zone, self.day_of(moment))

    # Notes from the table

    def append_note(self, note: Note) -> None:
        """Keep a note, or a line that takes one back; it is on disk when this returns.

        Raises
        ------
        TrainerError
            If a value isn't allowed, the id is there already, or it can't be written.
        """
        self._add(NOTES, note_values(note))

    def notes(self) -> list[Note]:
        """Every note and every line that takes one back, in the order they were made."""
        with self._guard() as db:
            return [note_of(row[:-1]) for row in all_held(self.file, db, "notes")]

    # Sets

    def start_set(self, level: str, drill: str, seed: int, shots: int) -> PlayedSet:
        """Begin a set; its shots are drawn from ``seed``, and ``shots`` of them are planned."""
        if not -(2**63) <= seed < 2**63:
            raise TrainerError(f"a seed of {seed} is too large; allowed: up to 2^63")
        for name, value in (("level", level), ("drill", drill), ("of", shots)):
            try:
                FIELDS[NAMES.index(name)].check(value)
            except BadValue as error:
                raise TrainerError(f"set, {name}: {error}") from None
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
                raise TrainerError(f"{shown(self.file)} has no set {set_id!r}")

    def left_sets(self) -> list[tuple[str, str, str]]:
        """Sets that may have been left before their end, the last first: level, drill, id of the last call.

        Each has calls, isn't finished, and is the last of its level and drill; it is one of the last
        ``LOOKED_AT`` sets.
        """
        with self._guard() as db:
            rows = held(self.file, "sets", db.execute(LEFT, (LOOKED_AT,)).fetchall())
            return [(str(row[4]), str(row[5]), str(row[-1])) for row in rows]

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
