"""The shot as a player sees it: standing behind the cue ball, or down on the shot."""

from functools import lru_cache

import numpy as np

from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import Cells
from trainer.pictures.eye import Eye, Stand, eye_of
from trainer.pictures.eye_table import paint_called, paint_circle, paint_cloth, paint_cushions, paint_lines
from trainer.pictures.fit import GlyphSet, fit
from trainer.pictures.plan import DASH, NO_HELP, SOFT, Placed, PlanHelp, PlanResult, abreast
from trainer.pictures.plan_table import LINE, mouths
from trainer.shots.shot import Point, Shot

GLASS = 0.55  # opacity of a near cushion over what it hides
SHADOWS = ((1.9, 0.13), (1.45, 0.2), (1.0, 0.3))  # radius in ball radii, darkness


def draw_eye_view(
    shot: Shot,
    target: Point,
    size: tuple[int, int],
    stand: Stand,
    *,
    cell_aspect: float = 2.0,
    helps: PlanHelp = NO_HELP,
    result: PlanResult | None = None,
    placed: Placed | None = None,
    glyphs: GlyphSet = "quadrants",
) -> Cells:
    """The shot from behind the cue ball, in true perspective.

    Parameters
    ----------
    shot : Shot
    target : (float, float)
        Where the object ball is to cross the pocket's mouth, mm.
    size : (int, int)
        Columns and rows, 1 x 1 at least.
    stand : Stand
        Where the eye is.
    cell_aspect : float
        Height of a cell over its width.
    helps, result, placed
        What is laid over it before and after the call, and where the balls are, as in the plan.
    glyphs
        See :func:`~trainer.pictures.fit.fit`.
    """
    return fit(paint_eye_view(shot, target, size, stand, cell_aspect, helps, result, placed).pixels, glyphs)


def eye_for(shot: Shot, target: Point, room: tuple[float, float], stand: Stand) -> Eye:
    """The eye for a shot: cue ball, object ball and pocket are all in its picture of ``room``."""
    balls, mouth = shot.table.balls, mouths(shot.table)[shot.pocket]
    rc, ro = balls.cue_radius, balls.object_radius
    shown: list[tuple[list[float], float]] = [
        ([*shot.cue_ball, rc], 1.4 * rc),
        # Room for the cue ball wherever it may touch: the crop doesn't tell the answer.
        ([*shot.object_ball, ro], ro + 2 * rc),
        ([*target, 2 * ro], 2.6 * ro),
        ([*mouth.hole, 0.0], mouth.radius),
    ]
    return eye_of(stand, shot.cue_ball, shot.object_ball, shown, room)


def paint_eye_view(
    shot: Shot,
    target: Point,
    size: tuple[int, int],
    stand: Stand,
    cell_aspect: float = 2.0,
    helps: PlanHelp = NO_HELP,
    result: PlanResult | None = None,
    placed: Placed | None = None,
) -> Canvas:
    """The pixels of :func:`draw_eye_view`."""
    scene, eye = _scene(shot, target, size, stand, cell_aspect)
    canvas = scene.copy()
    table, balls = shot.table, shot.table.balls
    if helps.way:
        paint_lines(canvas, eye, [shot.object_ball, target], LINE, colours.AMBER, SOFT)
    if helps.aim is not None:
        paint_lines(canvas, eye, [shot.cue_ball, abreast(shot, helps.aim)], LINE, colours.TRUE_AIM, SOFT)
    if result is not None:
        paint_lines(canvas, eye, [shot.object_ball, target], LINE, colours.AMBER, 0.9)
        paint_lines(canvas, eye, [shot.cue_ball, result.touching], LINE, colours.TRUE_AIM, 0.9)
        paint_lines(canvas, eye, [shot.object_ball, *result.called_way], LINE, colours.CHALK, 1.0, DASH)
        if result.cue_ball_way:
            paint_lines(canvas, eye, result.cue_ball_way, LINE, colours.CUE_BALL, 1.0, DASH)
        end = result.called_touching or result.called_past
        if end is not None:
            paint_lines(canvas, eye, [shot.cue_ball, end], LINE, colours.CHALK, 1.0, DASH)
    where = placed or Placed(shot.cue_ball, shot.object_ball)
    seen = [(where.cue_ball, balls.cue_radius, colours.CUE_BALL, 1.0)]
    if where.object_ball is not None:
        seen.append((where.object_ball, balls.object_radius, colours.OBJECT_BALL, 1.0))
    if result is not None:
        seen.append((result.touching, balls.cue_radius, colours.CUE_BALL, 0.5))
    for place, radius, _, opacity in seen:
        for wide, dark in SHADOWS:
            paint_circle(canvas, eye, place, wide * radius, colours.SHADOW, dark * opacity)
    for place, radius, colour, opacity in sorted(seen, key=lambda b: -float(eye.depth([*b[0], b[1]]))):
        paint_ball(canvas, eye, place, radius, colour, opacity)
    if result is not None and result.called_touching is not None:
        _outline(canvas, eye, result.called_touching, balls.cue_radius)
    # A ball behind the near cushion stays to be seen, as behind glass.
    paint_cushions(canvas, eye, table, far=False, opacity=GLASS)
    return canvas


@lru_cache(maxsize=4)
def _scene(
    shot: Shot, target: Point, size: tuple[int, int], stand: Stand, cell_aspect: float
) -> tuple[Canvas, Eye]:
    """The table without balls, which stays the same while they roll and answers are considered."""
    canvas = Canvas(size, colours.ROOM, cell_aspect)
    eye = eye_for(shot, target, (canvas.width, canvas.height), stand)
    paint_cloth(canvas, eye, shot.table)
    paint_cushions(canvas, eye, shot.table, far=True)
    paint_cushions(canvas, eye, shot.table, far=False)
    paint_called(canvas, eye, mouths(shot.table)[shot.pocket], target, shot.table.balls.object_radius)
    return canvas, eye


def paint_ball(
    canvas: Canvas, eye: Eye, place: Point, radius: float, colour: colours.Colour, opacity: float = 1.0
) -> None:
    """A ball on the cloth, by its rays."""
    centre = np.array([*place, radius])
    box = canvas.box_of(*_extent(eye, centre, radius))
    if box is None:
        return
    px, py = canvas.grid(box)
    ray = eye.ray(px, py)
    to_ball = centre - eye.place
    along = ray @ to_ball
    aside = np.sqrt(np.maximum(to_ball @ to_ball - along * along, 0.0))
    # Widths of a pixel inside the outline: what the ray passes the ball's edge by, over how fast that
    # grows across the picture.
    steepness = np.hypot(*np.gradient(aside, canvas.step, 1.0)) if min(aside.shape) > 1 else eye.lens / along
    inside = (radius - aside) / np.maximum(steepness, 1e-9)
    cover = np.clip(inside + 0.5, 0.0, 1.0)
    near = along - np.sqrt(np.maximum(radius * radius - aside * aside, 0.0))
    normal = (eye.place + ray * near[..., None] - centre) / radius
    width = radius * eye.lens / float(np.median(along))
    canvas.shade(box, cover * opacity, normal @ np.stack([eye.right, -eye.up, -eye.ahead], -1), width, colour)


def _extent(eye: Eye, centre: np.ndarray, radius: float) -> tuple[float, float, float, float]:
    depth = max(float(eye.depth(centre)) - radius, 1.0)
    x, y = eye.see(centre).tolist()
    room = 1.3 * radius * eye.lens / depth + 2.0
    return x - room, y - room, x + room, y + room


def _outline(canvas: Canvas, eye: Eye, place: Point, radius: float) -> None:
    """The outline of a ball: the circle where rays just touch it."""
    centre = np.array([*place, radius])
    off = centre - eye.place
    far = float(np.linalg.norm(off))
    way = off / far
    first = np.cross(way, [0.0, 0.0, 1.0])
    first = first / np.linalg.norm(first)
    second = np.cross(way, first)
    turn = np.linspace(0.0, 2 * np.pi, 61)[:, None]
    back = radius * radius / far
    wide = radius * np.sqrt(1 - (radius / far) ** 2)
    rim = centre - way * back + wide * (np.cos(turn) * first + np.sin(turn) * second)
    canvas.path([(float(x), float(y)) for x, y in eye.see(rim)], LINE, colours.CHALK)
