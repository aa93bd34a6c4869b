"""Looking around in a view: how far, and the keys for it."""

import math
from dataclasses import dataclass, replace

from trainer.app.keys import bound
from trainer.pictures.views import Look

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
