"""Other balls about a shot: they leave it as it is, or are such that no other of them can be potted.

Positions come out of ``Generator.random()``, ``+ - * /`` and ``sqrt`` alone, as those of
:mod:`trainer.shots.draw`; what stands in the way of a ball is asked of angles, with room to spare.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.paths import distance_to_way
from trainer.geometry.pockets import on_cloth
from trainer.geometry.tables import POCKETS
from trainer.geometry.vectors import Floats, left_of, length, scaled, unit
from trainer.shots.hindrance import hindrances
from trainer.shots.shot import Point, Shot
from trainer.shots.truth import Truth

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
        places = _near(rng, shot, truth) if k % 2 == 0 else _anywhere(rng, shot)
        good = _free(shot, truth, places, found)
        if good.any():
            found.append(_point(places[good.argmax()]))
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
                found.append(_point(places[good.argmax()]))
                break
    return tuple(found)


def _tried(rng: np.random.Generator, shot: Shot, truth: Truth, found: Sequence[Point], kind: int) -> Floats:
    """Places (n, 2) behind a ball, seen from the pocket (0) or the cue ball (1), or anywhere (2)."""
    if kind == ANYWHERE:
        return _near(rng, shot, truth)
    balls = np.array([shot.object_ball, *found])
    before = balls[(rng.random(TRIES) * len(balls)).astype(np.intp)]
    seen_from = np.array(truth.target if kind == 0 else shot.cue_ball)
    away, wide = unit(before - seen_from), 2.0 * shot.table.balls.object_radius
    far = BEHIND[0] + (BEHIND[1] - BEHIND[0]) * rng.random(TRIES)
    beside = BESIDE * (2.0 * rng.random(TRIES) - 1.0)
    return before + scaled(away, far * wide) + scaled(left_of(away), beside * wide)


def _near(rng: np.random.Generator, shot: Shot, truth: Truth) -> Floats:
    """Places (n, 2) about the shot."""
    ends = np.array([shot.cue_ball, shot.object_ball, truth.target])
    room = NEAR * 2.0 * shot.table.balls.object_radius
    return _within(rng, shot, ends.min(axis=0) - room, ends.max(axis=0) + room)


def _anywhere(rng: np.random.Generator, shot: Shot) -> Floats:
    """Places (n, 2) all over the table."""
    return _within(rng, shot, np.zeros(2), np.array(shot.table.size))


def _within(rng: np.random.Generator, shot: Shot, low: Floats, high: Floats) -> Floats:
    radius, size = shot.table.balls.object_radius, np.array(shot.table.size)
    low, high = np.maximum(low, radius), np.minimum(high, size - radius)
    return np.asarray(low + (high - low) * rng.random((TRIES, 2)))


def _free(shot: Shot, truth: Truth, places: Floats, found: Sequence[Point]) -> NDArray[np.bool_]:
    """Which places (n, 2) leave the shot's balls, and every way of it, free."""
    table, balls = shot.table, shot.table.balls
    wide, touching = 2.0 * balls.object_radius, table.contact
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


def _point(place: Floats) -> Point:
    x, y = place.tolist()
    return float(x), float(y)


def laid_about(rng: np.random.Generator, shot: Shot, truth: Truth, count: int) -> Shot:
    """The shot with so many other balls about it; as it is, nothing drawn, for none."""
    return replace(shot, others=scattered(rng, shot, truth, count)) if count else shot
