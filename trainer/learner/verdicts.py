"""A verdict on each kind of shot: thick, thin or true; what is settled; calls to go; what to practise."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.fullness import EVERY_KIND, Kind
from trainer.geometry.vectors import Floats
from trainer.learner.belief import LAPSE_RATE, Belief
from trainer.learner.censored import interval_likelihood
from trainer.learner.spacing import Practised
from trainer.learner.tally import Counted, Tally

# Thresholds for a reader who looks after every call. Of simulated players without a bias, looked at after
# each of 300 calls, at most 1 in 27 is ever told of one, with or without serial dependence, central tendency
# and lapses (tests/benchmarks/bench_learner.py prints it).
SURE = 2.8  # standard deviations
SURE_SMALL = 1.96  # standard deviations
LEAST_BIAS = 0.005  # balls: it must surely be more than that
# The middle of what pots forgive that come up in free practice: by how much the object ball's way may be off.
FORGIVEN = 0.027  # radians; tests/learner/test_verdicts.py draws them anew
MOSTLY = 0.5  # the share of pots from which it is no scatter that forbids a kind to be settled
FEWEST = 5  # calls before anything is said
IN_A_ROW = 5  # right in a row, as a sign that a kind of shot is settled: common practice
RESTS = 3  # days that a settled kind is left alone
SAMPLES = 9  # places over a band at which its bias is looked at
REMEMBERED = 4000  # calls: older ones have faded, and a start has to be quick
MOST_TO_GO = 500  # calls: more is as good as never
# Calls also tell the belief's models apart, which a forecast from one covariance ignores: simulated players
# need about a quarter of the forecast (tests/learner/test_verdicts.py).
SOONER = 0.25

THICK, THIN, TRUE, NOT_YET = "thick", "thin", "true", "not enough yet"


@dataclass(frozen=True)
class KindVerdict:
    """A kind of shot, by band and side, and the verdict on it; numbers in balls, + thick.

    ``to_go`` is about how many more calls of this kind a verdict takes; 0 where there is one, None
    where it would take more than anybody plays. ``pots`` is the share of calls that would pot, of a shot
    that forgives as much as the middle one of its kind.
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
    pots: float

    @property
    def scatters(self) -> bool:
        """Whether it is seen true, and yet most calls miss: the scatter alone forbids it."""
        return self.verdict == TRUE and self.pots < MOSTLY

    @property
    def kind(self) -> Kind:
        """Its band and side as one."""
        return Kind(self.band, self.side)


def kind_verdicts(belief: Belief, tally: Tally, view: str | None = None) -> list[KindVerdict]:
    """Every band and side, thick to thin, left before right; as they are seen in one view, if it is named."""
    return [verdict_on(belief, kind, tally.kinds[kind], view) for kind in EVERY_KIND]


def verdict_on(belief: Belief, kind: Kind, counted: Counted, view: str | None = None) -> KindVerdict:
    """The verdict on one kind, of whose calls so many were counted; as it is seen in one view, if named."""
    ends = kind.sines
    places = np.linspace(*ends, SAMPLES)
    mean, covariance = belief.joint(places, view)
    whole, noise = belief.average(places, view), float(belief.noise([sum(ends) / 2], view)[0])
    room = forgiven(places)
    said = verdict(mean, covariance, counted.attempts, room)
    if said in (THICK, THIN) and whole.low <= 0.0 <= whole.high:  # a neighbour's fault that reaches in
        said = NOT_YET
    spread = _spread(noise, counted.width)
    forecast = 0 if said != NOT_YET else to_go(mean, covariance, spread, counted.attempts, room)
    pots = float(share_potted(mean, belief.noise(places, view), places).mean())
    return KindVerdict(
        band=kind.band,
        side=kind.side,
        bias=whole.mean,
        low=whole.low,
        high=whole.high,
        noise=noise,
        attempts=counted.attempts,
        verdict=said,
        settled=said == TRUE and counted.run >= IN_A_ROW and pots >= MOSTLY,
        to_go=forecast and max(FEWEST - counted.attempts, math.ceil(SOONER * forecast)),
        pots=pots,
    )


def forgiven(sines: ArrayLike) -> Floats:
    """By how much a call may be off and still pot, at sines of signed cuts (n,): the middle of what is drawn.

    In balls of fullness. The object ball's way may be off by an angle that doesn't hang on the cut; the
    thinner the cut, the less of the ball it is.
    """
    return np.asarray(FORGIVEN * np.sqrt(np.maximum(1.0 - np.square(np.asarray(sines, float)), 0.0)))


def share_potted(bias: ArrayLike, noise: ArrayLike, sines: ArrayLike) -> Floats:
    """The share of calls that pot, with a bias and a noise (n,) in balls at sines of signed cuts (n,)."""
    room, mean, sd = forgiven(sines), np.asarray(bias, float), np.asarray(noise, float)
    return np.exp(interval_likelihood((-room - mean) / sd, (room - mean) / sd)[0])


def is_sure(mean: ArrayLike, sd: ArrayLike) -> NDArray[np.bool_]:
    """Where a bias of this mean and standard deviation (balls, any shape) is sure enough to report."""
    return np.asarray(np.abs(np.asarray(mean)) > LEAST_BIAS + SURE * np.asarray(sd))


def verdict(mean: ArrayLike, covariance: ArrayLike, attempts: int, room: ArrayLike) -> str:
    """``thick``, ``thin``, ``true`` or ``not enough yet``, from the bias at places over a band.

    Thick or thin where it is sure at any of the places; true where it is within what pots forgive at each,
    and surely so on the whole.

    Parameters
    ----------
    mean, covariance : (n,), (n, n) float
        Of the bias at the places, balls.
    attempts : int
        Calls up to now.
    room : (n,) float
        What pots forgive there, balls.
    """
    bias, whole = np.asarray(mean, float), np.asarray(covariance, float)
    spread = np.sqrt(np.maximum(np.diag(whole), 0.0))
    if attempts < FEWEST:
        return NOT_YET
    if is_sure(bias, spread).any():
        return THICK if bias[int(np.argmax((np.abs(bias) - LEAST_BIAS) / spread))] > 0 else THIN
    on_the_whole = math.sqrt(max(float(whole.mean()), 0.0))
    return TRUE if _is_small(bias, on_the_whole, np.asarray(room, float)) else NOT_YET


def _spread(noise: float, width: float) -> float:
    """The scatter of one more call of a kind: noise, the answers' width, and lapses."""
    return math.sqrt((noise**2 + width**2 / 12) / (1 - LAPSE_RATE))


def to_go(
    mean: ArrayLike, covariance: ArrayLike, spread: float, attempts: int, room: ArrayLike
) -> int | None:
    """About how many more calls it takes until there is a verdict, if the bias is what it seems to be.

    Parameters
    ----------
    mean, covariance : (n,), (n, n) float
        Of the bias at places over a band, which the calls to come are taken to be spread over.
    spread : float
        What a call scatters by, in balls.
    attempts : int
        Calls up to now.
    room : (n,) float
        What pots forgive there, balls.
    """
    mean = np.asarray(mean, float)
    values, vectors = np.linalg.eigh(np.asarray(covariance, float))
    values = np.maximum(values, 0.0)
    more = np.arange(1, MOST_TO_GO + 1)
    left = values / (1.0 + values * more[:, None] / (len(mean) * spread**2))
    sd = np.sqrt(left @ (vectors**2).T)
    said = (is_sure(mean, sd).any(axis=1) | _is_small(mean, sd, np.asarray(room, float)).all(axis=1)) & (
        attempts + more >= FEWEST
    )
    return int(more[said.argmax()]) if said.any() else None


def _is_small(mean: Floats, whole: ArrayLike, room: Floats) -> NDArray[np.bool_]:
    """Whether a bias (n,) is small: within the room at each place, and surely so on the whole.

    ``whole`` is the standard deviation of its average over the places, any shape.
    """
    on_the_whole = abs(float(mean.mean())) + SURE_SMALL * np.asarray(whole) < float(np.mean(room))
    return np.asarray(on_the_whole & bool((np.abs(mean) < room).all()))


def resting(belief: Belief, tally: Tally, today: int) -> list[tuple[float, float]]:
    """The signed sines (low, high) of the kinds of shot that are settled and were played of late.

    One that was settled today is played on today; it rests from tomorrow.
    """
    found = []
    for kind in EVERY_KIND:
        counted = tally.kinds[kind]
        # Only a day with enough calls about it counts; a stray one doesn't prolong the rest.
        when = counted.practice(today)
        # The cheap checks first.
        if when is None or not 0 < when.days < RESTS or counted.run < IN_A_ROW:
            continue
        low, high = kind.sines
        places = np.linspace(low, high, SAMPLES)
        if verdict(*belief.joint(places), counted.attempts, forgiven(places)) == TRUE:
            found.append((low, high))
    return found


A_DAY = 2  # kinds of shot that are seen wrong
NEVER = 1_000_000  # days: longer than any history
# Where nothing is known yet: from the angles that come up most to the ends, sides in turn. Judgement.
SPREAD = (
    *(("3/4", "left"), ("1/2", "right"), ("1/4", "left"), ("3/8", "right")),
    *(("1/2", "left"), ("3/4", "right"), ("3/8", "left"), ("1/4", "right")),
    *(("5/8", "left"), ("5/8", "right"), ("7/8", "left"), ("7/8", "right")),
    *(("1/8", "left"), ("1/8", "right")),
    *(("full", "left"), ("full", "right"), ("thinner", "left"), ("thinner", "right")),
)


def weak_kinds(rows: Sequence[KindVerdict]) -> list[Kind]:
    """Every kind of shot as (band, side), the weakest first.

    First those seen thick or thin, the greatest bias first; then those called but not known, the widest
    interval first; then those never called, in the order of ``SPREAD``; last those seen true, the least sure
    first.

    Parameters
    ----------
    rows : sequence of Kind
        As :func:`~trainer.learner.verdicts.kinds` gives them.
    """

    def key(row: KindVerdict) -> tuple[int, float]:
        wide = row.high - row.low
        if row.verdict in (THICK, THIN):
            return 0, -abs(row.bias)
        if row.verdict == TRUE:
            return 3, -wide
        if row.attempts:
            return 1, -wide
        return 2, SPREAD.index(row.kind)

    return [row.kind for row in sorted(rows, key=key)]


def due(kinds: Sequence[tuple[KindVerdict, Practised | None]]) -> list[tuple[KindVerdict, Practised]]:
    """The kinds that are seen true and should come back now, the longest overdue first."""
    found = [(kind, when) for kind, when in kinds if kind.verdict == TRUE and when is not None and when.due]
    return sorted(found, key=lambda one: one[1].gap - one[1].days)


def weak(kinds: Sequence[tuple[KindVerdict, Practised | None]]) -> list[tuple[KindVerdict, Practised | None]]:
    """The kinds that are seen thick or thin and should be practised now, the longest ago first.

    Ties go to the greater bias. At most ``A_DAY`` are practised in a day, counting those practised already:
    they take turns from day to day and leave time for the rest.
    """
    wrong = [(kind, when) for kind, when in kinds if kind.verdict not in (TRUE, NOT_YET)]
    rest = [(kind, when) for kind, when in wrong if when is None or when.days > 0]
    rest.sort(key=lambda one: (-one[1].days if one[1] else -NEVER, -abs(one[0].bias)))
    return rest[: max(A_DAY - (len(wrong) - len(rest)), 0)]
