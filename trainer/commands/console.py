"""A command's terminal: standard streams, yes or no, a progress bar, and the line that tells of a failure."""

import contextlib
import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from trainer.names import plain

MOST_LINE = 2000  # characters of a message


def open_streams() -> None:
    """Make the standard streams usable: a closed one leads nowhere."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115
        elif hasattr(stream, "reconfigure") and stream.errors != "replace":
            stream.reconfigure(errors="replace")


def complain(line: str) -> None:
    """One line on standard error, with nothing in it that a terminal obeys, if anybody can read it."""
    with contextlib.suppress(OSError):
        print(plain(line)[:MOST_LINE], file=sys.stderr, flush=True)


def close_streams() -> None:
    """Flush the streams, and drop what can't be, so that the interpreter doesn't try again at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            with contextlib.suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def confirmed(question: str, yes: bool) -> bool:
    """Whether the answer is yes; with ``yes`` nobody is asked, and no answer at all is a no."""
    if yes:
        return True
    print(f"{question} [y/N] ", end="", flush=True)
    line = sys.stdin.readline()
    if not line.endswith("\n"):
        print()
    return line.strip().lower() in ("y", "yes")


AFTER_S, EVERY_S = 0.5, 0.1  # seconds: when it appears, and how often it is drawn
WIDE = 30  # columns of the bar itself


class Bar:
    """Work done out of a total, as one line of a terminal that is drawn again and again."""

    def __init__(self, total: int, write: Callable[[str], None], columns: int, clock: Callable[[], float]):
        self.total, self.done = total, 0
        self._write, self._columns, self._clock = write, columns, clock
        self._began, self._drawn, self._length = clock(), 0.0, 0
        self._first: float | None = None

    def add(self, work: int) -> None:
        """So much more is done."""
        self.done += work
        now = self._clock()
        # The time before the first report is no work: processes start.
        self._first = now if self._first is None else self._first
        if now - self._began >= AFTER_S and now - self._drawn >= EVERY_S:
            self._drawn = now
            self._draw(self._line(now - self._first))

    def clear(self) -> None:
        """Take it off the terminal."""
        if self._length:
            self._draw("")
            self._write("\r")
            self._length = 0

    def _line(self, seconds: float) -> str:
        part = min(self.done / self.total, 1.0)
        full = round(part * WIDE)
        left = f"{_duration(seconds / part - seconds)} to go" if part and seconds else ""
        return f"{100 * part:3.0f} % [{'#' * full}{'.' * (WIDE - full)}] {left}"[: self._columns - 1]

    def _draw(self, line: str) -> None:
        # Kept before it is written: whatever interrupts this, the line is wiped.
        self._length = max(self._length, len(line))
        self._write(f"\r{line:<{self._length}}")


def _duration(seconds: float) -> str:
    """``40 s``, ``3 min``, ``2 h``."""
    for size, unit in ((3600, "h"), (60, "min")):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {unit}"
    return f"{max(seconds, 1):.0f} s"


@contextmanager
def bar(total: int) -> Iterator[Bar]:
    """A bar on standard error, if that is a terminal; else it only counts."""

    def write(text: str) -> None:
        sys.stderr.write(text)
        sys.stderr.flush()

    columns, is_shown = 80, sys.stderr.isatty()
    with contextlib.suppress(OSError):
        columns = os.get_terminal_size(sys.stderr.fileno()).columns or columns
    progress = Bar(total, write if is_shown else lambda text: None, columns, time.monotonic)
    try:
        yield progress
    finally:
        progress.clear()


PACKAGE = os.path.dirname(os.path.dirname(os.path.abspath(__file__))) + os.sep
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
    from trainer.report.note_words import NoteError
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
    import traceback

    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if frame.filename.startswith(PACKAGE)] or frames
    where = f" at {os.path.basename(ours[-1].filename)}:{ours[-1].lineno}" if ours else ""
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return (
        f"this is a fault of the trainer, not yours: {what[:MOST_FAULT]}{where}; every call with a mark is "
        f"kept. To see more of it, set {TRACEBACK}=1"
    )
