"""The views of a shot by name: from above, standing behind the cue ball, down on it; looking around there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from trainer.pictures import colours
from trainer.pictures.canvas import HALFWAY, LIGHT, Canvas
from trainer.pictures.colours import Colour
from trainer.pictures.cue import Part, lighter
from trainer.pictures.eye import STANDS, Eye, Stand, eye_of
from trainer.pictures.eye_table import (
    paint_circles,
    paint_cloth,
    paint_cover,
    paint_edges,
    paint_far,
    paint_mark,
    paint_near,
    paint_path,
)
from trainer.pictures.marks import Ball, GhostBall, Role
from trainer.pictures.mouth import way_in
from trainer.pictures.plan import Plan
from trainer.pictures.plan_table import mouths, upright
from trainer.pictures.projection import Projection, Viewport
from trainer.shots.shot import Point, Shot

GLASS = 0.55  # opacity of a near cushion over what it hides of the cloth
SHADOW = 2.1  # radius of a ball's shadow in ball radii
TINT = 0.3  # opacity of a ring's inside: seen from low down its line alone would be a scribble
DARKNESS = 0.55  # in its middle


@dataclass(frozen=True)
class EyeView:
    """The shot in true perspective, a :class:`~trainer.pictures.projection.Projection`.

    Parameters
    ----------
    shot : Shot
    target : (float, float) or None
        Where the object ball is to cross the pocket's mouth, mm; None where no pocket is called.
    viewport : Viewport
    stand : Stand
        Where the eye is.
    also : tuple of (float, float)
        Places that the picture must show besides the shot, mm.
    """

    shot: Shot
    target: Point | None
    viewport: Viewport
    stand: Stand
    also: tuple[Point, ...] = ()

    @property
    def eye(self) -> Eye:
        """The eye: cue ball, object ball and pocket are all in its picture."""
        return _eye_of(self)

    @property
    def turns(self) -> int:
        """Quarter turns to the left that bring what is ahead to the top of a table from above."""
        return upright(*self.eye.ahead[:2].tolist())

    def background(self) -> Canvas:
        """The table without balls, which stays the same while they roll and answers are considered."""
        return _table_of(self)

    def seen_at(self, place: Point) -> Point:
        """Where the middle of an object ball is seen that lies at a place (mm)."""
        x, y = self.eye.see([*place, self.shot.table.balls.object_radius]).tolist()
        return float(x), float(y)

    def place_at(self, seen: Point) -> Point | None:
        """The place of the cloth (mm) that is seen somewhere in the picture; None above the horizon."""
        eye = self.eye
        ray = eye.ray(*seen)
        if ray[2] >= 0:
            return None
        end = eye.place - ray * (eye.place[2] / ray[2])
        return float(end[0]), float(end[1])

    def fill(self, canvas: Canvas, corners: Sequence[Point], colour: Colour, opacity: float) -> None:
        """Tint a convex part of the cloth, as far as it is in front of the eye."""
        if seen := self.eye.outline(_on_cloth(corners)):
            canvas.convex(seen, colour, opacity)

    def stroke(
        self, canvas: Canvas, points: Sequence[Point], colour: Colour, opacity: float = 1.0, dash: float = 0.0
    ) -> None:
        """Draw straight lines from point to point, of constant width in the picture."""
        paint_path(canvas, self.eye, _on_cloth(points), self.viewport.line, colour, opacity, dash)

    def spot(self, canvas: Canvas, at: Point, colour: Colour, opacity: float) -> None:
        """Paint a disc where the cue ball may lie."""
        paint_circles(canvas, self.eye, [(at, self.shot.table.balls.cue_radius, opacity)], colour)

    def balls(self, canvas: Canvas, balls: Sequence[Ball | GhostBall]) -> None:
        """Paint balls and their shadows, the nearest last."""
        sizes = self.shot.table.balls
        solid = []
        for ball in reversed(balls):
            if isinstance(ball, GhostBall):
                solid.append(_Solid(ball.at, sizes.cue_radius, Role.CUE.value, 0.5))
            else:
                radius = sizes.cue_radius if ball.role is Role.CUE else sizes.object_radius
                solid.append(_Solid(ball.at, radius, ball.role.value))
        _paint_shadows(canvas, self.eye, solid)
        self._veil(canvas)
        _paint_balls(canvas, self.eye, solid)

    def cue(self, canvas: Canvas, parts: Sequence[Part]) -> None:
        """Draw the cue as far as it is in front of the eye, with a light along its left."""
        eye, drawn = self.eye, []
        for part in reversed(parts):
            kept = eye.before(*part.ends)
            if kept is None:
                continue
            whole = float(np.linalg.norm(part.ends[1] - part.ends[0]))
            along = [float(np.linalg.norm(end - part.ends[0])) / whole for end in kept]
            widths = [part.widths[0] + k * (part.widths[1] - part.widths[0]) for k in along]
            seen = eye.see(np.array(kept))
            half = [w * eye.lens / float(eye.depth(end)) / 2 for w, end in zip(widths, kept, strict=True)]
            way = seen[1] - seen[0]
            aside = np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9)
            sides = [(seen + np.outer(half, k * aside)).tolist() for k in (-1.0, 1.0, 0.1, 0.55)]
            drawn += [([*sides[0], *sides[1][::-1]], part.colour)]
            drawn += [([*sides[2], *sides[3][::-1]], lighter(part.colour))]
        canvas.convexes(drawn)

    def ring(self, canvas: Canvas, at: Point, colour: Colour) -> None:
        """Outline the cue ball at a place."""
        radius = self.shot.table.balls.cue_radius
        outline = self.eye.globe(np.array([*at, radius]), radius)
        if outline is not None:
            canvas.ellipse(outline, colour, TINT)
            canvas.ellipse(outline, colour, width=self.viewport.line)

    def foreground(self, canvas: Canvas) -> None:
        """Draw the near cushions' edges: a ball behind one is seen whole, and that it is behind."""
        balls = [solid.box for solid in canvas.solids[len(self.background().solids) :] if solid.clean]
        if balls:
            paint_edges(canvas, self.eye, self.shot.table, self.viewport.thin, balls)

    def _veil(self, canvas: Canvas) -> None:
        """Bring the near cushions back over what lies on the cloth, half seen through."""
        if canvas.touched is None:
            return
        rows, cols = canvas.touched
        top, left = rows.start, cols.start
        cover = Canvas(cols.stop - left, rows.stop - top, colours.SHADOW, canvas.step)
        eye = self.eye
        middle = eye.middle[0] - left, eye.middle[1] - top * canvas.step
        paint_cover(cover, replace(eye, middle=middle), self.shot.table)
        canvas.veil(self.background(), cover, (top, left), GLASS)


def _on_cloth(points: Sequence[Point]) -> np.ndarray:
    return np.array([(x, y, 0.0) for x, y in points])


@lru_cache(maxsize=8)
def _eye_of(view: EyeView) -> Eye:
    shot, target = view.shot, view.target
    balls = shot.table.balls
    rc, ro = balls.cue_radius, balls.object_radius
    shown: list[tuple[list[float], float]] = [
        ([*shot.cue_ball, rc], 1.4 * rc),
        # Room for the cue ball wherever it may touch: the crop doesn't tell the answer.
        ([*shot.object_ball, ro], ro + 2 * rc),
        *(([*place, rc], 1.4 * rc) for place in view.also),
    ]
    if target is not None:
        mouth = mouths(shot.table)[shot.pocket]
        shown += [([*target, 2 * ro], 2.6 * ro), ([*mouth.hole, 0.0], mouth.radius)]
    return eye_of(view.stand, shot.cue_ball, shot.object_ball, shown, view.viewport.room)


@lru_cache(maxsize=4)
def _table_of(view: EyeView) -> Canvas:
    table, target, eye, unit = view.shot.table, view.target, view.eye, view.viewport.unit
    canvas = view.viewport.canvas(view.viewport.scheme.room)
    called = None if target is None else mouths(table)[view.shot.pocket]
    paint_cloth(canvas, eye, table, view.viewport, called)
    paint_far(canvas, eye, table, called, unit)
    paint_near(canvas, eye, table, called)
    if target is not None:  # over all that may be before it: it is what the picture is about
        paint_mark(canvas, eye, way_in(view.shot, target), unit)
    return canvas


class _Solid(NamedTuple):
    """A ball that lies on the cloth, mm; less opaque it is seen through."""

    place: Point
    radius: float
    colour: Colour
    opacity: float = 1.0


def _paint_shadows(canvas: Canvas, eye: Eye, balls: Sequence[_Solid]) -> None:
    if not balls:
        return
    places, radii = np.array([b.place for b in balls]), SHADOW * np.array([b.radius for b in balls])
    for ball, conic in zip(balls, eye.circles(places, radii), strict=True):
        if conic is not None:
            canvas.shade_off(conic, DARKNESS * ball.opacity)


def _paint_balls(canvas: Canvas, eye: Eye, balls: Sequence[_Solid]) -> None:
    for ball in sorted(balls, key=lambda b: -float(eye.depth([*b.place, b.radius]))):
        _paint_ball(canvas, eye, ball)


def _paint_ball(canvas: Canvas, eye: Eye, ball: _Solid) -> None:
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
    canvas.shade(oval.box, cover, lit, gleam, radius * eye.lens / z, colour, opacity)


TURNED = math.radians(4.0)  # a view is turned by up to this much, so that it tells nothing of the cut
MOST_TURN = math.radians(60.0)
NEAR = 3.0  # cells: a click this near to a place is meant for it
BACK, UP = (500.0, 4000.0), (200.0, 2200.0)  # mm: how far the player may step and stand up


@dataclass(frozen=True)
class Look:
    """How far a player has moved from a view's own place: radians round to the left, factors back and up."""

    turn: float = 0.0
    back: float = 1.0
    up: float = 1.0


STRAIGHT = Look()


def stand_of(view: str, shot: Shot, look: Look = STRAIGHT) -> Stand:
    """Where the eye of a view is for a shot, within what a player can do."""
    own = STANDS[view]
    turn = min(max(look.turn, -MOST_TURN), MOST_TURN) + neutral_turn(shot)
    back = min(max(own.back * look.back, BACK[0]), BACK[1])
    return replace(own, back=back, up=min(max(own.up * look.up, UP[0]), UP[1]), turn=turn)


def neutral_turn(shot: Shot) -> float:
    """A small turn that a shot is always shown with, and that has nothing to do with its angle.

    Nor with where the cue ball lies: while a player walks it round the object ball the view stays steady.
    """
    x, y = shot.object_ball
    part = (x * 0.8191725134 + y * 0.6710436067) % 1.0
    return TURNED * (2.0 * part - 1.0)


def projection_of(
    view: str,
    shot: Shot,
    target: Point | None,
    viewport: Viewport,
    *,
    look: Look = STRAIGHT,
    also: tuple[Point, ...] = (),
    places: tuple[Point, ...] = (),
) -> Projection:
    """The projection of a view by its name; parameters as in :class:`~trainer.pictures.plan.Plan`."""
    if view == "plan":
        return Plan(shot, target, viewport, also=also, places=places)
    return EyeView(shot, target, viewport, stand_of(view, shot, look), also)


def nearest(projection: Projection, places: Sequence[Point], cell: tuple[int, int]) -> int | None:
    """Which of some places of balls a click on a cell (column, row) means: the nearest, if it is near."""
    viewport = projection.viewport
    at = viewport.middle_of(cell)
    away = [math.dist(at, projection.seen_at(place)) for place in places]
    found = min(range(len(away)), key=away.__getitem__, default=None)
    return found if found is not None and away[found] <= NEAR * viewport.cell[0] else None
