"""Calls that are lapses: how likely they are, and what they take from the mean error that isn't theirs."""

import math
from dataclasses import dataclass

from trainer.learner.call import Call

LAPSE_DENSITY = 0.5  # a lapse lands anywhere over two balls' width
TAIL_END = 0.4  # balls: farther off no shot is seen, and a call is a lapse
SHRUNK = 2.0  # variances: a tail whose mean is not more than the root of this is taken for chance
FADES = 0.998  # a call's weight in the tail of the noise, from call to call


def log_lapse(call: Call) -> float:
    """Log likelihood of a call that is a lapse."""
    if call.low == call.high:
        return math.log(LAPSE_DENSITY)
    low, high = max(call.low, call.error - 0.5), min(call.high, call.error + 0.5)
    return math.log(LAPSE_DENSITY * (high - low))


@dataclass
class Tail:
    """What calls that are taken for lapses add to the mean error: noise may have a long tail to one side.

    A lapse says nothing of how a shot was seen, but the far end of skewed noise does: without it the rest
    has another mean than all. So their part of the mean is kept, in balls, and given back to the bias: of
    those that aren't so far off that no eye would see a shot so.
    """

    calls: float = 0.0
    total: float = 0.0
    squares: float = 0.0

    def take(self, call: Call, lapsed: float, expected: float) -> None:
        """Take in a call that was ``lapsed`` with this probability, and whose error was ``expected``."""
        if not call.measures:
            return
        off = call.error - expected
        part = lapsed * off if abs(off) < TAIL_END else 0.0
        self.calls = FADES * self.calls + 1.0
        self.total = FADES * self.total + part
        self.squares = FADES * self.squares + part**2

    @property
    def mean(self) -> float:
        """What they add to the mean error, as far as it isn't chance: shrunk toward none."""
        if not self.total:
            return 0.0
        return self.total / self.calls * max(0.0, 1.0 - SHRUNK * self.squares / self.total**2)

    @property
    def variance(self) -> float:
        """How unsure that is."""
        return self.squares / self.calls**2 if self.calls else 0.0
