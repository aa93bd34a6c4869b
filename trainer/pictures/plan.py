"""The plan: the shot from straight above, to scale, turned by quarters and never mirrored."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from trainer.geometry.tables import Table
from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import ACROSS
from trainer.pictures.colours import Colour
from trainer.pictures.cue import Part
from trainer.pictures.marks import Ball, GhostBall, Role
from trainer.pictures.mouth import paint_way_in, way_in
from trainer.pictures.plan_table import (
    CUSHION,
    MARGIN,
    RAIL,
    Frame,
    best_frame,
    frame,
    mouths,
    paint_table,
    whole_frame,
)
from trainer.pictures.projection import Viewport
from trainer.shots.shot import Point, Shot

# Radii, in quarters of a cell's width.
MARKER = 0.85 * ACROSS  # least of a ball: smaller can't be seen
LEAST_SPOT = 1.15 * ACROSS  # of a spot there: its number needs a cell
DOT = 0.5 * ACROSS  # of a spot in the whole table, which has no room for numbers
MARKED = 1.5  # how much larger the mark of the way in is there at the least
BESIDE = 1.2  # room for a ball at the edge of a cropped picture, in its radii
SHADOWED = 1.5 * ACROSS  # from which a ball has room for a shadow


@dataclass(frozen=True)
class Plan:
    """The shot from above, a :class:`~trainer.pictures.projection.Projection`.

    Parameters
    ----------
    shot : Shot
    target : (float, float) or None
        Where the object ball is to cross the pocket's mouth, mm; None where no pocket is called.
    viewport : Viewport
    whole : bool
        The whole table, or cropped to the shot and as large as it fits.
    small : bool
        The picture is small: balls are shown as large as in the whole table, at the least.
    turned : int, optional
        Quarter turns to the left from ``x`` to the right, ``y`` up. Without it the whole table isn't
        turned, and a cropped picture is turned to show the shot large, going up if it can.
    also : tuple of (float, float)
        Places that a cropped picture must show besides the shot, mm.
    places : tuple of (float, float)
        Where the cue ball may yet be put, mm: instead of the place it has they all count alike.
    """

    shot: Shot
    target: Point | None
    viewport: Viewport
    whole: bool = False
    small: bool = False
    turned: int | None = None
    also: tuple[Point, ...] = ()
    places: tuple[Point, ...] = ()

    @property
    def frame(self) -> Frame:
        """Where the table lies in the picture."""
        return _frame_of(self)

    @property
    def turns(self) -> int:
        """Quarter turns to the left that the table is shown with."""
        return self.frame.turn

    def background(self) -> Canvas:
        """The table without balls, which stays the same while they roll and answers are considered."""
        return _table_of(self)

    def seen_at(self, place: Point) -> Point:
        """Where a ball at a place (mm) is seen."""
        return self.frame.at(place)

    def place_at(self, seen: Point) -> Point | None:
        """The place (mm) that is seen somewhere in the picture."""
        return self.frame.table(seen)

    def fill(self, canvas: Canvas, corners: Sequence[Point], colour: Colour, opacity: float) -> None:
        """Tint a convex part of the cloth."""
        canvas.convex(self._at_all(corners), colour, opacity)

    def stroke(
        self, canvas: Canvas, points: Sequence[Point], colour: Colour, opacity: float = 1.0, dash: float = 0.0
    ) -> None:
        """Draw straight lines from point to point."""
        canvas.path(self._at_all(points), self.viewport.line, colour, opacity, dash)

    def spot(self, canvas: Canvas, at: Point, colour: Colour, opacity: float) -> None:
        """Paint a disc where the cue ball may lie."""
        unit = self.viewport.unit
        if self.whole:
            radius = max(self.shot.table.balls.cue_radius * self.frame.scale, DOT * unit)
        else:
            radius = max(self.radius(Role.CUE), LEAST_SPOT * unit)
        canvas.disc(*self.frame.at(at), radius, colour, opacity)

    def balls(self, canvas: Canvas, balls: Sequence[Ball | GhostBall]) -> None:
        """Paint balls and their shadows; ghost balls below the others."""
        solid = [ball for ball in balls if isinstance(ball, Ball)]
        for ball in reversed(solid):
            radius, (x, y) = self.radius(ball.role), self.frame.at(ball.at)
            if radius >= SHADOWED * self.viewport.unit:
                low = 0.22 * radius  # the light comes from above on the left
                canvas.shadow(x + low, y + 1.4 * low, 1.25 * radius, 1.25 * radius, 0.55)
        for ghost in balls:
            if isinstance(ghost, GhostBall):
                canvas.ball(*self.frame.at(ghost.at), self.radius(Role.CUE), colours.CUE_BALL, 0.5)
        for ball in solid:
            canvas.ball(*self.frame.at(ball.at), self.radius(ball.role), ball.role.value)

    def cue(self, canvas: Canvas, parts: Sequence[Part]) -> None:
        """Nobody looks along it from above: the line says enough."""

    def ring(self, canvas: Canvas, at: Point, colour: Colour) -> None:
        """Outline the cue ball at a place."""
        radius = self.radius(Role.CUE)
        width = min(self.viewport.line, radius)
        canvas.ring(*self.frame.at(at), radius - width / 2, width, colour)

    def foreground(self, canvas: Canvas) -> None:
        """Nothing stands between the table and who looks from above."""

    def radius(self, role: Role) -> float:
        """A ball's radius in the picture: to scale, but where it could not be seen."""
        balls = self.shot.table.balls
        own = balls.cue_radius if role is Role.CUE else balls.object_radius
        return max(own * self.frame.scale, MARKER * self.viewport.unit)

    def _at_all(self, points: Sequence[Point]) -> list[Point]:
        view = self.frame
        return [view.at(point) for point in points]


@lru_cache(maxsize=8)
def _table_of(plan: Plan) -> Canvas:
    canvas, shot = plan.viewport.canvas(plan.viewport.scheme.room), plan.shot
    unit = plan.viewport.unit
    called = None if plan.target is None else shot.pocket
    paint_table(canvas, plan.frame, shot.table, plan.viewport, called)
    if plan.target is not None:
        size = MARKED if plan.whole or plan.small else 1.0
        paint_way_in(canvas, [plan.frame.at(corner) for corner in way_in(shot, plan.target)], size * unit)
    return canvas


@lru_cache(maxsize=8)
def _frame_of(plan: Plan) -> Frame:
    """The frame of a plan, as large as all that it must show lets it be."""
    table, room, unit = plan.shot.table, plan.viewport.room, plan.viewport.unit
    if plan.whole:
        return whole_frame(table, plan.viewport, plan.turned or 0)
    balls, shot = table.balls, plan.shot
    places = plan.places or (shot.cue_ball,)
    discs = [
        *((place, BESIDE * balls.cue_radius) for place in places),
        # Room for the cue ball wherever it may touch: the crop doesn't tell the answer.
        (shot.object_ball, balls.object_radius + 2 * balls.cue_radius),
        *((place, BESIDE * balls.cue_radius) for place in plan.also),
    ]
    least = MARKER * unit
    margin = max(least, MARGIN * unit)
    if plan.target is not None:
        mouth = mouths(table)[shot.pocket]
        discs += [
            (plan.target, BESIDE * balls.object_radius),
            (mouth.jaws[0], 0.0),
            (mouth.jaws[1], 0.0),
            (mouth.hole, mouth.radius),
        ]
    if plan.turned is not None:
        return _slid(frame(discs, plan.turned, room, margin), table, discs, room, least)
    (ox, oy), (cx, cy) = shot.object_ball, np.mean(places, axis=0).tolist()
    best = best_frame(discs, (ox - cx, oy - cy), room, margin)
    return _slid(best, table, discs, room, least)


def _slid(
    view: Frame, table: Table, discs: Sequence[tuple[Point, float]], room: tuple[float, float], least: float
) -> Frame:
    """The frame moved, as far as the discs stay in it, to show the table and not the dark room.

    ``least`` is the least radius of a disc in the picture.
    """
    length, width = table.size
    rim = CUSHION + RAIL
    ends = view.at((-rim, -rim)), view.at((length + rim, width + rim))
    seen = [(*view.at(centre), max(radius * view.scale, least)) for centre, radius in discs]
    moves = []
    for axis in (0, 1):
        low, high = sorted(end[axis] for end in ends)
        left = max(0.0, min(d[axis] - d[2] for d in seen))  # free on either side of the shot
        right = max(0.0, room[axis] - max(d[axis] + d[2] for d in seen))
        empty_low, empty_high = max(0.0, low), max(0.0, room[axis] - high)
        toward_low = min(left, max(0.0, empty_low - empty_high))
        toward_high = min(right, max(0.0, empty_high - empty_low))
        moves.append(toward_high - toward_low)
    return replace(view, left=view.left + moves[0], top=view.top + moves[1])
