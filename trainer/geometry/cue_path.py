"""Where the cue ball goes after contact: off the object ball, sliding along a parabola, then rolling.

Contact: impulse equations of two spheres (derived); friction between the balls is left out unless
asked for, as in Alciatore, *TP A.20 The effect of spin, speed, and cut angle on draw shots*. From there a
ball that slides is pulled by a constant force against its sliding, which keeps its direction, so it runs
along a parabola until it rolls, at 5/7 of its velocity and 2/7 of its spin (*TP A.20*: with the line of
aim as ``y``, ``vx = 5/7 v sin cos``, ``vy = (5 v sin^2 + 2 R w) / 7``).

Both balls stay on the cloth: the up or down kick that friction gives a spinning ball is left out. Side
spin doesn't bend the way. Lengths are mm, speeds m/s, times s.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.aiming import Stroke
from trainer.geometry.cushion import CUSHIONS
from trainer.geometry.tables import Table
from trainer.geometry.throw import MOST_SIDE, friction_impulse
from trainer.geometry.vectors import Floats, left_of, length, scaled, turn, unit, way_to_edge

GRAVITY = 9.80665  # m/s^2, standard
# Ball on cloth: sliding 0.15 to 0.4, typically 0.2; rolling 0.005 to 0.015, here the middle. Alciatore,
# "Physics" resources, http://billiards.colostate.edu/threads/physics.html
SLIDING = 0.2
ROLLING = 0.01
MM = 1000.0  # mm in a metre
SPIN_UP = 5.0 / 2.0  # surface speed that a sphere gains for each unit of speed it loses, 1 / (2/5)
NO_CUSHION = -1
STILL = 1e-15  # m/s: slower is standing


@dataclass(frozen=True)
class Contact:
    """Both balls just after contact, m/s; x along the line of aim, y to its left. Shapes (..., 2).

    ``roll`` is the velocity at which the cue ball would roll with the spin it has, ``object_roll`` the
    same of the object ball; ``side`` (...) is ``R wz`` of the cue ball, + turns to the left.
    """

    velocity: Floats
    roll: Floats
    side: Floats
    object_velocity: Floats
    object_roll: Floats


def contact(
    cut: ArrayLike,
    stroke: Stroke,
    *,
    restitution: ArrayLike = 1.0,
    mass_ratio: ArrayLike = 1.0,
    with_friction: bool = False,
) -> Contact:
    """What a contact with this signed cut (radians, (...)) makes of the two balls' motion.

    Parameters
    ----------
    cut : (...) float
        Signed cut angle of the line of centres, radians, within +-pi/2.
    stroke : Stroke
        How the cue ball comes.
    restitution : (...) float
        Closing speed after contact over before: 0.92 to 0.98 for pool balls (Alciatore, "Physics").
    mass_ratio : (...) float
        Cue ball's mass over object ball's.
    with_friction : bool
        Count the friction that throws the object ball: it pushes the cue ball the other way.
    """
    cut, ratio = np.asarray(cut, float), np.asarray(mass_ratio, float)
    v, roll = np.asarray(stroke.speed, float), np.asarray(stroke.roll, float)
    cut, v, roll, ratio = np.broadcast_arrays(cut, v, roll, ratio)
    cosine, sine = np.cos(cut), np.sin(cut)
    centres = np.stack([cosine, sine], axis=-1)
    # Impulse over the cue ball's mass; over the object ball's it is `ratio` times that.
    push = (1.0 + np.asarray(restitution, float)) * v * cosine / (1.0 + ratio)
    impulse = scaled(centres, push)
    velocity = np.stack([v, np.zeros_like(v)], axis=-1)
    rolling = np.stack([v * roll, np.zeros_like(v)], axis=-1)
    side = np.broadcast_to(v * np.asarray(stroke.side_spin, float) * MOST_SIDE, push.shape)
    spun = np.zeros_like(push)
    if with_friction:
        right, up = friction_impulse(cut, v, roll, stroke.side_spin, restitution)
        impulse = impulse - scaled(left_of(centres), right * push)
        side = side + SPIN_UP * right * push
        spun = SPIN_UP * up * push
    return Contact(
        velocity=velocity - impulse,
        roll=rolling + scaled(centres, spun),
        side=np.asarray(side),
        object_velocity=scaled(impulse, ratio),
        object_roll=scaled(centres, spun * ratio),
    )


def rolling_velocity(velocity: ArrayLike, roll: ArrayLike) -> Floats:
    """Velocity (..., 2) of a ball once it rolls, from the one it slides with and its ``roll`` (m/s)."""
    return np.asarray((5.0 * np.asarray(velocity, float) + 2.0 * np.asarray(roll, float)) / 7.0)


def separation(cut: ArrayLike, restitution: ArrayLike = 1.0, mass_ratio: ArrayLike = 1.0) -> Floats:
    """Angle between the two balls' ways just after a contact without friction, radians, (...), >= 0.

    90 degrees for equal balls that lose no speed: ``90 - atan((M - e) / ((1 + M) tan(cut)))`` with the
    mass ratio ``M`` (derived).
    """
    m = np.asarray(mass_ratio, float)
    kept = (m - np.asarray(restitution, float)) / (1.0 + m)  # of the speed along the line of centres
    size = np.abs(np.asarray(cut, float))
    return np.asarray(np.arctan2(np.sin(size), kept * np.cos(size)))


@dataclass(frozen=True)
class CuePath:
    """The cue ball's way from contact to the first cushion or to rest, for any number of shots.

    ``start`` (..., 2) mm is the touching position; ``velocity`` (..., 2) m/s and ``pull`` (..., 2)
    m/s^2 hold while it slides, for ``slide_time`` (...) s, to ``slide_end`` (..., 2) mm; from there it
    rolls with ``rolling`` (..., 2) m/s. ``cushion`` (...) indexes ``CUSHIONS``, -1 where the ball stops
    first; ``while_sliding`` (...) whether it is met before the ball rolls, and then ``slide_end`` is where
    it would have begun to roll had the cushion not been there. ``end`` (..., 2) is the ball's centre where
    it meets the cushion or stops, ``end_time`` (...) s after contact. ``at_pocket`` (...) is true where
    there is a pocket's mouth instead of a nose at that place: the jaws are not worked out here.
    """

    start: Floats
    velocity: Floats
    pull: Floats
    slide_time: Floats
    slide_end: Floats
    rolling: Floats
    cushion: NDArray[np.intp]
    while_sliding: NDArray[np.bool_]
    end: Floats
    end_time: Floats
    at_pocket: NDArray[np.bool_]


def cue_path(
    table: Table,
    touching: ArrayLike,
    aim: ArrayLike,
    cut: ArrayLike,
    stroke: Stroke,
    *,
    restitution: ArrayLike = 1.0,
    with_friction: bool = False,
    sliding: float = SLIDING,
    rolling: float = ROLLING,
) -> CuePath:
    """Follow the cue ball from contact to the first cushion, or to rest.

    Parameters
    ----------
    table : Table
        Its size, and its balls' masses and sizes.
    touching : (..., 2) float
        The cue ball's centre at contact, mm, on the table.
    aim : (..., 2) float
        Unit line of aim.
    cut : (...) float
        Signed cut, radians.
    stroke : Stroke
        How the cue ball comes to the contact.
    restitution, with_friction
        Of the contact, see :func:`contact`.
    sliding, rolling : float
        Friction of sliding and resistance of rolling on the cloth, above 0.
    """
    touching, aim = np.asarray(touching, float), np.asarray(aim, float)
    mass_ratio = table.balls.cue_mass / table.balls.object_mass
    after = contact(cut, stroke, restitution=restitution, mass_ratio=mass_ratio, with_friction=with_friction)
    velocity, roll = (turn(aim, v[..., 1], v[..., 0]) for v in (after.velocity, after.roll))
    slip = _or_still(velocity - roll)
    pull = -sliding * GRAVITY * unit(slip)
    slide_time = 2.0 * length(slip) / (7.0 * sliding * GRAVITY)
    slide_end = touching + MM * _moved(velocity, pull, slide_time)
    final = _or_still(rolling_velocity(velocity, roll))

    radius, size = table.balls.cue_radius, np.array(table.size)
    times = _nose_times(touching, velocity, pull, radius, size)
    first = times.argmin(axis=-1)
    nose_time = times.min(axis=-1)
    while_sliding = nose_time <= slide_time

    speed, way = length(final), unit(final)
    slowing = rolling * GRAVITY
    room = way_to_edge(slide_end, way, radius, size)
    to_rest = MM * speed * speed / (2.0 * slowing)
    reaches = ~while_sliding & (room <= to_rest)
    rolls = np.where(while_sliding, 0.0, np.minimum(room, to_rest))
    end = np.where(
        while_sliding[..., None],
        touching + MM * _moved(velocity, pull, np.where(while_sliding, nose_time, 0.0)),
        slide_end + scaled(way, rolls),
    )
    left_over = np.sqrt(np.maximum(speed * speed - 2.0 * slowing * rolls / MM, 0.0))
    end_time = np.where(
        while_sliding, nose_time, slide_time + (speed - np.where(reaches, left_over, 0.0)) / slowing
    )
    ends = np.stack([end[..., 0] - radius, size[0] - radius - end[..., 0]], axis=-1)
    sides = np.stack([end[..., 1] - radius, size[1] - radius - end[..., 1]], axis=-1)
    nearest = np.abs(np.concatenate([ends, sides], axis=-1)).argmin(axis=-1)
    cushion = np.where(while_sliding, first, np.where(reaches, nearest, NO_CUSHION))
    return CuePath(
        start=touching,
        velocity=velocity,
        pull=pull,
        slide_time=slide_time,
        slide_end=slide_end,
        rolling=final,
        cushion=cushion,
        while_sliding=while_sliding,
        end=end,
        end_time=end_time,
        at_pocket=_in_mouth(table, end, cushion),
    )


def points(path: CuePath, sliding: int = 32) -> Floats:
    """The way as places to draw, mm, shape (..., sliding + 2, 2).

    ``sliding + 1`` places evenly in time along the parabola, as far as the ball gets on it, and the end.
    """
    share = np.linspace(0.0, 1.0, sliding + 1)
    slid = np.where(path.while_sliding, path.end_time, path.slide_time)
    curve = path.start[..., None, :] + MM * _moved(
        path.velocity[..., None, :], path.pull[..., None, :], slid[..., None] * share
    )
    return np.concatenate([curve, path.end[..., None, :]], axis=-2)


def _or_still(velocity: Floats) -> Floats:
    """Velocities (..., 2) with components that are only rounding put to 0."""
    return np.where(np.abs(velocity) < STILL, 0.0, velocity)


def _moved(velocity: Floats, pull: Floats, time: Floats) -> Floats:
    """How far a sliding ball has come after ``time``, metres."""
    return scaled(velocity, time) + scaled(pull, 0.5 * time * time)


def _nose_times(start: Floats, velocity: Floats, pull: Floats, radius: float, size: Floats) -> Floats:
    """When the parabola first takes the ball onto each nose, s, in the order of CUSHIONS; inf if never.

    The room to a nose is ``a t^2 + v t + room``; of its two roots the one where the room is falling is
    ``(-v - s) / 2a``, the same as ``2 room / (s - v)``, with ``s`` the root of ``v^2 - 4 a room``.
    """
    room = np.concatenate([start - radius, size - radius - start], axis=-1) / MM
    v = np.concatenate([velocity, -velocity], axis=-1)
    a = np.concatenate([pull, -pull], axis=-1) / 2.0
    room = np.maximum(room, 0.0)  # a ball on the cushion, but for rounding
    square = v * v - 4.0 * a * room
    s = np.sqrt(np.maximum(square, 0.0))
    bends_back = (v >= 0) & (a < 0)
    with np.errstate(over="ignore"):  # next to no speed, or next to no bend: it takes for ever
        toward = np.where(v < 0, 2.0 * room / np.where(v < 0, s - v, 1.0), np.inf)
        back = np.where(bends_back, (-v - s) / np.where(bends_back, 2.0 * a, 1.0), np.inf)
    times = np.where(square >= 0, np.where(v < 0, toward, back), np.inf)
    return np.asarray(times[..., [0, 2, 1, 3]])  # low x, low y, high x, high y -> as CUSHIONS


def _in_mouth(table: Table, place: Floats, cushion: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Whether the nose is missing abreast of a place, because a pocket's mouth is there."""
    corner, middle = table.corner / np.sqrt(2.0), table.middle / 2.0
    along_ends = cushion < CUSHIONS.index("right")
    size = np.where(along_ends, table.width, table.length)
    at = np.where(along_ends, place[..., 1], place[..., 0])
    by_corner = np.minimum(at, size - at) < corner
    by_middle = ~along_ends & (np.abs(at - table.length / 2) < middle)
    return np.asarray((cushion >= 0) & (by_corner | by_middle))
