"""Copies of the history that are kept by themselves, in the folder ``backups`` of the data folder.

One is made before the first write of a local day, when a play that added calls ends, before a history of an
older version is changed, before an import and before a restore; none where nothing was added since the
newest. All of the last 7 days stay, but of several plays of a day only the last; then the last of each week
for 8 weeks, then the last of each month.
"""

import re
import secrets
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from trainer.history.clock import Moment
from trainer.history.errors import Damaged, TrainerError, quoted, shown
from trainer.history.fields import BadValue, Day
from trainer.history.files import PART, put_whole
from trainer.history.record import Time
from trainer.history.schema import FILLED, check, connection_to, explain, pragma, refuse

FOLDER = "backups"
ENDING = ".sqlite3"
DAILY, PLAYED, MIGRATION, IMPORT, RESTORE, DAMAGED = REASONS = (
    *("daily", "played", "migration", "import", "restore", "damaged"),
)
NAME = re.compile(rf"(\d{{4}}-\d\d-\d\d)-(\d{{1,6}})-({'|'.join(REASONS)})", re.ASCII)
DAYS, WEEKS = 7, 8
LEFT_S = 3600.0  # a part of a copy that is so much older than a whole one was left by a sudden end


class Unusable(TrainerError):
    """A copy that can't take the history's place."""


@dataclass(frozen=True, order=True)
class Backup:
    """A copy: the local day it was made on, its number on that day, why it was made, and its file."""

    day: str
    number: int
    why: str
    file: Path

    @property
    def name(self) -> str:
        """What it is called: its file's name without the ending."""
        return self.file.stem


@dataclass(frozen=True)
class Contents:
    """What a copy holds: calls that count, the last one's moment and local day, and its size in bytes."""

    calls: int
    last: Moment | None
    last_day: str | None
    size: int


def backups(folder: Path) -> list[Backup]:
    """The copies in a data folder, oldest first.

    Raises
    ------
    TrainerError
        If their folder can't be read.
    """
    place, found = folder / FOLDER, []
    try:
        files = list(place.iterdir()) if place.is_dir() else []
    except OSError as error:
        raise TrainerError(f"{shown(place)} can't be read: {error.strerror}") from None
    for file in files:
        told = NAME.fullmatch(file.name.removesuffix(ENDING)) if file.suffix == ENDING else None
        with suppress(ValueError):  # a day that no calendar has: not one of ours
            if told is not None and not file.is_symlink() and date.fromisoformat(told[1]):
                found.append(Backup(told[1], int(told[2]), told[3], file))
    return sorted(found)


def newest_first(folder: Path) -> list[Backup]:
    """The sound copies in a data folder, the one with the latest content first.

    A name tells only what the clock said. Ids grow whatever that says: the last line tells, then how many
    there are, and only then when the copy was made.

    Raises
    ------
    TrainerError
        If their folder can't be read.
    """
    found = [backup for backup in backups(folder) if backup.why != DAMAGED]
    return sorted(found, key=lambda backup: (_latest(backup), backup), reverse=True)


def _latest(backup: Backup) -> tuple[str, int]:
    """The last line's id of a copy, and how many lines it holds; nothing of one that can't be read."""
    last, lines = "", 0
    with suppress(sqlite3.Error, TypeError), opened(backup.file) as db:
        for table in _tables(db):
            if table != "settings":
                highest, many = db.execute(f"SELECT max(id), count(*) FROM {table}").fetchone()
                last, lines = max(last, highest or ""), lines + many
    return last, lines


def backup_named(folder: Path, name: str) -> Backup:
    """The copy of this name, with or without its ending.

    Raises
    ------
    TrainerError
        If there is none.
    """
    found = backups(folder)
    for backup in found:
        if backup.name == name.removesuffix(ENDING):
            return backup
    newest = next(iter(newest_first(folder)), None)
    allowed = f"the newest is {newest.name}; trainer backups lists all" if newest else "there is none yet"
    raise TrainerError(f"no copy in {shown(folder / FOLDER)} is called {quoted(name)}; {allowed}")


def new_name(folder: Path, day: str, why: str) -> Path:
    """A file for a new copy; its folder is created where it isn't there yet.

    Raises
    ------
    OSError
        If it can't be.
    """
    place = folder / FOLDER
    place.mkdir(exist_ok=True)
    number = 1 + max((b.number for b in backups(folder) if b.day == day), default=0)
    return place / f"{day}-{number}-{why}{ENDING}"


def new_part(folder: Path) -> Path:
    """A file beside the copies for what isn't needed any more when all is done, see :func:`prune`.

    Raises
    ------
    TrainerError
        If their folder can't be created.
    """
    place = folder / FOLDER
    try:
        place.mkdir(exist_ok=True)
    except OSError as error:
        raise failed(folder, error) from None
    return place / f".{secrets.token_hex(8)}{PART}"


def daily_is_due(folder: Path, day: str) -> bool:
    """Whether this day has no copy yet.

    Raises
    ------
    TrainerError
        If the folder of copies can't be read.
    """
    return not any(backup.day == day for backup in backups(folder))


def keep(db: sqlite3.Connection, folder: Path, day: str, why: str) -> Backup | None:
    """Keep a copy of an open history, on disk and whole when this returns, and prune older ones.

    Returns
    -------
    Backup or None
        The copy, an older one where nothing was added since; None where there is nothing to keep yet.

    Raises
    ------
    TrainerError
        If it can't be made.
    Damaged
        If that is because the history is.
    """
    try:
        if not any(db.execute(f"SELECT EXISTS (SELECT 1 FROM {name})").fetchone()[0] for name in _tables(db)):
            return None
        found = [backup for backup in backups(folder) if backup.why != DAMAGED]
        if found and _is_copy(found[-1].file, db):
            return found[-1]
        target = new_name(folder, day, why)
        with put_whole(target) as aside:
            _copy(db, aside)
        prune(folder, day)
    except (OSError, sqlite3.Error) as error:
        if isinstance(error, sqlite3.DatabaseError) and isinstance(
            told := explain(_file(db), error), Damaged
        ):
            raise told from None
        raise failed(folder, error) from None
    return next(backup for backup in backups(folder) if backup.file == target)


def _file(db: sqlite3.Connection) -> Path:
    return Path(db.execute("PRAGMA database_list").fetchone()[2])


def failed(folder: Path, error: Exception) -> TrainerError:
    """One clear line for a copy that can't be made."""
    why = error.strerror if isinstance(error, OSError) else " ".join(str(error).split())
    return TrainerError(
        f"no copy of the history could be kept in {shown(folder / FOLDER)}: {why}; "
        "make room, or allow writing there"
    )


@contextmanager
def opened(file: Path) -> Iterator[sqlite3.Connection]:
    """A copy to read; nothing is written beside it."""
    uri = f"{file.absolute().as_uri()}?mode=ro&immutable=1"
    with closing(connection_to(uri, uri=True)) as db:
        yield db


@contextmanager
def sound(backup: Backup) -> Iterator[sqlite3.Connection]:
    """A copy to restore, checked whole.

    Raises
    ------
    Unusable
        If it is damaged, or of a newer version.
    """
    with ExitStack() as stack:
        try:
            db = stack.enter_context(opened(backup.file))
            refuse(db, backup.file)
            if not pragma(db, "user_version"):
                raise Unusable(f"{shown(backup.file)} holds nothing")
            with closing(connection_to(backup.file)) as whole:  # read-only, no CHECK would be looked at
                check(whole, backup.file)
        except (sqlite3.Error, OSError) as error:
            raise _unusable(backup, explain(backup.file, error)) from None
        except TrainerError as error:
            raise _unusable(backup, error) from None
        yield db


def _unusable(backup: Backup, error: TrainerError) -> Unusable:
    """What is said of a history that is damaged isn't of use for a copy."""
    if isinstance(error, Damaged):
        return Unusable(f"{shown(backup.file)} is damaged; trainer backups lists the others")
    return Unusable(str(error))


def contents(backup: Backup) -> Contents:
    """What a copy holds.

    Raises
    ------
    TrainerError
        If it can't be read.
    """
    try:
        with opened(backup.file) as db:
            refuse(db, backup.file)
            (calls,) = db.execute("SELECT count(*) FROM attempts").fetchone()
            if "undone" in _tables(db):
                calls -= db.execute("SELECT count(DISTINCT attempt_id) FROM undone").fetchone()[0]
            last = db.execute(
                "SELECT epoch_ms, offset_s, zone, local_day FROM attempts ORDER BY id DESC LIMIT 1"
            ).fetchone()
        if last is not None:
            Time().check(last[:2])
            Day().check(last[3])
        size = backup.file.stat().st_size
    except BadValue as error:
        raise TrainerError(f"{shown(backup.file)}, the last attempt: {error}") from None
    except (sqlite3.Error, OSError) as error:
        raise explain(backup.file, error) from None
    return Contents(calls, last and Moment(*last[:3]), last and last[3], size)


def prune(folder: Path, today: str) -> None:
    """Take away the copies that needn't be kept any longer, and what sudden ends left."""
    found = backups(folder)
    kept = to_keep(found, today)
    for backup in found:
        if backup not in kept:
            with suppress(OSError):
                backup.file.unlink()
                backup.file.with_name(f"{backup.file.name}-wal").unlink(missing_ok=True)
    newest = max((b.file.stat().st_mtime for b in kept), default=0.0)
    for part in (folder / FOLDER).glob(f".*{PART}"):
        with suppress(OSError):
            if part.stat().st_mtime < newest - LEFT_S:
                part.unlink()


def to_keep(found: Sequence[Backup], today: str) -> set[Backup]:
    """Which copies stay: all of ``DAYS`` days, the last of each week for ``WEEKS`` weeks, then of each month.

    Weeks begin on Mondays. A damaged history that was set aside takes no sound one's place.
    """
    last: dict[tuple[object, ...], Backup] = {}
    for backup in sorted(found):
        day = date.fromisoformat(backup.day)
        age = (date.fromisoformat(today) - day).days
        if age < DAYS:
            key: tuple[object, ...] = (backup.day,) if backup.why == PLAYED else (backup.file,)
        elif age < DAYS * (1 + WEEKS):
            key = ("week", *day.isocalendar()[:2])
        else:
            key = ("month", day.year, day.month)
        last[(*key, backup.why == DAMAGED)] = backup
    return set(last.values())


def _copy(db: sqlite3.Connection, file: Path) -> None:
    """A copy of one state of the history, whatever is added meanwhile."""
    with closing(sqlite3.connect(file, isolation_level=None)) as copy:
        # The file takes its name only when it is whole and on disk, so it needs no journal of its own.
        copy.execute("PRAGMA journal_mode = OFF")
        copy.execute("PRAGMA synchronous = OFF")
        db.backup(copy)


def _tables(db: sqlite3.Connection) -> list[str]:
    """The tables that the player filled, as far as this version has them."""
    there = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    return [name for name in FILLED if name in there]


def _is_copy(file: Path, db: sqlite3.Connection) -> bool:
    """Whether a copy holds all that a history does; one that can't be read doesn't."""
    try:
        with opened(file) as copy:
            return _state(copy) == _state(db)
    except sqlite3.Error:
        return False


def _state(db: sqlite3.Connection) -> list[object]:
    """What tells whether something was added.

    It is how many lines there are and the last ids, which are never given twice; settings by their values.
    """
    found: list[object] = [pragma(db, "user_version")]
    for table in _tables(db):
        if table == "settings":
            found += db.execute('SELECT "key", value FROM settings ORDER BY 1').fetchall()
        else:
            found += [table, *db.execute(f"SELECT max(id), count(*) FROM {table}").fetchone()]
    return found
