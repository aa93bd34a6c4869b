"""The shot large: in one of its views, looked around in, pointed at, and rolling after the call."""

import math
import time
from dataclasses import dataclass, replace
from functools import partial

from textual.reactive import reactive
from textual.timer import Timer

from trainer.app.keys import bound
from trainer.app.scene import Scene
from trainer.app.textual_private import waiting
from trainer.app.widgets.picture import Drawing, ScenePicture, drawing_of
from trainer.drills import Choice, Mark
from trainer.drills.leave import places_to_choose
from trainer.drills.mark import rolling
from trainer.drills.pick import balls_to_choose
from trainer.pictures.views import Look, nearest
from trainer.shots.shot import Point

DRAG_ACROSS, DRAG_DOWN = 6.0, 3.0  # cells of a drag for one look
GLIDE_S = 0.18  # how long a look around takes to get there
FRAMES = 30  # a second of the film
AHEAD, PATIENCE = 2, 10  # writes that may be on their way to the terminal; frames that are left out
TURN = math.radians(7.0)  # a look to the side
STEP = 1.25  # a step back or up, as a factor

LOOKS = (
    bound("look_left", "look('turn', -1)", "Look"),
    bound("look_right", "look('turn', 1)", "Look round to the right", show=False),
    bound("step_closer", "look('back', -1)", "Step closer", show=False),
    bound("step_back", "look('back', 1)", "Step back", show=False),
    bound("stand_up", "look('up', 1)", "Stand up", show=False),
    bound("get_down", "look('up', -1)", "Get down", show=False),
    bound("look_straight", "look_straight", "Look straight again", show=False),
)
LOOK_NAMES = tuple(str(binding.id) for binding in LOOKS)


@dataclass(frozen=True)
class Looked:
    """How far a player has looked around, in looks: to the right, back and up."""

    turn: float = 0.0
    back: float = 0.0
    up: float = 0.0

    def moved(self, which: str, by: float) -> "Looked":
        """So many looks further ``turn``, ``back`` or ``up``."""
        return replace(self, **{which: getattr(self, which) + by})

    def blend(self, destination: "Looked", factor: float) -> "Looked":
        """A part (0 to 1) of the way from here to there: how a look glides."""
        return Looked(
            self.turn + (destination.turn - self.turn) * factor,
            self.back + (destination.back - self.back) * factor,
            self.up + (destination.up - self.up) * factor,
        )

    @property
    def look(self) -> Look:
        """The same as a view takes it."""
        return Look(self.turn * TURN, STEP**self.back, STEP**self.up)


STRAIGHT = Looked()


class Film:
    """A call that rolls from now on, at a pace: 1 as the balls roll, less is slower."""

    def __init__(self, mark: Mark, pace: float = 1.0) -> None:
        self.pace = pace
        self.began = time.monotonic()
        self._rolling = rolling(mark)

    @property
    def seconds(self) -> float:
        """How long it lasts by the clock."""
        return self._rolling.seconds / self.pace

    @property
    def over(self) -> bool:
        """Whether it has come to its end."""
        return time.monotonic() - self.began >= self.seconds

    @property
    def balls(self) -> tuple[Point, Point | None]:
        """Where the cue ball and the called ball are now; None once it has dropped."""
        moment = self._rolling.at((time.monotonic() - self.began) * self.pace)
        return moment.cue_ball, moment.object_ball


class Board(ScenePicture):
    """The large picture of a scene's shot."""

    looked: reactive[Looked] = reactive(STRAIGHT, init=False, repaint=False)

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.film: Film | None = None  # the call as it rolls; over: None
        self._frames: Timer | None = None
        self._late = 0  # frames left out one after another
        self._going = STRAIGHT  # where a look around glides to

    def drawing(self, scene: Scene) -> Drawing:
        """The shot, and over it what helps, what rolls, or what came of the call."""
        marks = scene.marks if self.film is None else scene.rolling(*self.film.balls)
        return drawing_of(partial(scene.projection, look=self.looked.look), marks)

    def answer_at(self, scene: Scene, x: int, y: int) -> Choice | None:
        """The choice whose place is there, or what the drill takes a place of the table for."""
        question, projection = scene.question, scene.projection(self.viewport, self.looked.look)
        if places := places_to_choose(question) or balls_to_choose(question):
            found = nearest(projection, places, (x, y))
            return None if found is None else question.choices[found]
        place = projection.place_at(projection.viewport.middle_of((x, y)))
        return None if place is None else scene.drill.pointed_on_table(question, place)

    def _draw_again(self) -> None:
        if self.scene is not None:
            self.show(self.drawing(self.scene))

    # Looking around

    @property
    def can_look(self) -> bool:
        """Whether there is anything to look around in: from straight above there isn't."""
        return self.scene is not None and self.scene.view != "plan"

    def look(self, which: str, by: float) -> None:
        """Look so much further ``turn``, ``back`` or ``up``: quick looks add up."""
        if self.can_look:
            self._look_to(self._going.moved(which, by))

    def look_straight(self, at_once: bool = False) -> None:
        """Back to the view's own place."""
        self._look_to(STRAIGHT, at_once)

    def _look_to(self, there: Looked, at_once: bool = False) -> None:
        self._going = there
        if at_once:
            self.looked = there
        self.animate("looked", there, duration=GLIDE_S)  # ends one under way, where it is there already

    def _watch_looked(self) -> None:
        self._draw_again()

    def wheeled(self, steps: int) -> None:
        """The wheel steps back and closer."""
        self.look("back", steps)

    def dragged(self, across: int, down: int, x: int, y: int) -> None:
        """A drag turns and stands up, without gliding."""
        if self.can_look:
            turned = self.looked.moved("turn", -across / DRAG_ACROSS)
            self._look_to(turned.moved("up", down / DRAG_DOWN), at_once=True)
        else:
            super().dragged(across, down, x, y)

    # Rolling

    def roll(self, mark: Mark, pace: float = 1.0) -> None:
        """Let the balls roll as they were called, from the next frame on; then the mark is shown."""
        self.film, self._late, self.coarse = Film(mark, pace), 0, False
        if self._frames is None:
            self._frames = self.set_interval(1 / FRAMES, self._next_frame)

    def stop(self) -> None:
        """The end of the film at once."""
        self.film, self.coarse = None, False
        if self._frames is not None:
            self._frames.stop()
            self._frames = None
            self._draw_again()

    def _next_frame(self) -> None:
        if self.film is None or self.film.over:
            self.stop()
        elif waiting(self.app) <= AHEAD:
            self._late = 0
            self._draw_again()
        else:  # the link is slower than that: fewer frames, and then in cells
            self._late += 1
            self.coarse = self.coarse or self._late >= PATIENCE
