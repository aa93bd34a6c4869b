"""Failures that are said in one line."""

from trainer.drills import CallError
from trainer.game.notebook import NoteError
from trainer.records import RecordsError
from trainer.shots.check import ShotError
from trainer.shots.limits import NoSuchShot
from trainer.shots.toml_reader import FileError


class CommandError(Exception):
    """A command that can't be carried out; the message says what is wrong and what is allowed."""


class UsageError(CommandError):
    """Options that don't go together."""


def message_of(error: Exception) -> str | None:
    """The line that tells a user of a failure; None for one that is a fault of the program."""
    if isinstance(error, LookupError) and type(error) is LookupError:
        return str(error)
    if isinstance(
        error, CommandError | RecordsError | ShotError | NoSuchShot | FileError | CallError | NoteError
    ):
        return str(error)
    if isinstance(error, OSError):
        where = f": {error.filename}" if error.filename else ""
        return f"{error.strerror or error}{where}"
    return None
