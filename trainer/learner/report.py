"""What the belief tells a player: a verdict per band and side, and what is settled."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.geometry.bands import bands
from trainer.learner.belief import GRID_SINES, Belief

# A threshold for a reader who looks after every shot. Simulated beforehand with players without a
# bias, 300 calls: |z| > 2.9 accuses 15 to 19 % of them at some moment, |z| > 3.5 2 to 3 %.
SURE = 3.5
TRUE_WITHIN = 1 / 20  # balls: a bias surely smaller than this counts as none
FEWEST = 5  # calls before anything is said
IN_A_ROW = 5  # right in a row settles a kind of shot: common practice
SAMPLES = 9  # places over a band at which its bias is averaged


@dataclass(frozen=True)
class Call:
    """What the learner needs of a marked call: signed sine of the cut, error, width, right or not."""

    sine: float
    error: float
    width: float
    right: bool


@dataclass(frozen=True)
class Kind:
    """A kind of shot, by band and side, and what is thought of it; numbers in balls, + thick."""

    band: str
    side: str
    bias: float
    low: float
    high: float
    noise: float
    attempts: int
    verdict: str
    settled: bool


def believe(calls: Sequence[Call]) -> Belief:
    """The belief after all these calls, in their order."""
    belief = Belief()
    for call in calls:
        belief.update(call.sine, call.error, call.width)
    return belief


def kinds(belief: Belief, calls: Sequence[Call]) -> list[Kind]:
    """Every band and side, thick to thin, left before right."""
    rows = []
    fullness = 1.0 - np.abs([call.sine for call in calls])
    left = np.array([call.sine >= 0 for call in calls])
    for band in bands():
        within = (fullness >= band.low) & (fullness < band.high)
        places = 1.0 - np.linspace(max(band.low, 1 - GRID_SINES[-1]), min(band.high, 1.0), SAMPLES)
        for side, sign in (("left", 1.0), ("right", -1.0)):
            mine = np.flatnonzero(within & (left == (sign > 0)))
            bias = belief.average(sign * places)
            rows.append(
                Kind(
                    band=band.name,
                    side=side,
                    bias=bias.mean,
                    low=bias.low,
                    high=bias.high,
                    noise=belief.noise,
                    attempts=len(mine),
                    verdict=verdict(bias.mean, bias.sd, bias.low, bias.high, len(mine)),
                    settled=len(mine) >= IN_A_ROW and all(calls[i].right for i in mine[-IN_A_ROW:]),
                )
            )
    return rows


def verdict(mean: float, sd: float, low: float, high: float, attempts: int) -> str:
    """``thick``, ``thin``, ``true`` or ``not enough yet``."""
    if attempts < FEWEST:
        return "not enough yet"
    if abs(mean) > SURE * sd:
        return "thick" if mean > 0 else "thin"
    return "true" if low > -TRUE_WITHIN and high < TRUE_WITHIN else "not enough yet"
