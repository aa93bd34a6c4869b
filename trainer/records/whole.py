"""Files that appear whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO


@contextmanager
def written_whole(target: Path) -> Iterator[TextIO]:
    """A text file to write, which takes the place of ``target`` at the end and is on disk then.

    If anything fails before, ``target`` is as it was and nothing is left beside it.

    Raises
    ------
    OSError
        If it can't be written.
    """
    aside = target.with_name(f".{secrets.token_hex(8)}.part")
    try:
        with aside.open("x", encoding="utf-8", newline="") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        aside.replace(target)
        _sync_folder(target.parent)
    finally:
        aside.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """A new name is on disk when its folder is; some systems don't open folders."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
