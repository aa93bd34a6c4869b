"""Leaving the game because of a signal: in good order, or, where that takes too long, all the same.

A thread of its own hears the signals, so that nothing the game may be busy with, or wait for, is in the way:
a terminal that takes nothing any more, or work that lasts.
"""

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

# Signals that end a program. Without a handler they would leave the terminal in the game's mode.
ENDINGS = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGINT") if hasattr(signal, name)]
PATIENCE_S = 1.4  # to leave in good order
WRITTEN_S = 0.2  # that a terminal is waited for
WRITES = "textual-output"  # the name of the thread that writes to the terminal
# What gives a terminal back: an unfinished sequence ends, modes go off, the screen of before comes back.
GIVEN_BACK = (
    b"\x18\x1b[?2026l\x1b[?2004l\x1b[?7h\x1b[?2048l\x1b[?1000l\x1b[?1003l\x1b[?1015l\x1b[?1006l\x1b[?1016l"
    b"\x1b[<u\x1b[?1049l\x1b[?25h\x1b[?1004l\x1b[0m"
)


class Ending:
    """Hears the signals that end the game."""

    def __init__(self) -> None:
        self._leave: Callable[[int], object] | None = None
        self._giving_back, self._over = threading.Lock(), threading.Event()
        self._before = _attributes()
        self._read, self._written = os.pipe()
        if sys.platform != "win32":
            os.set_blocking(self._written, False)

    @classmethod
    @contextmanager
    def heard(cls) -> Iterator["Ending"]:
        """Hear them meanwhile."""
        ending = cls()
        handlers = {number: signal.signal(number, _heard) for number in ENDINGS}
        told = signal.set_wakeup_fd(ending._written, warn_on_full_buffer=False)
        hearing = threading.Thread(target=ending._hear, name="ending", daemon=True)
        hearing.start()
        try:
            yield ending
        finally:
            ending._over.set()
            signal.set_wakeup_fd(told)
            for number, handler in handlers.items():
                signal.signal(number, handler)
            os.close(ending._written)  # what was heard is still read
            hearing.join()
            os.close(ending._read)

    @contextmanager
    def on_the_screen(self, leave: Callable[[int], object]) -> Iterator[None]:
        """Meanwhile the terminal is the game's, which ``leave`` asks to end with an exit code.

        It is called on a thread of its own.
        """
        self._leave = leave
        try:
            yield
        finally:
            with self._giving_back:  # which isn't to be cut short
                self._leave = None

    def _hear(self) -> None:
        while number := os.read(self._read, 1):
            if number[0] in ENDINGS:
                self._end(128 + number[0])

    def _end(self, code: int) -> None:
        """End with this code, which is the one that a shell gives a signal."""
        if leave := self._leave:
            with suppress(RuntimeError):  # it is ending already
                leave(code)
            if self._over.wait(PATIENCE_S):
                return
        with self._giving_back:
            if self._leave or _attributes() != self._before:
                self._give_back()
            os._exit(code)

    def _give_back(self) -> None:
        """Take the terminal from whatever writes to it, and give it back as it was."""
        screen = sys.__stderr__.fileno() if sys.__stderr__ is not None else 2
        terminal = os.dup(screen)
        os.dup2(os.open(os.devnull, os.O_WRONLY), screen)  # what is still written leads nowhere
        if self._before is not None:
            import termios

            for thread in threading.enumerate():  # one that waits in the middle of writing goes on there
                if thread.name == WRITES and thread.ident is not None:
                    signal.pthread_kill(thread.ident, signal.SIGTERM)  # which only wakes it
            with suppress(termios.error, OSError):
                termios.tcsetattr(terminal, termios.TCSANOW, self._before)
                termios.tcflush(terminal, termios.TCOFLUSH)
        if self._leave:
            writing = threading.Thread(target=_write, args=(terminal,), daemon=True)
            writing.start()
            writing.join(WRITTEN_S)


def _heard(number: int, frame: object) -> None:
    """Nothing: the number is on its way to the thread."""


def _write(terminal: int) -> None:
    with suppress(OSError):
        os.write(terminal, GIVEN_BACK)


def _attributes() -> list[Any] | None:
    """Those of the terminal, as they are; None where there is none."""
    if sys.platform == "win32":
        return None
    import termios

    with suppress(termios.error, OSError, ValueError, AttributeError):
        return list(termios.tcgetattr(sys.stdin.fileno()))
    return None
