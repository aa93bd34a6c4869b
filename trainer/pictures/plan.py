"""The plan view: the shot from straight above, to scale."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from trainer.geometry.tables import Table
from trainer.pictures import colours
from trainer.pictures.canvas import Canvas, kept_canvas
from trainer.pictures.cells import Cells
from trainer.pictures.fit import ACROSS, GlyphSet, fit
from trainer.pictures.frame import Frame, best_frame, frame
from trainer.pictures.plan_table import (
    CUSHION,
    LINE,
    RAIL,
    mouths,
    paint_called,
    paint_table,
    whole_frame,
)
from trainer.pictures.spots import Spot, number_spots, paint_spots, spot_near
from trainer.shots.shot import Point, Shot

DASH = 2.0 * ACROSS  # of a dashed line, and its gaps
MARKER = 0.85 * ACROSS  # least radius of a ball in the whole table or a small picture: smaller can't be seen
LEAST_BALL = 0.6 * ACROSS  # the same where the picture is cropped to the shot
ROUND = 1.5 * ACROSS  # radius from which a ball has room for a shadow
DOT = 0.5 * ACROSS  # radius of a spot in the whole table
SOFT = 0.45  # opacity of helps
TINT = 0.14  # the same of a part of the cloth
ASKED = 0.28  # and of one that is asked for
NEAR = 3.0  # cells: a click this near to a spot is meant for it


@dataclass(frozen=True)
class PlanHelp:
    """What is laid over the plan before the call, faintly.

    ``way``: the line from the object ball to its target. ``aim``: signed offset (ball widths) of the
    line of aim that the player considers; the line runs until it is abreast of the object ball.
    ``path``: a line that the player considers, from point to point, mm. ``spots``: places of the cue ball
    to choose from, and ``region``: a convex part of the cloth to tint, its corners in mm, outlined where it
    is ``asked`` for; they stay when the call is shown. Without ``cue_ball`` that isn't drawn: it isn't on the
    table yet. ``numbered`` are the object balls to choose from, with their numbers: none of them stands out.
    """

    way: bool = False
    aim: float | None = None
    path: Sequence[Point] = ()
    spots: tuple[Spot, ...] = ()
    region: Sequence[Point] = ()
    asked: bool = False
    cue_ball: bool = True
    numbered: tuple[Spot, ...] = ()


@dataclass(frozen=True)
class PlanResult:
    """What is laid over the plan after the call; points in mm.

    ``touching`` is the true touching position. A call that meets the ball has ``called_touching``,
    one that misses has ``called_past``, where its line of aim ends; ``called_way`` is the object
    ball's way after the call, from point to point. ``cue_ball_way`` is the cue ball's after contact.
    ``ball`` and ``called_ball`` are where the balls lie that go and that was called, if not the shot's own.
    ``over`` and ``called_over`` are where the cue ball meets cushions before, on the true and the called way.
    ``true_after`` and ``called_after`` are the cue ball's true and called ways after contact, where it is to
    be sent somewhere. ``parts`` are those that are shown: the line to the pocket (where none is called the
    cue ball's true way after contact), the touching position, the line of aim, the call, and ``offset``, the
    way from the object ball's centre to the line of aim.
    """

    touching: Point
    called_touching: Point | None = None
    called_past: Point | None = None
    called_way: Sequence[Point] = ()
    ball: Point | None = None
    called_ball: Point | None = None
    cue_ball_way: Sequence[Point] = ()
    over: Sequence[Point] = ()
    called_over: Sequence[Point] = ()
    true_after: Sequence[Point] = ()
    called_after: Sequence[Point] = ()
    parts: Sequence[str] = ("way", "touching", "aim", "call")

    @property
    def seen_touching(self) -> Point | None:
        """The true touching position, if it is shown."""
        return self.touching if "touching" in self.parts else None

    @property
    def seen_call(self) -> Point | None:
        """The touching position of the call, if it is shown."""
        return self.called_touching if "call" in self.parts else None


@dataclass(frozen=True)
class Placed:
    """Where the balls are while they roll; ``object_ball`` is None once it has dropped."""

    cue_ball: Point
    object_ball: Point | None


NO_HELP = PlanHelp()


def draw_plan(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    *,
    whole: bool = False,
    small: bool = False,
    turned: int | None = None,
    also: tuple[Point, ...] = (),
    cell_aspect: float = 2.0,
    helps: PlanHelp = NO_HELP,
    result: PlanResult | None = None,
    placed: Placed | None = None,
    glyphs: GlyphSet = "quadrants",
) -> Cells:
    """The shot from above.

    Parameters
    ----------
    shot : Shot
    target : (float, float) or None
        Where the object ball is to cross the pocket's mouth, mm; None where no pocket is called.
    size : (int, int)
        Columns and rows, 1 x 1 at least.
    whole : bool
        The whole table, or cropped to the shot and as large as it fits.
    small : bool
        The picture is small: balls are shown as large as in the whole table, at the least.
    turned : int, optional
        Quarter turns to the left from ``x`` to the right, ``y`` up. Without it the whole table isn't
        turned, and a cropped picture is turned to show the shot large, going up if it can.
    also : tuple of (float, float)
        Places that a cropped picture must show besides the shot, mm.
    cell_aspect : float
        Height of a cell over its width.
    helps, result
        What is laid over it before and after the call. Dashed is the call, solid the truth.
    placed
        Where the balls are, if not where the shot has them.
    glyphs
        See :func:`~trainer.pictures.fit.fit`.

    Returns
    -------
    Cells

    Raises
    ------
    ValueError
        For a size below 1 x 1.
    """
    canvas = paint_plan(
        shot,
        target,
        size,
        whole=whole,
        small=small,
        turned=turned,
        also=also,
        cell_aspect=cell_aspect,
        helps=helps,
        result=result,
        placed=placed,
        onto=kept_canvas(size, cell_aspect),
    )
    cells = fit(canvas.pixels, glyphs)
    if whole or placed is not None or not (helps.spots or helps.numbered):
        return cells
    room, spots = (canvas.width, canvas.height), _places(helps)
    view = plan_frame(shot, target, room, turned=turned, spots=spots, also=also)
    return number_spots(cells, view.at, (*helps.spots, *helps.numbered), cell_aspect)


def spot_at(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    helps: PlanHelp,
    cell: tuple[int, int],
    cell_aspect: float,
) -> int | None:
    """Which of the spots a click on a cell (column, row) of the cropped plan means, if any."""
    room = size[0] * ACROSS, size[1] * ACROSS * cell_aspect
    view = plan_frame(shot, target, room, spots=_places(helps))
    return spot_near(view.at, helps.spots, cell, cell_aspect, NEAR)


def _places(helps: PlanHelp) -> tuple[Point, ...]:
    return tuple(spot.at for spot in helps.spots)


def plan_frame(
    shot: Shot,
    target: Point | None,
    room: tuple[float, float],
    *,
    whole: bool = False,
    small: bool = False,
    turned: int | None = None,
    spots: tuple[Point, ...] = (),
    also: tuple[Point, ...] = (),
) -> Frame:
    """Where the plan view lays the table in a picture of ``room`` (width, height in pixel widths).

    Where the cue ball has yet to be put on one of some ``spots``, they all count alike.
    """
    table = shot.table
    if whole:
        return whole_frame(table, room, turned or 0)
    balls = table.balls
    places = spots or (shot.cue_ball,)
    discs = [
        *((place, 1.6 * balls.cue_radius) for place in places),
        # Room for the cue ball wherever it may touch: the crop doesn't tell the answer.
        (shot.object_ball, balls.object_radius + 2 * balls.cue_radius),
        *((place, 1.6 * balls.cue_radius) for place in also),
    ]
    least = MARKER if small else 0.0
    margin = max(least, LINE)
    if target is not None:
        mouth = mouths(table)[shot.pocket]
        discs += [
            (target, 1.6 * balls.object_radius),
            (mouth.jaws[0], 12.0),
            (mouth.jaws[1], 12.0),
            (mouth.hole, mouth.radius + 25.0),
        ]
    if turned is not None:
        return _slid(frame(discs, turned, room, margin), table, discs, room, least)
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


def paint_plan(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    *,
    whole: bool = False,
    small: bool = False,
    turned: int | None = None,
    also: tuple[Point, ...] = (),
    cell_aspect: float = 2.0,
    helps: PlanHelp = NO_HELP,
    result: PlanResult | None = None,
    placed: Placed | None = None,
    onto: Canvas | None = None,
) -> Canvas:
    """The pixels of :func:`draw_plan`, on a canvas of the same size if one is given."""
    scene, view = _scene(shot, target, size, whole, small, turned, also, cell_aspect, _places(helps))
    canvas = scene.copy(onto)
    cue_radius, object_radius = _radii(shot.table, view, whole or small)
    where = placed or Placed(shot.cue_ball, shot.object_ball)
    cue, ball = view.at(where.cue_ball), view.at(where.object_ball or shot.object_ball)
    others = [(view.at(place), colour) for place, colour in others_of(shot, helps)]
    seen = [(cue, cue_radius)] * helps.cue_ball + [(ball, object_radius)] * (where.object_ball is not None)
    seen += [(place, object_radius) for place, _ in others]
    if len(helps.region) > 2:
        corners = [view.at(corner) for corner in helps.region]
        canvas.convex(corners, colours.AMBER, ASKED if helps.asked else TINT)
        if helps.asked:
            canvas.path([*corners, corners[0]], LINE, colours.AMBER)
    if helps.way and target is not None:
        canvas.line(ball, view.at(target), LINE, colours.AMBER, SOFT)
    if helps.aim is not None:
        canvas.line(cue, view.at(shot.abreast(helps.aim)), LINE, colours.TRUE_AIM, SOFT)
    if helps.path:
        canvas.path([view.at(p) for p in helps.path], LINE, colours.TRUE_AIM, SOFT)
    if result is not None:
        _paint_lines(canvas, view, shot, target, result)
    if whole:  # too small for numbers
        paint_spots(canvas, view, helps.spots, shot.table.balls.cue_radius * view.scale, DOT)
    else:
        paint_spots(canvas, view, helps.spots, cue_radius)
    for (x, y), radius in seen:
        if radius < ROUND:
            continue
        low = 0.22 * radius  # the light comes from above on the left
        canvas.shadow(x + low, y + 1.4 * low, 1.25 * radius, 1.25 * radius, 0.55)
    if result is not None and result.seen_touching is not None:
        canvas.ball(*view.at(result.seen_touching), cue_radius, colours.CUE_BALL, 0.5)
    for place, colour in others:
        canvas.ball(*place, object_radius, colour)
    if where.object_ball is not None:
        canvas.ball(*ball, object_radius, colours.OBJECT_BALL)
    if helps.cue_ball:
        canvas.ball(*cue, cue_radius, colours.CUE_BALL)
    if result is not None and result.seen_call is not None:
        width = min(LINE, cue_radius)
        called = view.at(result.seen_call)
        canvas.ring(*called, cue_radius - width / 2, width, colours.CHALK)
    return canvas


def others_of(shot: Shot, helps: PlanHelp) -> list[tuple[Point, colours.Colour]]:
    """The other balls of a shot, mm, each with its colour: that of the object ball, if it may be chosen."""
    chosen = {spot.at for spot in helps.numbered}
    return [(place, colours.OBJECT_BALL if place in chosen else colours.OTHER_BALL) for place in shot.others]


@lru_cache(maxsize=8)
def _scene(
    shot: Shot,
    target: Point | None,
    size: tuple[int, int],
    whole: bool,
    small: bool,
    turned: int | None,
    also: tuple[Point, ...],
    cell_aspect: float,
    spots: tuple[Point, ...],
) -> tuple[Canvas, Frame]:
    """The table without balls, which stays the same while they roll and answers are considered."""
    canvas = Canvas(size, colours.ROOM, cell_aspect)
    room = canvas.width, canvas.height
    view = plan_frame(shot, target, room, whole=whole, small=small, turned=turned, spots=spots, also=also)
    paint_table(canvas, view, shot.table)
    _, object_radius = _radii(shot.table, view, whole or small)
    if target is not None:
        paint_called(canvas, view, mouths(shot.table)[shot.pocket], target, MARKER, object_radius)
    return canvas, view


def _radii(table: Table, view: Frame, marked: bool) -> tuple[float, float]:
    """Cue ball's and object ball's radius in the picture."""
    least = MARKER if marked else LEAST_BALL
    balls = table.balls
    return max(balls.cue_radius * view.scale, least), max(balls.object_radius * view.scale, least)


def _paint_lines(canvas: Canvas, view: Frame, shot: Shot, target: Point | None, result: PlanResult) -> None:
    ball = view.at(shot.object_ball)
    for points, colour in drawn_of(shot, target, result):
        canvas.path([view.at(p) for p in points], LINE, colour, 0.9)
    if result.cue_ball_way:
        canvas.path([view.at(p) for p in result.cue_ball_way], LINE, colours.CUE_BALL, dash=DASH)
    if "call" not in result.parts:
        return
    # The call goes over the truth: dashes let the other line through where the two agree.
    way = [view.at(p) for p in result.called_way]
    sent = ball if result.called_ball is None else view.at(result.called_ball)
    canvas.path([sent, *way], LINE, colours.CHALK, dash=DASH)
    canvas.path([view.at(p) for p in called_of(shot, result)], LINE, colours.CHALK, dash=DASH)
    canvas.path([view.at(p) for p in result.called_after], LINE, colours.CHALK, dash=DASH)


def drawn_of(
    shot: Shot, target: Point | None, result: PlanResult
) -> list[tuple[Sequence[Point], colours.Colour]]:
    """The solid lines of a result that are shown: from point to point in mm, and the colour."""
    ball = result.ball or shot.object_ball
    lines: dict[str, tuple[Sequence[Point], colours.Colour]] = {
        "way": ((ball, target), colours.AMBER) if target else (result.true_after, colours.TRUE_AIM),
        "aim": ((shot.cue_ball, *result.over, result.touching), colours.TRUE_AIM),
        "offset": ((ball, replace(shot, object_ball=ball).beside_line(result.touching)), colours.MARK),
    }
    return [line for part, line in lines.items() if part in result.parts]


def called_of(shot: Shot, result: PlanResult) -> Sequence[Point]:
    """The called line of aim, from point to point in mm; empty where it has no end."""
    end = result.called_touching or result.called_past
    return () if end is None else (shot.cue_ball, *result.called_over, end)
