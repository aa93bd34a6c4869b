"""The history: attempts, sets, notes from the table and settings in one SQLite file."""

import os
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

from trainer.history import backup as backups
from trainer.history import held
from trainer.history import merge as merging
from trainer.history.attempt import ATTEMPTS, Attempt
from trainer.history.clock import ROLLOVER_HOUR, Clock, Moment
from trainer.history.errors import Outdated, TrainerError, shown
from trainer.history.fields import BadValue
from trainer.history.layout import LAYOUTS, KeptLayout
from trainer.history.merge import Merged
from trainer.history.note import NOTES, Note
from trainer.history.queries import COUNTS
from trainer.history.record import Record, Row
from trainer.history.upkeep import ADD_SET, FILE, Upkeep

__all__ = ["FILE", "History", "PlayedSet"]

LOOKED_AT = 200  # sets
DONE = "(SELECT count(*) FROM attempts WHERE set_id = sets.id)"
LAST_CALL = f"(SELECT max(id) FROM attempts WHERE set_id = sets.id AND {COUNTS})"
LATER = "SELECT 1 FROM sets AS later WHERE (later.level, later.drill) = (sets.level, sets.drill)"
LEFT = (
    f"SELECT level, drill, {LAST_CALL} AS last FROM sets "
    "WHERE id IN (SELECT id FROM sets ORDER BY id DESC LIMIT ?) AND NOT finished "
    f"AND NOT EXISTS ({LATER} AND later.id > sets.id) AND last IS NOT NULL ORDER BY id DESC"
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


class History(Upkeep):
    """A history to read and to write. Threads may share it, and other programs may have it open too."""

    @classmethod
    def open(
        cls,
        folder: Path,
        clock: Clock,
        rollover_hour: int = ROLLOVER_HOUR,
        *,
        asks: bool = False,
        repairing: bool = False,
    ) -> Self:
        found = super().open(folder, clock, rollover_hour, asks=asks, repairing=repairing)
        try:
            if found.unwritten is None and os.path.exists(folder / held.FILE):
                for kind, rows in held.rows(folder):
                    found.merge(rows, kind, copied=False)
                held.let_go(folder)
        except BaseException:
            found.close()
            raise
        return found

    # Records

    def append(self, attempt: Attempt) -> None:
        """Keep an attempt; it is on disk when this returns.

        Raises
        ------
        TrainerError
            If a value isn't allowed, the id is there already, or it can't be written.
        """
        self._add(ATTEMPTS, attempt)
        self._played = True

    def append_note(self, *notes: Note) -> None:
        """Keep notes, or lines that take one back, all or none; they are on disk when this returns.

        Raises
        ------
        TrainerError
            If a value isn't allowed, the id is there already, or it can't be written.
        """
        self._add(NOTES, *notes)

    def append_card(self, layouts: Iterable[KeptLayout]) -> None:
        """Keep the layouts of a card, all or none; they are on disk when this returns.

        Raises
        ------
        TrainerError
            If a value isn't allowed, an id is there already, or they can't be written.
        """
        self._add(LAYOUTS, *layouts)

    def _add(self, kind: Record[Any], *records: Attempt | Note | KeptLayout) -> None:
        what = kind.one.rpartition(" ")[2]
        try:
            rows = [kind.row_of(kind.check(kind.values_of(one))) for one in records]
        except BadValue as error:
            raise TrainerError(f"{what}, {error.column}: {error}") from None
        try:
            with self._writing() as db:
                for row in rows:
                    try:
                        db.execute(kind.insert, row)
                    except sqlite3.IntegrityError:
                        raise TrainerError(f"{what} {row[0]} is in the history already") from None
                    if kind is ATTEMPTS:
                        merging.drop_snapshots(db, row[0])
        except Outdated:
            for row in rows:
                held.hold(self.file.parent, kind, row)
            raise

    def merge(
        self, rows: Iterable[tuple[int, Row]], kind: Record[Any] = ATTEMPTS, *, copied: bool = True
    ) -> Merged:
        """Add rows that aren't there yet, and that calls were taken back; all or nothing.

        Parameters
        ----------
        rows : iterable of (place, row)
            Checked rows in order of the kind's ``whole``, each with the place it came from. If getting the
            next one raises, nothing is written.
        kind : Record
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
        self._make()
        self.wait_for_copy()
        with self._guard() as db:
            # Staged aside first, so that nobody waits while the rows are read.
            with merging.staged(db, rows, kind, backups.new_part(self.file.parent)):
                if copied:
                    backups.keep(db, self.file.parent, self.today, backups.IMPORT)
                with self._writing(copied=copied):
                    merged = merging.merge_staged(db, kind, self._line)
            self._note_last_id()
        return merged

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
        """What every line has, in the order of its columns."""
        own, ms, offset_s, zone, day = self.line_at(moment).values()
        return own, ms, offset_s, zone, day

    # Sets

    def start_set(self, level: str, drill: str, seed: int, shots: int) -> PlayedSet:
        """Begin a set; its shots are drawn from ``seed``, and ``shots`` of them are planned."""
        if not -(2**63) <= seed < 2**63:
            raise TrainerError(f"a seed of {seed} is too large; allowed: up to 2^63")
        for name, value in (("level", level), ("drill", drill), ("of", shots)):
            try:
                ATTEMPTS.field(name).check(value)
            except BadValue as error:
                raise TrainerError(f"set, {name}: {error}") from None
        moment = self.clock.now()
        played = PlayedSet(self.new_id(moment), level, drill, seed, shots, 0, False)
        row = (played.id, moment.epoch_ms, moment.offset_s, moment.zone, level, drill, seed, shots, 0)
        with self._writing(copied=self._is_made) as db:
            db.execute(ADD_SET, row)
        return played

    def unfinished_set(self, level: str, drill: str) -> PlayedSet | None:
        """The last set of this level and drill, if it isn't finished."""
        with self._guard() as db:
            row = db.execute(
                f"SELECT id, level, drill, seed, shots, {DONE}, finished FROM sets "
                "WHERE level = ? AND drill = ? ORDER BY id DESC LIMIT 1",
                (level, drill),
            ).fetchone()
        return None if row is None or row[-1] else PlayedSet(*row[:-1])

    def finish_set(self, set_id: str) -> None:
        """Say that a set is over."""
        with self._writing() as db:
            if not db.execute("UPDATE sets SET finished = 1 WHERE id = ?", (set_id,)).rowcount:
                raise TrainerError(f"{shown(self.file)} has no set {set_id!r}")

    def left_sets(self) -> list[tuple[str, str, str]]:
        """Sets that may have been left before their end, the last first: level, drill, id of the last call.

        Each has calls, isn't finished, and is the last of its level and drill; it is one of the last
        ``LOOKED_AT`` sets.
        """
        with self._guard() as db:
            return db.execute(LEFT, (LOOKED_AT,)).fetchall()

    # Settings

    def get_setting(self, key: str, default: str | None = None) -> str | None:
        """A setting's value, or ``default``."""
        with self._guard() as db:
            row = db.execute('SELECT value FROM settings WHERE "key" = ?', (key,)).fetchone()
        return default if row is None else str(row[0])

    def put_setting(self, key: str, value: str) -> None:
        """Keep a setting."""
        with self._writing() as db:
            db.execute("INSERT OR REPLACE INTO settings VALUES (?, ?)", (key, value))

    # What follows from the attempts

    def get_snapshot(self, name: str) -> tuple[str, str] | None:
        """What was kept with :meth:`put_snapshot`: id and text.

        None where there is none, or the attempts up to that one have changed since.
        """
        with self._guard() as db:
            row = db.execute("SELECT last_id, text FROM snapshots WHERE name = ?", (name,)).fetchone()
        return None if row is None else (str(row[0]), str(row[1]))

    def put_snapshot(self, name: str, last_id: str, text: str, after: str | None = None) -> bool:
        """Keep a text that follows from the attempts up to one of them, and can be worked out again.

        Parameters
        ----------
        after : str, optional
            The ``last_id`` of the snapshot that this one goes on from. Where that isn't there any more, the
            attempts that it followed from have changed, and nothing is kept.

        Returns
        -------
        bool
            Whether it was kept.
        """
        with self._writing(copied=False) as db:
            if after is None:
                db.execute("INSERT OR REPLACE INTO snapshots VALUES (?, ?, ?)", (name, last_id, text))
                return True
            where = "WHERE name = ? AND last_id = ?"
            sql = f"UPDATE snapshots SET last_id = ?, text = ? {where}"
            return bool(db.execute(sql, (last_id, text, name, after)).rowcount)
