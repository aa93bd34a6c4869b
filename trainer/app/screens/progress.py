"""Progress: what the trainer thinks of the player's eye, after all calls."""

from functools import cached_property, partial
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import Page, bound
from trainer.app.screens.base import SMALLEST, TrainerScreen, ends, interval, true_line
from trainer.app.widgets.picture import Picture
from trainer.learner.verdicts import NOT_YET, THICK, THIN, KindVerdict, is_sure
from trainer.pictures.charts import painted_bias_chart
from trainer.report.notebook import Notebook
from trainer.report.report import (
    CURVE_SINES,
    game_changes,
    game_kinds,
    headline,
    looks_line,
    sighting_line,
    table_lines,
    view_lines,
)
from trainer.report.wording import COMPARED, change_words, kind_words
from trainer.shots.style import Style

HALF = 10  # cells from the middle of a line to its end, at the smallest size
EXPLAINED = "How you see each cut: within the grey, and yellow where it is surely off."
WIDER = 4  # columns more for a cell more


class ProgressScreen(TrainerScreen):
    """The curve of the bias, each kind of shot, and what has changed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("keep_page", "keep_page", "Save as a web page"),
        bound("back", "home", "Home"),
        *[bound(name, "home", "Home", show=False) for name in ("choose", "go_on")],
    ]
    HELP_TEXT = (
        "The curve is how you see each cut, from thin cuts to the left over straight ones to thin cuts to "
        "the right: above the line too thick, below it too thin. It lies in the shaded part, as far as can "
        "be told, and is bright where it is sure. Below, each line is a kind of shot: its fullness, the "
        "side the object ball is sent to, and how you see it. "
        "Nothing is called thick or thin before it is sure, however often you look: before that stands what "
        "it seems to be so far, and about how many more calls it takes."
    )

    def body(self) -> ComposeResult:
        """What is wrong with the eye; the curve; figures and bars."""
        yield Static(self._head(), id="headline")
        if self.trainer.game.attempts:
            found = self.trainer.game.diagnosis
            yield Static(Content.styled(found.said, "bold" if found.worst else ""), id="said")
        yield Picture(self._curve(), id="curve")
        with Page(id="page"):
            yield Static(id="kinds")

    def on_resize(self, event: events.Resize) -> None:
        """More room shows more of how sure a kind is."""
        super().on_resize(event)
        half = HALF + max(event.size.width - SMALLEST[0], 0) // WIDER
        self.query_one("#kinds", Static).update(self._text(half))

    def _head(self) -> Content:
        game = self.trainer.game
        passed = sum(map(game.passed, game.shelf.levels))
        return Content.assemble(
            ("Progress", "bold $head"),
            f"   {headline(game)} {passed} of {len(game.shelf.levels)} levels passed."
            if game.attempts
            else f"   Nothing is known yet: play a set first ({self.keys.first('today')} at home).",
        )

    def _curve(self) -> partial:  # type: ignore[type-arg]
        mean, sd = self.trainer.game.belief.curve(CURVE_SINES)
        return partial(
            painted_bias_chart,
            offsets=CURVE_SINES,
            mean=mean,
            low=mean - 1.96 * sd,
            high=mean + 1.96 * sd,
            sure=is_sure(mean, sd),
            style=self.trainer.game.style,
        )

    @cached_property
    def _kinds(self) -> list[KindVerdict]:
        """The kinds of shot; what is seen wrong comes first."""
        return sorted(game_kinds(self.trainer.game), key=lambda row: row.verdict not in (THICK, THIN))

    @cached_property
    def _below(self) -> list[Content]:
        """What stands below the kinds, however wide the page is."""
        game = self.trainer.game
        lines = []
        if views := view_lines(game):
            lines += [Content(""), *(Content.styled(line, "$quiet") for line in views)]
        if looks := looks_line(game):
            lines += [Content(""), Content.styled(looks, "$quiet")]
        if seen := sighting_line(game):
            lines += [Content(""), Content.styled(seen, "$quiet")]
        if table := table_lines(Notebook(game)):
            lines += [Content(""), Content.styled("At the table", "bold $head"), *map(Content, table)]
        if changes := game_changes(game):
            lines += [Content(""), Content.styled(COMPARED, "bold $head")]
            lines += [
                Content.styled(change_words(each, game.style), "$good" if each.better else "$quiet")
                for each in changes
            ]
        return lines

    def _text(self, half: int) -> Content:
        lines = [Content.styled(EXPLAINED, "$quiet"), Content("")] if self.trainer.game.attempts else []
        lines += [Content.assemble(" " * 15, ends(half), ("  calls", "$quiet"))]
        return Content("\n").join(
            [*lines, *(_line(row, half, self.trainer.game.style) for row in self._kinds), *self._below]
        )


def _line(row: KindVerdict, half: int, style: Style) -> Content:
    head = f"{row.band:>7} {row.side:<5}  "
    if not row.attempts:
        return Content.styled(f"{head}{true_line(half)}", "$quiet")
    strong = "$head" if row.verdict in (THICK, THIN) else "$good"
    tone = strong if row.verdict != NOT_YET else "$quiet"
    bar = interval(row.low, row.bias, row.high, half)
    return Content.assemble(
        head, (bar, tone), f"  {row.attempts:5}  ", (kind_words(row, style, short=True), tone)
    )
