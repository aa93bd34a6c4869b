"""Cut angle, fullness and offset: three ways to say how full a hit is.

``fullness = 1 - sin(cut)`` for equal balls is in Alciatore, *TP A.20* (from his TP 3.3):
``cut = asin(1 - fullness)``. Half a ball is therefore exactly 30 degrees.
"""

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats


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


def offset_from_cut(cut: ArrayLike, reach: ArrayLike = 1.0) -> Floats:
    """Offset of the line of aim from the object ball's centre, in ball widths. Shape (...).

    Parameters
    ----------
    cut : (...) float
        Signed cut angle in radians.
    reach : (...) float
        ``sqrt(Rc / Ro)``, see :func:`reach`.
    """
    return np.asarray(np.asarray(reach, float) * np.sin(cut))


def cut_from_offset(offset: ArrayLike, reach: ArrayLike = 1.0) -> Floats:
    """Signed cut angle (radians) that an offset in ball widths gives. NaN where the ball is missed."""
    sine = np.asarray(offset, float) / np.asarray(reach, float)
    hits = np.abs(sine) <= 1
    return np.where(hits, np.arcsin(np.where(hits, sine, 0.0)), np.nan)


def offset_from_fullness(fullness: ArrayLike, side: ArrayLike, reach: ArrayLike = 1.0) -> Floats:
    """Signed offset (ball widths) of a fullness; ``side`` is +1 left, -1 right. Shape (...).

    A fullness above 1 is a hit past the centre, on the other side of the ball.
    """
    thin = 1.0 - np.asarray(fullness, float)
    return np.asarray(thin * np.asarray(side, float) * np.asarray(reach, float))
