"""Whether a few calls of today show an eye that is not as usual.

Four groups of shots are looked at, thick and thin cuts to both sides. A call's error is taken to be

    usual(group) + shift(group), today alone + a (call before - shot) + c (mean of the set - shot) + noise

in balls of fullness, + thick, fitted by weighted least squares over today's calls and those before. ``a`` is
serial dependence and ``c`` central tendency, with the belief's priors: a warm-up goes from thick to thin and
back, and without them they would pass for a shift. Where there are few earlier calls, the usual error is
taken to be none. A shift is reported where it is sure, with a threshold for four looks that was set by
simulation (``tests/benchmarks/bench_warmup.py`` prints how often it errs, and
what it finds).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.fullness import SIDES
from trainer.geometry.vectors import Floats
from trainer.learner.belief import CENTRAL_SD, SERIAL_SD
from trainer.learner.call import Call, Context

SURE = 3.2  # standard deviations, of four looks: see the simulation
LEAST = 1 / 64  # balls: less is not worth taking to the table
FEWEST = 4  # calls of a group today
KNOWN = 20  # earlier calls of a group, from which it is known how this player usually sees it
RECENT = 400  # earlier calls that say what is usual
NOISE, LEAST_NOISE = 0.06, 1 / 64  # balls: what calls scatter by where it isn't known, and at least
STRAY = 4.0  # deviations: beyond them a call counts as a lapse
NORMAL = 1.4826  # times the median distance from none is the deviation, where noise is normal
THICK_CUTS = 0.5  # up to this sine a cut is thick: a half ball
SCATTERING = 8  # calls today, before their scatter is told
EVERYTHING = "everything"
GROUPS = [f"{sort} to the {side}" for side in SIDES for sort in ("thick cuts", "thin cuts")]
FREE, FIXED = 1e-6, 1e8  # precision of what may be anything, and of what is none


@dataclass(frozen=True)
class Shift:
    """Shots of one sort, ``thin cuts to the left``: today's mean error in balls, + thick.

    ``sure`` is by how many standard deviations it is off the usual, 0 where that isn't sure.
    """

    shots: str
    error: float
    sure: float

    @property
    def is_sure(self) -> bool:
        """Whether it is surely there."""
        return self.sure > 0.0


@dataclass(frozen=True)
class TodayShifts:
    """Today's shifts, ``EVERYTHING`` last, how many calls there were, and their scatter.

    ``scatter`` is over what is usual, a ratio; 0 where too few calls tell.
    """

    shifts: tuple[Shift, ...]
    calls: int
    scatter: float


def today_shifts(today: Sequence[Call], before: Sequence[Call]) -> TodayShifts:
    """Today's shifts of thick and thin cuts to both sides, and of everything.

    Parameters
    ----------
    today, before : sequence of Call
        Calls of one skill whose errors tell thick or thin; ``before`` are those from before today's, in
        order. The last ``RECENT`` say what is usual.
    """
    calls = [*before[-RECENT:], *today]
    if not today:
        return TodayShifts(tuple(Shift(shots, 0.0, 0.0) for shots in (*GROUPS, EVERYTHING)), 0, 0.0)
    at_day = np.arange(len(calls)) >= len(calls) - len(today)
    group, errors = np.array([_group(call) for call in calls]), np.array([call.error for call in calls])
    mine = group[:, None] == np.arange(len(GROUPS))
    known = (mine & ~at_day[:, None]).sum(axis=0) >= KNOWN
    usual = np.where(known, FREE, FIXED)
    context = _context(calls)

    def fitted(shifted: NDArray[np.bool_], noise: Floats) -> tuple[Floats, Floats, Floats]:
        """What is left, and mean and covariance of the shifts of so many columns."""
        design = np.hstack([shifted, mine, context]).astype(float)
        prior = np.concatenate([np.full(shifted.shape[1], FREE), usual, [SERIAL_SD**-2, CENTRAL_SD**-2]])
        mean, covariance = _fitted(design, errors, kept / noise[group] ** 2, prior)
        return errors - design @ mean, mean, covariance

    kept = np.ones(len(calls), bool)
    noise = np.full(len(GROUPS), NOISE)
    groups = mine & at_day[:, None]
    for _ in range(2):  # the first finds lapses and noise
        off, *_ = fitted(groups, noise)
        spread = np.array([NORMAL * _median(np.abs(off[group == g])) for g in range(len(GROUPS))])
        kept = np.abs(off) <= STRAY * np.maximum(spread, LEAST_NOISE)[group]
        noise = np.array([_noise(off, kept & (group == g), at_day, known[g]) for g in range(len(GROUPS))])
    _, mean, covariance = fitted(groups, noise)
    today_of = (kept & at_day)[:, None] & mine
    found = [
        _shift(shots, mean[g], covariance[g, g], mean[len(GROUPS) + g], int(today_of[:, g].sum()))
        for g, shots in enumerate(GROUPS)
    ]
    _, mean, covariance = fitted(at_day[:, None], noise)
    share = today_of.sum(axis=0) / max(int(today_of.sum()), 1)
    whole = float(share @ mean[1 : 1 + len(GROUPS)])
    found.append(_shift(EVERYTHING, mean[0], covariance[0, 0], whole, int(today_of.sum())))
    return TodayShifts(tuple(found), len(today), _scatter(off, at_day, known[group]))


def _shift(shots: str, shift: float, variance: float, usual: float, calls: int) -> Shift:
    error = float(usual + shift)
    sure = float(abs(shift) / math.sqrt(variance))
    # Off the usual and off the truth the same way: else there is nothing to take to the table.
    worth = calls >= FEWEST and min(abs(shift), abs(error)) > LEAST and error * shift > 0
    return Shift(shots, error, sure if worth and sure > SURE else 0.0)


def _scatter(off: Floats, at_day: NDArray[np.bool_], known: NDArray[np.bool_]) -> float:
    """By how much today's calls scatter more than usual; robust against lapses."""
    if at_day.sum() < SCATTERING:
        return 0.0
    earlier = off[~at_day & known]
    usual = NORMAL * _median(np.abs(earlier)) if len(earlier) >= KNOWN else NOISE
    return NORMAL * _median(np.abs(off[at_day])) / max(usual, LEAST_NOISE)


def _group(call: Call) -> int:
    """The place among ``GROUPS``."""
    return 2 * (call.sine < 0) + (abs(call.sine) >= THICK_CUTS)


def _context(calls: Sequence[Call]) -> Floats:
    """How far from each shot were the call before and the mean of what its set had shown, (n, 2)."""
    found, context = np.zeros((len(calls), 2)), Context()
    for row, call in zip(found, calls, strict=True):
        context.begin(call)
        row[:] = context.distances(call)
        context.take(call)
    return found


def _fitted(design: Floats, errors: Floats, weights: Floats, prior: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of the coefficients."""
    weighted = design * weights[:, None]
    covariance = np.asarray(np.linalg.inv(design.T @ weighted + np.diag(prior)), float)
    return covariance @ (weighted.T @ errors), covariance


def _median(values: Floats) -> float:
    return float(np.median(values)) if len(values) else 0.0


def _noise(off: Floats, mine: NDArray[np.bool_], at_day: NDArray[np.bool_], known: bool) -> float:
    """What calls of a group scatter by: the more of today's and the earlier ones'."""
    scatter = [LEAST_NOISE if known else NOISE]
    scatter += [float(off[some].std(ddof=1)) for some in (mine & at_day, mine & ~at_day) if some.sum() > 2]
    return max(scatter)
