"""The views of a shot by name, and looking around in them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from trainer.pictures.cells import Cells
from trainer.pictures.eye import STANDS, Stand
from trainer.pictures.eye_view import draw_eye_view, eye_for, seen_at
from trainer.pictures.fit import ACROSS, DOWN, GlyphSet
from trainer.pictures.plan import NEAR, NO_HELP, Placed, PlanHelp, PlanResult, draw_plan, plan_frame
from trainer.pictures.spots import Spot, spot_near
from trainer.shots.shot import Point, Shot

TURNED = math.radians(4.0)  # a view is turned by up to this much, so that it tells nothing of the cut
MOST_TURN = math.radians(60.0)
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
    """A small turn that a shot is always shown with, and that has nothing to do with its angle."""
    (cx, cy), (ox, oy) = shot.cue_ball, shot.object_ball
    part = (cx * 0.7548776662 + cy * 0.5698402910 + ox * 0.8191725134 + oy * 0.6710436067) % 1.0
    return TURNED * (2.0 * part - 1.0)


def draw_view(
    view: str,
    shot: Shot,
    target: Point,
    size: tuple[int, int],
    *,
    look: Look = STRAIGHT,
    also: tuple[Point, ...] = (),
    cell_aspect: float = 2.0,
    helps: PlanHelp = NO_HELP,
    result: PlanResult | None = None,
    placed: Placed | None = None,
    glyphs: GlyphSet = "quadrants",
) -> Cells:
    """A shot in the view of this name; parameters as in the views' own functions."""
    if view == "plan":
        draw = partial(draw_plan, shot, target, size)
    else:
        draw = partial(draw_eye_view, shot, target, size, stand_of(view, shot, look))
    return draw(also=also, cell_aspect=cell_aspect, helps=helps, result=result, placed=placed, glyphs=glyphs)


def ball_at(
    view: str,
    shot: Shot,
    target: Point,
    size: tuple[int, int],
    cell: tuple[int, int],
    balls: Sequence[Spot],
    *,
    look: Look = STRAIGHT,
    also: tuple[Point, ...] = (),
    cell_aspect: float = 2.0,
) -> int | None:
    """Which of some balls a click on a cell (column, row) of a picture means, if any."""
    room = float(size[0] * ACROSS), size[1] * ACROSS * cell_aspect
    if view == "plan":
        return spot_near(plan_frame(shot, target, room, also=also).at, balls, cell, cell_aspect, NEAR)
    eye = eye_for(shot, target, room, stand_of(view, shot, look), also)
    return spot_near(seen_at(eye, shot), balls, cell, cell_aspect, NEAR)


def place_at(
    view: str,
    shot: Shot,
    target: Point,
    size: tuple[int, int],
    cell: tuple[int, int],
    *,
    look: Look = STRAIGHT,
    also: tuple[Point, ...] = (),
    cell_aspect: float = 2.0,
) -> Point | None:
    """The place of the cloth (mm) that a cell (column, row) of a picture shows; None above the horizon."""
    step = cell_aspect * ACROSS / DOWN
    room = float(size[0] * ACROSS), size[1] * DOWN * step
    x, y = (cell[0] + 0.5) * ACROSS, (cell[1] + 0.5) * DOWN * step
    if view == "plan":
        return plan_frame(shot, target, room, also=also).table((x, y))
    eye = eye_for(shot, target, room, stand_of(view, shot, look), also)
    ray = eye.ray(x, y)
    if ray[2] >= 0:
        return None
    end = eye.place - ray * (eye.place[2] / ray[2])
    return float(end[0]), float(end[1])
