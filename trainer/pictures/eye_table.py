"""The table as an eye sees it: cloth and its marks, cushions, rails, pockets, and the called one."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from trainer.geometry.cushion import NOSE_HEIGHT
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats
from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.colours import Colour
from trainer.pictures.eye import NEAR, Eye
from trainer.pictures.plan_table import CUSHION, LINE, RAIL, THIN, Mouth, cushions, mouths
from trainer.shots.shot import Point

LIP = 1.25  # height of cushions and rails at the rail, in nose heights
SPOT = 8.0  # mm: radius of a spot
ROUND = 40  # corners of a circle
SKIRT = 2000.0  # mm: the side of the table goes down out of the picture
FLAG = 1.7  # height of the called pocket's marker in ball widths
CUSHION_FACE: Colour = (20, 101, 73)  # the nose's shaded side
WHITE: Colour = (255, 255, 255)


def circle(centre: Point, radius: float, height: float = 0.0) -> Floats:
    """A level circle as a polygon (ROUND, 3), mm."""
    turn = np.arange(ROUND) * (2 * math.pi / ROUND)
    x, y = centre
    return np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn), np.full(ROUND, height)], axis=-1)


def paint_circles(
    canvas: Canvas,
    eye: Eye,
    circles: Sequence[tuple[Point, float, float]],
    colour: Colour,
    height: float = 0.0,
) -> None:
    """Fill level circles: centres, radii and opacities."""
    places, radii = np.array([c[0] for c in circles], float), np.array([c[1] for c in circles])
    for (place, radius, opacity), conic in zip(circles, eye.circles(places, radii, height), strict=True):
        if conic is not None:
            canvas.ellipse(conic, colour, opacity)
            continue
        seen = eye.outline(circle(place, radius, height))
        if seen:
            canvas.convex(seen, colour, opacity)


class Face(NamedTuple):
    """A flat piece of the table, (4, 3) mm."""

    corners: Floats
    colour: Colour


@dataclass(frozen=True, eq=False)
class Wall:
    """A cushion and the wood behind it: where its nose is and which way it looks; its faces.

    From inside the table ``front`` is seen, from outside ``side``; the tops always.
    """

    nose: tuple[Point, Point]
    normal: Floats
    wood: Face
    side: Face
    top: Face
    front: tuple[Face, ...]

    def before(self, eye: Eye) -> bool:
        """Whether the eye is outside, so that the wall is between it and the cloth."""
        return bool(self.normal @ (eye.place[:2] - np.array(self.nose[0])) <= 0)


def wall_height(table: Table) -> float:
    """How high cushions and wood are where they meet, mm."""
    return LIP * NOSE_HEIGHT * 2 * table.balls.object_radius


@lru_cache(maxsize=16)
def walls(table: Table) -> tuple[Wall, ...]:
    """The table's six walls."""
    top = wall_height(table)
    height = top / LIP
    inside = np.array([table.length / 2, table.width / 2])
    found = []
    for nose, back in cushions(table, mouths(table)):
        a, b = np.array(nose[0]), np.array(nose[1])
        along = (b - a) / np.linalg.norm(b - a)
        normal = np.array([-along[1], along[0]])
        normal = normal if normal @ (inside - a) > 0 else -normal
        # The wood runs on past the cushion's ends, round the pockets.
        inner = [np.array(p) + sign * along * (CUSHION + RAIL) for p, sign in zip(back, (-1, 1), strict=True)]
        outer = [p - normal * RAIL for p in inner]
        found.append(
            Wall(
                nose,
                normal,
                wood=_face(colours.RAIL, (*inner, top), (*outer, top)),
                side=_face(colours.RAIL_EDGE, (*outer, top), (*outer, -SKIRT)),
                top=_face(colours.CUSHION, (*nose, height), (*back, top)),
                front=(
                    _face(CUSHION_FACE, (*nose, 0.0), (*nose, height)),
                    *(
                        _face(CUSHION_FACE, (*ends, 0.0), (*ends, height))
                        for ends in zip(nose, back, strict=True)
                    ),
                ),
            )
        )
    return tuple(found)


def _face(colour: Colour, *edges: tuple[Point | Floats, Point | Floats, float]) -> Face:
    """The face between two edges; each is two places and their height."""
    (a, b, low), (c, d, high) = edges
    return Face(np.array([[*a, low], [*b, low], [*d, high], [*c, high]], float), colour)


@lru_cache(maxsize=16)
def _floor(table: Table) -> tuple[Face, list[Face]]:
    """The cloth, and the throats of the pockets."""
    length, width = table.size
    low, right, left = -CUSHION, (length + CUSHION, -CUSHION), (length + CUSHION, width + CUSHION)
    cloth = _face(colours.CLOTH, ((low, low), right, 0.0), ((low, width + CUSHION), left, 0.0))
    throats = [_face(colours.POCKET, (*m.jaws, 0.0), (*m.backs, 0.0)) for m in mouths(table).values()]
    return cloth, throats


def paint_cloth(canvas: Canvas, eye: Eye, table: Table) -> None:
    """The floor of the picture: cloth, its marks, and the holes."""
    cloth, throats = _floor(table)
    _fill(canvas, eye, [cloth])
    width = table.width
    paint_lines(canvas, eye, [(table.baulk, 0.0), (table.baulk, width)], THIN, colours.CLOTH_LINE, 0.5)
    if table.d_radius > 0:
        turn = np.linspace(math.pi / 2, 3 * math.pi / 2, ROUND // 3)
        x, y = table.baulk + table.d_radius * np.cos(turn), width / 2 + table.d_radius * np.sin(turn)
        arc = list(zip(x.tolist(), y.tolist(), strict=True))
        paint_lines(canvas, eye, arc, THIN, colours.CLOTH_LINE, 0.5)
    if table.spots:
        paint_circles(canvas, eye, [(spot, SPOT, 0.6) for spot in table.spots], colours.CLOTH_LINE)
    paint_circles(canvas, eye, [(m.hole, m.radius, 1.0) for m in mouths(table).values()], colours.POCKET)
    _fill(canvas, eye, throats, 0.55)


def paint_far(canvas: Canvas, eye: Eye, table: Table) -> None:
    """The cushions and the wood beyond the cloth."""
    far = [wall for wall in walls(table) if not wall.before(eye)]
    _fill(canvas, eye, [wall.wood for wall in far])
    holes = [(m.hole, m.radius, 1.0) for m in mouths(table).values()]
    paint_circles(canvas, eye, holes, colours.POCKET, height=wall_height(table))
    _fill(canvas, eye, [face for wall in far for face in (wall.top, *wall.front)])


def paint_near(canvas: Canvas, eye: Eye, table: Table) -> None:
    """The cushions and the wood between the cloth and the eye."""
    near = [wall for wall in walls(table) if wall.before(eye)]
    _fill(canvas, eye, [face for wall in near for face in (wall.side, wall.wood)])
    ends = {point for wall in near for point in wall.nose}
    holes = [(m.hole, m.radius, 1.0) for m in mouths(table).values() if ends.issuperset(m.jaws)]
    if holes:
        paint_circles(canvas, eye, holes, colours.POCKET, height=wall_height(table))
    _fill(canvas, eye, [wall.top for wall in near])


def paint_cover(canvas: Canvas, eye: Eye, table: Table) -> None:
    """Paint white what :func:`paint_near` paints."""
    near = [wall for wall in walls(table) if wall.before(eye)]
    _fill(canvas, eye, [Face(f.corners, WHITE) for wall in near for f in (wall.side, wall.wood, wall.top)])


def paint_called(canvas: Canvas, eye: Eye, mouth: Mouth, target: Point, ball_radius: float) -> None:
    """Mark the called pocket: its rim lit, a disc where the ball must cross, and a pin standing there."""
    (rim,) = eye.circles(np.array([mouth.hole]), np.array([mouth.radius]))
    if rim is not None:
        canvas.ellipse(rim, colours.AMBER, width=LINE)
    paint_circles(canvas, eye, [(target, 0.6 * ball_radius, 1.0)], colours.AMBER)
    foot, head = np.array([*target, 0.0]), np.array([*target, FLAG * 2 * ball_radius])
    if float(eye.depth(foot)) <= 0:
        return
    (fx, fy), (hx, hy) = eye.see(foot).tolist(), eye.see(head).tolist()
    canvas.line((fx, fy), (hx, hy), LINE, colours.AMBER)
    radius = max(1.6 * LINE, 0.35 * ball_radius * eye.lens / float(eye.depth(foot)))
    canvas.disc(hx, hy, radius, colours.AMBER)


def _fill(canvas: Canvas, eye: Eye, faces: Sequence[Face], opacity: float = 1.0) -> None:
    if faces:
        seen = eye.outlines(np.stack([face.corners for face in faces]))
        canvas.convexes([(c, face.colour) for face, c in zip(faces, seen, strict=True) if c], opacity)


def paint_lines(
    canvas: Canvas,
    eye: Eye,
    points: Sequence[Point],
    width: float,
    colour: Colour,
    opacity: float,
    dash: float = 0.0,
) -> None:
    """A line on the cloth from point to point, of constant width in the picture."""
    ends = np.array([(x, y, 0.0) for x, y in points])
    if (eye.depth(ends) >= NEAR).all():
        canvas.path(eye.see(ends).tolist(), width, colour, opacity, dash)
        return
    for start, end in itertools.pairwise(ends):
        kept = eye.before(start, end)
        if kept is not None:
            canvas.path(eye.see(np.array(kept)).tolist(), width, colour, opacity, dash)
