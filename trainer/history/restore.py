"""Putting a copy in the place of the history: when the player asks for it, or because that is damaged."""

import gc
import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from trainer.history import backup as backups
from trainer.history.attempt import ATTEMPTS, UNDONE
from trainer.history.backup import Backup
from trainer.history.clock import ROLLOVER_HOUR, Clock, Moment, iso, local_day
from trainer.history.errors import Damaged, TrainerError, shown
from trainer.history.fields import BadValue
from trainer.history.files import put_whole
from trainer.history.merge import Clash
from trainer.history.note import NOTES
from trainer.history.record import Record, Row
from trainer.history.schema import check, connection_to, explain, pragma, refuse, refuse_empty
from trainer.history.store import FILE, History
from trainer.history.upkeep import CHECKED


@dataclass(frozen=True)
class Loss:
    """What the history holds that a copy doesn't, and the other way round.

    ``calls`` would be lost, the first of them of the local day ``since``; ``undone`` of those that stay
    would count again; ``gained`` would come back. ``notes`` and ``notes_gained`` are the lines of the table
    notebook that would be lost and come back.
    """

    calls: int
    since: str | None
    undone: int
    gained: int
    notes: int = 0
    notes_gained: int = 0


class Restoring:
    """A copy about to be put in the history's place. ``loss`` is None where that is damaged."""

    def __init__(self, folder: Path, source: sqlite3.Connection, present: sqlite3.Connection | None):
        self.folder = folder
        self.loss = None if present is None else _loss(present, source)
        self._source, self._present = source, present

    def carry_out(self, day: str) -> Backup | None:
        """Keep what is there, then put the copy in its place.

        Parameters
        ----------
        day : str
            The local day it is.

        Returns
        -------
        Backup or None
            What was there before; None where there was nothing.

        Raises
        ------
        TrainerError
            If anything can't be written; the history is as it was then.
        """
        if self._present is None:
            return self._replace_damaged(day)
        kept = backups.keep(self._present, self.folder, day, backups.RESTORE)
        self._source.backup(self._present)  # one transaction: all of it or nothing
        return kept

    def _replace_damaged(self, day: str) -> Backup:
        """No transaction can be had on a damaged file: another one takes its name."""
        file = self.folder / FILE
        log = file.with_name(f"{FILE}-wal")
        try:
            aside = backups.new_name(self.folder, day, backups.DAMAGED)
            if log.exists():
                with put_whole(aside.with_name(f"{aside.name}-wal")) as part:
                    shutil.copyfile(log, part)
            with put_whole(aside) as part:
                shutil.copyfile(file, part)
        except OSError as error:
            raise backups.failed(self.folder, error) from None
        with put_whole(file) as part:
            with closing(sqlite3.connect(part, isolation_level=None)) as copy:
                copy.execute("PRAGMA journal_mode = OFF")
                self._source.backup(copy)
            # The log belongs to the damaged file; beside another one it would spoil that.
            for ending in ("-wal", "-shm"):
                file.with_name(f"{FILE}{ending}").unlink(missing_ok=True)
        file.with_name(CHECKED).unlink(missing_ok=True)
        return next(b for b in backups.backups(self.folder) if b.file == aside)


@contextmanager
def restoring(folder: Path, name: str) -> Iterator[Restoring]:
    """A copy about to be put in the place of a data folder's history; nobody else gets at that meanwhile.

    Raises
    ------
    TrainerError
        If there is no such copy or it can't be used, or the history is in use or not ours to replace.
    """
    backup = backups.backup_named(folder, name)
    file = folder / FILE
    with backups.sound(backup) as source:
        try:
            present = alone(file)
        except Damaged:
            present = None
        try:
            yield Restoring(folder, source, present)
        except (sqlite3.Error, OSError) as error:
            raise explain(file, error) from None
        finally:
            if present is not None:
                present.close()


def alone(file: Path) -> sqlite3.Connection:
    """The history, held so that no other program has it open, nor can open it; checked whole.

    Raises
    ------
    TrainerError
        If it is in use, can't be written, or is damaged or not ours.
    """
    if file.is_dir() or os.path.islink(file):
        raise TrainerError(f"{shown(file)} is not a file; the history needs that name, move it away")
    for path in (folder := file.parent, file):
        if path.exists() and not os.access(path, os.W_OK):
            raise TrainerError(f"{shown(file)} can't be written; allow writing to it and to {shown(folder)}")
    refuse_empty(file)
    db = connection_to(file, timeout=0.0)
    try:
        db.execute("PRAGMA locking_mode = EXCLUSIVE")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("PRAGMA fullfsync = ON")
        db.execute("BEGIN EXCLUSIVE")
        db.execute("COMMIT")
        refuse(db, file)
        if pragma(db, "user_version"):  # else it is new and empty
            check(db, file)
    except sqlite3.Error as error:
        db.close()
        if getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            raise TrainerError(
                f"{shown(file)} is open in another program; close the trainer there and try again"
            ) from None
        raise explain(file, error) from None
    except BaseException:
        db.close()
        raise
    return db


def _loss(present: sqlite3.Connection, source: sqlite3.Connection) -> Loss:
    mine, theirs = _days(present), _days(source)
    my_notes, their_notes = _notes(present), _notes(source)
    lost = mine.keys() - theirs.keys()
    undone = {i for i in _undone(present) - _undone(source) if i in theirs}
    since = min((mine[i] for i in lost), default=None)
    gained = len(theirs.keys() - mine.keys())
    return Loss(
        *(len(lost), since, len(undone), gained), len(my_notes - their_notes), len(their_notes - my_notes)
    )


def _has(db: sqlite3.Connection, table: str) -> bool:
    return db.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (table,)).fetchone() is not None


def _days(db: sqlite3.Connection) -> dict[str, str]:
    """The local days of all attempts by id."""
    return dict(db.execute("SELECT id, local_day FROM attempts")) if _has(db, "attempts") else {}


def _undone(db: sqlite3.Connection) -> set[str]:
    if not _has(db, "undone"):
        return set()
    return {i for (i,) in db.execute("SELECT attempt_id FROM undone")}


def _notes(db: sqlite3.Connection) -> set[str]:
    return {i for (i,) in db.execute("SELECT id FROM notes")} if _has(db, "notes") else set()


# A damaged history


def recover(error: Damaged, clock: Clock, rollover_hour: int = ROLLOVER_HOUR) -> str | None:
    """Put the newest sound copy in the place of the history that is damaged, and add to it what can be read.

    Parameters
    ----------
    error : Damaged
        What was found.
    clock, rollover_hour
        What time it is, and the hour at which a day begins.

    Returns
    -------
    str or None
        One line that says what was done; '' where another program has done so already. None where there is
        no sound copy: then all is as it was.

    Raises
    ------
    TrainerError
        If another program has the history open, or something can't be written.
    """
    gc.collect()  # a cursor from where it was found would hold the file
    folder = error.file.parent
    for backup in reversed(backups.backups(folder)):
        if backup.why == backups.DAMAGED:
            continue
        try:
            with backups.sound(backup) as source:
                if not _still_damaged(error.file):
                    return ""
                aside = Restoring(folder, source, None).carry_out(local_day(clock.now(), rollover_hour))
        except backups.Unusable:
            continue
        with History.open(folder, clock, rollover_hour) as history:
            saved, lost = (0, None) if aside is None else _save(history, aside.file)
            return _said(error, aside, backup, history, saved, lost)
    return None


def _still_damaged(file: Path) -> bool:
    """Whether a history is damaged now that nobody else has it open."""
    try:
        alone(file).close()
    except Damaged:
        return True
    return False


def _save(history: History, file: Path) -> tuple[int, int | None]:
    """Add what a damaged file still gives when it is read from one end to the other.

    Returns
    -------
    saved, lost : int, int or None
        How many calls were added, and how many are nowhere any more; None where nobody can tell.
    """
    with TemporaryDirectory(dir=file.parent) as folder:  # SQLite may do with that what it likes
        copy = Path(folder) / file.name
        for ending in ("", "-wal"):
            with suppress(FileNotFoundError):
                shutil.copyfile(f"{file}{ending}", f"{copy}{ending}")
        with closing(connection_to(copy)) as db:
            had = max(
                (_count(db, way) for way in ("", "NOT INDEXED", "INDEXED BY attempts_by_day")), default=0
            )
            undone = {row[1]: (row[2], row[3]) for row in _readable(db, UNDONE)}
            added = 0
            for kind in (ATTEMPTS, NOTES):
                more = undone if kind.undoable else None
                rows = [
                    (*row, *more.get(row[0], (None, None))) if more is not None else row
                    for row in _readable(db, kind)
                ]
                with suppress(Clash):  # then the copy knows better
                    merged = history.merge(enumerate(rows), kind, copied=False)
                    added += merged.added if kind is ATTEMPTS else 0
    return added, max(had - history.ever(), 0) if had else None


def _count(db: sqlite3.Connection, way: str) -> int:
    with suppress(sqlite3.Error):
        return int(db.execute(f"SELECT count(*) FROM attempts {way}").fetchone()[0])
    return 0


def _readable(db: sqlite3.Connection, kind: Record[Any]) -> list[Row]:
    """The rows of a kind from either end to where something is broken, those that are allowed."""
    found: dict[str, Row] = {}
    for order in ("ASC", "DESC"):
        with suppress(sqlite3.Error):
            for row in db.execute(f"SELECT {kind.own_columns} FROM {kind.table} ORDER BY id {order}"):
                with suppress(BadValue, ValueError, TypeError, LookupError, RecursionError):
                    if kind.row_of(kind.check(kind.values_of(kind.of_row(row)))) == row:
                        found[row[0]] = row
    return [found[each] for each in sorted(found)]


def _said(
    error: Damaged, aside: Backup | None, copy: Backup, history: History, saved: int, lost: int | None
) -> str:
    """What was damaged, what became of it, and what is there now."""
    where = "" if aside is None else f" and is set aside as {aside.name}"
    more = f", with {_calls(saved)} made since that could still be read" if saved else ""
    gone = "; how many calls are gone can't be told" if lost is None else ""
    gone = f"; {_calls(lost)} can't be read any more" if lost else gone
    last, until = history.last_call(), ""
    if last is not None:
        moment = Moment(last[0].epoch_ms, last[0].offset_s, last[0].zone)
        until = f" until {iso(moment)[:16].replace('T', ' ')}"
    return (
        f"{shown(error.file)} was damaged ({error.why}){where}; the newest good copy, {copy.name}, "
        f"is in its place{more}: {_calls(history.count())}{until}{gone}"
    )


def _calls(many: int) -> str:
    return f"{many} call{'s' * (many != 1)}"
