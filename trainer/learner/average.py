"""What some calls say together: mean error and scatter, where an answer may mean only an interval.

By maximum likelihood of a normal error of which each call tells an interval (Tobin's model, fitted by
expectation and maximization), so that answers of every fineness can stand side by side.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.vectors import Floats
from trainer.learner.call import Call
from trainer.learner.moments import between

STRAY = 4.0  # spreads from the middle: a lapse, not an answer
LEAST_SPREAD = 0.02  # balls: what lies nearer than so many of these is never a lapse
LEAST_SD = 0.004  # balls: nobody scatters less, and answers that are all alike don't say by how much
STEPS = 60  # of the fit, at the most
CLOSE = 1e-6  # balls: a step smaller than this ends it


@dataclass(frozen=True)
class Average:
    """The mean error of some calls in balls, + thick; its standard error; their scatter, and how many."""

    mean: float
    error: float
    sd: float
    calls: int

    @property
    def variance(self) -> float:
        """What one more call like these adds to what is known: the variance that it would leave alone."""
        return self.calls * self.error**2


def without_strays(calls: Sequence[Call]) -> list[Call]:
    """The calls without those that are far from all others."""
    errors = np.array([call.error for call in calls])
    if not len(errors):
        return []
    middle = float(np.median(errors))
    # 1.4826 times the median distance is a normal spread.
    spread = max(1.4826 * float(np.median(np.abs(errors - middle))), LEAST_SPREAD)
    return [call for call in calls if abs(call.error - middle) <= STRAY * spread]


def average(calls: Sequence[Call], groups: ArrayLike | None = None) -> Average:
    """Mean and scatter of the errors of calls, each known to lie within its interval.

    Parameters
    ----------
    calls : sequence of Call
        At least one of them tells something: not all intervals are open on both sides.
    groups : (n,) int, optional
        Which group each call is of, from 0 on without gaps: scatter is then that about the groups' own
        means. None: all are one group.

    Notes
    -----
    The standard error is by the observed information (T. A. Louis, "Finding the observed information
    matrix when using the EM algorithm", Journal of the Royal Statistical Society B 44 (1982), 226-233),
    with the scatter taken as known.
    """
    low = np.array([call.low for call in calls], float)
    high = np.array([call.high for call in calls], float)
    of = np.zeros(len(low), np.intp) if groups is None else np.asarray(groups, np.intp)
    sizes = np.bincount(of)
    start = np.array([call.error for call in calls], float)
    means = np.bincount(of, start) / sizes
    free = max(len(low) - len(sizes), 1)
    sd = max(math.sqrt(float(((start - means[of]) ** 2).sum()) / free), 2 * LEAST_SD)
    inner, spread = inside(low, high, means[of], sd)
    for _ in range(STEPS):
        before = means, sd
        means = np.bincount(of, inner) / sizes
        # One group's mean costs one call's worth of scatter, as in a sample's variance.
        square = float(((inner - means[of]) ** 2 + spread).sum()) / free
        sd = max(math.sqrt(square), LEAST_SD)
        inner, spread = inside(low, high, means[of], sd)
        if abs(sd - before[1]) < CLOSE and float(np.abs(means - before[0]).max()) < CLOSE:
            break
    # What each group's mean is known to, and with it the mean over all calls.
    known = np.bincount(of, 1.0 - spread / sd**2) / sd**2
    error = math.sqrt(float((sizes**2 / np.maximum(known, 1e-12)).sum())) / len(low)
    return Average(float((means * sizes).sum() / len(low)), error, sd, len(low))


def inside(low: Floats, high: Floats, mean: Floats, sd: ArrayLike) -> tuple[Floats, Floats]:
    """Mean and variance of a normal error within each interval; of one that is a point, the point."""
    inner, variance = low.copy(), np.zeros_like(low)
    wide: NDArray[np.bool_] = high > low
    if wide.any():
        m, sd = mean[wide], np.broadcast_to(np.asarray(sd, float), low.shape)[wide]
        _, first, second = between((low[wide] - m) / sd, (high[wide] - m) / sd)
        # The mean moves against the interval's ends: hence the sign that `between` gives.
        inner[wide] = m + sd * first
        variance[wide] = np.clip(sd * sd * (1.0 + second), 0.0, sd * sd)
    return inner, variance
