"""What an open history sees to by itself: the day's copy, the check of the whole file, and ids."""

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from trainer.history import backup as backups
from trainer.history.clock import ROLLOVER_HOUR, Clock, Moment, local_day
from trainer.history.errors import Damaged, TrainerError, Unwritable, damaged
from trainer.history.files import check_folder, make_folder
from trainer.history.ids import Ids
from trainer.history.queries import Queries
from trainer.history.schema import check, connect, connection_to, in_memory, reading, refuse_outdated

FILE = "history.sqlite3"
CHECKED = "history.checked"  # beside it: the day on which the whole file was checked, or that it is damaged
REPAIR = "history.repair"  # and what is repaired, while that is under way
DAMAGED = "damaged"
COPIED_AT_ONCE = 8_000_000  # bytes: up to this size the day's copy takes no time that a player would notice
CHECKED_AT_ONCE = 4_000_000  # bytes: and up to this size a check after a sudden end
ADD_SET = "INSERT INTO sets VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
WAITED_S = 0.2  # for a check under way, when the history is closed


class Upkeep(Queries):
    """An open history, with what it sees to by itself.

    Before the first write of a local day a copy is kept, see :mod:`trainer.history.backup`; one that takes
    its time is made while play goes on. Where that fails ``backup_problem`` says why, at the latest when the
    history is closed; else it is ''.

    The whole file is checked once a day, and after a sudden end, beside what goes on. Where it turns out to
    be damaged, whatever is asked next raises that.

    A history that isn't there yet is made with the first thing that is kept: a set that is begun is nothing
    yet, and waits for its first call. Of a history that can't be written, and was opened to be read,
    ``unwritten`` says why.

    ``rollover_hour`` is the hour at which a day begins, 0 to 23: for what is kept from now on.
    """

    def __init__(
        self, file: Path, connection: sqlite3.Connection, clock: Clock, rollover_hour: int = ROLLOVER_HOUR
    ):
        super().__init__(file, connection)
        self._is_made = True
        self.unwritten: Unwritable | None = None
        self.clock = clock
        self.rollover_hour = rollover_hour
        self._ids = Ids()
        self._copied_day = ""
        self._copying: threading.Thread | None = None
        self._checking: tuple[threading.Thread, sqlite3.Connection] | None = None
        self._played = False  # whether a call was added
        self.backup_problem = ""
        self._note_last_id()

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
        """Open the history of a data folder; neither is created before something is kept.

        Parameters
        ----------
        rollover_hour : int
            The hour at which a day begins, see :class:`Upkeep`.
        asks : bool
            Nothing is to be kept, so one that can't be written will do.
        repairing : bool
            Whether this is the repair itself, which others finish first where it was cut short.

        Raises
        ------
        TrainerError
            If the folder can't be used, or the history is newer, damaged, not ours or in use.
        """
        file = folder / FILE
        if not repairing and os.path.exists(folder / REPAIR):
            raise damaged(file, "a repair of it was cut short")
        if not os.path.lexists(file):
            check_folder(folder, writable=not asks)
            found = cls(file, in_memory(), clock, rollover_hour)
            found._is_made = False
            return found
        # SQLite takes the log away when the last program closes the history in good order.
        log = file.with_name(f"{FILE}-wal")
        sudden = log.exists() and log.stat().st_size > 0
        try:
            connection = _connected(file, clock, rollover_hour)
        except Unwritable as error:
            if not asks:
                raise
            found = cls(file, in_memory(file), clock, rollover_hour)
            found.unwritten = error
            return found
        try:
            found = cls(file, connection, clock, rollover_hour)
            found._begin_check(sudden=sudden)
        except BaseException:
            connection.close()
            raise
        return found

    @contextmanager
    def _guard(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            if not self._is_made and os.path.lexists(self.file):  # by another program
                self._make()
            with super()._guard() as db:
                yield db

    def _make(self) -> None:
        """Make the history, if it isn't there yet, or go over to what another program has made."""
        with self._lock:
            if self.unwritten is not None:
                raise self.unwritten
            if self._is_made:
                return
            make_folder(self.file.parent)
            before, made = self._db, _connected(self.file, self.clock, self.rollover_hour)
            begun = before.execute("SELECT * FROM sets").fetchall()
            self._db, self._is_made = made, True
            try:
                if begun:
                    with self._writing() as db:  # of which nothing is copied yet
                        db.executemany(ADD_SET, begun)
            except BaseException:
                self._db, self._is_made = before, False
                made.close()
                raise
            before.close()
            self._note_last_id()

    def close(self) -> None:
        """Close the file, when a copy under way is whole; may be called twice."""
        self.wait_for_copy()
        self.wait_for_check(WAITED_S)
        with self._lock:
            self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    # The check of the whole file

    def _begin_check(self, *, sudden: bool) -> None:
        """Check the whole file where that is due: beside, on a connection of its own, or at once."""
        said, day = "", self.today
        with suppress(OSError, UnicodeDecodeError):
            said = self.file.with_name(CHECKED).read_text("utf-8")
        if said == DAMAGED or (sudden and self.file.stat().st_size <= CHECKED_AT_ONCE):
            check(self._db, self.file)
            self._note_check(day)
        elif sudden or said != day:
            other = connection_to(self.file)
            thread = threading.Thread(target=self._check_beside, args=(other, day), name="history check")
            self._checking = thread, other
            thread.start()

    def _check_beside(self, other: sqlite3.Connection, day: str) -> None:
        try:
            check(other, self.file)
        except Damaged as error:
            self._damage = error
            self._note_check(DAMAGED)  # a command may be over before anybody asks
        except sqlite3.Error:  # interrupted, or the file can't be had now: it is checked at the next start
            pass
        else:
            self._note_check(day)

    def _note_check(self, said: str) -> None:
        with suppress(OSError):
            self.file.with_name(CHECKED).write_text(said, "utf-8")

    def wait_for_check(self, seconds: float | None = None) -> None:
        """Wait until a check under way is done, so many seconds at most: then it is given up."""
        if self._checking is not None:
            thread, other = self._checking
            thread.join(seconds)
            if thread.is_alive():
                other.interrupt()
                thread.join()
            other.close()
            self._checking = None

    # Writing

    @contextmanager
    def _writing(self, *, copied: bool = True) -> Iterator[sqlite3.Connection]:
        """All or nothing; what can be worked out again needs no copy before, nor a file."""
        if copied:
            self._make()
        with self._guard() as db:
            if copied:
                self._copy_daily()
            db.execute("BEGIN IMMEDIATE")
            try:
                refuse_outdated(db, self.file)
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
        except (TrainerError, OSError) as error:
            self.backup_problem = str(error)
            return
        self._copying = threading.Thread(target=self._copy_beside, args=(state, day), name="daily copy")
        self._copying.start()

    def _copy_beside(self, state: sqlite3.Connection, day: str) -> None:
        with closing(state):
            try:
                backups.keep(state, self.file.parent, day, backups.DAILY)
            except TrainerError as error:
                self.backup_problem = str(error)

    def wait_for_copy(self) -> None:
        """Wait until a copy that is being made beside is whole."""
        if self._copying is not None:
            self._copying.join()
            self._copying = None

    def keep_play(self) -> None:
        """Keep a copy at the end of a play, if that has added calls."""
        if not self._played:
            return
        self.wait_for_copy()
        try:
            with self._guard() as db:
                backups.keep(db, self.file.parent, self.today, backups.PLAYED)
        except TrainerError as error:
            self.backup_problem = str(error)
        self._played = False

    def _note_last_id(self) -> None:
        with self._guard() as db:
            for table in ("attempts", "sets", "undone", "notes", "layouts"):
                (last,) = db.execute(f"SELECT max(id) FROM {table}").fetchone()
                if last is not None:
                    self._ids.seen(last)

    def new_id(self, moment: Moment) -> str:
        """An id for a line; ids sort in the order they are given out."""
        return self._ids.new(moment.epoch_ms)

    def line_at(self, moment: Moment) -> dict[str, Any]:
        """What a line that is made at a moment says of itself: a new id, the time and the player's day."""
        return {
            "id": self.new_id(moment),
            "epoch_ms": moment.epoch_ms,
            "offset_s": moment.offset_s,
            "zone": moment.zone,
            "local_day": self.day_of(moment),
        }

    def day_of(self, moment: Moment) -> str:
        """The player's day that a moment counts for, ``YYYY-MM-DD``: to be frozen with what is kept."""
        return local_day(moment, self.rollover_hour)

    @property
    def today(self) -> str:
        """The player's day it is, ``YYYY-MM-DD``."""
        return self.day_of(self.clock.now())


def _connected(file: Path, clock: Clock, rollover_hour: int) -> sqlite3.Connection:
    """The history's file; a copy of an older version's is kept before that is changed."""

    def keep_old(old: sqlite3.Connection) -> None:
        backups.keep(old, file.parent, local_day(clock.now(), rollover_hour), backups.MIGRATION)

    return connect(file, keep_old)
