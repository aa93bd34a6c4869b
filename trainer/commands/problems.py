"""Failures, and the one line that a user is told."""

import traceback
from pathlib import Path

PACKAGE = Path(__file__).parents[1]
TRACEBACK = "TRAINER_TRACEBACK"  # the variable that asks for a traceback instead of a line
MOST_FAULT = 300  # characters of what an exception says


class CommandError(Exception):
    """A command that can't be carried out; the message says what is wrong and what is allowed."""


class UsageError(CommandError):
    """Options that don't go together."""


def message_of(error: Exception) -> str | None:
    """The line that tells a user of a failure; None for one that is a fault of the program."""
    # Imported here, since every command uses this module, and few use all of those.
    from trainer.drills import CallError
    from trainer.history import TrainerError
    from trainer.levels.toml_reader import FileError
    from trainer.report.notebook import NoteError
    from trainer.shots.check import ShotError
    from trainer.shots.shot import NoSuchShot

    if isinstance(error, LookupError) and type(error) is LookupError:
        return str(error)
    if isinstance(
        error, CommandError | TrainerError | ShotError | NoSuchShot | FileError | CallError | NoteError
    ):
        return str(error)
    if isinstance(error, OSError):
        where = f": {error.filename}" if error.filename else ""
        return f"{error.strerror or error}{where}"
    return None


def fault_of(error: Exception) -> str:
    """The line that tells a user of a fault of the program: what it was, and where."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if Path(frame.filename).is_relative_to(PACKAGE)] or frames
    where = f" at {Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else ""
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return (
        f"this is a fault of the trainer, not yours: {what[:MOST_FAULT]}{where}; every call with a mark is "
        f"kept. To see more of it, set {TRACEBACK}=1"
    )
