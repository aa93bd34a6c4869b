"""The table as an eye sees it: cloth and its marks, cushions, rails, pockets, and the called one."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.rebound import RULES_NOSE
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats
from trainer.pictures import colours, raster
from trainer.pictures.canvas import Canvas
from trainer.pictures.colours import Colour
from trainer.pictures.eye import NEAR, Eye
from trainer.pictures.mouth import paint_way_in
from trainer.pictures.plan_table import CUSHION, LEAST_DOT, RAIL, SPOT, Mouth, cushions, mouths, paint_dot
from trainer.pictures.projection import Viewport
from trainer.pictures.raster import Box
from trainer.shots.shot import Point

LIP = 1.25  # height of cushions and rails at the rail, in nose heights
MOST_DOT = 1.4  # radius of a spot in the picture, in quarters of a cell's width
ROUND = 40  # corners of a circle
SLIVER = 4.0  # quarters of a cell's width: a rail that is seen less thick is a sliver
UNDER = 15.0  # mm to each side of where wood and cushion meet
SKIRT = 2000.0  # mm: the side of the table goes down out of the picture
CUSHION_FACE: Colour = (20, 101, 73)  # the nose's shaded side
POCKET_WALL: Colour = (40, 32, 28)
EDGE = 0.4  # opacity of a near cushion's edge before a ball
DARK = 0.8  # of a hole's radius, in the dark
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
    if not circles:
        return
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

    From inside the table ``front`` is seen, from outside ``side``; the tops always. ``under`` is behind where
    they meet: two soft edges would let through what is behind.
    """

    nose: tuple[Point, Point]
    normal: Floats
    wood: Face
    side: Face
    top: Face
    front: tuple[Face, ...]
    under: tuple[Face, ...]

    def before(self, eye: Eye) -> bool:
        """Whether the eye is outside, so that the wall is between it and the cloth."""
        return bool(self.normal @ (eye.place[:2] - np.array(self.nose[0])) <= 0)


def wall_height(table: Table) -> float:
    """How high cushions and wood are where they meet, mm."""
    return LIP * RULES_NOSE * 2 * table.balls.object_radius


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
        # The wood runs on past the cushion's ends, round the pockets, to the table's corners and middles.
        axis, rim = int(abs(along[1]) > 0.5), CUSHION + RAIL
        size = table.size[axis]
        inner = [np.array(p) for p in back]
        for point, jaw in zip(inner, nose, strict=True):
            ends = (-rim, size + rim) if axis else (-rim, size / 2, size + rim)
            point[axis] = min(ends, key=lambda end: abs(end - jaw[axis]))
        outer = [p - normal * RAIL for p in inner]
        found.append(
            Wall(
                nose,
                normal,
                wood=_face(colours.RAIL, inner, top, outer, top),
                side=_face(colours.RAIL_EDGE, outer, top, outer, -SKIRT),
                top=_face(colours.CUSHION, nose, height, back, top),
                front=(
                    _face(CUSHION_FACE, nose, 0.0, nose, height),
                    *(
                        Face(np.array([[*tip, 0.0], [*end, 0.0], [*end, top], [*tip, height]]), CUSHION_FACE)
                        for tip, end in zip(nose, back, strict=True)
                    ),
                ),
                under=(
                    _face(CUSHION_FACE, nose, 0.0, back, top),
                    _face(colours.RAIL, *_beside(back, normal, UNDER, top)),
                ),
            )
        )
    return tuple(found)


def _beside(
    line: Sequence[Point], normal: Floats, far: float, height: float
) -> tuple[list[Floats], float, list[Floats], float]:
    """The edges of a strip that lies so far to both sides of a level line."""
    inner, outer = ([np.array(p) + normal * k * far for p in line] for k in (1.0, -1.0))
    return inner, height, outer, height


def _corner(mouth: Mouth, table: Table, height: float) -> Face | None:
    """The wood between a corner's hole and the corner of its inner edges; None at a middle pocket."""
    (ax, ay), (bx, by) = mouth.backs
    beyond = [
        (x, y) for x in (ax, bx) for y in (ay, by) if _outside(x, table.length) and _outside(y, table.width)
    ]
    if not beyond:
        return None
    return Face(
        np.array([(*p, height) for p in (mouth.hole, mouth.backs[0], beyond[0], mouth.backs[1])]),
        colours.RAIL,
    )


def _outside(place: float, size: float) -> bool:
    return not 0.0 < place < size


def _face(colour: Colour, edge: ArrayLike, low: float, other: ArrayLike, high: float) -> Face:
    """The face between two edges of two places each, at two heights."""
    (a, b), (c, d) = np.asarray(edge, float), np.asarray(other, float)
    return Face(np.array([[*a, low], [*b, low], [*d, high], [*c, high]]), colour)


@lru_cache(maxsize=16)
def _floor(table: Table) -> tuple[Face, dict[tuple[Point, Point], Floats]]:
    """The cloth, and the throats of the pockets by their jaws."""
    length, width = table.size
    near, far, right, left = -CUSHION, length + CUSHION, -CUSHION, width + CUSHION
    cloth = _face(colours.CLOTH, [(near, right), (far, right)], 0.0, [(near, left), (far, left)], 0.0)
    throats = {
        m.jaws: np.array([[*p, 0.0] for p in (*m.jaws, *m.backs[::-1])]) for m in mouths(table).values()
    }
    return cloth, throats


def mouths_in(canvas: Canvas, eye: Eye, table: Table) -> list[Mouth]:
    """The pockets that may be in the picture."""
    drawn = list(mouths(table).values())
    holes = np.array([[*mouth.hole, 0.0] for mouth in drawn])
    reach = 3.0 * np.array([mouth.radius for mouth in drawn])  # a ball that holds all of a pocket
    depth = eye.depth(holes)
    before = depth > reach + NEAR
    places = eye.see(np.where(before[:, None], holes, eye.place + eye.ahead))
    wide = reach * eye.lens / np.where(before, depth - reach, 1.0)
    room = np.array([canvas.width, canvas.height])
    aside = (np.abs(places - room / 2) > room / 2 + wide[:, None]).any(axis=1)
    gone = np.where(before, aside, depth < -reach).tolist()
    return [mouth for mouth, out in zip(drawn, gone, strict=True) if not out]


def paint_cloth(
    canvas: Canvas, eye: Eye, table: Table, viewport: Viewport, called: Mouth | None = None
) -> None:
    """The floor of the picture: cloth, its lines and spots, and the holes.

    ``called``, here and below, is the pocket that is to be played: it is the darkest one.
    """
    cloth, throats = _floor(table)
    _fill(canvas, eye, [cloth])
    ends = [(table.baulk, 0.0, 0.0), (table.baulk, table.width, 0.0)]
    paint_path(canvas, eye, np.array(ends), viewport.thin, colours.CLOTH_LINE, 0.5)
    if table.d_radius > 0:
        turn = np.linspace(math.pi / 2, 3 * math.pi / 2, ROUND)
        x = table.baulk + table.d_radius * np.cos(turn)
        y = table.width / 2 + table.d_radius * np.sin(turn)
        arc = np.stack([x, y, np.zeros_like(x)], axis=1)
        paint_path(canvas, eye, arc, viewport.thin, colours.CLOTH_LINE, 0.5)
    if table.spots:
        _paint_spots(canvas, eye, table.spots, viewport)
    drawn = mouths_in(canvas, eye, table)
    for mouth in drawn:
        paint_circles(canvas, eye, [(mouth.hole, mouth.radius, 1.0)], _dark(mouth, called))
    _fill(canvas, eye, [Face(throats[mouth.jaws], _dark(mouth, called)) for mouth in drawn], 0.55)


def _paint_spots(canvas: Canvas, eye: Eye, spots: Sequence[Point], viewport: Viewport) -> None:
    """The table's spots, round dots: lying flat they would be dashes."""
    places = np.array([(x, y, 0.0) for x, y in spots])
    depths = eye.depth(places)
    before = depths >= NEAR
    seen, radii = eye.see(places[before]).tolist(), SPOT * eye.lens / depths[before]
    for (x, y), radius in zip(seen, radii.tolist(), strict=True):
        if 0 <= x < canvas.width and 0 <= y < canvas.height:
            size = min(max(radius, LEAST_DOT * viewport.unit), MOST_DOT * viewport.unit)
            paint_dot(canvas, viewport, (x, y), size)


def _dark(mouth: Mouth, called: Mouth | None) -> Colour:
    """The colour of a pocket's dark."""
    return colours.POCKET if called in (None, mouth) else colours.POCKET_QUIET


def paint_far(canvas: Canvas, eye: Eye, table: Table, called: Mouth | None = None, unit: float = 1.0) -> None:
    """The cushions and the wood beyond the cloth, and the pockets; ``unit`` is that of the viewport."""
    far = [wall for wall in walls(table) if not wall.before(eye)]
    top, drawn = wall_height(table), mouths_in(canvas, eye, table)
    deep = []
    for mouth in drawn:
        # Between its jaws a pocket is dark from top to bottom: an upright across it that faces the eye.
        x, y = (_toward(eye, mouth.hole) * mouth.radius).tolist()
        across = np.array([[y, -x], [-y, x]]) + mouth.hole
        deep.append(_face(_dark(mouth, called), across, 0.0, across, top))
    under = [face for wall in far for face in wall.under]
    under += [face for mouth in drawn if (face := _corner(mouth, table, top)) is not None]
    _fill(canvas, eye, [*under, *deep, *(_edge_on(eye, wall.wood, unit) for wall in far)])
    _paint_holes(canvas, eye, table, drawn, called)
    # Nothing is higher than the tops, so nothing hides them.
    _fill(canvas, eye, [*(face for wall in far for face in wall.front), *(wall.top for wall in far)])


def _edge_on(eye: Eye, wood: Face, unit: float) -> Face:
    """The wood, dark where it is seen almost edge on: a bright sliver would break into steps."""
    seen = eye.outline(wood.corners)
    if len(seen) < 3:
        return wood
    sides = list(zip(seen, [*seen[1:], seen[0]], strict=True))
    area = abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in sides)) / 2
    thick = area / max(math.dist(a, b) for a, b in sides)
    return wood if thick >= SLIVER * unit else Face(wood.corners, colours.RAIL_EDGE)


def paint_near(canvas: Canvas, eye: Eye, table: Table, called: Mouth | None = None) -> None:
    """The cushions and the wood between the cloth and the eye."""
    near = [wall for wall in walls(table) if wall.before(eye)]
    if not near:
        return
    _fill(canvas, eye, [face for wall in near for face in (wall.under[1], wall.side, wall.wood)])
    ends = {point for wall in near for point in wall.nose}
    drawn = [mouth for mouth in mouths_in(canvas, eye, table) if not ends.isdisjoint(mouth.jaws)]
    _paint_holes(canvas, eye, table, drawn, called)
    jaws = ends | {jaw for mouth in drawn for jaw in mouth.jaws}
    _fill(canvas, eye, [wall.top for wall in walls(table) if not jaws.isdisjoint(wall.nose)])


def _paint_holes(
    canvas: Canvas, eye: Eye, table: Table, drawn: Sequence[Mouth], called: Mouth | None
) -> None:
    """The pockets' holes in the wood: of each one sees a part of the wall beyond, and else the dark."""
    height = wall_height(table)
    paint_circles(canvas, eye, [(m.hole, m.radius, 1.0) for m in drawn], POCKET_WALL, height)
    for mouth in drawn:
        x, y = (mouth.hole + (1.0 - DARK) * mouth.radius * _toward(eye, mouth.hole)).tolist()
        paint_circles(canvas, eye, [((x, y), DARK * mouth.radius, 1.0)], _dark(mouth, called), height)


def _toward(eye: Eye, point: Point) -> Floats:
    """The level direction from a point of the table to below the eye, (2,)."""
    off = eye.place[:2] - point
    return np.asarray(off / max(float(np.hypot(off[0], off[1])), 1e-6))


def paint_cover(canvas: Canvas, eye: Eye, table: Table) -> None:
    """Paint white what :func:`paint_near` paints."""
    near = [wall for wall in walls(table) if wall.before(eye)]
    _fill(canvas, eye, [Face(f.corners, WHITE) for wall in near for f in (wall.side, wall.wood, wall.top)])


def paint_edges(canvas: Canvas, eye: Eye, table: Table, width: float, boxes: Sequence[Box]) -> None:
    """The noses of the cushions between the cloth and the eye, as lines, as far as they are in some boxes."""
    high = wall_height(table) / LIP
    noses = [wall.nose for wall in walls(table) if wall.before(eye)]
    for nose in noses:
        kept = eye.before(*([*end, high] for end in nose))
        if kept is None:
            continue
        start, end = ((float(x), float(y)) for x, y in eye.see(np.array(kept)))
        for rows, cols in boxes:
            room = cols.start, rows.start * canvas.step, cols.stop, rows.stop * canvas.step
            part = raster.part_within(start, end, room)
            if part is not None:
                canvas.path(part, width, colours.CUSHION, EDGE)


def paint_mark(canvas: Canvas, eye: Eye, corners: Sequence[Point], unit: float = 1.0) -> None:
    """Mark the way into the called pocket: see :mod:`~trainer.pictures.mouth`."""
    seen = np.array([(x, y, 0.0) for x, y in corners])
    if (eye.depth(seen) >= NEAR).all():
        paint_way_in(canvas, [(float(x), float(y)) for x, y in eye.see(seen)], unit)


def _fill(canvas: Canvas, eye: Eye, faces: Sequence[Face], opacity: float = 1.0) -> None:
    if faces:
        seen = eye.outlines(np.stack([face.corners for face in faces]))
        canvas.convexes([(c, face.colour) for face, c in zip(faces, seen, strict=True) if c], opacity)


def paint_path(
    canvas: Canvas,
    eye: Eye,
    points: Floats,
    width: float,
    colour: Colour,
    opacity: float = 1.0,
    dash: float = 0.0,
) -> None:
    """Straight lines from point to point (n, 3) mm, as far as they are in front of the eye."""
    if (eye.depth(points) >= NEAR).all():
        canvas.path(eye.see(points).tolist(), width, colour, opacity, dash)
        return
    for start, end in itertools.pairwise(points):
        kept = eye.before(start, end)
        if kept is not None:
            canvas.path(eye.see(np.array(kept)).tolist(), width, colour, opacity, dash)
