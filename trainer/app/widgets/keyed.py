"""Textual's own widgets by the player's keys: the row of keys, a list, a page to read."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, OptionList

from trainer.app.keys import bound

KeysSaid = list[tuple[Binding, bool, str]]


class KeyRow(Footer):
    """What the keys do now, at the foot of a screen.

    Textual's own row makes all its parts anew whenever a screen looks which keys mean something, as one
    does after each key pressed: most of the time that a key takes, and mostly to say the same.
    """

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)
        self._said: KeysSaid | None = None
        self._looked = False  # whether a screen has looked: before that there is nothing to say

    def compose(self) -> ComposeResult:
        """The parts, and what they say."""
        if self._looked:
            self._said = _keys_of(self.screen)
        yield from super().compose()

    def bindings_changed(self, screen: Screen[object]) -> None:
        """Make the parts anew if they would say something else."""
        self._looked = True
        if screen is not self.screen or self._said != _keys_of(screen):
            super().bindings_changed(screen)


def _keys_of(screen: Screen[object]) -> KeysSaid:
    found = screen.active_bindings.values()
    return [(one.binding, one.enabled, one.tooltip) for one in found if one.binding.show]


class Rows(OptionList, inherit_bindings=False):
    """Textual's list by the player's keys, whose pages turn before it was ever drawn, too."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "cursor_up"),
        bound("down", "cursor_down"),
        bound("page_up", "page_up"),
        bound("page_down", "page_down"),
        bound("first", "first"),
        bound("last", "last"),
        bound("choose", "select"),
    ]

    def action_page_up(self) -> None:
        """A page up."""
        if self._is_laid_out():
            super().action_page_up()  # type: ignore[no-untyped-call]

    def action_page_down(self) -> None:
        """A page down."""
        if self._is_laid_out():
            super().action_page_down()  # type: ignore[no-untyped-call]

    def _is_laid_out(self) -> bool:
        """Whether there is a row to turn from; where its rows have changed, they are laid out anew."""
        self.scroll_to_highlight()
        return self.highlighted is not None


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
