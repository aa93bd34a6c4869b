"""The line above the shot: which set it is, how far on, and the run of right calls."""

import math

from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Static

from trainer.app.scene import Scene
from trainer.drills import words
from trainer.drills.words import counted
from trainer.learner.verdicts import IN_A_ROW
from trainer.play.primer import Primer
from trainer.play.set_in_play import SetInPlay
from trainer.play.warmup import Warmup


class Top(Horizontal):
    """Title, number and stroke on the left, the run on the right."""

    def __init__(self, *, id: str | None = None) -> None:
        self._title, self._run = Static(id="title"), Static(id="run")
        super().__init__(self._title, self._run, id=id)

    def tell(self, played: SetInPlay, number: int, scene: Scene) -> None:
        """Say what a scene is of: the question of this number."""
        stroke = scene.question.shot.stroke
        title = Content.assemble(
            (played.level.title, "bold"),
            *_how_far(played, number),
            (f"   {words.stroke(stroke)}" if stroke else "", "$quiet"),
        )
        self._title.update(title)
        if isinstance(played, Primer):
            self._run.update("")
            return
        run = run_dots(played.run)
        named = Content.styled("right in a row ", "$quiet") + run
        room = self.screen.size.width - 2 - title.cell_length - 3  # the padding, and a gap
        self._run.update(named if named.cell_length <= room else run)


def _how_far(played: SetInPlay, number: int) -> list[tuple[str, str]]:
    """Where in the set it is; in a warm-up by the clock, how long it goes on."""
    what = "page" if isinstance(played, Primer) else "shot"
    rest = f" of {played.of}"
    if isinstance(played, Warmup) and played.by_clock:
        minutes = math.ceil(played.seconds_left / 60)
        rest = f"   {counted(minutes, 'minute')} to go" if minutes else ""
    return [(f"   {what} ", "$quiet"), (f"{number}", ""), (rest, "$quiet")]


def run_dots(run: int) -> Content:
    """The run of right calls as dots: five in a row settles a kind of shot."""
    full = min(run, IN_A_ROW)
    return Content.assemble(
        ("●" * full, "$head"),
        ("○" * (IN_A_ROW - full), "$quiet"),
        (f" {run}" if run > IN_A_ROW else "", "$head"),
    )
