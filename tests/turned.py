"""A clock that the test turns: no screen waits for it, and none is hurried by a busy machine.

Time stands still while anything is left to do, and then goes on at once to whatever is due next. So a pause
of the pilot ends when the app is at rest, a film has as many frames on every machine, and no test sleeps.
"""

import asyncio
import importlib
import pkgutil
import selectors
import sys
import time
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest
import textual._time
import textual._wait
import textual.command
import textual.widget
import textual.worker

import trainer.app


class _Turning(selectors.DefaultSelector):  # type: ignore[misc, valid-type]
    """Instead of waiting for a timer it turns the clock to it."""

    def __init__(self, loop: "TurnedLoop") -> None:
        super().__init__()
        self.loop = loop

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        if timeout is None or timeout <= 0 or self.loop.working:
            return super().select(timeout)
        found = super().select(0)
        if not found:
            self.loop.turn(timeout)
        return found


class TurnedLoop(asyncio.SelectorEventLoop):
    """An event loop with such a clock. While a thread works for it, the clock stands."""

    def __init__(self) -> None:
        self.working = 0
        self._turned = 1000.0
        super().__init__(_Turning(self))

    def time(self) -> float:
        """Seconds."""
        return self._turned

    def turn(self, seconds: float) -> None:
        """So much later."""
        self._turned += seconds

    def run_in_executor(self, executor: Any, func: Callable[..., Any], *args: Any) -> Any:
        """In a thread, as ever; its work is waited for."""
        future = super().run_in_executor(executor, func, *args)
        self.working += 1
        future.add_done_callback(self._done)
        return future

    def _done(self, _: object) -> None:
        self.working -= 1


def now() -> float:
    """The seconds of the loop that runs; where none with such a clock does, those of the machine."""
    try:
        loop = asyncio.get_running_loop()
    except RuntimeError:
        return time.monotonic()
    return loop.time()


def turn_clocks(patch: pytest.MonkeyPatch) -> None:
    """Let Textual and the screens read the clock of the loop."""
    for module in (textual._wait, textual.command, textual.widget, textual.worker):
        patch.setattr(module, "monotonic", now)
    patch.setattr(textual._time, "get_time", now)
    # How busy the process is says nothing: the clock goes on only when the app is at rest.
    patch.setattr(textual._wait, "process_time", lambda: 0.0)
    for found in pkgutil.walk_packages(trainer.app.__path__, "trainer.app."):
        importlib.import_module(found.name)
    turned = SimpleNamespace(**{**vars(time), "monotonic": now})
    for name, module in list(sys.modules.items()):
        if name.startswith("trainer.app.") and getattr(module, "time", None) is time:
            patch.setattr(module, "time", turned)
