"""The table as an eye sees it: cloth and its marks, cushions, rails, pockets, and the called one."""

import itertools
import math
from collections.abc import Sequence

import numpy as np

from trainer.geometry.cushion import NOSE_HEIGHT
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats
from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.colours import Colour
from trainer.pictures.eye import Eye
from trainer.pictures.plan_table import CUSHION, LINE, RAIL, THIN, Mouth, cushions, mouths
from trainer.shots.shot import Point

LIP = 1.25  # height of cushions and rails at the rail, in nose heights
ROUND = 40  # corners of a circle
SKIRT = 2000.0  # mm: the side of the table goes down out of the picture
FLAG = 1.7  # height of the called pocket's marker in ball widths
CUSHION_FACE: Colour = (20, 101, 73)  # the nose's shaded side


def flat(points: list[Point], height: float = 0.0) -> Floats:
    """Points of the table lifted to a height, (k, 3) mm."""
    return np.array([(x, y, height) for x, y in points], float)


def circle(centre: Point, radius: float, height: float = 0.0) -> Floats:
    """A level circle as a polygon (ROUND, 3), mm."""
    turn = np.arange(ROUND) * (2 * math.pi / ROUND)
    x, y = centre
    return np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn), np.full(ROUND, height)], axis=-1)


def paint_circle(
    canvas: Canvas,
    eye: Eye,
    centre: Point,
    radius: float,
    colour: Colour,
    opacity: float = 1.0,
    height: float = 0.0,
) -> None:
    """Fill a level circle."""
    conic = eye.circle(centre, radius, height)
    if conic is not None:
        canvas.ellipse(conic, colour, opacity)
    else:
        _fill(canvas, eye, circle(centre, radius, height), colour, opacity)


def paint_cloth(canvas: Canvas, eye: Eye, table: Table) -> None:
    """The floor of the picture: cloth, its marks, and the holes."""
    length, width = table.size
    edge = CUSHION
    corners = [(-edge, -edge), (length + edge, -edge), (length + edge, width + edge), (-edge, width + edge)]
    _fill(canvas, eye, flat(corners), colours.CLOTH)
    marks: list[list[Point]] = [[(table.baulk, 0.0), (table.baulk, width)]]
    if table.d_radius > 0:
        turn = np.linspace(math.pi / 2, 3 * math.pi / 2, ROUND // 3)
        marks.append(
            [
                (table.baulk + table.d_radius * math.cos(t), width / 2 + table.d_radius * math.sin(t))
                for t in turn
            ]
        )
    for mark in marks:
        paint_lines(canvas, eye, mark, THIN, colours.CLOTH_LINE, 0.5)
    for spot in table.spots:
        paint_circle(canvas, eye, spot, 8.0, colours.CLOTH_LINE, 0.6)
    for mouth in mouths(table).values():
        paint_circle(canvas, eye, mouth.hole, mouth.radius, colours.POCKET)
        _fill(canvas, eye, flat([*mouth.jaws, mouth.backs[1], mouth.backs[0]]), colours.POCKET, 0.55)


def paint_cushions(canvas: Canvas, eye: Eye, table: Table, *, far: bool, opacity: float = 1.0) -> None:
    """Cushions and rails: those beyond the cloth (``far``), or those between it and the eye."""
    height = NOSE_HEIGHT * 2 * table.balls.object_radius
    top = LIP * height
    drawn = mouths(table)
    middle = np.array([table.length / 2, table.width / 2])
    outside = CUSHION + RAIL
    walls = []
    for nose, back in cushions(table, drawn):
        a, b = np.array(nose[0]), np.array(nose[1])
        normal = np.array([-(b - a)[1], (b - a)[0]]) / np.linalg.norm(b - a)
        normal = normal if normal @ (middle - a) > 0 else -normal
        if (normal @ (eye.place[:2] - a) > 0) == far:
            walls.append((nose, back, normal))
    for nose, back, normal in walls:
        out = [tuple(np.array(p) - normal * (outside - CUSHION)) for p in back]
        along = np.array(nose[1]) - np.array(nose[0])
        along = along / np.linalg.norm(along)
        # The wood runs on past the cushion's ends, round the pockets.
        longer = [tuple(np.array(out[0]) - along * outside), tuple(np.array(out[1]) + along * outside)]
        inner = [tuple(np.array(p) + normal * (outside - CUSHION)) for p in longer]
        if not far:  # the table's side, which hides the cloth behind it
            side = [*flat(longer, top), *flat(longer[::-1], -SKIRT)]
            _fill(canvas, eye, np.array(side), colours.RAIL_EDGE, opacity)
        _fill(canvas, eye, flat([*inner, longer[1], longer[0]], top), colours.RAIL, opacity)
    ends = {point for nose, _, _ in walls for point in nose}
    for mouth in drawn.values():
        if far or ends.issuperset(mouth.jaws):
            paint_circle(canvas, eye, mouth.hole, mouth.radius, colours.POCKET, height=top)
    for nose, back, _ in walls:
        low, high = flat(list(nose)), flat(list(nose), height)
        _fill(canvas, eye, np.concatenate([high, flat(list(back), top)[::-1]]), colours.CUSHION, opacity)
        if far:
            _fill(canvas, eye, np.concatenate([low, high[::-1]]), CUSHION_FACE)
            for end in (0, 1):
                facing = [nose[end], back[end]]
                _fill(
                    canvas,
                    eye,
                    np.concatenate([flat(facing), flat(facing[::-1], height)]),
                    CUSHION_FACE,
                )


def paint_called(canvas: Canvas, eye: Eye, mouth: Mouth, target: Point, ball_radius: float) -> None:
    """Mark the called pocket: its rim lit, a disc where the ball must cross, and a pin standing there."""
    rim = eye.circle(mouth.hole, mouth.radius)
    if rim is not None:
        canvas.ellipse(rim, colours.AMBER, width=LINE)
    paint_circle(canvas, eye, target, 0.6 * ball_radius, colours.AMBER)
    foot, head = np.array([*target, 0.0]), np.array([*target, FLAG * 2 * ball_radius])
    if float(eye.depth(foot)) <= 0:
        return
    (fx, fy), (hx, hy) = eye.see(foot).tolist(), eye.see(head).tolist()
    canvas.line((fx, fy), (hx, hy), LINE, colours.AMBER)
    radius = max(1.6 * LINE, 0.35 * ball_radius * eye.lens / float(eye.depth(foot)))
    canvas.disc(hx, hy, radius, colours.AMBER)


def _fill(canvas: Canvas, eye: Eye, corners: Floats, colour: Colour, opacity: float = 1.0) -> None:
    seen = eye.outline(corners)
    if seen:
        canvas.convex(seen, colour, opacity)


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
    for start, end in itertools.pairwise(points):
        ends = eye.before([*start, 0.0], [*end, 0.0])
        if ends is not None:
            a, b = ((float(x), float(y)) for x, y in eye.see(np.array(ends)))
            canvas.line(a, b, width, colour, opacity, dash)
