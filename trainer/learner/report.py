"""What the belief tells a player: a verdict per band and side, what is settled, how many calls to go."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.bands import Band, bands
from trainer.geometry.vectors import Floats
from trainer.learner.belief import LAPSE_RATE, Belief
from trainer.learner.call import Call

# A threshold for a reader who looks after every call. Simulated with players without a bias, looked at
# after each of 300 calls: it accuses about 1 in 50 of them at some moment, and 1 in 20 of those whom
# their last answer and the set's middle draw (tests/benchmarks/bench_learner.py prints both).
SURE = 3.5
TRUE_WITHIN = 1 / 20  # balls: a bias surely smaller than this counts as none
FEWEST = 5  # calls before anything is said; a block has no fewer
IN_A_ROW = 5  # right in a row, as a sign that a kind of shot is settled: common practice
RESTS = 3  # days that a settled kind is left alone
SAMPLES = 9  # places over a band at which its bias is looked at
REMEMBERED = 4000  # calls: what is older has faded, and a start has to be quick
MOST_TO_GO = 500  # calls: more is as good as never

THICK, THIN, TRUE, NOT_YET = "thick", "thin", "true", "not enough yet"
SIDES = (("left", 1.0), ("right", -1.0))


@dataclass(frozen=True)
class Kind:
    """A kind of shot, by band and side, and what is thought of it; numbers in balls, + thick.

    ``to_go`` is about how many more calls of this kind a verdict takes; 0 where there is one, None
    where it would take more than anybody plays.
    """

    band: str
    side: str
    bias: float
    low: float
    high: float
    noise: float
    attempts: int
    verdict: str
    settled: bool
    to_go: int | None


def believe(calls: Sequence[Call]) -> Belief:
    """The belief after these calls, in their order; the last ``REMEMBERED`` of them."""
    belief = Belief()
    for call in calls[-REMEMBERED:]:
        belief.update(call)
    return belief


def stretch(band: Band, sign: float) -> tuple[float, float]:
    """The signed sines (low, high) of a band's cuts to one side; + left."""
    ends = sorted((sign * (1.0 - min(band.high, 1.0)), sign * (1.0 - max(band.low, 0.0))))
    return ends[0], ends[1]


def kinds(belief: Belief, calls: Sequence[Call]) -> list[Kind]:
    """Every band and side, thick to thin, left before right."""
    sines = np.array([call.sine for call in calls])
    fullness, left = 1.0 - np.abs(sines), sines >= 0
    found = []
    for band in bands():
        within = (fullness >= band.low) & (fullness < band.high)
        for side, sign in SIDES:
            mine = np.flatnonzero(within & (left == (sign > 0)))
            found.append(_kind(belief, band, side, stretch(band, sign), [calls[int(i)] for i in mine]))
    return found


def _kind(belief: Belief, band: Band, side: str, ends: tuple[float, float], calls: Sequence[Call]) -> Kind:
    places = np.linspace(*ends, SAMPLES)
    mean, covariance = belief.joint(places)
    whole, noise = belief.average(places), float(belief.noise([sum(ends) / 2])[0])
    said = verdict(mean, np.sqrt(np.maximum(np.diag(covariance), 0.0)), len(calls))
    recent = calls[-IN_A_ROW:]
    return Kind(
        band=band.name,
        side=side,
        bias=whole.mean,
        low=whole.low,
        high=whole.high,
        noise=noise,
        attempts=len(calls),
        verdict=said,
        settled=said == TRUE and len(recent) == IN_A_ROW and all(call.right for call in recent),
        to_go=0 if said != NOT_YET else to_go(mean, covariance, _spread(noise, calls), len(calls)),
    )


def verdict(mean: ArrayLike, sd: ArrayLike, attempts: int) -> str:
    """``thick``, ``thin``, ``true`` or ``not enough yet``, from the bias at places over a band.

    Thick or thin where it is sure at any of the places, true where it surely is small at all.
    """
    mean, sd = np.asarray(mean, float), np.asarray(sd, float)
    if attempts < FEWEST:
        return NOT_YET
    if _is_sure(mean, sd).any():
        return THICK if mean[int(np.argmax(np.abs(mean) / sd))] > 0 else THIN
    return TRUE if _is_small(mean, sd).all() else NOT_YET


def _spread(noise: float, calls: Sequence[Call]) -> float:
    """What one more call of this kind scatters by: noise, the answers' width, and the lapses."""
    widths = [call.high - call.low for call in calls if math.isfinite(call.high - call.low)]
    width = sum(widths) / len(widths) if widths else 0.0
    return math.sqrt((noise**2 + width**2 / 12) / (1 - LAPSE_RATE))


def to_go(mean: ArrayLike, covariance: ArrayLike, spread: float, attempts: int) -> int | None:
    """About how many more calls it takes until there is a verdict, if the bias is what it seems to be.

    Parameters
    ----------
    mean, covariance : (n,), (n, n) float
        Of the bias at places over a band, which the calls to come are taken to be spread over.
    spread : float
        What a call scatters by, in balls.
    attempts : int
        Calls up to now.
    """
    mean = np.asarray(mean, float)
    values, vectors = np.linalg.eigh(np.asarray(covariance, float))
    values = np.maximum(values, 0.0)
    more = np.arange(1, MOST_TO_GO + 1)
    left = values / (1.0 + values * more[:, None] / (len(mean) * spread**2))
    sd = np.sqrt(left @ (vectors**2).T)
    said = (_is_sure(mean, sd).any(axis=1) | _is_small(mean, sd).all(axis=1)) & (attempts + more >= FEWEST)
    return int(more[said.argmax()]) if said.any() else None


def _is_sure(mean: Floats, sd: Floats) -> NDArray[np.bool_]:
    return np.asarray(np.abs(mean) > SURE * sd)


def _is_small(mean: Floats, sd: Floats) -> NDArray[np.bool_]:
    return np.asarray(np.abs(mean) + 1.96 * sd < TRUE_WITHIN)


def resting(
    belief: Belief, calls: Sequence[Call], today: int, rows: Sequence[Kind] | None = None
) -> list[tuple[float, float]]:
    """The signed sines (low, high) of the kinds of shot that are settled and were played of late."""
    rows = kinds(belief, calls) if rows is None else rows
    settled = {(row.band, row.side) for row in rows if row.settled}
    found = []
    for band in bands():
        for side, sign in SIDES:
            if (band.name, side) not in settled:
                continue
            low, high = stretch(band, sign)
            played = Counter(call.day for call in calls if low <= call.sine <= high)
            # Days on which a block was about it; a call or two that cover the level don't prolong the rest.
            last = max((day for day, count in played.items() if count >= FEWEST), default=-math.inf)
            # One that was settled today is played on today; it rests from tomorrow.
            if 0 < today - last < RESTS:
                found.append((low, high))
    return found


def chance_of_run(right: float, run: int, calls: int) -> float:
    """How likely ``run`` right calls in a row turn up somewhere in ``calls``, each ``right`` likely.

    Source: W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, XIII.7
    (success runs), by its recurrence.
    """
    at = [1.0] + [0.0] * (run - 1)  # chance of each run at the end, up to now
    reached = 0.0
    for _ in range(calls):
        reached += at[-1] * right
        at = [(1 - right) * sum(at), *(chance * right for chance in at[:-1])]
    return reached
