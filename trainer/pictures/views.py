"""The views of a shot by name, and looking around in them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from trainer.pictures.cells import Cells
from trainer.pictures.eye import STANDS, Eye, Stand
from trainer.pictures.eye_view import draw_eye_view, eye_for, seen_at
from trainer.pictures.fit import ACROSS, GlyphSet
from trainer.pictures.frame import Frame
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
    """A small turn that a shot is always shown with, and that has nothing to do with its angle.

    Nor with where the cue ball lies: while a player walks it round the object ball the view stays steady.
    """
    x, y = shot.object_ball
    part = (x * 0.8191725134 + y * 0.6710436067) % 1.0
    return TURNED * (2.0 * part - 1.0)


def draw_view(
    view: str,
    shot: Shot,
    target: Point | None,
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


@dataclass(frozen=True)
class Seen:
    """A picture of a view as somebody points at it; the fields are what it was drawn with."""

    view: str
    shot: Shot
    target: Point | None
    size: tuple[int, int]
    look: Look = STRAIGHT
    also: tuple[Point, ...] = ()
    cell_aspect: float = 2.0

    @property
    def _room(self) -> tuple[float, float]:
        return float(self.size[0] * ACROSS), self.size[1] * ACROSS * self.cell_aspect

    @property
    def _frame(self) -> Frame:
        return plan_frame(self.shot, self.target, self._room, also=self.also)

    @property
    def _eye(self) -> Eye:
        stand = stand_of(self.view, self.shot, self.look)
        return eye_for(self.shot, self.target, self._room, stand, self.also)

    def ball_at(self, cell: tuple[int, int], balls: Sequence[Spot]) -> int | None:
        """Which of some balls a cell (column, row) means: one that is near to it, if there is any."""
        at = self._frame.at if self.view == "plan" else seen_at(self._eye, self.shot)
        return spot_near(at, balls, cell, self.cell_aspect, NEAR)

    def place_at(self, cell: tuple[int, int]) -> Point | None:
        """The place of the cloth (mm) that a cell (column, row) shows; None above the horizon."""
        x, y = (cell[0] + 0.5) * ACROSS, (cell[1] + 0.5) * ACROSS * self.cell_aspect
        if self.view == "plan":
            return self._frame.table((x, y))
        eye = self._eye
        ray = eye.ray(x, y)
        if ray[2] >= 0:
            return None
        end = eye.place - ray * (eye.place[2] / ray[2])
        return float(end[0]), float(end[1])
