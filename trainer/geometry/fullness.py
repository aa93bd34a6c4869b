"""How full a hit is: cut, fullness and offset, the named bands of fullness, and the kinds of shot.

``fullness = 1 - sin(cut)`` for equal balls is in Alciatore, *TP A.20* (from his TP 3.3):
``cut = asin(1 - fullness)``. Half a ball is therefore exactly 30 degrees.

A band's name stands for the fullnesses nearer to it than to its neighbours. A kind of shot is a band and
the side that the object ball is sent to.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

THINNER = "thinner"
EIGHTH = Fraction(1, 8)
SIDES = ("left", "right")
SIGNS = {"left": 1.0, "right": -1.0}  # of cuts, sines and offsets


def fullness_from_cut(cut: ArrayLike) -> Floats:
    """How full a hit is, from the cut.

    Parameters
    ----------
    cut : (...) float
        Cut angle in radians, either sign, -pi/2 to pi/2.

    Returns
    -------
    (...) float
        ``1 - sin |cut|``: 1 is full, 0 a graze. Thinner than 45 degrees it is worked out as
        ``2 sin^2(pi/4 - |cut|/2)``, the same number without the loss of digits near 90 degrees.
    """
    size = np.asarray(np.abs(np.asarray(cut, float)), float)
    half = np.sin(np.pi / 4 - size / 2)
    return np.where(size < np.pi / 4, 1.0 - np.sin(size), 2.0 * half * half)


def cut_from_fullness(fullness: ArrayLike) -> Floats:
    """The cut angle (radians, 0 to pi/2) that a fullness of 0 to 1 needs. Shape (...).

    NaN outside 0 to 1. The inverse of :func:`fullness_from_cut`, exact to rounding at both ends.
    """
    fullness = np.asarray(fullness, float)
    inside = (fullness >= 0) & (fullness <= 1)
    root = np.sqrt(np.where(inside, fullness, 0.0) / 2.0)
    return np.where(inside, np.pi / 2 - 2.0 * np.arcsin(root), np.nan)


def reach(cue_radius: ArrayLike, object_radius: ArrayLike) -> Floats:
    """The largest offset that still touches, in ball widths: ``sqrt(Rc / Ro)``, 1 for equal balls.

    Both balls rest on the cloth, so in plan their centres are ``2 sqrt(Rc Ro)`` apart at contact;
    divided by the object ball's width ``2 Ro`` that is ``sqrt(Rc / Ro)``.
    """
    return np.asarray(np.sqrt(np.asarray(cue_radius, float) / np.asarray(object_radius, float)))


def offset_from_fullness(fullness: ArrayLike, side: ArrayLike, reach: ArrayLike = 1.0) -> Floats:
    """Signed offset (ball widths) of a fullness; ``side`` is +1 left, -1 right. Shape (...).

    A fullness above 1 is a hit past the centre, on the other side of the ball.
    """
    thin = 1.0 - np.asarray(fullness, float)
    return np.asarray(thin * np.asarray(side, float) * np.asarray(reach, float))


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


def band_of(fullness: float, step: Fraction = EIGHTH) -> Band:
    """The band that a fullness of 0 to 1 belongs to."""
    n = step.denominator
    return bands(step)[n - math.floor(min(max(fullness, 0.0), 1.0) * n + 0.5)]


class Kind(NamedTuple):
    """A kind of shot: ``Kind("3/8", "left")``. Bands are eighths."""

    band: str
    side: str

    @property
    def name(self) -> str:
        """``3/8 left``."""
        return f"{self.band} {self.side}"

    @property
    def sign(self) -> float:
        """Of its cuts: +1 left, -1 right."""
        return SIGNS[self.side]

    @property
    def sines(self) -> tuple[float, float]:
        """The signed sines of its cuts, low and high, + left."""
        band = next(band for band in bands() if band.name == self.band)
        thick, thin = 1.0 - min(band.high, 1.0), 1.0 - max(band.low, 0.0)
        ends = sorted((self.sign * thick, self.sign * thin))
        return ends[0], ends[1]


def kind_of(sine: float) -> Kind:
    """The kind of a shot by the sine of its signed cut, + left; a straight one counts as left."""
    return Kind(band_of(1.0 - abs(sine)).name, side_of(sine))


def side_of(signed: float) -> str:
    """The side that a signed cut, sine or offset sends the object ball to; ``left`` for none."""
    return "right" if signed < 0 else "left"


EVERY_KIND = tuple(Kind(band.name, side) for band in bands() for side in SIDES)
"""Every kind of shot, thick to thin, left before right."""
