"""The views of a shot by name, and looking around in them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from trainer.pictures.eye import STANDS, Stand
from trainer.pictures.eye_view import EyeView
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Projection, Viewport
from trainer.shots.shot import Point, Shot

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
