"""What goes wrong with the history, said in one clear line."""

from collections.abc import Sequence
from pathlib import Path

SHOWN = 40  # characters of a value or a name that a message quotes


class TrainerError(Exception):
    """History can't be read or kept; the message is one line: what is wrong, where, what to do.

    ``problems`` holds every problem on its own, where several were found at once.
    """

    def __init__(self, message: str, problems: Sequence[str] = ()):
        super().__init__(message)
        self.problems = tuple(problems) or (message,)


def quoted(value: object) -> str:
    """A value as a message shows it: short, on one line, nothing in it that a terminal obeys."""
    text = repr(value[: SHOWN + 1] if isinstance(value, str) else value)
    return text if len(text) <= SHOWN else text[: SHOWN - 3] + "..."


def shown(path: Path) -> str:
    """A path as a message shows it."""
    text = str(path)
    return text if text.isprintable() else repr(text)


class Damaged(TrainerError):
    """A history's file isn't as it was written; ``file`` is it, and ``why`` is what tells so."""

    def __init__(self, message: str, file: Path, why: str):
        super().__init__(message)
        self.file, self.why = file, why


class Outdated(TrainerError):
    """A newer version of the trainer has changed the history since this program opened it."""


class Unwritable(TrainerError):
    """A history can't be written; it may still be read."""


def damaged(file: Path, why: str) -> Damaged:
    """What is said of a damaged history."""
    return Damaged(
        f"{shown(file)} is damaged ({why}) and is left as it is; trainer backups lists what trainer "
        "restore can put in its place, or move it away and import your last export",
        file,
        why,
    )


def no_history(file: Path) -> Damaged:
    """What is said of a file that doesn't begin as a history does."""
    return Damaged(
        f"{shown(file)} is not a history of the trainer, or its beginning is damaged; it is left "
        "as it is: move it away, or give another data folder with --data",
        file,
        "its beginning isn't that of a history",
    )
