"""Screens are drawn when they are at rest, not at each step on the way there, as on a terminal.

A screen that opens is laid out in several steps, and Textual draws after each: a tenth of what a test of a
screen takes. The quick tests draw once, when the pilot has waited; what the screen shows then is the same.
The slow tests, the storm of keys among them, draw every step.
"""

from typing import Any

import pytest
from textual.pilot import Pilot
from textual.screen import Screen

_draw = Screen._compositor_refresh
_pause = Pilot.pause


def draw_at_rest(patch: pytest.MonkeyPatch) -> None:
    """Draw what is on top only after a pause of the pilot."""
    patch.setattr(Screen, "_compositor_refresh", _later)
    patch.setattr(Pilot, "pause", _pause_and_draw)


def _later(self: Screen[Any]) -> None:
    if self is self.app.screen:
        self._dirty_widgets.clear()
        self.app._update_mouse_over(self)
    else:
        _draw(self)


async def _pause_and_draw(self: Pilot[Any], delay: float | None = None) -> None:
    await _pause(self, delay)
    _draw(self.app.screen)
