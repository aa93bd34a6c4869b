"""How Textual's driver for terminals (8.2) takes what comes in.

With :mod:`~trainer.app.textual_private` and :mod:`~trainer.app.served_driver` this is all that leans on what
Textual may change without a word. Its own driver takes keys one by one however many come, ends at bytes that
are no characters, and asks a terminal that is gone for ever. Without :class:`TerminalDriver` the game is
played as ever, with these faults.
"""

import asyncio
import os
import re
import select
import signal
import threading
import time
from codecs import getincrementaldecoder
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import partial
from typing import Any

from textual import events
from textual._xterm_parser import XTermParser
from textual.app import ScreenStackError
from textual.drivers.linux_driver import LinuxDriver
from textual.keys import Keys
from textual.message import Message

from trainer.app.terminal_input import Presses, Waiting

TICK_S = 0.1  # between looks whether the game ends, or an escape was a key of its own
AT_ONCE = 4096  # bytes that a terminal holds ready
FLOOD, LULL_S = 64, 0.02  # bytes from which on all of it is read, up to a lull
MOST_READ, LONGEST_S = 1 << 20, 1.0  # but no more bytes, and no longer
TAKEN_S = 1.0  # that is waited until the app has taken what it was given
# A move of the mouse that another one follows, with the same buttons.
OUTDATED = re.compile(rb"\x1b\[<(3[2-9]|[45]\d|6[0-3]);\d+;\d+M(?=\x1b\[<\1;\d+;\d+M)")
SURROGATES = range(0xD800, 0xE000)  # numbers that are no characters


class Parser(XTermParser):
    """Makes events of what a terminal sends; what can't be a key is none."""

    def read(self, text: str, unwanted: Callable[[], bool]) -> list[Message]:
        """The events of a text, up to where they are unwanted."""
        found: list[Message] = []
        for start in range(0, len(text), AT_ONCE):
            if unwanted():
                return []
            found += self.feed(text[start : start + AT_ONCE])
        return [*found, *self.tick()]

    def _sequence_to_key_events(self, sequence: str, alt: bool = False) -> Iterable[events.Key]:
        try:
            found = list(super()._sequence_to_key_events(sequence, alt))
        except (ValueError, OverflowError):
            found = [events.Key(Keys.Ignore, sequence)]
        surrogate = any(ord(c) in SURROGATES for key in found for c in key.key + (key.character or ""))
        return [events.Key(Keys.Ignore, sequence)] if surrogate else found


class TerminalDriver(LinuxDriver):
    """Gives the app what a player means of what comes in, as soon as it has taken what came before."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._waiting, self._presses = Waiting(), Presses()
        self._lock, self._giving = threading.Lock(), False

    def run_input_thread(self) -> None:
        """Read until the app ends; a terminal that is gone is a hangup, whether the system says so or not."""
        parser, decode = Parser(self._debug), getincrementaldecoder("utf-8")("ignore").decode
        while not self.exit_event.is_set():
            came = self._read()
            if came is None:
                os.kill(os.getpid(), signal.SIGHUP)
                return
            read_at = time.monotonic()
            try:
                found = parser.read(decode(OUTDATED.sub(b"", came)), self.exit_event.is_set)
            except Exception:  # what no key and no answer can be; with it goes what came with it
                parser, found = Parser(self._debug), []
            if not self._in_band_window_resize:  # then no terminal says its size so: it is typed
                found = [event for event in found if not isinstance(event, events.Resize)]
                parser.mouse_pixels = False
            for event in found:
                event.time = read_at
            for event in self._presses.meant(found):
                self.process_message(event)

    def _read(self) -> bytes | None:
        """What has come in, where it is much all up to a lull; None where nothing will come any more."""
        if not self._readable(TICK_S):
            return b""
        found = b""
        until = time.monotonic() + LONGEST_S
        while True:
            try:
                came = os.read(self.fileno, AT_ONCE)
            except OSError:
                return None
            if not came:
                return found or None
            found += came
            lull = LULL_S if len(found) >= FLOOD else 0.0
            if len(found) > MOST_READ or time.monotonic() > until or not self._readable(lull):
                return found

    def _readable(self, seconds: float) -> bool:
        return bool(select.select([self.fileno], [], [], seconds)[0])

    def send_message(self, message: Message) -> None:
        """Give a message to the app, after those that wait."""
        with self._lock:
            self._waiting.add(message)
            if self._giving:
                return
            self._giving = True
        asyncio.run_coroutine_threadsafe(self._give(), self._loop)

    async def _give(self) -> None:
        """Give the app all that waits."""
        while True:
            with self._lock:
                found = self._waiting.take()
                self._giving = bool(found)
            if not found:
                return
            for message in found:
                self._app.post_message(message)
            await self._taken()

    async def _taken(self) -> None:
        """Wait until the app is through with what it was given: a key goes from it to the screen and back."""
        done, app = asyncio.Event(), self._app

        def through_the_screen() -> None:
            with suppress(ScreenStackError):
                app.screen.call_later(partial(app.call_later, done.set))

        with suppress(TimeoutError):
            if app.call_later(through_the_screen):
                await asyncio.wait_for(done.wait(), TAKEN_S)
