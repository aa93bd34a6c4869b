"""Standard streams that can always be used, and what is said on them."""

import contextlib
import os
import sys

from trainer.shots.plain import plain

MOST_LINE = 2000  # characters of a message


def open_streams() -> None:
    """Standard streams that can always be used: a closed one leads nowhere."""
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
    """What can't be flushed is dropped here, so that the interpreter doesn't try again at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            with contextlib.suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
