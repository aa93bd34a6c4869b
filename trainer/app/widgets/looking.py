"""Looking around in a view: how far, and the keys for it."""

import math
from dataclasses import dataclass, replace

from textual.binding import Binding

from trainer.pictures.views import Look

TURN = math.radians(7.0)  # a look to the side
STEP = 1.25  # a step back or up, as a factor

LOOKS = (
    Binding("a,shift+left", "look('turn', -1)", "Look", key_display="adwsrf"),
    Binding("d,shift+right", "look('turn', 1)", "Look round to the right", show=False),
    Binding("w,shift+up", "look('back', -1)", "Step closer", show=False),
    Binding("s,shift+down", "look('back', 1)", "Step back", show=False),
    Binding("r,pageup", "look('up', 1)", "Stand up", show=False),
    Binding("f,pagedown", "look('up', -1)", "Get down", show=False),
    Binding("x", "look_straight", "Look straight again", show=False),
)
LOOK_KEYS = tuple(key for binding in LOOKS for key in binding.key.split(","))


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
