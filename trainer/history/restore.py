"""Putting a copy in the place of the history: when the player asks for it, or because that is damaged."""

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from trainer.history import backup as backups
from trainer.history.backup import Backup
from trainer.history.errors import Damaged, TrainerError, shown
from trainer.history.files import put_whole
from trainer.history.remains import refuse_remains
from trainer.history.schema import check, connection_to, explain, pragma, refuse
from trainer.history.store import FILE
from trainer.history.upkeep import CHECKED, REPAIR

Note = Callable[[Backup], object]


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

    def carry_out(self, day: str, note: Note | None = None) -> Backup | None:
        """Keep what is there, then put the copy in its place.

        Parameters
        ----------
        day : str
            The local day it is.
        note : callable, optional
            Called with a damaged history that was set aside, before another file takes its place.

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
            return self._replace_damaged(day, note)
        kept = backups.keep(self._present, self.folder, day, backups.RESTORE)
        self._source.backup(self._present)  # one transaction: all of it or nothing
        (self.folder / REPAIR).unlink(missing_ok=True)
        return kept

    def _replace_damaged(self, day: str, note: Note | None) -> Backup:
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
        kept = next(b for b in backups.backups(self.folder) if b.file == aside)
        if note is None:  # the player wants this copy, and nothing that a repair would add to it
            (self.folder / REPAIR).unlink(missing_ok=True)
        else:
            note(kept)
        with put_whole(file) as part:
            with closing(sqlite3.connect(part, isolation_level=None)) as copy:
                copy.execute("PRAGMA journal_mode = OFF")
                self._source.backup(copy)
            # The log belongs to the damaged file; beside another one it would spoil that.
            for ending in ("-wal", "-shm"):
                file.with_name(f"{FILE}{ending}").unlink(missing_ok=True)
        file.with_name(CHECKED).unlink(missing_ok=True)
        return kept


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
    refuse_remains(file)
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
