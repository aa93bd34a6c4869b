"""The row of keys at the foot of a screen, made anew only where it would say something else."""

from textual.app import ComposeResult
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Footer

Told = list[tuple[Binding, bool, str]]


class KeyRow(Footer):
    """What the keys do now.

    Textual's own row makes all its parts anew whenever a screen looks which keys mean something, as one
    does after each key pressed: most of the time that a key takes, and mostly to say the same.
    """

    def __init__(self) -> None:
        super().__init__(show_command_palette=False)
        self._told: Told | None = None

    def compose(self) -> ComposeResult:
        """The parts, and what they tell."""
        if self._bindings_ready:
            self._told = _told(self.screen)
        yield from super().compose()

    def bindings_changed(self, screen: Screen[object]) -> None:
        """Make the parts anew if they would tell something else."""
        if screen is not self.screen or self._told != _told(screen):
            super().bindings_changed(screen)


def _told(screen: Screen[object]) -> Told:
    found = screen.active_bindings.values()
    return [(one.binding, one.enabled, one.tooltip) for one in found if one.binding.show]
