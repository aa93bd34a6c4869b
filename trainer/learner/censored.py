"""Normal errors of which only an interval is known: likelihood, moments, and a fit by maximum likelihood.

An answer out of a row says only between which errors the player's own answer lies: it is interval-censored.
The fit (Tobin's model, by expectation and maximization) lets answers of every fineness stand side by side.
Everything holds far out in the tails, where chances are smaller than any number a computer has.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.vectors import Floats
from trainer.learner.call import Call

_ROOT2 = math.sqrt(2.0)
_LOG_ROOT_TAU = 0.5 * math.log(2.0 * math.pi)
FAR = 37.0  # deviations: beyond this a tail is less than the least number


def log_cdf(x: ArrayLike) -> Floats:
    """Logarithm of the chance that a standard normal variable is below ``x``, any shape."""
    values = np.asarray(x, float)
    far = values <= -FAR
    near = np.where(far, 0.0, values)
    tails = np.fromiter(map(math.erfc, (-near / _ROOT2).ravel().tolist()), float, near.size)
    found = np.log(0.5 * tails).reshape(values.shape)
    return np.where(far, _log_far_below(values), found) if far.any() else found


def _log_far_below(x: Floats) -> Floats:
    """Mills' ratio far out: 1/x - 1/x^3 + 3/x^5 (Abramowitz and Stegun, 1964, 7.1.23)."""
    out = np.minimum(x, -FAR)
    part = 1.0 / (out * out)
    return np.asarray(-0.5 * out * out - _LOG_ROOT_TAU - np.log(-out) + np.log1p(part * (3.0 * part - 1.0)))


def interval_likelihood(low: ArrayLike, high: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """The likelihood that a standard normal variable lies between two values, as its mean moves.

    Parameters
    ----------
    low, high : (...) float
        ``low < high``; either may be infinite.

    Returns
    -------
    log_chance, first, second : (...) float
        Logarithm of the probability of the interval, and its first and second derivative by the
        variable's mean. These two are all that moment matching needs. Source: T. Minka, "A family of
        algorithms for approximate Bayesian inference", PhD thesis, MIT, 2001, chapter 3 (the derivatives
        of the log of the evidence).
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    # Work on the side where the nearer end is negative: nothing cancels there.
    flip = low > -high
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    below_a, below_b = log_cdf(a), log_cdf(b)
    log_chance = below_b + np.log1p(-np.exp(np.minimum(below_a - below_b, -1e-15)))
    with np.errstate(invalid="ignore"):
        at_a = np.exp(-0.5 * a * a - _LOG_ROOT_TAU - log_chance)
        at_b = np.exp(-0.5 * b * b - _LOG_ROOT_TAU - log_chance)
    first = at_a - at_b
    second = np.where(np.isinf(a), 0.0, a) * at_a - np.where(np.isinf(b), 0.0, b) * at_b - first**2
    return log_chance, np.where(flip, -first, first), second


def call_likelihood(call: Call, mean: Floats, deviation: Floats) -> tuple[Floats, Floats, Floats]:
    """Log likelihood of a call that is no lapse, and its derivatives by the mean, in deviations."""
    if call.low < call.high:
        return interval_likelihood((call.low - mean) / deviation, (call.high - mean) / deviation)
    off = (call.low - mean) / deviation
    return -0.5 * off**2 - np.log(deviation * math.sqrt(2 * math.pi)), off, np.full_like(off, -1.0)


OUTLIER = 4.0  # spreads from the median: beyond them a call counts as a lapse
LEAST_SPREAD = 0.02  # balls: the spread is taken to be at least this
LEAST_SD = 0.004  # balls: the least scatter; answers that are all alike don't tell it
STEPS = 60  # of the fit, at the most
CLOSE = 1e-6  # balls: a step smaller than this ends it


@dataclass(frozen=True)
class NormalFit:
    """A normal fitted to calls: mean error (balls, + thick), its standard error, scatter, number of calls."""

    mean: float
    error: float
    sd: float
    calls: int


def without_outliers(calls: Sequence[Call]) -> list[Call]:
    """The calls without those far from the median."""
    errors = np.array([call.error for call in calls])
    if not len(errors):
        return []
    middle = float(np.median(errors))
    # 1.4826 times the median distance is a normal spread.
    spread = max(1.4826 * float(np.median(np.abs(errors - middle))), LEAST_SPREAD)
    return [call for call in calls if abs(call.error - middle) <= OUTLIER * spread]


def fit_normal(calls: Sequence[Call], groups: ArrayLike | None = None) -> NormalFit:
    """Mean and scatter of the errors of calls, each known to lie within its interval.

    Parameters
    ----------
    calls : sequence of Call
        At least one has an interval that isn't open on both sides.
    groups : (n,) int, optional
        The group of each call, from 0 without gaps: the scatter is then about each group's own mean.
        None: all are one group.

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
    inner, spread = truncated_moments(low, high, means[of], sd)
    for _ in range(STEPS):
        before = means, sd
        means = np.bincount(of, inner) / sizes
        # Each group's mean takes one degree of freedom, as in a sample's variance.
        square = float(((inner - means[of]) ** 2 + spread).sum()) / free
        sd = max(math.sqrt(square), LEAST_SD)
        inner, spread = truncated_moments(low, high, means[of], sd)
        if abs(sd - before[1]) < CLOSE and float(np.abs(means - before[0]).max()) < CLOSE:
            break
    # The information on each group's mean, and with it the error of the mean over all calls.
    known = np.bincount(of, 1.0 - spread / sd**2) / sd**2
    error = math.sqrt(float((sizes**2 / np.maximum(known, 1e-12)).sum())) / len(low)
    return NormalFit(float((means * sizes).sum() / len(low)), error, sd, len(low))


def truncated_moments(low: Floats, high: Floats, mean: Floats, sd: ArrayLike) -> tuple[Floats, Floats]:
    """Mean and variance of a normal error truncated to each interval, which may be a point."""
    inner, variance = low.copy(), np.zeros_like(low)
    wide: NDArray[np.bool_] = high > low
    if wide.any():
        m, sd = mean[wide], np.broadcast_to(np.asarray(sd, float), low.shape)[wide]
        _, first, second = interval_likelihood((low[wide] - m) / sd, (high[wide] - m) / sd)
        # The derivatives of the likelihood give the moments of the truncated normal.
        inner[wide] = m + sd * first
        variance[wide] = np.clip(sd * sd * (1.0 + second), 0.0, sd * sd)
    return inner, variance


STRAY = 4.0  # deviations from what is expected: beyond them a call counts as a lapse
FIRST_SD, LEAST_NOISE = 0.05, 0.01  # balls: what noise is taken to be at first, and at the least
KNOWN = 20  # calls: so much is the noise over all worth, in each group
LINEAR_STEPS = 8  # of the fit
AT_ONCE = 4000  # calls that are summed up together


def fit_linear(
    design: Floats,
    calls: Sequence[Call],
    groups: NDArray[np.intp],
    usual: float | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Coefficients of a linear model of errors, each known to lie within its interval.

    Parameters
    ----------
    design : (n, k) float
        Before the calls the coefficients are independent and normal, with mean none and variance one.
    calls : sequence of Call
        (n,)
    groups : (n,) int
        The group of each call, from 0: each has a noise of its own, which is held to that of all calls.
    usual : float, optional
        Noise in balls that each group's is held to instead.

    Returns
    -------
    mean, covariance, noise : (k,), (k, k), (n,) float
        Mean and covariance of the coefficients; the standard deviation of each call's noise, in balls.

    Notes
    -----
    The mode, by Newton's steps; noise by expectation and maximization between them. Calls that lie far off
    count as lapses and tell nothing.
    """
    low = np.array([call.low for call in calls])
    high = np.array([call.high for call in calls])
    error = np.array([call.error for call in calls])
    slack = np.where(np.isfinite(high - low), (high - low) / 2, 0.0)
    size = int(groups.max(initial=0)) + 1
    mean: Floats = np.zeros(design.shape[1], np.float64)
    # 1.4826 times the median distance is a normal spread: where all scatter widely none is a lapse for that.
    widely = 1.4826 * float(np.median(np.abs(error))) if len(error) else 0.0
    noise: Floats = np.full(len(calls), max(usual or FIRST_SD, widely))
    covariance: Floats = np.eye(len(mean))
    for _ in range(LINEAR_STEPS):
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
        held = float(squares.sum() / max(kept.sum(), 1)) if usual is None else usual**2
        sums = np.bincount(groups, squares, size) + KNOWN * held
        each: Floats = np.sqrt(sums / (np.bincount(groups, kept, size) + KNOWN))
        noise = np.asarray(np.maximum(each, LEAST_NOISE)[groups], np.float64)
    return mean, covariance, noise
