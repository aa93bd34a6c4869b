"""Whether a fault of a month ago has become smaller: said only with the calls that it takes.

Two bias curves, then and now, are fitted together with everything that could look like a change: serial
dependence, central tendency, and an offset of each condition (drill and view). The cuts shown, their order
and the answers' fineness may have changed although the player has not.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.fullness import EVERY_KIND, Kind
from trainer.geometry.vectors import Floats
from trainer.learner import priors
from trainer.learner.belief import CENTRAL_SD, CONDITION_SD, SERIAL_SD
from trainer.learner.call import Call, Context
from trainer.learner.censored import truncated_moments
from trainer.learner.verdicts import LEAST_BIAS, SAMPLES

THEN, NOW = (21, 70), (0, 13)  # days ago, from and to: two stretches with a week and more between them
# Standard deviations that a fault must have been sure by then, and its change now, for a reader who looks
# every day. tests/benchmarks/bench_change.py prints how many players who don't change are told of one.
SURE_THEN = 2.6
SURE = 3.0
POWER = 1.64  # standard deviations more, so that 19 of 20 real changes are seen
SMALLER = 0.5  # a fault half as large is what a player wants to hear of
FEWEST = 8  # calls of a kind in each stretch
STRAY = 4.0  # deviations from what is expected: beyond them a call counts as a lapse
FIRST_SD, LEAST_SD = 0.05, 0.01  # balls: what noise is taken to be at first, and at the least
THIRDS = 3  # of the cuts, by their sines: noise is told apart between them
KNOWN = 20  # calls: so much is the noise over all worth, in each of them
STEPS = 8  # of the fit
AT_ONCE = 4000  # calls that are summed up together


@dataclass(frozen=True)
class Change:
    """A kind of shot that was seen thick or thin: its bias then and now, in balls, + thick.

    ``better``: it surely is smaller. Else ``missing`` is about how many more calls of late it takes
    to say that a fault half as large is smaller; None where no number would do. ``now`` is not a number
    where there were no calls of late.
    """

    band: str
    side: str
    then: float
    now: float
    better: bool
    missing: int | None

    @property
    def kind(self) -> Kind:
        """Its band and side as one."""
        return Kind(self.band, self.side)


@dataclass(frozen=True)
class Compared:
    """A kind of shot in both stretches: biases and their standard deviations, in balls, and calls."""

    band: str
    side: str
    then: float
    then_sd: float
    now: float
    gain_sd: float
    noise: float
    calls: tuple[int, int]

    @property
    def gain(self) -> float:
        """By how much the fault is smaller, in balls."""
        return math.copysign(1.0, self.then) * (self.then - self.now)


def changes(calls: Sequence[Call], today: int) -> list[Change]:
    """Every kind of shot whose error was sure a month ago, thick to thin, left before right."""
    return [_change(each) for each in compared(calls, today) if was_sure(each)]


def was_sure(each: Compared) -> bool:
    """Whether a kind of shot was surely seen thick or thin then."""
    return each.calls[0] >= FEWEST and abs(each.then) > LEAST_BIAS + SURE_THEN * each.then_sd


def is_better(each: Compared) -> bool:
    """Whether a fault surely is smaller: on its own side, and not as large on the other."""
    smaller = each.gain > SURE * each.gain_sd and abs(each.now) < abs(each.then)
    return each.calls[1] >= FEWEST and smaller


def _change(each: Compared) -> Change:
    better = is_better(each)
    now = each.now if each.calls[1] else math.nan
    return Change(each.band, each.side, each.then, now, better, None if better else _missing(each))


def _missing(each: Compared) -> int | None:
    """How many more calls of late it takes until a fault half as large is told."""
    then, now = each.calls
    # What a call leaves open: as much as these calls did, or the noise, which few calls understate.
    left = each.noise**2
    if now:
        left = max(left, each.gain_sd**2 / (1 / then + 1 / now))
    needed = (SMALLER * abs(each.then) / (SURE + POWER)) ** 2 / left - 1 / then
    return None if needed <= 0 else max(math.ceil(1 / needed) - now, FEWEST - now, 1)


def compared(calls: Sequence[Call], today: int) -> list[Compared]:
    """Every kind of shot then and now; none where either stretch can't have a kind that says anything."""
    used, context = _in_context([call for call in calls if 0 <= today - call.day <= THEN[1]])
    ago = np.array([today - call.day for call in used])
    is_then, is_now = (np.array((ago >= a) & (ago <= b)) for a, b in (THEN, NOW))
    if is_then.sum() < FEWEST:
        return []
    here = is_then | is_now
    mine = [call for call, kept in zip(used, here.tolist(), strict=True) if kept]
    late = is_now[here]
    sines = np.array([call.sine for call in mine])
    conditions = sorted({call.condition for call in mine})
    design = np.zeros(
        (len(mine), 2 * priors.COEFFICIENTS + 2 + len(conditions))
    )  # in place: of busy weeks it is large
    design[~late, : priors.COEFFICIENTS] = priors.basis_at(sines[~late])
    design[late, priors.COEFFICIENTS : 2 * priors.COEFFICIENTS] = priors.basis_at(sines[late])
    design[:, 2 * priors.COEFFICIENTS : 2 * priors.COEFFICIENTS + 2] = context[here] * (SERIAL_SD, CENTRAL_SD)
    own = [2 * priors.COEFFICIENTS + 2 + conditions.index(call.condition) for call in mine]
    design[np.arange(len(mine)), own] = CONDITION_SD
    mean, covariance, noise = _fitted(design, mine, _thirds(sines))
    found = []
    for kind in EVERY_KIND:
        low, high = kind.sines
        inside_it = (sines >= low) & ((sines < high) | ((sines == high) & (high == 1.0)))
        counts = int((inside_it & ~late).sum()), int((inside_it & late).sum())
        whole = priors.basis_at(np.linspace(low, high, SAMPLES)).mean(axis=0)
        at = np.zeros((3, design.shape[1]))
        size = len(whole)
        at[0, :size] = at[1, size : 2 * size] = at[2, :size] = whole
        at[2, size : 2 * size] = -whole
        means, sds = at @ mean, np.sqrt(((at @ covariance) * at).sum(axis=1))
        spread = float(noise[inside_it].mean()) if inside_it.any() else FIRST_SD
        values = (float(means[0]), float(sds[0]), float(means[1]), float(sds[2]))
        found.append(Compared(kind.band, kind.side, *values, spread, counts))
    return found


def _in_context(calls: Sequence[Call]) -> tuple[list[Call], Floats]:
    """The calls about one shot, and how far the call before and the set's mean lay from each, (n, 2)."""
    used, distances, context = list[Call](), list[tuple[float, float]](), Context()
    for call in calls:
        context.begin(call)
        if call.tells:
            used.append(call)
            distances.append(context.distances(call))
        context.take(call)
    return used, np.array(distances).reshape(-1, 2)


def _thirds(sines: Floats) -> NDArray[np.intp]:
    """Which third of the cuts each is in."""
    return np.asarray(np.minimum(np.abs(sines) * THIRDS, THIRDS - 1), np.intp)


def _fitted(design: Floats, calls: Sequence[Call], thirds: NDArray[np.intp]) -> tuple[Floats, Floats, Floats]:
    """Coefficients' mean and covariance (all normal with variance one before), each call's noise.

    The mode, by Newton's steps; noise by expectation and maximization between them.
    """
    low = np.array([call.low for call in calls])
    high = np.array([call.high for call in calls])
    error = np.array([call.error for call in calls])
    slack = np.where(np.isfinite(high - low), (high - low) / 2, 0.0)
    mean: Floats = np.zeros(design.shape[1], np.float64)
    noise: Floats = np.full(len(calls), FIRST_SD)
    covariance: Floats = np.eye(len(mean))
    for _ in range(STEPS):
        expected = design @ mean
        inner, variance = truncated_moments(low, high, expected, noise)
        kept = np.abs(error - expected) <= slack + STRAY * np.maximum(noise, FIRST_SD / 2)
        weight = np.where(kept, (1.0 - variance / noise**2) / noise**2, 0.0)
        slope = design.T @ np.where(kept, (inner - expected) / noise**2, 0.0) - mean
        precision = np.eye(len(mean))
        for k in range(0, len(design), AT_ONCE):
            part = design[k : k + AT_ONCE]
            precision += part.T @ (weight[k : k + AT_ONCE, None] * part)
        covariance = np.asarray(np.linalg.inv(precision), np.float64)
        mean = np.asarray(mean + covariance @ slope, np.float64)
        squares = np.where(kept, (inner - expected) ** 2 + variance, 0.0)
        over_all = float(squares.sum() / max(kept.sum(), 1))
        sums = np.bincount(thirds, squares, THIRDS) + KNOWN * over_all
        each: Floats = np.sqrt(sums / (np.bincount(thirds, kept, THIRDS) + KNOWN))
        noise = np.asarray(np.maximum(each, LEAST_SD)[thirds], np.float64)
    return mean, covariance, noise
