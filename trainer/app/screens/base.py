"""What every screen has: a smallest size, the key row, and help built from its own bindings."""

from typing import TYPE_CHECKING, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.containers import Container
from textual.screen import Screen
from textual.widgets import Static

from trainer.app.widgets.key_row import KeyRow

if TYPE_CHECKING:
    from trainer.app.app import TrainerApp

SMALLEST = (80, 24)


class TrainerScreen(Screen[None]):
    """A screen of the trainer; subclasses give ``body`` and maybe ``HELP_TEXT``."""

    AUTO_FOCUS: ClassVar[str | None] = None
    HELP_TEXT: ClassVar[str] = ""

    @property
    def trainer(self) -> "TrainerApp":
        """The app, by its own type."""
        return cast("TrainerApp", self.app)

    def compose(self) -> ComposeResult:
        """The body, the row of keys, and what is shown instead where there is no room."""
        with Container(id="body"):
            yield from self.body()
        yield KeyRow()
        yield Static(id="too-small")

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    def help_text(self) -> str:
        """What help says above the keys."""
        return self.HELP_TEXT

    def action_keep_page(self) -> None:
        """Give the player their report as a page."""
        from trainer.game.page import page

        game = self.trainer.game
        self.trainer.hand_over(f"report-{game.records.today}.html", page(game), "page")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Nothing is done blind, see :attr:`blind`."""
        return not self.blind

    @property
    def blind(self) -> bool:
        """Whether there is nothing to see: no room, or keys that came before the screen did."""
        return self.too_small or not self.is_mounted

    @property
    def too_small(self) -> bool:
        """Whether there is no room to show this screen."""
        return self.has_class("-too-small")

    def on_resize(self, event: events.Resize) -> None:
        """Where the terminal is too small, say so kindly and wait."""
        width, height = event.size
        small = width < SMALLEST[0] or height < SMALLEST[1]
        self.set_class(small, "-too-small")
        self.refresh_bindings()  # which keys mean something depends on it
        if small:
            self.query_one("#too-small", Static).update(
                f"The table needs a little more room:\n{SMALLEST[0]} columns and {SMALLEST[1]} rows; "
                f"here are {width} and {height}.\nMake the window larger and play goes on."
            )
