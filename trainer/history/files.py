"""The data folder, and files that appear whole or not at all."""

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TextIO

from platformdirs import user_data_path

from trainer.history.errors import TrainerError, quoted, shown

NAME = "potting-angles"
VARIABLE = "TRAINER_DATA"
PART = ".part"  # the ending of a file that isn't whole yet
PROBE = 65_536  # bytes: SQLite needs no fewer to open a history


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


# The data folder


def data_folder(given: str | None = None) -> Path:
    """The data folder: the one given, else ``TRAINER_DATA``, else the platform's own.

    Nothing is created; :func:`make_folder` does that when something is to be kept.

    Raises
    ------
    TrainerError
        If the name is empty, or what it names is not a folder.
    """
    if given is None:
        given = os.environ.get(VARIABLE) or None
    elif not given.strip():
        raise TrainerError("the data folder has an empty name; allowed: --data FOLDER")
    if given is None:
        folder = user_data_path(NAME, appauthor=False)
    else:
        try:
            folder = Path(given).expanduser().absolute()
        except (RuntimeError, OSError) as error:
            raise TrainerError(f"data folder {quoted(given)}: {error}") from None
    _no_file(folder)
    return folder


def make_folder(folder: Path) -> None:
    """Create the data folder where it isn't there yet.

    Raises
    ------
    TrainerError
        If a file is in the way, or creating it isn't permitted.
    """
    _no_file(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise TrainerError(
            f"data folder {shown(folder)} can't be created: {reason}; give another with --data or {VARIABLE}"
        ) from None


def check_folder(folder: Path, *, writable: bool) -> None:
    """See whether the data folder is one, or could be created; nothing is.

    Raises
    ------
    TrainerError
        If a file is in the way, or it can't be ``writable``, as is wanted.
    """
    _no_file(folder)
    there = next((place for place in (folder, *folder.parents) if place.exists()), folder)
    effective = os.access in os.supports_effective_ids
    if not writable or os.access(there, os.W_OK | os.X_OK, effective_ids=effective):
        return
    how, why = "written" if there == folder else "created", os.strerror(errno.EACCES)
    raise TrainerError(
        f"data folder {shown(folder)} can't be {how}: {why}; give another with --data or {VARIABLE}"
    )


def why_unwritable(folder: Path) -> str:
    """Why nothing can be written into a folder, as the system says it; '' where that can be done."""
    probe = folder / f".{secrets.token_hex(8)}{PART}"
    try:
        with probe.open("xb") as file:
            file.write(bytes(PROBE))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        return error.strerror or str(error)
    finally:
        with suppress(OSError):
            probe.unlink(missing_ok=True)
    return ""


def empty_folder(given: str) -> Path:
    """A folder that is new or empty, for a history of its own; created where it isn't there yet.

    Raises
    ------
    TrainerError
        If it holds anything, or can't be one.
    """
    allowed = "allowed: a new folder or an empty one"
    if not given.strip():
        raise TrainerError(f"a folder with an empty name; {allowed}")
    try:
        folder = Path(given).expanduser().absolute()
        if folder.exists() and not folder.is_dir():
            raise ValueError("is a file")
        folder.mkdir(parents=True, exist_ok=True)
        is_empty = not any(folder.iterdir())
    except (OSError, ValueError, RuntimeError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise TrainerError(f"folder {quoted(given)}: {reason}; {allowed}") from None
    if not is_empty:
        raise TrainerError(f"folder {shown(folder)} is not empty; {allowed}")
    return folder


def _no_file(folder: Path) -> None:
    try:
        blocked = folder.exists() and not folder.is_dir()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise TrainerError(f"data folder {shown(folder)} can't be reached: {reason}") from None
    if blocked:
        raise TrainerError(f"data folder {shown(folder)} is a file; give a folder with --data or {VARIABLE}")
