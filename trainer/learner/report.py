"""What the belief tells a player: a verdict per band and side, what is settled, how many calls to go."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.bands import Band, bands
from trainer.geometry.vectors import Floats
from trainer.learner.belief import LAPSE_RATE, Belief
from trainer.learner.call import Call
from trainer.learner.tally import SIDES, Counted, Tally

# Thresholds for a reader who looks after every call. Of simulated players without a bias, looked at after
# each of 300 calls, they accuse 1 in 27 at some moment or fewer, by the drill and by whether their last
# answer and the set's middle draw them and they lapse (tests/benchmarks/bench_learner.py prints it).
SURE = 2.6  # standard deviations
LEAST_TOLD = 0.005  # balls: it must surely be more than that
TRUE_WITHIN = 1 / 20  # balls: a bias surely smaller than this counts as none
FEWEST = 5  # calls before anything is said; a block has no fewer
IN_A_ROW = 5  # right in a row, as a sign that a kind of shot is settled: common practice
RESTS = 3  # days that a settled kind is left alone
SAMPLES = 9  # places over a band at which its bias is looked at
REMEMBERED = 4000  # calls: what is older has faded, and a start has to be quick
MOST_TO_GO = 500  # calls: more is as good as never
# Calls also tell the belief's models apart, which a forecast from one covariance leaves out: simulated
# players need about two thirds of it.
SOONER = 2 / 3

THICK, THIN, TRUE, NOT_YET = "thick", "thin", "true", "not enough yet"


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


def believe(calls: Sequence[Call], learnt: Callable[[], object] | None = None) -> Belief:
    """The belief after these calls, in their order; the last ``REMEMBERED`` of them.

    ``learnt`` is called after each.
    """
    belief = Belief()
    for call in calls[-REMEMBERED:]:
        belief.update(call)
        if learnt is not None:
            learnt()
    return belief


def stretch(band: Band, sign: float) -> tuple[float, float]:
    """The signed sines (low, high) of a band's cuts to one side; + left."""
    ends = sorted((sign * (1.0 - min(band.high, 1.0)), sign * (1.0 - max(band.low, 0.0))))
    return ends[0], ends[1]


def stretch_named(band: str, side: str) -> tuple[float, float]:
    """The same of a band and a side by their names."""
    return stretch(next(one for one in bands() if one.name == band), dict(SIDES)[side])


def kinds(belief: Belief, tally: Tally) -> list[Kind]:
    """Every band and side, thick to thin, left before right."""
    return [
        _kind(belief, band, side, stretch(band, sign), tally.kinds[band.name, side])
        for band in bands()
        for side, sign in SIDES
    ]


def _kind(belief: Belief, band: Band, side: str, ends: tuple[float, float], counted: Counted) -> Kind:
    places = np.linspace(*ends, SAMPLES)
    mean, covariance = belief.joint(places)
    whole, noise = belief.average(places), float(belief.noise([sum(ends) / 2])[0])
    said = verdict(mean, np.sqrt(np.maximum(np.diag(covariance), 0.0)), counted.attempts)
    if said in (THICK, THIN) and whole.low <= 0.0 <= whole.high:  # a neighbour's fault, that reaches in
        said = NOT_YET
    spread = _spread(noise, counted.width)
    forecast = 0 if said != NOT_YET else to_go(mean, covariance, spread, counted.attempts)
    return Kind(
        band=band.name,
        side=side,
        bias=whole.mean,
        low=whole.low,
        high=whole.high,
        noise=noise,
        attempts=counted.attempts,
        verdict=said,
        settled=said == TRUE and counted.run >= IN_A_ROW,
        to_go=forecast and max(FEWEST - counted.attempts, math.ceil(SOONER * forecast)),
    )


def told(mean: ArrayLike, sd: ArrayLike) -> NDArray[np.bool_]:
    """Where a bias of this mean and standard deviation (balls, any shape) is sure enough to be told."""
    return np.asarray(np.abs(np.asarray(mean)) > LEAST_TOLD + SURE * np.asarray(sd))


def verdict(mean: ArrayLike, sd: ArrayLike, attempts: int) -> str:
    """``thick``, ``thin``, ``true`` or ``not enough yet``, from the bias at places over a band.

    Thick or thin where it is sure at any of the places, true where it surely is small at all.
    """
    bias, spread = np.asarray(mean, float), np.asarray(sd, float)
    if attempts < FEWEST:
        return NOT_YET
    if told(bias, spread).any():
        return THICK if bias[int(np.argmax((np.abs(bias) - LEAST_TOLD) / spread))] > 0 else THIN
    return TRUE if _is_small(bias, spread).all() else NOT_YET


def _spread(noise: float, width: float) -> float:
    """What one more call of a kind scatters by: noise, the answers' width, and the lapses."""
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
    said = (told(mean, sd).any(axis=1) | _is_small(mean, sd).all(axis=1)) & (attempts + more >= FEWEST)
    return int(more[said.argmax()]) if said.any() else None


def _is_small(mean: Floats, sd: Floats) -> NDArray[np.bool_]:
    return np.asarray(np.abs(mean) + 1.96 * sd < TRUE_WITHIN)


def resting(belief: Belief, tally: Tally, today: int) -> list[tuple[float, float]]:
    """The signed sines (low, high) of the kinds of shot that are settled and were played of late.

    One that was settled today is played on today; it rests from tomorrow.
    """
    found = []
    for band in bands():
        for side, sign in SIDES:
            counted = tally.kinds[band.name, side]
            # A day on which a block was about it; a call or two that cover the level don't prolong the rest.
            when = counted.practice(today)
            # What takes no reckoning first.
            if when is None or not 0 < when.days < RESTS or counted.run < IN_A_ROW:
                continue
            low, high = stretch(band, sign)
            if verdict(*belief.curve(np.linspace(low, high, SAMPLES)), counted.attempts) == TRUE:
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
