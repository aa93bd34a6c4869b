"""What stands in the way of a pot, and other balls about a shot: some leave it be, some can't be potted.

In the way stand other balls, a cut that no hit gives, a pocket that can't be seen into. A cushion where the
cue ball would have to be doesn't count. Positions come out of ``Generator.random()``, ``+ - * /`` and
``sqrt`` alone, as those of :mod:`trainer.shots.draw`; what stands in the way of a ball is asked of angles,
with room to spare.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.acceptance import table_window
from trainer.geometry.aiming import line_for
from trainer.geometry.contact import cut_angle, touching_position
from trainer.geometry.pockets import on_cloth
from trainer.geometry.tables import POCKETS
from trainer.geometry.vectors import Floats, distance_to_way, dot, left_of, length, scaled, unit
from trainer.shots.shot import Point, Shot, point
from trainer.shots.truth import Truth

ACROSS = 9  # ways into the pocket that are looked at, from one end of its window to the other


@dataclass(frozen=True)
class Hindrance:
    """How far the surest way of a pot is barred.

    ``amount`` in object-ball widths: 0 or less is free, by so much. Where the cut would be over 90 degrees it
    is 1 less its cosine, 1 to 2, and infinite where the pocket can't be seen into. ``by`` is the index of the
    ball that bars it most, -1 where none does; ``aim`` whether it stands in the cue ball's way, not in the
    object ball's.
    """

    amount: float
    by: int = -1
    aim: bool = False


def hindrance(shot: Shot) -> Hindrance:
    """What stands in the way of a shot, its other balls counted."""
    amounts, by, aim = hindrances(shot, [shot.object_ball], shot.others)
    return Hindrance(float(amounts[0]), int(by[0]), bool(aim[0]))


def hindrances(shot: Shot, balls: ArrayLike, others: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """What stands in the way of potting each of some balls, the cue ball and the pocket being a shot's.

    Parameters
    ----------
    shot : Shot
    balls : (n, 2) float
        Places of the object ball, mm, each for itself: they don't bar one another.
    others : (m, 2) float
        The balls that do.

    Returns
    -------
    (n,) float, (n,) int, (n,) bool
        :class:`Hindrance`'s amount, by and aim.
    """
    table, cue = shot.table, np.array(shot.cue_ball)
    balls, others = np.asarray(balls, float).reshape(-1, 2), np.asarray(others, float).reshape(-1, 2)
    n, wide = len(balls), table.ball_width
    opening = table_window(table, balls, np.full(n, POCKETS.index(shot.pocket)))
    share = np.linspace(0.0, 1.0, ACROSS)[:, None]
    ways = unit(opening.right[:, None] * (1.0 - share) + opening.left[:, None] * share)
    centres = line_for(cue, balls[:, None], ways, table.contact, shot.stroke)
    touching = touching_position(balls[:, None], centres, table.contact)
    cut = cut_angle(cue, balls[:, None], touching)
    ends = balls[:, None] + scaled(ways, length(opening.target - balls)[:, None])
    # (n, across, others): how much of a ball's width each of the others lies in each way.
    on_way = 1.0 - distance_to_way(balls[:, None, None], ends[:, :, None], others) / wide
    on_aim = (table.contact - distance_to_way(cue, touching[:, :, None], others)) / wide
    barred = np.concatenate([on_way, on_aim, np.full((n, ACROSS, 1), -np.inf)], axis=-1)
    amounts, most = barred.max(axis=-1), barred.argmax(axis=-1)
    possible = (np.abs(cut) < np.pi / 2) & opening.is_open[:, None]
    amounts = np.where(possible, np.minimum(amounts, 1.0), 1.0 - np.minimum(np.cos(cut), 0.0))
    amounts = np.where(opening.is_open[:, None], amounts, np.inf)
    surest = amounts.argmin(axis=-1)
    rows, m = np.arange(n), len(others)
    most = most[rows, surest]
    by_ball = possible[rows, surest] & (most < 2 * m)
    which = np.where(by_ball, most % max(m, 1), -1)
    return amounts[rows, surest], which, by_ball & (most >= m)


def first_ball(start: Point, way: Point, others: ArrayLike, apart: float) -> tuple[float, int] | None:
    """Which ball one that runs along a way meets first.

    Parameters
    ----------
    start, way : (float, float)
        Its centre, mm, and unit direction.
    others : (m, 2) float
        Centres of the balls that lie still, mm.
    apart : float
        mm between the centres when the two touch.

    Returns
    -------
    (float, int) or None
        How far it runs, mm, and the index of the ball; None where it meets none.
    """
    off = np.asarray(others, float).reshape(-1, 2) - np.array(start)
    along = dot(off, np.array(way))
    square = apart**2 - (dot(off, off) - along**2)
    meets = (square > 0) & (along > 0)
    if not meets.any():
        return None
    runs = np.where(meets, along - np.sqrt(np.where(meets, square, 0.0)), np.inf)
    nearest = int(runs.argmin())
    return max(float(runs[nearest]), 0.0), nearest


TRIES = 192  # places tried for each ball
APART = 3.0  # mm of daylight at least between balls that have nothing to do with each other
AIMS = 1.25  # ball widths to either side of the object ball's centre: where a line of aim is kept free
LOOKED_AT = 7  # lines in the pocket's mouth, and of aim, that are kept free
NEAR = 8.0  # ball widths about the shot in which half of the other balls lie
BARRED = 0.125  # ball widths of the surest way: less is not clearly barred
ANYWHERE = 2  # of the kinds of places that are tried
BEHIND = (1.15, 9.0)  # ball widths from a ball to one that lies behind it
BESIDE = 0.7  # the same to either side


def scattered(rng: np.random.Generator, shot: Shot, truth: Truth, count: int) -> tuple[Point, ...]:
    """Places of other balls, mm, that leave every way of the shot free, up to ``count`` of them.

    Half of them lie about the shot, the others anywhere. Fewer where there is no room.
    """
    found: list[Point] = []
    for k in range(count):
        all_over = np.zeros(2), np.array(shot.table.size)
        places = _within(rng, shot, *all_over) if k % 2 else _near(rng, shot, truth)
        good = _free(shot, truth, places, found)
        if good.any():
            found.append(point(places[good.argmax()]))
    return tuple(found)


def unpottable(rng: np.random.Generator, shot: Shot, truth: Truth, count: int) -> tuple[Point, ...]:
    """Places of other balls, mm, none of which can be potted where the shot goes, up to ``count`` of them.

    Another ball lies in the way of each, the cue ball's or its own, or it can't be cut so thin. The shot
    stays free.
    """
    found: list[Point] = []
    for _ in range(count):
        kinds = np.argsort(rng.random(3)).tolist()
        placed = [shot.object_ball, *shot.others, *found]
        for kind in kinds:
            places = _tried(rng, shot, truth, found, kind)
            good = _free(shot, truth, places, found)
            rows = np.flatnonzero(good)
            amounts, by, _ = hindrances(shot, places[rows], placed)
            # Those behind a ball lie behind one, or the thinnest cuts would be in the majority.
            good[rows] = (amounts >= BARRED) & np.isfinite(amounts) & ((kind == ANYWHERE) | (by >= 0))
            if good.any():
                found.append(point(places[good.argmax()]))
                break
    return tuple(found)


def _tried(rng: np.random.Generator, shot: Shot, truth: Truth, found: Sequence[Point], kind: int) -> Floats:
    """Places (n, 2) behind a ball, seen from the pocket (0) or the cue ball (1), or anywhere (2)."""
    if kind == ANYWHERE:
        return _near(rng, shot, truth)
    balls = np.array([shot.object_ball, *found])
    before = balls[(rng.random(TRIES) * len(balls)).astype(np.intp)]
    seen_from = np.array(truth.target if kind == 0 else shot.cue_ball)
    away, wide = unit(before - seen_from), shot.table.ball_width
    far = BEHIND[0] + (BEHIND[1] - BEHIND[0]) * rng.random(TRIES)
    beside = BESIDE * (2.0 * rng.random(TRIES) - 1.0)
    return before + scaled(away, far * wide) + scaled(left_of(away), beside * wide)


def _near(rng: np.random.Generator, shot: Shot, truth: Truth) -> Floats:
    """Places (n, 2) about the shot."""
    ends = np.array([shot.cue_ball, shot.object_ball, truth.target])
    room = NEAR * shot.table.ball_width
    return _within(rng, shot, ends.min(axis=0) - room, ends.max(axis=0) + room)


def _within(rng: np.random.Generator, shot: Shot, low: Floats, high: Floats) -> Floats:
    radius, size = shot.table.balls.object_radius, np.array(shot.table.size)
    low, high = np.maximum(low, radius), np.minimum(high, size - radius)
    return np.asarray(low + (high - low) * rng.random((TRIES, 2)))


def _free(shot: Shot, truth: Truth, places: Floats, found: Sequence[Point]) -> NDArray[np.bool_]:
    """Which places (n, 2) leave the shot's balls, and every way of it, free."""
    table, balls = shot.table, shot.table.balls
    wide, touching = table.ball_width, table.contact
    good = np.asarray(on_cloth(table, places, balls.object_radius))
    good &= length(places - np.array(shot.cue_ball)) > touching + APART
    for ball in (shot.object_ball, *shot.others, *found):
        good &= length(places - np.array(ball)) > wide + APART
    right, left = table.jaws[POCKETS.index(shot.pocket)]
    for share in np.linspace(0.0, 1.0, LOOKED_AT).tolist():
        mouth = right + (left - right) * share
        good &= distance_to_way(shot.object_ball, mouth, places) > wide + APART
    for offset in np.linspace(-AIMS, AIMS, LOOKED_AT).tolist():
        good &= distance_to_way(shot.cue_ball, shot.abreast(offset), places) > touching + APART
    return good


def laid_about(rng: np.random.Generator, shot: Shot, truth: Truth, count: int) -> Shot:
    """The shot with so many other balls about it; as it is, nothing drawn, for none."""
    return replace(shot, others=scattered(rng, shot, truth, count)) if count else shot
