"""What a history's files tell of damage before SQLite opens them.

SQLite takes what is left of a file for a new one, and what is left of its log for the whole of it.
"""

import struct
from contextlib import suppress
from pathlib import Path

from trainer.history.errors import damaged, no_history

HEAD = 100  # bytes of a database's own header
MAGIC = b"SQLite format 3\0"
LOG_HEAD, FRAME_HEAD = 32, 24  # bytes of a log's header, and of what is before each page in it
# Of the log's index, which is in the machine's own byte order: twice the same, then how much was taken over.
INDEX_HEAD, TAKEN_OVER = 48, 96


def refuse_remains(file: Path) -> None:
    """Refuse a file, or a log beside it, that is only what is left of one.

    Raises
    ------
    Damaged
        If it is that.
    """
    with suppress(FileNotFoundError):  # a history that is new, or a log that was just taken over
        if why := _missing(file):
            raise damaged(file, why)


def _missing(file: Path) -> str:
    """What is missing, '' if nothing tells so.

    A file of no length is a new history; beside copies of an older one it is what is left of that.
    """
    if _log_is_cut(file):
        return "the end of its log is gone"
    size, has_log = file.stat().st_size, _size(_log(file)) > 0
    if not size and not has_log:
        return "nothing is left of it" if any((file.parent / "backups").glob("*.sqlite3")) else ""
    with file.open("rb") as stream:
        head = stream.read(HEAD)
    if 0 < len(head) < HEAD:
        if not MAGIC.startswith(head[: len(MAGIC)]):
            raise no_history(file)
        return "only its beginning is left"
    if has_log or not head.startswith(MAGIC):  # the log has the rest; SQLite tells itself
        return ""
    page, counted_at, pages, known_at = struct.unpack(">16xH6xII60xI4x", head)
    short = size < pages * (page if page > 1 else 65536) and counted_at == known_at
    # Whoever has written meanwhile has a log.
    return "it is shorter than it says" if short and not _size(_log(file)) else ""


def _log_is_cut(file: Path) -> bool:
    """Whether the log has fewer pages than its index, which outlives a sudden end, says."""
    log, index = _log(file), _index(file)
    try:
        with log.open("rb") as stream:
            head = stream.read(LOG_HEAD)
        size = log.stat().st_size
    except FileNotFoundError:
        head, size = b"", 0
    if 0 < size < LOG_HEAD:
        return True
    if len(index) < TAKEN_OVER + 4 or index[:INDEX_HEAD] != index[INDEX_HEAD : 2 * INDEX_HEAD]:
        return False
    page, pages = struct.unpack_from("=HI", index, 14)
    (taken_over,) = struct.unpack_from("=I", index, TAKEN_OVER)
    if head and index[32:40] != head[16:24]:  # of another log
        return False
    short = size < LOG_HEAD + pages * (FRAME_HEAD + (page if page > 1 else 65536))
    # Whoever closes the history in good order meanwhile takes all over first.
    return bool(taken_over < pages and short and index == _index(file))


def _index(file: Path) -> bytes:
    """The head of the log's index, empty where there is none."""
    try:
        with file.with_name(f"{file.name}-shm").open("rb") as stream:
            return stream.read(TAKEN_OVER + 4)
    except OSError:
        return b""


def _log(file: Path) -> Path:
    return file.with_name(f"{file.name}-wal")


def _size(file: Path) -> int:
    return file.stat().st_size if file.exists() else 0
