"""A call as the learner takes it: the shot's cut, and the interval that its error lies in."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Call:
    """One marked call.

    ``sine`` is the sine of the signed cut (the signed offset over the table's reach); ``low`` and
    ``high`` bound the error in balls, + thick: an answer out of a row says only that it was nearer than
    its neighbours, so the error is interval-censored, and the ends of a row are open (infinite). The two
    are the same for a free answer. ``error`` is that of the answer itself.

    ``condition`` is the drill and the view, as "aim down"; ``set_id`` the set, ``day`` the player's own
    day, counted; ``right`` whether it was the best answer there was.

    ``against`` is the sine of another shot, as full as this one, where one like it was to be found among
    some; ``error`` then is the fullness of the one called less this one's. None: the fullness itself was
    called.
    """

    sine: float
    low: float
    high: float
    error: float
    right: bool
    condition: str = ""
    set_id: str = ""
    day: int = 0
    against: float | None = None

    @property
    def fullness(self) -> float:
        """How full the shot really was."""
        return 1.0 - abs(self.sine)

    @property
    def compares(self) -> bool:
        """Whether two shots were compared: such a call doesn't tell the error in one of them."""
        return self.against is not None
