"""The end of a set: what was seen well, what thick or thin, and what comes next."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import bound
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.page import Page
from trainer.drills import DRILLS, Drill
from trainer.game.first import LEVEL as FIRST
from trainer.game.first import finding
from trainer.game.game import Game
from trainer.game.played import Played
from trainer.game.primer import LEVEL as PRIMER
from trainer.game.summary import Seen, seen_in
from trainer.game.today import minutes_of, plan

NEW = 100  # calls


class SummaryScreen(TrainerScreen):
    """After the last shot of a set."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("choose", "next", "Next"),
        bound("go_on", "next", "Next", show=False),
        bound("again", "again", "Again"),
        bound("back", "home", "Home"),
    ]
    HELP_TEXT = (
        "A dozen calls say little about how you see: take the set for what it was. "
        "What the trainer thinks of your eye after all your calls stands under Progress."
    )

    def __init__(self, played: Played) -> None:
        super().__init__()
        self.played = played

    def body(self) -> ComposeResult:
        """Figures, kinds of shot, what is next."""
        with Page(id="page"):
            yield Static(self._text())

    def on_mount(self) -> None:
        """Let the arrow keys scroll."""
        self.query_one("#page").focus()

    def _text(self) -> Content:
        played, game = self.played, self.trainer.game
        right = sum(played.rights)
        drill = DRILLS.get(played.level.drill)  # the primer has many
        as_called = drill is None or drill.played == Drill.played
        lines = [Content.styled(played.level.title, "bold $head")]
        if played.level is FIRST:
            lines += [Content(""), *map(Content, finding(played.attempts)), Content("")]
        else:
            done = f"; {played.potted} {(drill or Drill).done}." if as_called else "."
            best = (f"{played.best_run}", "bold")
            figures = ((f"{right}", "bold"), f" of {len(played.rights)} right, best run ", best, done)
            lines += [Content.assemble(*figures), Content("")]
        rows = [] if played.level is FIRST else seen_in(played.attempts)
        for heading, chosen in (
            ("Seen well", [r for r in rows if r.well]),
            ("Seen thick", [r for r in rows if r.seen_wrong and (r.error or 0.0) > 0]),
            ("Seen thin", [r for r in rows if r.seen_wrong and (r.error or 0.0) <= 0]),
            ("To look at again", [r for r in rows if not r.well and not r.seen_wrong]),
        ):
            if chosen:
                lines.append(Content.styled(heading, "bold $key"))
                lines.extend(_line(row) for row in chosen)
                lines.append(Content(""))
        found = self.plan = plan(game, minutes_of(game.records))
        if game.passed(played.level) and played.level.passed is not None:
            lines.append(Content.styled("This level is passed.", "$good"))
        elif (rule := played.level.passed) is not None:
            lines.append(
                Content.styled(
                    f"Passed with {rule.right} of the last {rule.of} right, {rule.in_a_row} in a row.",
                    "$quiet",
                )
            )
        if played.level is not PRIMER and 2 * right < len(played.rights) and _is_new(game):
            key = self.keys.first("from_the_beginning")
            lines.append(
                Content(f"New to fullness? From the beginning ({key} at home) shows it in nine pages.")
            )
        if found.enough:
            lines.append(Content.styled(found.enough, "$good"))
        lines.append(
            Content.assemble((f"{self.keys.first('choose')} ", "bold $key"), f"next: {found.parts[0].line}")
        )
        return Content("\n").join(lines)

    def action_next(self) -> None:
        """Play what comes next."""
        self.trainer.play_level(self.plan.parts[0].level)

    def action_again(self) -> None:
        """Play the same level again."""
        self.trainer.play_level(self.played.level)

    def action_home(self) -> None:
        """Back home."""
        self.trainer.show_home()


def _line(row: Seen) -> Content:
    return Content.assemble(
        f"  {row.band:>7} {row.side:<5}  ",
        (f"{row.right} of {row.calls} right", "$quiet"),
        "" if row.well else f"   {row.words}",
    )


def _is_new(game: Game) -> bool:
    """Whether this player hasn't called much, nor played the primer to its end, or about."""
    levelled = game.digest.levels.get(PRIMER.name)
    primed = 0 if levelled is None else levelled.calls
    return game.digest.whole.calls < NEW and primed < PRIMER.shots - 1
