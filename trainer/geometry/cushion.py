"""By the cushion first: the cue ball meets a cushion, comes off it, and then pots the object ball.

The rebound is that of :mod:`trainer.geometry.rebound`, a model fitted to one table. Left out are the curve
that the ball takes after it while it still slides, and the give of the rubber, so it holds for a cushion
close to the object ball.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.aiming import offset_for
from trainer.geometry.contact import aim_at_offset, cut_angle, touching_on_line, touching_position
from trainer.geometry.pockets import Window, on_cloth
from trainer.geometry.rebound import PUBLISHED, Rubber, off_nose, rebound
from trainer.geometry.tables import Table
from trainer.geometry.vectors import (
    Floats,
    angle_between,
    distance_to_way,
    dot,
    left_of,
    length,
    scaled,
    unit,
)

CLOSE = 8.0  # ball widths from the object ball: a cushion met farther off is another kind of shot
BESIDE = 2.0  # ball widths from a cushion: within them a pot by the cushion first is worth a thought
CLEARLY = 1.15  # times as wide; what is less apart is no reason to choose
STEPS = 60  # halvings: metres over 2^60 are below rounding
TINY = 1e-12
CUSHIONS = ("baulk", "top", "right", "left")
# Inward normal of each cushion.
NORMALS = np.array([(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])


def _base(table: Table, cushion: str) -> Floats:
    """A point of the line that the cue ball's centre runs along when it touches the nose."""
    corner = (table.length if cushion == "top" else 0.0, table.width if cushion == "left" else 0.0)
    return np.asarray(np.array(corner) + NORMALS[CUSHIONS.index(cushion)] * table.balls.cue_radius)


@dataclass(frozen=True)
class CushionFirst:
    """A pot by the cushion first, for any number of shots.

    ``nose`` (..., 2) is where the cue ball's centre is when it meets the cushion, ``aim`` (..., 2) the
    unit direction that sends it there, ``came`` (..., 2) its direction from the cushion to the touching
    position, ``cut`` (...) the signed cut seen along that, ``possible`` (...) whether it can be played.
    """

    nose: Floats
    aim: Floats
    came: Floats
    touching: Floats
    cut: Floats
    possible: NDArray[np.bool_]


def cushion_first(
    table: Table,
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    way: ArrayLike,
    cushion: str,
    roll: float = 1.0,
    side_spin: float = 0.0,
    rubber: Rubber = PUBLISHED,
) -> CushionFirst:
    """Where to meet a cushion so that the cue ball comes off it to the touching position for ``way``.

    Parameters
    ----------
    table : Table
    cue_ball, object_ball : (..., 2) float
        Centres, mm.
    way : (..., 2) float
        Unit direction the object ball is to take.
    cushion : str
        ``baulk``, ``top``, ``right`` or ``left``.
    roll, side_spin, rubber
        Of the cue ball at the cushion, and the cushion: as in :func:`rebound`.
    """
    cue_ball, object_ball = np.asarray(cue_ball, float), np.asarray(object_ball, float)
    way = np.asarray(way, float)
    normal = NORMALS[CUSHIONS.index(cushion)]
    along = left_of(normal)
    radius = table.balls.cue_radius
    touching = touching_position(object_ball, way, table.contact)
    base = _base(table, cushion)
    a, b = dot(cue_ball - base, along), dot(touching - base, along)
    high_cue, high_touch = dot(cue_ball - base, normal), dot(touching - base, normal)

    # The farther along the cushion it is met, the farther along the ball comes off it. Without side
    # spin the place lies between the two balls; with it, a little outside.
    low, high = np.minimum(a, b) - 4.0 * high_touch, np.maximum(a, b) + 4.0 * high_touch
    # All that is wanted of each place is told by numbers along the nose and away from it.
    start, abreast = dot(base, along), dot(cue_ball, along)
    for _ in range(STEPS):
        middle = (low + high) / 2
        x, y = (start + middle) - abreast, -high_cue
        size = _size(x, y)
        x, y = off_nose(x / size, y / size, roll, side_spin, rubber)
        size = _size(x, y)
        beyond = middle + x / size * high_touch / np.maximum(y / size, TINY) > b
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    nose = base + scaled(along, (low + high) / 2)
    aim = unit(nose - cue_ball)
    out, _ = rebound(aim, normal, roll, side_spin, rubber)
    cut = cut_angle(nose, object_ball, touching)
    possible = (
        (high_cue > 0)
        & (high_touch > 0)
        & (np.abs(cut) < np.pi / 2)
        & on_cloth(table, nose, radius)
        & on_cloth(table, touching, radius)
        & (distance_to_way(cue_ball, nose, object_ball) > table.contact)
    )
    return CushionFirst(nose, aim, out, touching, cut, np.asarray(possible))


def _size(x: Floats, y: Floats) -> Floats:
    """What to divide (x, y) by for its direction, as in :func:`vectors.unit`."""
    size = np.sqrt(x * x + y * y)
    return np.where(size > 0, size, 1.0)


@dataclass(frozen=True)
class Played:
    """A cue ball sent at a cushion: where it meets the nose, then the object ball, and its way.

    ``came`` is the cue ball's unit direction off the cushion. Touching position and way are NaN, and
    ``hits`` false, where it passes the object ball.
    """

    nose: Floats
    came: Floats
    touching: Floats
    way: Floats
    hits: NDArray[np.bool_]


def play_cushion(
    table: Table,
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    aim: ArrayLike,
    cushion: str,
    roll: float = 1.0,
    side_spin: float = 0.0,
    rubber: Rubber = PUBLISHED,
) -> Played:
    """Send the cue ball along the unit ``aim`` at a cushion and see where the object ball goes."""
    cue_ball, object_ball, aim = (np.asarray(v, float) for v in (cue_ball, object_ball, aim))
    normal = NORMALS[CUSHIONS.index(cushion)]
    base = _base(table, cushion)
    fall = np.minimum(dot(aim, normal), -TINY)
    nose = cue_ball + scaled(aim, -dot(cue_ball - base, normal) / fall)
    out, _ = rebound(aim, normal, roll, side_spin, rubber)
    touching = touching_on_line(nose, object_ball, out, table.contact)
    way = unit(object_ball - touching)
    return Played(nose, out, touching, way, np.asarray(np.isfinite(touching).all(axis=-1)))


def aim_width(
    table: Table, cue_ball: ArrayLike, object_ball: ArrayLike, opening: Window, cushion: str | None = None
) -> Floats:
    """How wide the lines of aim that pot are, radians: straight, or by a cushion first.

    The two ways of playing a ball near a cushion are compared by this. 0 where either end of the
    window can't be played that way.
    """
    shape = np.broadcast_shapes(np.shape(cue_ball), np.shape(object_ball), opening.right.shape)
    ways = np.stack([np.broadcast_to(way, shape) for way in (opening.right, opening.left)])
    if cushion is not None:
        first = cushion_first(table, cue_ball, object_ball, ways, cushion)
        return _width(first.aim, first.possible, opening)
    touching = touching_position(object_ball, ways, table.contact)
    ok = on_cloth(table, touching, table.balls.cue_radius)
    ok = ok & (np.abs(cut_angle(cue_ball, object_ball, touching)) < np.pi / 2)
    radius = table.balls.object_radius
    offset = offset_for(cue_ball, object_ball, ways, radius, table.contact)
    return _width(aim_at_offset(cue_ball, object_ball, offset, radius), ok, opening)


def _width(aims: Floats, possible: NDArray[np.bool_], opening: Window) -> Floats:
    """The angle between two lines of aim (2, ..., 2); 0 where either is none or the window is closed."""
    return np.where(possible.all(axis=0) & opening.is_open, np.abs(angle_between(aims[0], aims[1])), 0.0)


@dataclass(frozen=True)
class Choices:
    """The two ways of playing each of ``n`` shots: straight at the ball, and by the cushion first.

    ``cushion`` (n,) is an index into ``CUSHIONS``, -1 where no pot by a cushion is to be had; ``nose``
    (n, 2) where the cue ball's centre is when it meets that cushion, mm; ``wide`` and ``direct_wide`` (n,)
    how many directions of aim pot by it, and straight at the ball, radians.
    """

    cushion: NDArray[np.intp]
    nose: Floats
    wide: Floats
    direct_wide: Floats


def choices(table: Table, cue_ball: Floats, object_ball: Floats, opening: Window) -> Choices:
    """What can be done with balls close to a cushion, of ideal balls that roll naturally.

    Of two cushions the one by which more lines of aim pot.

    Parameters
    ----------
    table : Table
    cue_ball, object_ball : (n, 2) float
        Centres, mm.
    opening : Window
        Of the pockets that are called, (n,).
    """
    n = len(object_ball)
    found, nose, wide = np.full(n, -1, np.intp), np.zeros((n, 2)), np.zeros(n)
    radius = table.balls.object_radius
    for k, cushion in enumerate(CUSHIONS):
        corner = np.where(NORMALS[k] < 0, table.size, 0.0)
        room = dot(object_ball - corner, NORMALS[k])
        rows = np.flatnonzero(opening.is_open & (room <= radius * (1 + 2 * BESIDE)))
        if not rows.size:
            continue
        cue, ball, window = cue_ball[rows], object_ball[rows], opening.at(rows)
        # The pot and the two ends of its window in one go.
        ways = np.stack([window.middle, window.right, window.left])
        first = cushion_first(table, cue, ball, ways, cushion)
        here = _width(first.aim[1:], first.possible[1:], window)
        close = length(first.nose[0] - ball) <= CLOSE * 2 * radius
        better = first.possible[0] & close & (here > wide[rows])
        rows = rows[better]
        found[rows], nose[rows], wide[rows] = k, first.nose[0][better], here[better]
    return Choices(found, nose, wide, aim_width(table, cue_ball, object_ball, opening))
