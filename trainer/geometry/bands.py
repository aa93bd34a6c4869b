"""Named fullnesses. Each name stands for the fullnesses nearer to it than to its neighbours."""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

THINNER = "thinner"
EIGHTH = Fraction(1, 8)


@dataclass(frozen=True)
class Band:
    """A named fullness and the stretch of fullness it stands for."""

    name: str
    value: float
    low: float
    high: float


def bands(step: Fraction = EIGHTH) -> tuple[Band, ...]:
    """The bands of one fineness, fullest first: full, ..., one step, thinner.

    Parameters
    ----------
    step : Fraction
        One over a whole number, 1/2 to 1/64.

    Returns
    -------
    tuple of Band
        Edges lie midway between neighbours. ``thinner`` takes what is left, 0 to half a step, and
        its value is the middle of that.
    """
    if step.numerator != 1 or not 2 <= step.denominator <= 64:
        raise ValueError(f"a band step is 1/2 to 1/64, not {step}")
    return _bands(step.denominator)


@lru_cache(maxsize=64)  # asked for at every shot, and fractions are slow
def _bands(denominator: int) -> tuple[Band, ...]:
    step = Fraction(1, denominator)
    half = float(step) / 2
    named = [
        Band(band_name(k * step), float(k * step), float(k * step) - half, float(k * step) + half)
        for k in range(step.denominator, 0, -1)
    ]
    # "full" is a band like the others: beyond 1 the ball is hit past its centre.
    return (*named, Band(THINNER, half / 2, 0.0, half))


def band_name(fullness: Fraction) -> str:
    """``full`` or the fraction in lowest terms, as a player says it."""
    return "full" if fullness == 1 else f"{fullness.numerator}/{fullness.denominator}"


def band_index(fullness: ArrayLike, step: Fraction = EIGHTH) -> NDArray[np.intp]:
    """Index into :func:`bands` of each fullness (0 to 1), shape (...). An edge goes to the thicker band."""
    n = step.denominator
    inside = np.asarray(np.clip(np.asarray(fullness, float), 0.0, 1.0), float)
    thicker = np.floor(inside * n + 0.5).astype(np.intp)
    return np.asarray(n - thicker)


def band_of(fullness: float, step: Fraction = EIGHTH) -> Band:
    """The band that a fullness of 0 to 1 belongs to."""
    n = step.denominator
    return bands(step)[n - math.floor(min(max(fullness, 0.0), 1.0) * n + 0.5)]
