"""Plane vectors as arrays ``(..., 2)``.

Only ``+ - * /`` and ``sqrt`` are used, which IEEE 754 rounds in one way on every machine: shots
that are drawn with these functions are the same bits everywhere.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def cross(a: ArrayLike, b: ArrayLike) -> Floats:
    """Third component of ``a x b``: positive where ``b`` lies to the left of ``a``. Shape (...)."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def dot(a: ArrayLike, b: ArrayLike) -> Floats:
    """Scalar product over the last axis. Shape (...)."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1])


def length(a: ArrayLike) -> Floats:
    """Euclidean length over the last axis. Shape (...)."""
    return np.asarray(np.sqrt(dot(a, a)))


def scaled(a: ArrayLike, by: ArrayLike) -> Floats:
    """``a`` (..., 2) times a number a vector, ``by`` (...). Shape (..., 2)."""
    return np.asarray(np.asarray(a, float) * np.asarray(by, float)[..., None])


def unit(a: ArrayLike) -> Floats:
    """The direction of ``a``, shape (..., 2); a zero vector gives zeros."""
    a = np.asarray(a, float)
    size = length(a)[..., None]
    return a / np.where(size > 0, size, 1.0)


def left_of(a: ArrayLike) -> Floats:
    """``a`` turned a quarter to the left, shape (..., 2)."""
    a = np.asarray(a, float)
    found = np.empty_like(a)
    found[..., 0], found[..., 1] = -a[..., 1], a[..., 0]
    return found


def turn(a: ArrayLike, sine: ArrayLike, cosine: ArrayLike) -> Floats:
    """``a`` turned left by the angle with this sine and cosine, shape (..., 2)."""
    return scaled(a, cosine) + scaled(left_of(a), sine)


def turn_by(a: ArrayLike, angle: ArrayLike) -> Floats:
    """``a`` turned left by ``angle`` radians, shape (..., 2)."""
    return turn(a, np.sin(angle), np.cos(angle))


def angle_between(a: ArrayLike, b: ArrayLike) -> Floats:
    """Signed angle from ``a`` to ``b`` in radians, -pi to pi, positive to the left. Shape (...)."""
    return np.asarray(np.arctan2(cross(a, b), dot(a, b)))
