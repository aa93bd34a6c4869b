"""A call as the learner takes it: the shot's cut, and the interval that its error lies in."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Self

import numpy as np

from trainer.geometry.vectors import Floats

AT_THE_END = 1e-9  # balls: so near to full or to a graze an answer is at the end


@dataclass(frozen=True, slots=True)
class Call:
    """One marked call.

    ``sine`` is the sine of the signed cut (the signed offset over the table's reach); ``low`` and
    ``high`` bound the error in balls, + thick: an answer out of a row says only that it was nearer than
    its neighbours, so the error is interval-censored, and the ends of a row are open (infinite). The two
    are the same for a free answer, but for one at the very end of what anybody would answer: whoever calls
    a full ball might have seen more than full and doesn't call a cut to the wrong side, and whoever calls a
    graze doesn't call a miss. Such a call is open to that side. ``error`` is that of the answer itself.

    ``condition`` is the drill and the view, as "aim down"; ``set_id`` the set, ``day`` the player's own
    day, counted; ``right`` whether it was the best answer there was.

    ``against`` is the sine of another shot, as full as this one, where one like it was to be found among
    some; ``error`` then is the fullness of the one called less this one's. None: the fullness itself was
    called.

    ``thrown`` is the error of whoever doesn't allow for throw, in balls; 0 where throw isn't counted.
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
    thrown: float = 0.0

    def __post_init__(self) -> None:
        called = self.fullness + self.error
        if self.low == self.high and self.against is None:
            if abs(called - 1.0) < AT_THE_END:
                object.__setattr__(self, "high", math.inf)
            elif abs(called) < AT_THE_END:
                object.__setattr__(self, "low", -math.inf)

    def at(self, condition: str, set_id: str, day: int, thrown: float = 0.0) -> Self:
        """The same, with what was asked and seen, its set and its day, and what throw does to it."""
        return replace(self, condition=condition, set_id=set_id, day=day, thrown=thrown)

    @property
    def fullness(self) -> float:
        """How full the shot really was."""
        return 1.0 - abs(self.sine)

    @property
    def compares(self) -> bool:
        """Whether two shots were compared: such a call doesn't tell the error in one of them."""
        return self.against is not None

    # Does it tell of seeing? The belief weighs every call by its interval, and needs no answer. What takes
    # an average over calls asks one of these two.

    @property
    def tells(self) -> bool:
        """Whether it tells how full its shot was seen: one shot alone, and not open to both sides.

        An answer at the end of a row is open to one side and tells all the same. To leave it out would
        leave out calls by what was answered, and so bend the mean: of the fullest shots only those seen
        too thin would count.
        """
        return not self.compares and (math.isfinite(self.low) or math.isfinite(self.high))

    @property
    def measures(self) -> bool:
        """Whether, besides, its error is a number to reckon with: it is open to neither side.

        For a fit that takes errors as points and intervals not at all: what is said of a shown line, as
        "thick", is open to one side, and its error is but the next answer's.
        """
        return not self.compares and math.isfinite(self.high - self.low)


def thrown_by(cut: float, throw: float) -> float:
    """The error of whoever doesn't allow for throw, in balls, + thick.

    Of a shot with this cut (the line of centres), of which ``throw`` straightens so much; radians. Without
    throw the cut would be so much smaller.
    """
    size = abs(cut)
    return math.sin(size) - math.sin(size - throw)


@dataclass
class Context:
    """What a player has in mind at a call: the fullness called just before, and those of the shots shown.

    Two things draw an answer: the answer before it (serial dependence) and the middle of what was shown
    (central tendency). Both last for a set and not overnight: a set that is gone on with on another day
    begins afresh. Every call of the set counts, those too that compare shots or tell nothing of their own.
    """

    set_id: str = ""
    day: int = 0
    previous: float | None = None
    shown: list[float] = field(default_factory=list)

    def begin(self, call: Call) -> None:
        """Forget what was before, if the call is of another set or a later day; a clock may go back."""
        if call.set_id != self.set_id or call.day > self.day:
            self.set_id, self.previous, self.shown = call.set_id, None, []
        self.day = call.day

    def distances(self, call: Call) -> tuple[float, float]:
        """How far the call before, and the mean of what was shown, lie from a call's shot; 0 where none."""
        if self.previous is None:
            return 0.0, 0.0
        return self.previous - call.fullness, sum(self.shown) / len(self.shown) - call.fullness

    def take(self, call: Call) -> None:
        """Have one more call in mind."""
        self.previous = call.fullness + call.error
        self.shown.append(call.fullness)


def context_distances(calls: Sequence[Call]) -> Floats:
    """How far from each shot were the call before and the mean of what its set had shown, (n, 2) balls."""
    found, context = np.zeros((len(calls), 2)), Context()
    for row, call in zip(found, calls, strict=True):
        context.begin(call)
        row[:] = context.distances(call)
        context.take(call)
    return found
