"""Where the balls meet, and where the object ball goes from there.

Both balls rest on the cloth, so what happens at contact is told by their centres in plan.
"""

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import (
    Floats,
    angle_between,
    cross,
    dot,
    length,
    scaled,
    turn,
    unit,
)


def touching_position(object_ball: ArrayLike, line: ArrayLike, distance: ArrayLike) -> Floats:
    """The cue ball's centre at contact.

    Parameters
    ----------
    object_ball : (..., 2) float
        Object ball's centre, mm.
    line : (..., 2) float
        Unit direction of the line of centres, from the cue ball to the object ball.
    distance : (...) float
        Of the centres in plan when the balls touch, mm: :attr:`Table.contact`.

    Returns
    -------
    (..., 2) float
        mm.
    """
    return np.asarray(object_ball, float) - scaled(line, distance)


def line_of_aim(cue_ball: ArrayLike, touching: ArrayLike) -> Floats:
    """Unit direction that the cue ball's centre travels to contact, shape (..., 2)."""
    return unit(np.asarray(touching, float) - np.asarray(cue_ball, float))


def cut_angle(cue_ball: ArrayLike, object_ball: ArrayLike, touching: ArrayLike) -> Floats:
    """Signed cut: from the line of aim to the line of centres, radians, + sends left. Shape (...).

    Beyond +-pi/2 the touching position lies behind the object ball and can't be reached.
    """
    centres = np.asarray(object_ball, float) - np.asarray(touching, float)
    return angle_between(np.asarray(touching, float) - np.asarray(cue_ball, float), centres)


def aim_offset(
    cue_ball: ArrayLike, object_ball: ArrayLike, touching: ArrayLike, object_radius: ArrayLike
) -> Floats:
    """Signed offset of the line of aim from the object ball's centre, in ball widths. Shape (...)."""
    way = line_of_aim(cue_ball, touching)
    across = cross(way, np.asarray(object_ball, float) - np.asarray(cue_ball, float))
    return across / (2.0 * np.asarray(object_radius, float))


def aim_at_offset(
    cue_ball: ArrayLike, object_ball: ArrayLike, offset: ArrayLike, object_radius: ArrayLike
) -> Floats:
    """Unit line of aim (..., 2) that passes the object ball's centre at a signed offset (ball widths).

    A positive offset passes on the player's right and sends the ball left. NaN where the offset is
    wider than the distance of the balls.
    """
    between = np.asarray(object_ball, float) - np.asarray(cue_ball, float)
    sine = -np.asarray(offset, float) * 2.0 * np.asarray(object_radius, float) / length(between)
    cosine = np.sqrt(np.where(np.abs(sine) <= 1, 1.0 - sine * sine, np.nan))
    return turn(unit(between), sine, cosine)


def touching_on_line(
    cue_ball: ArrayLike, object_ball: ArrayLike, way: ArrayLike, distance: ArrayLike
) -> Floats:
    """The touching position of a cue ball sent along ``way`` (unit), shape (..., 2); NaN if it misses."""
    cue_ball, way = np.asarray(cue_ball, float), np.asarray(way, float)
    between = np.asarray(object_ball, float) - cue_ball
    along, across = dot(way, between), cross(way, between)
    room = np.asarray(distance, float) ** 2 - across * across
    short = np.sqrt(np.where((room >= 0) & (along > 0), room, np.nan))
    return cue_ball + scaled(way, along - short)
