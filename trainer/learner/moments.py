"""A normal variable of which only an interval is known: its chance and what it tells.

Everything holds far out in the tails, where chances are smaller than any number a computer has.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

_ROOT2 = math.sqrt(2.0)
_LOG_ROOT_TAU = 0.5 * math.log(2.0 * math.pi)
FAR = 37.0  # deviations: beyond this a tail is less than the least number


def log_below(x: ArrayLike) -> Floats:
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


def between(low: ArrayLike, high: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """What it tells that a standard normal variable lies between two values.

    Parameters
    ----------
    low, high : (...) float
        ``low < high``; either may be infinite.

    Returns
    -------
    log_chance, first, second : (...) float
        Logarithm of the chance of the interval; the first derivative of that by the variable's own
        mean, and the second. With a mean of unknown size behind the variable these two are all that
        matching moments takes. Source: T. Minka, "A family of algorithms for approximate Bayesian
        inference", PhD thesis, MIT, 2001, chapter 3 (the derivatives of the log of the evidence).
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    # The side on which the nearer end is negative: there nothing cancels.
    flip = low > -high
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    below_a, below_b = log_below(a), log_below(b)
    log_chance = below_b + np.log1p(-np.exp(np.minimum(below_a - below_b, -1e-15)))
    with np.errstate(invalid="ignore"):
        at_a = np.exp(-0.5 * a * a - _LOG_ROOT_TAU - log_chance)
        at_b = np.exp(-0.5 * b * b - _LOG_ROOT_TAU - log_chance)
    first = at_a - at_b
    second = np.where(np.isinf(a), 0.0, a) * at_a - np.where(np.isinf(b), 0.0, b) * at_b - first**2
    return log_chance, np.where(flip, -first, first), second
