"""A command's terminal: standard streams, yes or no, and a progress bar."""

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
def bar(total: int) -> Iterator[Callable[[int], None]]:
    """Give a function that adds work done; the bar is on standard error, if that is a terminal."""

    def write(text: str) -> None:
        sys.stderr.write(text)
        sys.stderr.flush()

    if not sys.stderr.isatty():
        yield lambda work: None
        return
    try:
        columns = os.get_terminal_size(sys.stderr.fileno()).columns
    except OSError:
        columns = 80
    shown = Bar(total, write, columns or 80, time.monotonic)
    try:
        yield shown.add
    finally:
        shown.clear()
