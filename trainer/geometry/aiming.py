"""From the way the object ball must go to the hit that sends it there, and back."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.contact import (
    aim_at_offset,
    aim_offset,
    cut_angle,
    touching_on_line,
    touching_position,
)
from trainer.geometry.roots import root_between, turning_point
from trainer.geometry.throw import friction_impulse, throw_angle
from trainer.geometry.vectors import Floats, angle_between, length, turn_by, unit

# How fast the cue ball comes, by name, m/s: the middles of the classes "slow" (0.45 to 0.89 m/s), "medium"
# (0.89 to 1.9) and "fast" (1.9 to 3.2). Alciatore, "Typical shot speeds",
# https://billiards.colostate.edu/faq/speed/typical/
SLOW, MEDIUM, FAST = 0.67, 1.4, 2.55
SPEEDS = {"slow": SLOW, "medium": MEDIUM, "fast": FAST}
ROLLS = {"stun": 0.0, "roll": 1.0}


@dataclass(frozen=True)
class Stroke:
    """How the cue ball comes, as far as throw is concerned: m/s, roll 0 (stun) to 1, side -1 to 1."""

    speed: float
    roll: float = 1.0
    side_spin: float = 0.0


# Cuts at which the way the ball leaves is looked up before roots are sought: closer toward a graze,
# where strong outside side makes it turn fastest. Odd, so that a full hit is one of them.
LOOKED_AT = np.pi / 2 * np.sin(np.pi / 2 * np.linspace(-1.0, 1.0, 257))
ROWS_AT_ONCE = 4096  # of the look-up, to keep it in the cache
SLACK = 1e-12  # rad: a way that only rounding has put past the last one that can be had
STRAIGHT = 1e-9  # rad: a shot no farther off straight has no side


@dataclass(frozen=True)
class Hit:
    """The contact that sends the object ball along a way, for any number of shots.

    ``centres`` and ``touching`` (..., 2): unit line of centres, and the cue ball's centre, mm; ``cut``
    (...) signed, radians. Where no contact does it ``exists`` (...) is false and the rest NaN.
    """

    centres: Floats
    touching: Floats
    cut: Floats
    exists: NDArray[np.bool_]


def hit_for(
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    way: ArrayLike,
    distance: ArrayLike,
    stroke: Stroke | None = None,
) -> Hit:
    """The contact after which the object ball leaves along ``way``, throw counted.

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
    Hit
        Solved to rounding. Mostly one contact does it. There are several for balls so close that
        throw turns the ball faster than the cut does (slow stun: centres under 7/6 of ``distance``
        apart), and for thin cuts with strong outside side. Then it is one on the side to which ideal
        balls would have to be cut, on which hitting thinner sends the ball farther to that side, and of
        these the thickest; if there is none such (a straight shot needs a little cut against its side
        spin), the thickest of all that do it.
    """
    cue_ball, object_ball, way = (np.asarray(p, float) for p in (cue_ball, object_ball, way))
    between = object_ball - cue_ball
    apart, d = length(between), np.asarray(distance, float)
    wanted = angle_between(between, way)
    shape = np.broadcast_shapes(wanted.shape, apart.shape, d.shape)
    if stroke is not None:
        parts = (stroke.speed, stroke.roll, stroke.side_spin)
        shape = np.broadcast_shapes(shape, *(np.shape(part) for part in parts))
        goal, far, reach = (np.broadcast_to(a, shape) for a in (wanted, apart, d))
        cut = _solve(goal, far, reach, stroke)
        centres = turn_by(way, _throw_right(cut, stroke))
        touching = touching_position(object_ball, centres, d)
    else:
        centres, touching = way, touching_position(object_ball, way, d)
        cut = np.broadcast_to(cut_angle(cue_ball, object_ball, touching), shape)
    exists = (np.abs(cut) <= np.pi / 2) & (apart >= d)
    nowhere = ~exists[..., None]
    return Hit(
        np.where(nowhere, np.nan, centres),
        np.where(nowhere, np.nan, touching),
        np.where(exists, cut, np.nan),
        np.asarray(exists),
    )


def line_for(
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    way: ArrayLike,
    distance: ArrayLike,
    stroke: Stroke | None = None,
) -> Floats:
    """The line of centres at contact that sends the object ball along ``way``, shape (..., 2).

    Parameters are those of :func:`hit_for`. For ideal balls it is ``way`` itself, even where the cue
    ball can't get behind it; with throw it is NaN where no contact does it.
    """
    if stroke is None:
        return np.asarray(way, float)
    return hit_for(cue_ball, object_ball, way, distance, stroke).centres


def _throw_right(cut: Floats, stroke: Stroke) -> Floats:
    """How far the ball leaves to the right of the line of centres, radians."""
    return np.arctan(friction_impulse(cut, stroke.speed, stroke.roll, stroke.side_spin)[0])


def _centres_turn(cut: Floats, near: Floats, close: Floats) -> Floats:
    """Angle of the line of centres off the line from cue ball to object ball, radians, + left.

    ``near`` is contact distance over the balls' distance, ``close`` is ``1 - near^2``. The same as
    ``cut - asin(near sin(cut))``, without its loss of digits for balls that all but touch.
    """
    sine, cosine = np.sin(cut), np.cos(cut)
    root = np.sqrt(close + (near * cosine) ** 2)
    across = sine * close / np.maximum(root + near * cosine, 1e-300)
    return np.asarray(np.arctan2(across, cosine * root + near * sine * sine))


def _solve(wanted: Floats, apart: Floats, d: Floats, stroke: Stroke) -> Floats:
    """The cut for each wanted angle off the line between the balls; NaN where there is none."""
    shape = wanted.shape
    goal, far, reach = (np.array(a, float).ravel() for a in (wanted, apart, d))
    parts = np.broadcast_arrays(*(np.asarray(p) for p in (stroke.speed, stroke.roll, stroke.side_spin)))
    one_stroke = parts[0].ndim == 0
    rows = [p if one_stroke else np.broadcast_to(p, shape).ravel() for p in parts]
    touch = np.minimum(reach, far) / np.where(far > 0, far, 1.0)
    close = np.maximum((far - reach) * (far + reach), 0.0) / np.where(far > 0, far * far, 1.0)

    def leaving(cut: Floats, at: NDArray[np.intp]) -> Floats:
        """Angle at which the object ball leaves, for rows ``at``; cut is (len(at),) or (len(at), k)."""
        wide = (slice(None),) + (None,) * (cut.ndim - 1)
        speed, roll, side = rows if one_stroke else (r[at][wide] for r in rows)
        right, _ = friction_impulse(cut, speed, roll, side)
        return np.asarray(_centres_turn(cut, touch[at][wide], close[at][wide]) - np.arctan(right))

    low, high = np.full_like(goal, np.nan), np.full_like(goal, np.nan)
    several = touch >= (one_hit_below(stroke) if one_stroke else 0.0)
    single = np.flatnonzero(~several)
    ends = [leaving(np.full(single.size, end), single) for end in (-np.pi / 2, np.pi / 2)]
    goal[single] = _snapped(goal[single], *ends)
    held = (goal[single] >= ends[0]) & (goal[single] <= ends[1])
    low[single[held]], high[single[held]] = -np.pi / 2, np.pi / 2
    many = np.flatnonzero(several)
    for start in range(0, many.size, ROWS_AT_ONCE):
        at = many[start : start + ROWS_AT_ONCE]
        cuts = np.tile(LOOKED_AT, (at.size, 1))
        ways = leaving(cuts, at)
        _put_turning_points(cuts, ways, leaving, at)
        goal[at] = _snapped(goal[at], ways.min(axis=1), ways.max(axis=1))
        low[at], high[at] = _chosen(cuts, ways, goal[at])

    found = np.flatnonzero(np.isfinite(low))
    cut = np.full_like(goal, np.nan)
    cut[found] = root_between(lambda x: leaving(x, found) - goal[found], low[found], high[found])
    return cut.reshape(shape)


def _snapped(goal: Floats, low: Floats, high: Floats) -> Floats:
    inside = np.clip(goal, low, high)
    return np.where(np.abs(inside - goal) <= SLACK, inside, goal)


def one_hit_below(stroke: Stroke) -> float:
    """How near (contact distance over distance) the balls may be for each way to have one hit at most.

    The line of centres turns by ``1 - near cos / sqrt(1 - near^2 sin^2)`` a radian of cut; as long as
    throw everywhere turns by less than that, the way the ball leaves turns one way only.
    """
    return _one_hit_below(float(stroke.speed), float(stroke.roll), float(stroke.side_spin))


@lru_cache(maxsize=256)
def _one_hit_below(speed: float, roll: float, side_spin: float) -> float:
    cuts = np.pi / 2 * np.sin(np.pi / 2 * np.linspace(-1.0, 1.0, 4097))
    slope = np.diff(_throw_right(cuts, Stroke(speed, roll, side_spin))) / np.diff(cuts)
    left = np.maximum(0.995 - slope, 0.0)  # a little is kept back for the slope between two looks
    middle = (cuts[1:] + cuts[:-1]) / 2
    limit = left / np.sqrt(np.cos(middle) ** 2 + (left * np.sin(middle)) ** 2)
    return float(limit.min())


def _put_turning_points(
    cuts: Floats,
    ways: Floats,
    leaving: Callable[[Floats, NDArray[np.intp]], Floats],
    at: NDArray[np.intp],
) -> None:
    """Move the looked-up cuts next to a turning point onto it, so that no two roots hide in a gap."""
    rise = np.diff(ways, axis=1) > 0
    row, before = np.nonzero(rise[:, 1:] != rise[:, :-1])
    if row.size:
        k = before + 1
        top = np.where(rise[row, before], 1.0, -1.0)
        place, value = turning_point(lambda x: leaving(x, at[row]), cuts[row, k - 1], cuts[row, k + 1], top)
        better = top * value > top * ways[row, k]
        cuts[row[better], k[better]], ways[row[better], k[better]] = place[better], value[better]


def _chosen(cuts: Floats, ways: Floats, goal: Floats) -> tuple[Floats, Floats]:
    """Of the gaps between looked-up cuts that hold a root, the one to take: its two ends, or NaN."""
    off = ways - goal[:, None]
    holds = off[:, :-1] * off[:, 1:] <= 0
    middle = (cuts[:, :-1] + cuts[:, 1:]) / 2
    thinner_goes_farther = ways[:, 1:] > ways[:, :-1]
    side = np.where(np.abs(goal) <= STRAIGHT, 0.0, np.sign(goal))
    best = thinner_goes_farther & (np.sign(middle) == side[:, None])
    rank = np.where(holds, np.abs(middle) + np.where(best, 0.0, 10.0), np.inf)
    gap = rank.argmin(axis=1)
    row = np.arange(goal.size)
    none = ~np.isfinite(rank[row, gap])
    return np.where(none, np.nan, cuts[row, gap]), np.where(none, np.nan, cuts[row, gap + 1])


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

    Where no contact does it (past a cut of 90 degrees, say) the offset of the thinnest graze on the
    side that comes nearest to it.
    """
    hit = hit_for(cue_ball, object_ball, way, distance, stroke)
    offset = aim_offset(cue_ball, object_ball, hit.touching, object_radius)
    graze = np.asarray(distance, float) / (2.0 * np.asarray(object_radius, float))
    wanted = angle_between(np.asarray(object_ball, float) - np.asarray(cue_ball, float), way)
    return np.where(hit.exists, offset, np.where(wanted < 0, -graze, graze))
