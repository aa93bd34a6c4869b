"""The shot as a player sees it: standing behind the cue ball, or down on the shot."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from trainer.geometry.tables import Table
from trainer.pictures import colours
from trainer.pictures.canvas import HALFWAY, LIGHT, Canvas, kept_canvas, overlap
from trainer.pictures.cells import Cells
from trainer.pictures.eye import Eye, Stand, eye_of
from trainer.pictures.eye_table import (
    paint_circles,
    paint_cloth,
    paint_cover,
    paint_far,
    paint_lines,
    paint_near,
    paint_region,
    paint_rim,
    paint_target,
)
from trainer.pictures.fit import ACROSS, DOWN, GlyphSet, fit
from trainer.pictures.plan import (
    ASKED,
    DASH,
    NO_HELP,
    SOFT,
    TINT,
    Placed,
    PlanHelp,
    PlanResult,
    called_of,
    drawn_of,
    others_of,
)
from trainer.pictures.plan_table import LINE, mouths
from trainer.pictures.spots import number_spots
from trainer.shots.shot import Point, Shot

GLASS = 0.55  # opacity of a near cushion over what it hides
SHADOWS = ((1.9, 0.13), (1.45, 0.2), (1.0, 0.3))  # radius in ball radii, darkness


class Ball(NamedTuple):
    """A ball that lies on the cloth, mm; less opaque it is seen through."""

    place: Point
    radius: float
    colour: colours.Colour
    opacity: float = 1.0


def draw_eye_view(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    stand: Stand,
    *,
    also: tuple[Point, ...] = (),
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
    target : (float, float) or None
        Where the object ball is to cross the pocket's mouth, mm; None where no pocket is called.
    size : (int, int)
        Columns and rows, 1 x 1 at least.
    stand : Stand
        Where the eye is.
    cell_aspect : float
        Height of a cell over its width.
    also, helps, result, placed
        What it must show, what is laid over it before and after the call, and where the balls are, as
        in the plan.
    glyphs
        See :func:`~trainer.pictures.fit.fit`.
    """
    kept = kept_canvas(size, cell_aspect)
    canvas = paint_eye_view(shot, target, size, stand, cell_aspect, helps, result, placed, also, onto=kept)
    cells = fit(canvas.pixels, glyphs)
    if not helps.numbered or placed is not None:
        return cells
    eye = eye_for(shot, target, (canvas.width, canvas.height), stand, also)
    return number_spots(cells, seen_at(eye, shot), helps.numbered, cell_aspect)


def seen_at(eye: Eye, shot: Shot) -> Callable[[Point], Point]:
    """Where an object ball's centre is seen that lies at a place of the cloth, in widths of a pixel."""
    radius = shot.table.balls.object_radius

    def at(place: Point) -> Point:
        x, y = eye.see([*place, radius]).tolist()
        return float(x), float(y)

    return at


def eye_for(
    shot: Shot,
    target: Point | None,
    room: tuple[float, float],
    stand: Stand,
    also: tuple[Point, ...] = (),
) -> Eye:
    """The eye for a shot: cue ball, object ball and pocket are all in its picture of ``room``."""
    balls = shot.table.balls
    rc, ro = balls.cue_radius, balls.object_radius
    shown: list[tuple[list[float], float]] = [
        ([*shot.cue_ball, rc], 1.4 * rc),
        # Room for the cue ball wherever it may touch: the crop doesn't tell the answer.
        ([*shot.object_ball, ro], ro + 2 * rc),
        *(([*place, rc], 1.4 * rc) for place in also),
    ]
    if target is not None:
        mouth = mouths(shot.table)[shot.pocket]
        shown += [([*target, 2 * ro], 2.6 * ro), ([*mouth.hole, 0.0], mouth.radius)]
    return eye_of(stand, shot.cue_ball, shot.object_ball, shown, room)


def paint_eye_view(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    stand: Stand,
    cell_aspect: float = 2.0,
    helps: PlanHelp = NO_HELP,
    result: PlanResult | None = None,
    placed: Placed | None = None,
    also: tuple[Point, ...] = (),
    onto: Canvas | None = None,
) -> Canvas:
    """The pixels of :func:`draw_eye_view`, on a canvas of the same size if one is given."""
    scene, eye = _scene(shot, target, size, stand, also, cell_aspect)
    canvas = scene.copy(onto)
    table, balls = shot.table, shot.table.balls
    if len(helps.region) > 2:
        paint_region(canvas, eye, helps.region, ASKED if helps.asked else TINT, helps.asked)
    if helps.way and target is not None:
        paint_lines(canvas, eye, [shot.object_ball, target], LINE, colours.AMBER, SOFT)
    if helps.aim is not None:
        paint_lines(canvas, eye, [shot.cue_ball, shot.abreast(helps.aim)], LINE, colours.TRUE_AIM, SOFT)
    if helps.path:
        paint_lines(canvas, eye, helps.path, LINE, colours.TRUE_AIM, SOFT)
    if result is not None:
        for points, colour in drawn_of(shot, target, result):
            if points:
                paint_lines(canvas, eye, points, LINE, colour, 0.9)
        if result.cue_ball_way:
            paint_lines(canvas, eye, result.cue_ball_way, LINE, colours.CUE_BALL, 1.0, DASH)
        if "call" in result.parts:
            sent = result.called_ball or shot.object_ball
            paint_lines(canvas, eye, [sent, *result.called_way], LINE, colours.CHALK, 1.0, DASH)
            for called in (called_of(shot, result), result.called_after):
                if called:
                    paint_lines(canvas, eye, called, LINE, colours.CHALK, 1.0, DASH)
    where = placed or Placed(shot.cue_ball, shot.object_ball)
    seen = [Ball(where.cue_ball, balls.cue_radius, colours.CUE_BALL)]
    seen += [Ball(place, balls.object_radius, colour) for place, colour in others_of(shot, helps)]
    if where.object_ball is not None:
        seen.append(Ball(where.object_ball, balls.object_radius, colours.OBJECT_BALL))
    if result is not None and result.seen_touching is not None:
        seen.append(Ball(result.seen_touching, balls.cue_radius, colours.CUE_BALL, 0.5))
    paint_balls(canvas, eye, seen)
    if result is not None and result.seen_call is not None:
        outline = eye.globe(np.array([*result.seen_call, balls.cue_radius]), balls.cue_radius)
        if outline is not None:
            canvas.ellipse(outline, colours.CHALK, width=LINE)
    # A ball behind the near cushion stays to be seen, as behind glass.
    _behind_glass(canvas, scene, eye, table)
    return canvas


def _behind_glass(canvas: Canvas, scene: Canvas, eye: Eye, table: Table) -> None:
    """Bring the near cushions of the scene back over what was painted, half seen through."""
    if canvas.touched is None:
        return
    rows, cols = canvas.touched
    top, left = rows.start // DOWN, cols.start // ACROSS
    cells = -(-cols.stop // ACROSS) - left, -(-rows.stop // DOWN) - top
    corner = top * DOWN, left * ACROSS
    cover = Canvas(cells, colours.SHADOW, 2.0 * canvas.step)
    middle = eye.middle[0] - corner[1], eye.middle[1] - corner[0] * canvas.step
    paint_cover(cover, replace(eye, middle=middle), table)
    canvas.veil(scene, cover, corner, GLASS)


@lru_cache(maxsize=4)
def _scene(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    stand: Stand,
    also: tuple[Point, ...],
    cell_aspect: float,
) -> tuple[Canvas, Eye]:
    """The table without balls, which stays the same while they roll and answers are considered."""
    canvas = Canvas(size, colours.ROOM, cell_aspect)
    eye = eye_for(shot, target, (canvas.width, canvas.height), stand, also)
    paint_cloth(canvas, eye, shot.table)
    paint_far(canvas, eye, shot.table)
    radius = shot.table.balls.object_radius
    canvas.touched = None
    if target is not None:
        paint_target(canvas, eye, target, radius)
    mark, canvas.touched = canvas.touched, None
    paint_near(canvas, eye, shot.table)
    if target is None:
        return canvas, eye
    if mark is not None and canvas.touched is not None and overlap(mark, canvas.touched):
        # What the near cushions hid of it shows through them again, and the rest is as it was.
        paint_target(canvas, eye, target, radius, 1.0 - GLASS)
    paint_rim(canvas, eye, shot.table, mouths(shot.table)[shot.pocket])
    return canvas, eye


def paint_balls(canvas: Canvas, eye: Eye, balls: Sequence[Ball]) -> None:
    """Balls on the cloth with their shadows, the nearest last."""
    shadows = [(b.place, wide * b.radius, dark * b.opacity) for b in balls for wide, dark in SHADOWS]
    paint_circles(canvas, eye, shadows, colours.SHADOW)
    for ball in sorted(balls, key=lambda b: -float(eye.depth([*b.place, b.radius]))):
        _paint_ball(canvas, eye, ball)


def _paint_ball(canvas: Canvas, eye: Eye, ball: Ball) -> None:
    """A ball by its rays."""
    place, radius, colour, opacity = ball
    centre = np.array([*place, radius])
    conic = eye.globe(centre, radius)
    oval = None if conic is None else canvas.oval(conic)
    if oval is None:
        return
    # In the eye's own axes: right, down and ahead. A pixel's ray is `ahead` 1, and meets the ball `near`.
    axes = np.stack([eye.right, -eye.up, eye.ahead])
    x, y, z = (axes @ (centre - eye.place)).tolist()
    px, py = canvas.grid(oval.box)
    across, down = (px - eye.middle[0]) / eye.lens, (py - eye.middle[1]) / eye.lens
    near = across * x + (down * y + z) - np.sqrt(np.maximum(oval.depth, 0.0))
    near /= across * across + (down * down + 1.0)
    lit, gleam = (
        (near * (across * lx + (down * ly - lz)) - (x * lx + y * ly - z * lz)) / radius
        for lx, ly, lz in (LIGHT, HALFWAY)
    )
    cover = np.clip(oval.inside + 0.5, 0.0, 1.0)
    canvas.shade(oval.box, cover * opacity, lit, gleam, radius * eye.lens / z, colour)
