"""A page to read, longer than its room perhaps."""

from typing import ClassVar

from textual.binding import BindingType
from textual.containers import VerticalScroll

from trainer.app.keys import bound


class Page(VerticalScroll, inherit_bindings=False):
    """Scrolls by the player's keys."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "scroll_up"),
        bound("down", "scroll_down"),
        bound("page_up", "page_up"),
        bound("page_down", "page_down"),
        bound("first", "scroll_home"),
        bound("last", "scroll_end"),
    ]
