"""Where the data lives."""

import os
from pathlib import Path

from platformdirs import user_data_path

from trainer.history.errors import TrainerError, quoted, shown

NAME = "potting-angles"
VARIABLE = "TRAINER_DATA"


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
