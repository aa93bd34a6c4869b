"""The way into the called pocket, one mark on the cloth: where the ball may cross the mouth to drop."""

import math
from collections.abc import Sequence

import numpy as np

from trainer.geometry.pockets import straight_widths
from trainer.geometry.tables import POCKETS
from trainer.geometry.vectors import Floats, cross, unit
from trainer.pictures.canvas import Canvas
from trainer.pictures.colours import AMBER
from trainer.pictures.raster import Place
from trainer.shots.shot import Point, Shot
from trainer.shots.truth import opening_of

SAME = 1e-6  # mm: a target that is nearer than this to the ball's own is the ball's own
LEAST_WIDE, LEAST_DEEP = 5.0, 3.0  # in quarters of a cell's width: a smaller mark would be lost


def way_in(shot: Shot, target: Point) -> tuple[Point, Point, Point, Point]:
    """The corners of the mark (mm), as wide as a pot forgives and half as deep as a ball.

    It reaches from where the rightmost way that drops crosses the mouth to where the leftmost one does. Of a
    target that isn't the object ball's own, as where one of several is to be found, it is as wide as the
    way straight in, and so tells nothing of the ball.

    Returns
    -------
    four (float, float)
        On the table's side the right end and the left one, then on the pocket's the left and the right one.
    """
    opening, pocket = opening_of(shot).at(0), POCKETS.index(shot.pocket)
    ball, middle = np.array(shot.object_ball), np.array(target)
    jaws = shot.table.jaws[pocket]
    across = unit(jaws[1] - jaws[0])
    inward = np.array([across[1], -across[0]]) * shot.table.balls.object_radius / 2
    if opening.is_open and math.dist(opening.target, target) < SAME:
        ends = [_crossing(ball, way, jaws[0], across) for way in (opening.right, opening.left)]
    else:
        half = float(straight_widths(shot.table)[pocket]) / 2
        ends = [middle - half * across, middle + half * across]
    right, left = ends
    corners = right - inward, left - inward, left + inward, right + inward
    a, b, c, d = ((float(x), float(y)) for x, y in corners)
    return a, b, c, d


def _crossing(start: Floats, way: Floats, point: Floats, across: Floats) -> Floats:
    """Where the way from a start crosses the line through a point."""
    return np.asarray(start + way * (cross(point - start, across) / cross(way, across)))


def paint_way_in(canvas: Canvas, corners: Sequence[Place], unit: float) -> None:
    """Paint the mark whose corners are seen there, never too small to be found.

    ``unit`` is a quarter of a cell's width in pixels.
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
    right, left = ((ax + dx) / 2, (ay + dy) / 2), ((bx + cx) / 2, (by + cy) / 2)
    x, y = (right[0] + left[0]) / 2, (right[1] + left[1]) / 2
    run = math.dist(right, left)
    wx, wy = ((left[0] - right[0]) / run, (left[1] - right[1]) / run) if run else (1.0, 0.0)
    # As wide as it is seen, and deep as what is seen of it: nothing of its width is lost in its slant.
    area = abs((cx - ax) * (dy - by) - (cy - ay) * (dx - bx)) / 2
    half, deep = max(run, LEAST_WIDE * unit) / 2, max(area / max(run, unit), LEAST_DEEP * unit)
    ends = [(x - half * wx, y - half * wy), (x + half * wx, y + half * wy)]
    canvas.path(ends, deep, AMBER, clean=True)
