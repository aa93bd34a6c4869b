"""What screens have in common: a smallest size, the key row, help by their own bindings, pieces of text."""

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.binding import ActiveBinding, Binding
from textual.containers import Container
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.style import Style
from textual.widgets import Static

from trainer.app.keys import KeyRow, PlayerKeys, said
from trainer.settings.keys import ANSWERS

if TYPE_CHECKING:
    from trainer.app.app import TrainerApp

SMALLEST = (80, 24)
WIDE = 110  # columns from which a page of text has room for a picture beside it
DIGITS = "123456789"
LEAVING = ("leave_set", "quit_at_once", "put_aside")  # actions that are meant whatever is shown
COPIED_S = 2.0  # seconds that it is said
SETTINGS_PAGE = "-settings-page"  # a class: of the pages that have it one is shown at a time


class TrainerScreen(Screen[None]):
    """A screen of the trainer; subclasses give ``body`` and maybe ``HELP_TEXT``."""

    AUTO_FOCUS: ClassVar[str | None] = "#page"  # so that the arrow keys scroll, where there is a page to read
    HELP_TEXT: ClassVar[str] = ""

    _shown: tuple[object, ...] = ()
    _seen_from = float("-inf")  # when that came on the screen

    def shows(self, *what: object) -> None:
        """Say what is to be seen from now on; if it is new, keys of before aren't meant for it."""
        if [*map(id, what)] != [*map(id, self._shown)]:
            self._shown, self._seen_from = what, float("inf")
            self.call_after_refresh(self._seen)

    def _seen(self) -> None:
        self._seen_from = Message().time

    def came_before(self, event: events.Key) -> bool:
        """Whether a key was pressed before what is shown now was there to be seen, and may not be meant."""
        return event.time < self._seen_from and not any(event.key in self.keys.of[name] for name in LEAVING)

    @property
    def trainer(self) -> "TrainerApp":
        """The app, by its own type."""
        return cast("TrainerApp", self.app)

    @property
    def keys(self) -> PlayerKeys:
        """The player's keys."""
        return self.trainer.keys

    def compose(self) -> ComposeResult:
        """The body, the row of keys, and what is shown instead where there is no room."""
        with Container(id="body"):
            yield from self.body()
        yield KeyRow()
        yield Static(id="too-small")

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    @property
    def is_on_top(self) -> bool:
        """Whether this screen has the keys. Textual's ``is_current`` says so of what shows through, too."""
        return self.app.screen is self

    def close(self) -> None:
        """Back to what is below; once, however many keys and clicks say so."""
        if self.is_on_top:
            self.dismiss()

    def action_home(self) -> None:
        """Back home."""
        self.trainer.show_home()

    def help_text(self) -> str:
        """What help says above the keys."""
        return self.HELP_TEXT

    def said(self) -> str:
        """What the screen says in words that help explains before all others."""
        return ""

    def copy(self, text: str, said: str) -> None:
        """Put a text into the clipboard, and say so for a moment."""
        self.app.copy_to_clipboard(text)
        self.notify(said, title="Copied", markup=False, timeout=COPIED_S)

    def action_keep_page(self) -> None:
        """Give the player their report as a page."""
        from trainer.report.page import page

        game = self.trainer.game
        self.trainer.hand_over(f"report-{game.history.today}.html", page(game), "page")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Nothing is done blind, see :attr:`blind`."""
        return not self.blind

    @property
    def active_bindings(self) -> dict[str, ActiveBinding]:
        """What the keys do now; all the numbers stand as one, from the first to the last."""
        found = super().active_bindings
        # A key may have other actions at other times, and a keymap puts its own behind all others.
        order = {binding.id: i for i, binding in enumerate(self.BINDINGS) if isinstance(binding, Binding)}
        last = len(self.BINDINGS)
        found = dict(sorted(found.items(), key=lambda one: order.get(one[1].binding.id, last)))
        numbers = {key: active for key, active in found.items() if active.binding.id in ANSWERS}
        if len(numbers) > 1:
            text = "".join(said(key) for key in numbers)
            display = f"{text[0]}-{text[-1]}" if text in DIGITS else text
            for key, active in numbers.items():
                found[key] = active._replace(binding=replace(active.binding, key_display=display))
        return found

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
        self.set_class(width >= WIDE, "-wide")
        small = width < SMALLEST[0] or height < SMALLEST[1]
        self.set_class(small, "-too-small")
        self.refresh_bindings()  # which keys mean something depends on it
        if small:
            self.query_one("#too-small", Static).update(
                f"The table needs a little more room:\n{SMALLEST[0]} columns and {SMALLEST[1]} rows; "
                f"here are {width} and {height}.\nMake the window larger and play goes on."
            )


# Pieces of text that several screens show

FULL_SCALE = 1 / 8  # balls at either end


def clickable(text: str | Content, action: str, style: str = "") -> Content:
    """Text with a style that runs an action of its screen where it is clicked."""
    content = text if isinstance(text, Content) else Content(text)
    return content.stylize(style).stylize(Style.from_meta({"@click": action}))


def interval(low: float, mean: float, high: float, half: int) -> str:
    """An interval and its middle, in balls, + thick, on a line of ``half`` cells to either side of true."""
    cells = [" "] * (2 * half + 1)

    def place(value: float) -> int:
        return round(half + max(-1.0, min(1.0, value / FULL_SCALE)) * half)

    for i in range(place(low), place(high) + 1):
        cells[i] = "─"
    cells[half] = "│" if cells[half] == " " else "┼"
    cells[place(mean)] = "●"
    return "".join(cells)


def true_line(half: int) -> str:
    """The same where nothing is known."""
    return f"{' ' * half}│{' ' * half}"


def ends(half: int) -> Content:
    """What is to the left and to the right of the lines below."""
    return Content.styled(f"{'thin':<{half}} {'thick':>{half}}", "$quiet")
