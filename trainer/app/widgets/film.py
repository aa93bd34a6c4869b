"""The film of a call: where the balls are by the clock."""

import time

from trainer.drills import Mark
from trainer.drills.rolling import rolling
from trainer.shots.shot import Point


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
