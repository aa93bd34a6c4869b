"""Which hits send the cue ball over a place: how near its way passes, and the stretches of hits that do.

The way is that of :mod:`trainer.geometry.cue_path`, from contact to the first cushion or to rest: a
parabola and a straight line, so the least distance is that to a cubic's roots (derived). The object ball is
taken to be gone from its place. Lengths in mm, offsets in ball widths.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.aiming import Stroke
from trainer.geometry.contact import aim_at_offset, cut_angle, touching_on_line
from trainer.geometry.cue_path import MM, CuePath, cue_path
from trainer.geometry.roots import Function, root_between, turning_point
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats, cross, dot, length, scaled

TRIED = 1025  # hits that are played before ends and turning points are sought between them
GRAZE = 1.0 - 1e-12  # of the widest offset: the thinnest hit that is one in spite of rounding
TOUCH = 1e-9  # mm: a way that only just touches the place
ON_IT = 1e-6  # mm: a way that leads over the very middle
MARGIN = 8.0  # mm: so near to a place's edge a turn is looked at


def passes(path: CuePath, place: ArrayLike) -> Floats:
    """How near the cue ball's centre passes a place (..., 2), mm, shape (...); solved to rounding.

    Below 0 where the place is on the right of the way, at the point that is nearest to it.
    """
    place = np.asarray(place, float)
    slid = np.where(path.while_sliding, path.end_time, path.slide_time)
    time = _nearest_time((path.start - place) / MM, path.velocity, path.pull, slid)
    run, ahead = path.end - path.slide_end, path.velocity + scaled(path.pull, time)
    square = dot(run, run)
    share = np.clip(dot(place - path.slide_end, run) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    curved = place - path.start - MM * scaled(path.velocity + scaled(path.pull, 0.5 * time), time)
    straight = place - path.slide_end - scaled(run, share)
    on_curve = path.while_sliding | (length(curved) < length(straight))
    off = np.where(on_curve[..., None], curved, straight)
    way = np.where(on_curve[..., None], ahead, run)
    return np.asarray(np.copysign(length(off), cross(way, off)))


def _nearest_time(off: Floats, v: Floats, a: Floats, until: Floats) -> Floats:
    """When ``off + v t + a t^2 / 2`` is nearest to 0, for t from 0 to ``until``, shape (...).

    Half the derivative of its square is a cubic in t; between the cubic's own turning points it has one
    root at most.
    """
    off, v, a = np.broadcast_arrays(off, v, a)
    shape = off.shape[:-1]
    off, v, a = (np.reshape(part, (-1, 2)) for part in (off, v, a))
    last = np.broadcast_to(until, shape).reshape(-1)
    k0, k1, k2, k3 = dot(off, v), dot(v, v) + dot(off, a), 1.5 * dot(v, a), 0.5 * dot(a, a)
    root = np.sqrt(np.maximum(k2 * k2 - 3.0 * k1 * k3, 0.0))
    bends = np.where(k3 > 0, 3.0 * k3, 1.0)
    turns = [np.clip(np.where(k3 > 0, (-k2 + s * root) / bends, 0.0), 0.0, last) for s in (-1.0, 1.0)]
    ends = [np.zeros_like(last), *turns, last]

    def far(t: Floats) -> Floats:
        return length(off + scaled(v + scaled(a, 0.5 * t), t))

    def climb(t: Floats) -> Floats:
        return np.asarray(k0 + t * (k1 + t * (k2 + t * k3)))

    best, least = ends[0], far(ends[0])
    for at in (*ends[1:], *_roots(climb, ends, (k0, k1, k2, k3))):
        now = far(at)
        best, least = np.where(now < least, at, best), np.minimum(now, least)
    return np.asarray(best.reshape(shape))


def _roots(climb: Function, ends: list[Floats], parts: tuple[Floats, ...]) -> Iterator[Floats]:
    """The roots of cubics that rise, one in each stretch between ``ends`` that has any; 0 elsewhere."""
    heights = [climb(end) for end in ends]
    for (low, high), (below, above) in zip(pairwise(ends), pairwise(heights), strict=True):
        rows = np.flatnonzero((below < 0) & (above > 0))
        if rows.size:
            k0, k1, k2, k3 = (part[rows] for part in parts)
            at = np.zeros_like(low)
            at[rows] = root_between(
                lambda t, k0=k0, k1=k1, k2=k2, k3=k3: k0 + t * (k1 + t * (k2 + t * k3)),  # type: ignore[misc]
                low[rows],
                high[rows],
            )
            yield at


@dataclass(frozen=True)
class Stretch:
    """Hits next to each other that all send the cue ball over a place, as signed offsets.

    ``low`` to ``high``; ``middles`` are those among them at which the way passes nearest to the place's
    middle, nearer than at those beside them: one, or more where it turns back.
    """

    low: float
    high: float
    middles: tuple[float, ...]

    def apart(self, offset: float) -> float:
        """How far an offset is outside, ball widths; 0 inside."""
        return max(self.low - offset, offset - self.high, 0.0)


def passing(
    table: Table,
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    offset: ArrayLike,
    stroke: Stroke,
    place: ArrayLike,
) -> Floats:
    """X at signed offsets (...), mm; NaN where it misses."""
    cue, ball = np.asarray(cue_ball, float), np.asarray(object_ball, float)
    aim = aim_at_offset(cue, ball, offset, table.balls.object_radius)
    touching = touching_on_line(cue, ball, aim, table.contact)
    cut = cut_angle(cue, ball, touching)
    with np.errstate(invalid="ignore"):
        return passes(cue_path(table, touching, aim, cut, stroke), place)


def sent_over(
    table: Table,
    cue_ball: ArrayLike,
    object_ball: ArrayLike,
    stroke: Stroke,
    place: ArrayLike,
    radius: float,
) -> tuple[Stretch, ...]:
    """Every stretch of hits that sends the cue ball's centre over a round place, from low to high.

    Ends and middles are solved to some 1e-9 ball. No stretch is overlooked that the distance doesn't turn
    into and out of again between two of the hits tried, at most 1/325 ball apart.

    Parameters
    ----------
    table : Table
    cue_ball, object_ball : (2,) float
        Centres, mm.
    stroke : Stroke
        How the cue ball comes.
    place : (2,) float
        The middle of the place, mm.
    radius : float
        mm.
    """
    widest = GRAZE * table.reach
    tried = widest * np.sin(np.pi / 2 * np.linspace(-1.0, 1.0, TRIED))

    def aside(offset: Floats) -> Floats:
        return passing(table, cue_ball, object_ball, offset, stroke, place)

    def far(offset: Floats) -> Floats:
        return np.abs(aside(offset))

    def beyond(offset: Floats) -> Floats:
        return far(offset) - radius - TOUCH

    # Where the place changes sides the way leads over its middle. Elsewhere the distance may turn between two
    # of the hits tried: that matters where a narrow stretch or gap may be there.
    sides = aside(tried)
    height = np.abs(sides)
    k = np.flatnonzero((sides[1:] > 0) != (sides[:-1] > 0))
    over = root_between(aside, tried[k], tried[k + 1]) if k.size else np.zeros(0)
    added = [over[far(over) < ON_IT]]
    turned = np.zeros(TRIED, bool)
    for top in (-1.0, 1.0):
        h = top * height
        turns = np.flatnonzero((h[1:-1] >= h[:-2]) & (h[1:-1] >= h[2:])) + 1
        near = [not ((added[0] >= tried[m - 1]) & (added[0] <= tried[m + 1])).any() for m in turns]
        turned[turns] = np.array(near, bool) & (height[turns] < radius + MARGIN) & (top < 0)
        turned[turns] |= np.abs(height[turns] - radius) < MARGIN
    k = np.flatnonzero(turned)
    if k.size:
        least = np.where(height[k] <= np.minimum(height[k - 1], height[k + 1]), -1.0, 1.0)
        added.append(turning_point(far, tried[k - 1], tried[k + 1], least)[0])
    places = np.unique(np.concatenate([tried, *added]))
    height = far(places)
    inside = height - radius <= TOUCH
    k = np.flatnonzero(inside[1:] != inside[:-1])
    ends = root_between(beyond, places[k], places[k + 1]) if k.size else np.zeros(0)
    if inside[0]:
        ends = np.concatenate([[places[0]], ends])
    if inside[-1]:
        ends = np.concatenate([ends, [places[-1]]])
    found = []
    for low, high in zip(ends[::2].tolist(), ends[1::2].tolist(), strict=True):
        within = np.flatnonzero((places >= low) & (places <= high))
        found.append(Stretch(low, high, _lowest(places[within], height[within])))
    return tuple(found)


def _lowest(places: Floats, height: Floats) -> tuple[float, ...]:
    """The places lower than those next to them."""
    walled = np.concatenate([[np.inf], height, [np.inf]])
    low = (walled[1:-1] < walled[:-2]) & (walled[1:-1] <= walled[2:])
    return tuple(places[low].tolist())
