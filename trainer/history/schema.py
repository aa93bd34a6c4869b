"""The history's file: its tables, how an older one becomes one of this version, opening and checking it."""

import errno
import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

from trainer.history.attempt import ATTEMPTS, UNDONE
from trainer.history.errors import Outdated, TrainerError, Unwritable, damaged, no_history, shown
from trainer.history.fields import FORBIDDEN
from trainer.history.files import why_unwritable
from trainer.history.layout import LAYOUTS
from trainer.history.note import NOTES
from trainer.history.record import names_of
from trainer.history.remains import refuse_remains

APPLICATION_ID = 0x506F7441  # "PotA"
BUSY_S = 10.0  # how long to wait for another program that writes
MOVED_BYTES = 64_000_000  # a file up to this size is made small again after its tables were made anew

SETS = """
    CREATE TABLE sets (
        id TEXT NOT NULL PRIMARY KEY,
        epoch_ms INTEGER NOT NULL,
        offset_s INTEGER NOT NULL,
        zone TEXT NOT NULL,
        level TEXT NOT NULL,
        drill TEXT NOT NULL,
        seed INTEGER NOT NULL,
        shots INTEGER NOT NULL CHECK (shots BETWEEN 0 AND 1000000),
        finished INTEGER NOT NULL DEFAULT 0 CHECK (finished IN (0, 1))
    ) STRICT, WITHOUT ROWID
"""
SETTINGS = (
    'CREATE TABLE settings ("key" TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID'
)
# What follows from the attempts up to one of them, and can be worked out again.
SNAPSHOTS = """
    CREATE TABLE snapshots (name TEXT NOT NULL PRIMARY KEY, last_id TEXT NOT NULL, text TEXT NOT NULL)
    STRICT, WITHOUT ROWID
"""
TABLES = {
    "attempts": ATTEMPTS.create,
    "undone": UNDONE.create,
    "notes": NOTES.create,
    "sets": SETS,
    "settings": SETTINGS,
    "snapshots": SNAPSHOTS,
}
FILLED = (
    "attempts",
    "undone",
    "notes",
    "layouts",
    "sets",
    "settings",
)  # by the player: none of it can be worked out
INDICES = (
    "CREATE INDEX attempts_by_set ON attempts (set_id)",
    'CREATE INDEX attempts_by_day ON attempts (local_day, id, "right", potted)',
    'CREATE INDEX attempts_by_level ON attempts (level, id, drill, "right")',
    "CREATE INDEX undone_by_attempt ON undone (attempt_id, epoch_ms, offset_s)",
    "CREATE INDEX sets_by_level ON sets (level, drill, id)",
)
# Versions 1 to 6 had the same columns in tables that checked little; one step brings all of them here.
FIRST = 7
_NOTED = (
    'id, epoch_ms, offset_s, zone, local_day, "table", fullness, called, side, result, distance, cue_ball_x, '
    "cue_ball_y, object_ball_x, object_ball_y, pocket, undoes"
)
# What later versions change, a tuple of statements each. Append only: what was released never changes.
STEPS: tuple[tuple[str, ...], ...] = (
    (
        LAYOUTS.create,
        "ALTER TABLE notes RENAME TO old_notes",
        NOTES.create,
        f"INSERT INTO notes ({_NOTED}, pace, layout) SELECT {_NOTED}, '', '' FROM old_notes",
        "DROP TABLE old_notes",
    ),
)
VERSION = FIRST + len(STEPS)
DEFAULTS = ATTEMPTS.defaults | NOTES.defaults  # of columns that older versions hadn't


def connection_to(name: str | Path, *, uri: bool = False, timeout: float | None = None) -> sqlite3.Connection:
    """A connection whose texts are fit for a terminal, whatever the file holds.

    This is the only place where that is seen to: every text of a history comes through it. Transactions are
    begun and ended by hand; whoever shares it between threads holds a lock.
    """
    wait = BUSY_S if timeout is None else timeout
    db = sqlite3.connect(name, timeout=wait, isolation_level=None, check_same_thread=False, uri=uri)
    db.text_factory = _plain
    db.execute("PRAGMA cell_size_check = ON")  # damage is found sooner
    db.execute("PRAGMA temp_store = MEMORY")  # nothing is written outside the folder
    return db


def _plain(raw: bytes) -> str:
    text = raw.decode(errors="replace")
    return text if text.isprintable() else FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", text)


def connect(file: Path, keep_old: Callable[[sqlite3.Connection], object]) -> sqlite3.Connection:
    """Open a history, create it where there is none, and bring an older one up to this version.

    ``keep_old`` is called before an older one is changed.

    Raises
    ------
    TrainerError
        If the file is newer, damaged, not a history or can't be written. It is left as it is.
    """
    if file.is_dir():
        raise TrainerError(f"{shown(file)} is a folder; the history needs that name, move it away")
    db = None
    try:
        refuse_remains(file)
        db = connection_to(file)
        refuse(db, file)
        _use_wal(db)
        version = pragma(db, "user_version")
        if 0 < version < VERSION:
            check(db, file)
            keep_old(db)
        # A step that a power cut takes away is made again at the next start; a call must be on disk.
        db.execute("PRAGMA synchronous = NORMAL")
        _migrate(db, file)
        if 0 < version < FIRST and file.stat().st_size <= MOVED_BYTES:
            db.execute("VACUUM")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("PRAGMA fullfsync = ON")  # elsewhere than on a Mac this is nothing
        db.execute("PRAGMA foreign_keys = ON")
    except (sqlite3.Error, OSError) as error:
        if db is not None:
            db.close()
        raise explain(file, error) from None
    except TrainerError:
        if db is not None:
            db.close()
        raise
    return db


def in_memory(file: Path | None = None) -> sqlite3.Connection:
    """A history in memory: a new one, or all that a file holds which can't be written.

    Raises
    ------
    TrainerError
        If the file is newer, damaged, not a history or can't be read.
    """
    db = connection_to(":memory:")
    try:
        if file is not None:
            with closing(_read_only(file)) as there:
                refuse(there, file)
                there.backup(db)
            check(db, file)
        _migrate(db, file or Path())
    except (sqlite3.Error, OSError) as error:
        db.close()
        raise explain(file or Path(), error) from None
    except TrainerError:
        db.close()
        raise
    return db


def _read_only(file: Path) -> sqlite3.Connection:
    """A file that nothing can be written beside; of its log what there is comes with it."""
    log = file.with_name(f"{file.name}-wal")
    # Without a log nothing changes it: SQLite needs none of its own then.
    ways = ["mode=ro"] if log.exists() and log.stat().st_size else ["mode=ro&immutable=1"]
    if ways == ["mode=ro"]:
        ways.append("mode=rw")  # and the log's index in memory, where the disk has no room for it
    for way in ways:
        db = connection_to(f"{file.absolute().as_uri()}?{way}", uri=True)
        try:
            if way == "mode=rw":
                db.execute("PRAGMA locking_mode = EXCLUSIVE")
            pragma(db, "user_version")
            return db
        except sqlite3.Error:
            db.close()
            if way == ways[-1]:
                raise
    raise AssertionError("a way is returned or raised")


def reading(file: Path) -> sqlite3.Connection:
    """A history's state as it is now, on a connection of its own, for any thread; nothing later is in it.

    Raises
    ------
    TrainerError
        If it can't be had.
    """
    try:
        state = connection_to(file)
        state.execute("BEGIN")
        pragma(state, "user_version")  # from here on nothing moves
    except sqlite3.Error as error:
        raise explain(file, error) from None
    return state


def check(db: sqlite3.Connection, file: Path) -> None:
    """Check the whole file: its pages, and that each value is one that its table allows.

    Raises
    ------
    TrainerError
        If it is damaged.
    """
    (answer,) = db.execute("PRAGMA quick_check(1)").fetchone()
    if answer != "ok":
        raise damaged(file, " ".join(str(answer).split()))


def pragma(db: sqlite3.Connection, name: str) -> int:
    """A number that the file says of itself."""
    (value,) = db.execute(f"PRAGMA {name}").fetchone()
    return int(value)


def refuse(db: sqlite3.Connection, file: Path) -> None:
    """Refuse a file that isn't ours, or isn't for us; it must not be touched, so this only reads.

    Raises
    ------
    TrainerError
        If it is another program's database, or a newer version's history.
    """
    db.execute("BEGIN")  # one view of the file, however another program is just creating it
    try:
        owner, version = pragma(db, "application_id"), pragma(db, "user_version")
        (things,) = db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")
    if owner != APPLICATION_ID and (owner, version, things) != (0, 0, 0):
        raise TrainerError(
            f"{shown(file)} is another program's database; move it away, or give another data "
            "folder with --data"
        )
    if version > VERSION:
        raise TrainerError(
            f"{shown(file)} was written by a newer version of the trainer (history version "
            f"{version}, this one knows {VERSION}); install the newer one"
        )


def refuse_outdated(db: sqlite3.Connection, file: Path) -> None:
    """Refuse to go on with a history that a newer version has changed since it was opened.

    Raises
    ------
    Outdated
        If it has; asked in a transaction, it can't do so any more before that ends.
    """
    with suppress(sqlite3.Error):
        if pragma(db, "user_version") > VERSION:
            raise Outdated(
                f"{shown(file)} was changed by a newer version of the trainer while this one was open; "
                "restart the trainer: the last call is kept, and comes in then"
            )


def _use_wal(db: sqlite3.Connection) -> None:
    """Switch to a write-ahead log; two programs doing so at once may not wait for each other."""
    deadline = time.monotonic() + BUSY_S
    while True:
        try:
            db.execute("PRAGMA journal_mode = WAL").fetchone()
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _migrate(db: sqlite3.Connection, file: Path) -> None:
    while pragma(db, "user_version") < VERSION:
        db.execute("BEGIN IMMEDIATE")
        try:
            version = pragma(db, "user_version")
            if version < FIRST:
                _make(db)
                db.execute(f"PRAGMA user_version = {FIRST}")
            elif version < VERSION:  # else another program has been quicker since we looked
                for statement in STEPS[version - FIRST]:
                    db.execute(statement)
                db.execute(f"PRAGMA user_version = {version + 1}")
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
        refuse(db, file)


def _make(db: sqlite3.Connection) -> None:
    """Make the tables, and fill them with what an older version's hold."""
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    found = db.execute("SELECT type, name FROM sqlite_master WHERE type IN ('table', 'trigger')").fetchall()
    for kind, name in found:
        if kind == "trigger":
            db.execute(f'DROP TRIGGER "{name}"')
    old = [name for name in TABLES if ("table", name) in found]
    for name in old:
        db.execute(f"ALTER TABLE {name} RENAME TO old_{name}")
    for name, create in TABLES.items():
        db.execute(create)
        if name in old:
            there = [column for _, column, *_ in db.execute(f"PRAGMA table_info(old_{name})")]
            wanted = [column for _, column, *_ in db.execute(f"PRAGMA table_info({name})")]
            columns = names_of(column for column in wanted if column in there)
            more = [column for column in wanted if column not in there]
            values = "".join(f", '{DEFAULTS[column]}'" for column in more)
            into = columns + "".join(f", {column}" for column in more)
            db.execute(f"INSERT INTO {name} ({into}) SELECT {columns}{values} FROM old_{name}")
    for name in reversed(old):  # what refers to others first
        db.execute(f"DROP TABLE old_{name}")
    for name in ("totals", "derived"):  # what followed from the others
        db.execute(f"DROP TABLE IF EXISTS {name}")
    for statement in INDICES:
        db.execute(statement)


def explain(file: Path, error: Exception) -> TrainerError:
    """One clear line for what SQLite or the system reports."""
    code = getattr(error, "sqlite_errorcode", None)
    code = None if code is None else code & 0xFF
    why = _plain(" ".join(str(error).split()).encode(errors="replace"))
    name = shown(file)
    if code == sqlite3.SQLITE_NOTADB:
        return no_history(file)
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_TOOBIG, sqlite3.SQLITE_FORMAT):
        return damaged(file, why)
    if why.startswith(("no such column", "no such table", "no such index")):
        return damaged(file, "its tables aren't as they were made")
    said = _SAID.get(code or 0, ": {}").format(why)
    if code in {*UNWRITABLE, sqlite3.SQLITE_IOERR} and (told := why_unwritable(file.parent)):
        return Unwritable(f"{name} can't be written: {told}; {_ROOM if told == NO_ROOM else _ALLOW}")
    return (Unwritable if code in UNWRITABLE else TrainerError)(f"{name}{said}")


_IN_USE = f" has been in use by another program for {BUSY_S:g} s; close that and try again"
_ALLOW = "allow writing to it and its folder, or give another data folder with --data"
_ROOM = "the disk is full: make room and try again"
_NOT_WRITTEN = f" can't be written ({{}}); {_ALLOW}"
NO_ROOM = os.strerror(errno.ENOSPC)
UNWRITABLE = (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_FULL)
# What follows the file's name, by the code of SQLite; ``{}`` is what that says itself.
_SAID = {
    sqlite3.SQLITE_CONSTRAINT: " holds what the trainer never wrote ({}) and is left as it is; trainer "
    "backups lists what trainer restore can put in its place",
    sqlite3.SQLITE_BUSY: _IN_USE,
    sqlite3.SQLITE_LOCKED: _IN_USE,
    sqlite3.SQLITE_READONLY: _NOT_WRITTEN,
    sqlite3.SQLITE_CANTOPEN: _NOT_WRITTEN,
    sqlite3.SQLITE_PERM: _NOT_WRITTEN,
    sqlite3.SQLITE_IOERR: " can't be read or written ({}); see whether the disk is full or failing",
    sqlite3.SQLITE_FULL: " can't grow: the disk is full; make room and try again",
}
