"""Files that appear whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO

from trainer.history.errors import TrainerError, shown

PART = ".part"  # the ending of a file that isn't whole yet


@contextmanager
def put_whole(target: Path) -> Iterator[Path]:
    """The name of a file to write, which takes the place of ``target`` at the end and is on disk then.

    If anything fails before, ``target`` is as it was and nothing is left beside it.

    Raises
    ------
    OSError
        If it can't be written.
    """
    aside = target.with_name(f".{secrets.token_hex(8)}{PART}")
    try:
        yield aside
        with aside.open("rb+") as file:
            os.fsync(file.fileno())
        aside.replace(target)
        _sync_folder(target.parent)
    finally:
        aside.unlink(missing_ok=True)


@contextmanager
def written_whole(target: Path) -> Iterator[TextIO]:
    """A text file to write, in the same way.

    Raises
    ------
    OSError
        If it can't be written.
    """
    with put_whole(target) as aside, aside.open("x", encoding="utf-8", newline="") as file:
        yield file
        file.flush()


def keep_text(target: Path, text: str) -> None:
    """Write a text file into a folder, which is created where it isn't there yet.

    Raises
    ------
    TrainerError
        If it can't be written; then ``target`` is as it was.
    """
    if target.is_symlink():  # what it leads to is outside, and nothing is written there
        raise TrainerError(f"{shown(target)} is a link, and not written to; change the file it leads to")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with written_whole(target) as file:
            file.write(text)
    except OSError as error:
        raise TrainerError(f"{shown(target)} can't be written: {error.strerror}") from None


def write_text(path: Path, text: str) -> None:
    """Write a text for the player to a file, whole or not at all; a file of that name is replaced.

    Raises
    ------
    TrainerError
        If it can't be written there.
    """
    target = Path(os.path.realpath(path))  # a link stays one, what it leads to is replaced
    if target.is_dir():
        raise TrainerError(f"{shown(path)} is a folder; give a file")
    if target.exists() and not target.is_file():
        raise TrainerError(f"{shown(path)} is not a file; give a file")
    if not target.parent.is_dir():
        raise TrainerError(f"{shown(path)}: there is no folder {shown(target.parent)}")
    try:
        with written_whole(target) as file:
            file.write(text)
    except OSError as error:
        raise TrainerError(f"{shown(path)} can't be written: {error.strerror}") from None


def _sync_folder(folder: Path) -> None:
    """A new name is on disk when its folder is; some systems don't open folders."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
