"""The history file: opening one without ever spoiling it, whatever version it is of, and checking it."""

import re
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

from trainer.history import seal
from trainer.history.errors import Damaged, TrainerError, shown
from trainer.history.migrations import APPLICATION_ID, STEPS
from trainer.history.seal import damaged

BUSY_S = 10.0  # how long to wait for another program that writes
CHECKED_BYTES = 4_000_000  # a file up to this size is checked whole at every start

VERSION = len(STEPS)
SEALED_SINCE = 6  # the version from which on lines have check values
NO_TEXT = ("Could not decode to UTF-8", "user-defined function raised")  # when a line is read, or checked
OTHER_TABLES = ("no such column", "no such table", "no such index")  # what is asked for was made once
OURS = re.compile(r"CREATE (?:TABLE|INDEX|TRIGGER) (\w+)")
# What the file's header says in the same way as long as the history lives, by place; page size and versions
# of SQLite apart. SQLite takes it as it stands.
HEADER = ((20, b"\0\x40\x20\x20"), (44, b"\0\0\0\x04"), (56, b"\0\0\0\x01"), (72, bytes(20)))


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
    connection = None
    try:
        refuse_empty(file)
        # Transactions are begun and ended here, not by the module's own rules.
        # Whoever shares the connection between threads holds a lock.
        connection = sqlite3.connect(file, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
        seal.teach(connection)
        connection.execute("PRAGMA cell_size_check = ON")
        check_header(file)
        refuse(connection, file)
        _use_wal(connection)
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA temp_store = MEMORY")  # nothing is written outside the folder
        if 0 < pragma(connection, "user_version") < VERSION:
            check(connection, file)  # its lines as they are now are taken for right
            keep_old(connection)
        # A step that a power cut takes away is made again at the next start; a call must be on disk.
        connection.execute("PRAGMA synchronous = NORMAL")
        _migrate(connection, file)
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA fullfsync = ON")  # elsewhere than on a Mac this is nothing
        _check_opened(connection, file)
    except (sqlite3.Error, UnicodeDecodeError, OSError) as error:
        if connection is not None:
            connection.close()
        raise explain(file, error) from None
    except TrainerError:
        if connection is not None:
            connection.close()
        raise
    return connection


def reading(file: Path) -> sqlite3.Connection:
    """A history's state as it is now, on a connection of its own, for any thread; nothing later is in it.

    Raises
    ------
    TrainerError
        If it can't be had.
    """
    try:
        state = sqlite3.connect(file, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
        state.execute("BEGIN")
        pragma(state, "user_version")  # from here on nothing moves
    except sqlite3.Error as error:
        raise explain(file, error) from None
    return state


def check(connection: sqlite3.Connection, file: Path) -> None:
    """Check the whole file, and every line where lines can be checked.

    Raises
    ------
    TrainerError
        If it is damaged.
    """
    _check_pages(connection, file)
    if pragma(connection, "user_version") >= SEALED_SINCE:
        _check_schema(connection, file)
        seal.check_all(file, connection)


def _check_opened(connection: sqlite3.Connection, file: Path) -> None:
    """What every start checks; attempts are when they are read."""
    if pragma(connection, "user_version") >= SEALED_SINCE:
        _check_schema(connection, file)
    if file.stat().st_size <= CHECKED_BYTES:
        _check_pages(connection, file)
    if pragma(connection, "user_version") >= SEALED_SINCE:
        seal.check_few(file, connection)


def _check_pages(connection: sqlite3.Connection, file: Path) -> None:
    (answer,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    if answer != "ok":
        raise damaged(file, " ".join(str(answer).split()))


def _check_schema(connection: sqlite3.Connection, file: Path) -> None:
    """Whether tables, indices and triggers are those that were made."""
    if seal.total(file, connection, "schema") != _schema(connection):
        raise damaged(file, "its tables aren't as they were made")


def _schema(connection: sqlite3.Connection) -> int:
    """A check value of all that the steps made; what somebody else added to the file isn't ours to judge."""
    names = sorted({name for step in STEPS for text in step for name in OURS.findall(text)})
    marks = ", ".join("?" * len(names))
    found = connection.execute(
        f"SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name IN ({marks}) ORDER BY name", names
    ).fetchall()
    return seal.line_check([value for row in found for value in row])


def refuse_empty(file: Path) -> None:
    """A file of no length is a new history; beside copies of an older one it is what is left of that.

    Raises
    ------
    Damaged
        If it is that.
    """
    log, copies = file.with_name(f"{file.name}-wal"), file.parent / "backups"
    if not file.exists() or file.stat().st_size or (log.exists() and log.stat().st_size):
        return
    if any(copies.glob("*.sqlite3")):
        raise damaged(file, "nothing is left of it")


def check_header(file: Path) -> None:
    """Check what SQLite believes without a check of its own.

    Raises
    ------
    Damaged
        If the file's header isn't as one of ours.
    """
    with file.open("rb") as opened:
        header = opened.read(100)
    if len(header) == 100 and header.startswith(b"SQLite format 3\0"):
        same = all(header[at : at + len(fixed)] == fixed for at, fixed in HEADER)
        if header[18] not in (1, 2) or header[19] not in (1, 2) or (same and header[18] != header[19]):
            same = False
        if not same and header[68:72] == APPLICATION_ID.to_bytes(4, "big"):
            raise damaged(file, "its beginning isn't as it was written")


def pragma(connection: sqlite3.Connection, name: str) -> int:
    """A number that the file says of itself."""
    (value,) = connection.execute(f"PRAGMA {name}").fetchone()
    return int(value)


def refuse(connection: sqlite3.Connection, file: Path) -> None:
    """Refuse a file that isn't ours, or isn't for us; it must not be touched, so this only reads.

    Raises
    ------
    TrainerError
        If it is another program's database, or a newer version's history.
    """
    connection.execute("BEGIN")  # one view of the file, however another program is just creating it
    try:
        owner = pragma(connection, "application_id")
        version = pragma(connection, "user_version")
        (things,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
        kept = seal.version_kept(file, connection)
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
    fresh = owner == 0 and version == 0 and things == 0
    if kept is not None and (owner, version) != (APPLICATION_ID, kept):
        raise damaged(file, "its beginning isn't as it was written")
    if not fresh and owner != APPLICATION_ID:
        raise TrainerError(
            f"{shown(file)} is another program's database; move it away, or give another data "
            "folder with --data"
        )
    if version > VERSION:
        raise TrainerError(
            f"{shown(file)} was written by a newer version of the trainer (history version "
            f"{version}, this one knows {VERSION}); install the newer one"
        )


def _use_wal(connection: sqlite3.Connection) -> None:
    """Switch to a write-ahead log; two programs doing so at once may not wait for each other."""
    deadline = time.monotonic() + BUSY_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").fetchone()
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _migrate(connection: sqlite3.Connection, file: Path) -> None:
    while pragma(connection, "user_version") < VERSION:
        connection.execute("BEGIN IMMEDIATE")
        try:
            # Another program may have been quicker since we looked.
            version = pragma(connection, "user_version")
            if version < VERSION:
                for statement in STEPS[version]:
                    connection.execute(statement)
                connection.execute(f"PRAGMA user_version = {version + 1}")
                if version + 1 >= SEALED_SINCE:
                    for name, n in (("version", version + 1), ("schema", _schema(connection))):
                        connection.execute("INSERT OR REPLACE INTO totals VALUES (?, ?, ?)", (name, n, ~n))
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
        refuse(connection, file)


def explain(file: Path, error: Exception) -> TrainerError:
    """One clear line for what SQLite or the system reports."""
    code = getattr(error, "sqlite_errorcode", None)
    why = " ".join(str(error).split())
    name = shown(file)
    match None if code is None else code & 0xFF:
        case sqlite3.SQLITE_NOTADB:
            return Damaged(
                f"{name} is not a history of the trainer, or its beginning is damaged; it is left "
                "as it is: move it away, or give another data folder with --data",
                file,
                "its beginning isn't that of a history",
            )
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_TOOBIG | sqlite3.SQLITE_FORMAT:
            return damaged(file, why)
        case _ if isinstance(error, UnicodeDecodeError) or why.startswith(NO_TEXT):
            return damaged(file, "a text isn't as it was written")
        case _ if why.startswith(OTHER_TABLES):
            return damaged(file, "its tables aren't as they were made")
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return TrainerError(
                f"{name} has been in use by another program for {BUSY_S:g} s; close that and try again"
            )
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM:
            return TrainerError(
                f"{name} can't be written ({why}); allow writing to it and its folder, or give "
                "another data folder with --data"
            )
        case sqlite3.SQLITE_FULL:
            return TrainerError(f"{name} can't grow: the disk is full; make room and try again")
        case _:
            return TrainerError(f"{name}: {why}")
