"""The end of a warm-up: one sentence to take to the table."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import bound
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.calls import CallsPicture
from trainer.drills.words import counted
from trainer.play.summary import errors_in
from trainer.play.warmup import Warmup, seconds_of


class WarmedScreen(TrainerScreen):
    """After the last shot of a warm-up."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("choose", "home", "Home"),
        bound("leave_set", "home", "Home", show=False),
        bound("again", "again", "Again"),
        bound("to_the_table", "quit", "Quit"),
    ]
    HELP_TEXT = (
        "One sentence to take to the table. Of today it says only what today's calls carry: thick or thin "
        "cuts to one side, or all of them, that are surely off from how you usually see them. Else it says "
        "what is known of your eye from all your calls, or that it is as usual."
    )

    def __init__(self, played: Warmup) -> None:
        super().__init__()
        self.played = played

    def body(self) -> ComposeResult:
        """The sentence, in the middle; below it the calls."""
        played = self.played
        shots = counted(len(played.rights), "shot")
        minutes, seconds = divmod(round(seconds_of(played.attempts)), 60)
        text = Content.assemble(
            ("Warmed up", "bold $head"),
            (f"   {shots} in {minutes}:{seconds:02d}, {sum(played.rights)} right", "$quiet"),
            "\n\n",
            (played.closing, "bold"),
        )
        yield Static(text, id="sentence")
        errors = errors_in(played.attempts)
        if errors.enough:
            yield CallsPicture(errors, self.trainer.game.style)

    def action_quit(self) -> None:
        """Off to the match."""
        self.trainer.exit()

    def action_again(self) -> None:
        """Warm up once more."""
        self.trainer.play_level(self.played.level)

    def action_home(self) -> None:
        """Back home."""
        self.trainer.show_home()
