"""Home: go on, practise freely, pick a level, look at what is known."""

from functools import partial
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.picture import Picture
from trainer.drills.words import counted
from trainer.game.primer import NAME as PRIMER
from trainer.pictures.inset import draw_inset

HALF_BALL = 0.5


class HomeScreen(TrainerScreen):
    """Where a player starts, and comes back to."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("g", "pick('go-on')", "Go on", show=False),
        Binding("n", "pick('free-band')", "Free practice: name the fullness", show=False),
        Binding("a", "pick('free-aim')", "Free practice: pick the aim point", show=False),
        Binding("b", "pick('primer')", "From the beginning: what fullness is", show=False),
        Binding("v", "pick('levels')", "Levels", show=False),
        Binding("p", "pick('progress')", "Progress", show=False),
        Binding("w", "pick('weeks')", "Weeks", show=False),
        Binding("t", "pick('terminal')", "Your terminal", show=False),
        Binding("m", "pick('table')", "Table notebook", show=False),
        Binding("q", "pick('quit')", "Quit", show=False),
    ]
    AUTO_FOCUS: ClassVar[str | None] = "#menu"
    HELP_TEXT = (
        "The trainer shows you a shot and asks how full the hit must be, or where to send the cue ball. "
        "It marks your call against the true geometry, keeps it, and brings more of what you see wrong."
    )

    def body(self) -> ComposeResult:
        """The menu beside a picture of a half-ball hit."""
        with Horizontal(id="home"):
            with Vertical(id="left"):
                yield Static(id="name")
                yield Static(id="now")
                yield OptionList(id="menu")
            yield Picture(partial(draw_inset, reach=1.0, true=HALF_BALL), id="emblem")

    def on_mount(self) -> None:
        """Fill in what stands now."""
        self.show_standing()

    def on_screen_resume(self) -> None:
        """Back from somewhere: things may have changed."""
        self.show_standing()

    def show_standing(self) -> None:
        """Where the player stands, and the menu that follows from it."""
        game = self.trainer.game
        standing = game.standing()
        self.query_one("#name", Static).update(
            Content.assemble(
                ("See the angle of the pot", "bold $secondary"),
                (f"   {self.trainer.player}" if self.trainer.player else "", "bold $primary"),
            )
        )
        count = len(game.attempts)
        self.query_one("#now", Static).update(
            Content.styled(
                f"{counted(count, 'call')} kept, {sum(map(game.passed, game.shelf.levels))} of "
                f"{len(game.shelf.levels)} levels passed"
                if count
                else "No calls yet: the first set takes two minutes.",
                "$quiet",
            )
        )
        what = "page" if standing.level.name == PRIMER else "shot"
        go_on = (
            f"{what} {standing.done + 1} of {standing.of}" if standing.under_way else f"{standing.of} shots"
        )
        rows = [
            ("go-on", "g", "Go on", f"{standing.level.title}, {go_on}"),
            ("free-band", "n", "Free practice: name the fullness", "every cut, any pocket"),
            ("free-aim", "a", "Free practice: pick the aim point", "every cut, any pocket"),
            ("primer", "b", "From the beginning", "what fullness is, in nine pages"),
            ("levels", "v", "Levels", "nine chapters, and every drill"),
            ("progress", "p", "Progress", "what you see thick or thin"),
            ("weeks", "w", "Weeks", "your days, and what has changed"),
            ("terminal", "t", "Your terminal", "round balls, smooth edges, colours"),
            ("table", "m", "Table notebook", "missed: the eye or the stroke?"),
            ("quit", "q", "Quit", ""),
        ]
        menu = self.query_one("#menu", OptionList)
        at = menu.highlighted or 0
        menu.clear_options()
        menu.add_options([Option(_row(key, what, about), id=name) for name, key, what, about in rows])
        menu.highlighted = at

    @on(OptionList.OptionSelected)
    def _picked(self, event: OptionList.OptionSelected) -> None:
        if event.option.id is not None:
            self.action_pick(event.option.id)

    def action_pick(self, what: str) -> None:
        """Do what a row of the menu says."""
        trainer = self.trainer
        if what == "go-on":
            trainer.play_level(trainer.game.standing().level)
        elif what in ("free-band", "free-aim"):
            trainer.play_level(trainer.game.level(None, what.removeprefix("free-")))
        elif what == "primer":
            trainer.play_level(trainer.game.level("primer"))
        elif what == "levels":
            trainer.show_levels()
        elif what == "progress":
            trainer.show_progress()
        elif what == "weeks":
            trainer.show_weeks()
        elif what == "terminal":
            trainer.show_terminal()
        elif what == "table":
            trainer.show_table()
        else:
            trainer.exit()


def _row(key: str, what: str, about: str) -> Content:
    row = Content.assemble((f" {key} ", "bold $primary"), (f" {what}", "bold"))
    return row + Content.styled(f"\n    {about}", "$quiet") if about else row
