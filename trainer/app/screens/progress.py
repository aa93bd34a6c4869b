"""Progress: what the trainer thinks of the player's eye, after all calls."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from trainer.app.screens.base import TrainerScreen
from trainer.game.report import game_kinds, headline
from trainer.game.words import kind_words
from trainer.learner.report import Kind

HALF = 10  # cells from the middle of a bar to its end
FULL_SCALE = 1 / 8  # balls at the end of a bar


class ProgressScreen(TrainerScreen):
    """Bias per band and side, days and streak."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,enter", "home", "Home", key_display="esc"),
    ]
    HELP_TEXT = (
        "Each line is a kind of shot: its fullness, the side the object ball is sent to, and how you see it. "
        "The bar shows where your calls lie, thin to the left, thick to the right, and how sure that is. "
        "A verdict is given only when it would stand up to being looked at after every call."
    )

    def body(self) -> ComposeResult:
        """Figures and bars."""
        with VerticalScroll(id="page"):
            yield Static(self._text())

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#page").focus()

    def _text(self) -> Content:
        game = self.trainer.game
        passed = sum(map(game.passed, game.shelf.levels))
        lines = [
            Content.styled("Progress", "bold $secondary"),
            Content(f"{headline(game)} {passed} of {len(game.shelf.levels)} levels passed."),
            Content(""),
            Content.styled(f"{'':17}{'thin':<{HALF}} {'thick':>{HALF}}   calls", "$quiet"),
        ]
        lines += [_line(row) for row in game_kinds(game)]
        return Content("\n").join(lines)

    def action_home(self) -> None:
        """Back home."""
        self.trainer.show_home()


def _line(row: Kind) -> Content:
    head = f"  {row.band:>7} {row.side:<5}  "
    if not row.attempts:
        return Content.styled(f"{head}{' ' * HALF}│{' ' * HALF}", "$quiet")
    strong = "$secondary" if row.verdict in ("thick", "thin") else "$success"
    tone = strong if row.verdict != "not enough yet" else "$quiet"
    return Content.assemble(
        head, (bar(row.low, row.bias, row.high), tone), f"   {row.attempts:4}  ", (kind_words(row), tone)
    )


def bar(low: float, mean: float, high: float) -> str:
    """An interval and its middle on a scale of an eighth of a ball to either side."""
    cells = [" "] * (2 * HALF + 1)

    def place(value: float) -> int:
        return round(HALF + max(-1.0, min(1.0, value / FULL_SCALE)) * HALF)

    for i in range(place(low), place(high) + 1):
        cells[i] = "─"
    if cells[HALF] == " ":
        cells[HALF] = "│"
    cells[place(mean)] = "●"
    return "".join(cells)
