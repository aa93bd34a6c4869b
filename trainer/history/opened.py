"""An open history: its connection, one thread at a time, writing all or nothing, and the day's copy."""

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from trainer.history import backups
from trainer.history.clock import ROLLOVER_HOUR, Clock, Moment, local_day
from trainer.history.errors import TrainerError
from trainer.history.folder import make_folder
from trainer.history.ids import Ids
from trainer.history.schema import check, connect, explain, reading

FILE = "history.sqlite3"
COPIED_AT_ONCE = 8_000_000  # bytes: up to this size the day's copy takes no time that a player would notice


class Opened:
    """An open history. Threads may share it, and other programs may have it open too.

    Before the first write of a local day a copy is kept, see :mod:`trainer.history.backups`; one that takes
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

        ``rollover_hour`` is the hour at which a day begins, see :class:`Opened`.

        Raises
        ------
        TrainerError
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
                raise TrainerError("a text holds lone surrogates; allowed: Unicode") from None

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

    def check(self) -> None:
        """Check the whole file.

        Raises
        ------
        TrainerError
            If it is damaged.
        """
        with self._guard() as db:
            check(db, self.file)
