"""From the way the object ball must go to the hit that sends it there, and back."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.contact import (
    aim_at_offset,
    aim_offset,
    cut_angle,
    touching_on_line,
    touching_position,
)
from trainer.geometry.throw import throw_angle
from trainer.geometry.vectors import Floats, turn_by, unit


@dataclass(frozen=True)
class Stroke:
    """How the cue ball comes, as far as throw is concerned: m/s, roll 0 (stun) to 1, side -1 to 1."""

    speed: float
    roll: float = 1.0
    side_spin: float = 0.0


MOST_THROW = 0.35  # rad; throw is under atan(most friction), 0.117 rad
STEPS = 60  # halvings: 0.7 rad / 2^60 is below rounding
UPRIGHT = np.pi / 2 - 1e-9


def line_for(
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    way: ArrayLike,
    distance: ArrayLike,
    stroke: Stroke | None = None,
) -> Floats:
    """The line of centres at contact that sends the object ball along ``way``.

    Parameters
    ----------
    cue_ball, object_ball : (..., 2) float
        Centres, mm.
    way : (..., 2) float
        Unit direction the object ball is to take.
    distance : (...) float
        Distance of the centres at contact, mm.
    stroke : Stroke or None
        None: ideal balls, the object ball leaves along the line of centres.

    Returns
    -------
    (..., 2) float
        Unit direction. With throw it is found by halving, to rounding.
    """
    way = np.asarray(way, float)
    if stroke is None:
        return way
    shape = np.broadcast_shapes(np.shape(cue_ball), np.shape(object_ball), way.shape)[:-1]
    low, high = np.full(shape, -MOST_THROW), np.full(shape, MOST_THROW)
    for _ in range(STEPS):
        middle = (low + high) / 2
        centres = turn_by(way, middle)
        touching = touching_position(object_ball, centres, distance)
        cut = np.clip(cut_angle(cue_ball, object_ball, touching), -UPRIGHT, UPRIGHT)
        above = middle - signed_throw(cut, stroke) > 0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return turn_by(way, (low + high) / 2)


def signed_throw(cut: ArrayLike, stroke: Stroke | None) -> Floats:
    """How far the object ball leaves to the right of the line of centres, radians, shape (...)."""
    cut = np.asarray(cut, float)
    if stroke is None:
        return np.zeros_like(cut)
    size = throw_angle(cut, stroke.speed, stroke.roll, stroke.side_spin)
    return np.where(cut < 0, -size, size)


@dataclass(frozen=True)
class Sent:
    """Where a call sends the balls: the line of aim, the touching position, the object ball's way.

    ``hits`` is false, and the touching position and the way are NaN, where the cue ball misses.
    """

    aim: Floats
    touching: Floats
    way: Floats
    hits: NDArray[np.bool_]


def send(
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    offset: ArrayLike,
    object_radius: ArrayLike,
    distance: ArrayLike,
    stroke: Stroke | None = None,
) -> Sent:
    """Play the line of aim that passes the object ball's centre at ``offset`` ball widths.

    Shapes broadcast as in :func:`line_for`; ``offset`` is (...), signed, + sends the ball left.
    """
    aim = aim_at_offset(cue_ball, object_ball, offset, object_radius)
    touching = touching_on_line(cue_ball, object_ball, aim, distance)
    centres = unit(np.asarray(object_ball, float) - touching)
    cut = cut_angle(cue_ball, object_ball, touching)
    way = centres if stroke is None else turn_by(centres, -signed_throw(cut, stroke))
    return Sent(aim, touching, way, np.asarray(np.isfinite(touching).all(axis=-1)))


def offset_for(
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    way: ArrayLike,
    object_radius: ArrayLike,
    distance: ArrayLike,
    stroke: Stroke | None = None,
) -> Floats:
    """The signed offset (ball widths) that sends the object ball along ``way``, shape (...).

    Past a cut of 90 degrees, where nothing does, the offset of the thinnest graze on that side.
    """
    centres = line_for(cue_ball, object_ball, way, distance, stroke)
    touching = touching_position(object_ball, centres, distance)
    cut = cut_angle(cue_ball, object_ball, touching)
    offset = aim_offset(cue_ball, object_ball, touching, object_radius)
    graze = np.asarray(distance, float) / (2.0 * np.asarray(object_radius, float))
    return np.where(np.abs(cut) < np.pi / 2, offset, np.where(cut < 0, -graze, graze))
