"""Plane vectors as arrays ``(..., 2)``, and ways across the table: what is near them, where they leave it.

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


def distance_to_way(start: ArrayLike, end: ArrayLike, point: ArrayLike) -> Floats:
    """Distance (mm) from ``point`` to the straight way from ``start`` to ``end``, shape (...)."""
    start, end, point = (np.asarray(p, float) for p in (start, end, point))
    way = end - start
    square = dot(way, way)
    along = dot(point - start, way) / np.where(square > 0, square, 1.0)
    nearest = start + way * np.clip(along, 0.0, 1.0)[..., None]
    return length(point - nearest)


def on_table(point: ArrayLike, radius: ArrayLike, size: ArrayLike) -> NDArray[np.bool_]:
    """Whether a ball's centre lies inside the cushion noses by its radius, shape (...).

    Parameters
    ----------
    point : (..., 2) float
        Ball centre, mm.
    radius : (...) float
        mm.
    size : (2,) float
        Length and width of the table between the noses, mm.
    """
    point, size = np.asarray(point, float), np.asarray(size, float)
    radius = np.asarray(radius, float)
    x, y = point[..., 0], point[..., 1]
    return np.asarray((x >= radius) & (x <= size[0] - radius) & (y >= radius) & (y <= size[1] - radius))


def way_to_edge(start: ArrayLike, way: ArrayLike, radius: ArrayLike, size: ArrayLike) -> Floats:
    """How far (mm) a ball can go from ``start`` along the unit ``way`` before it meets a cushion nose."""
    start, way, size = (np.asarray(p, float) for p in (start, way, size))
    radius = np.asarray(radius, float)[..., None]
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.where(way > 0, size - radius - start, radius - start) / way
    room = np.where(way == 0, np.inf, room)
    return np.asarray(room.min(axis=-1))


def clipped(corners: ArrayLike, size: ArrayLike, inset: float = 0.0) -> Floats:
    """The part of a convex polygon (k, 2) on the table, ``inset`` mm inside the noses; (0, 2) if none is."""
    corners = np.asarray(corners, float)
    for axis, far in enumerate(np.asarray(size, float).tolist()):
        for sign, limit in ((1.0, inset), (-1.0, inset - far)):
            room = sign * corners[:, axis] - limit
            kept: list[Floats] = []
            for k in range(len(corners)):
                here, there = room[k], room[(k + 1) % len(corners)]
                if here >= 0:
                    kept.append(corners[k])
                if (here >= 0) != (there >= 0):
                    share = here / (here - there)
                    kept.append(corners[k] + share * (corners[(k + 1) % len(corners)] - corners[k]))
            corners = np.array(kept, float).reshape(-1, 2)
    return corners
