"""What an object ball meets first: the pocket, a jaw, or a cushion; or another ball, where there are any."""

from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.jaws import CUSHION, first_contact, outline
from trainer.geometry.pockets import Window, clean_window
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, dot, length


class Met(IntEnum):
    """What an object ball meets first; another ball is looked for where balls are known."""

    POCKET = 0
    JAW = 1
    CUSHION = 2
    BALL = 3


@dataclass(frozen=True)
class Meeting:
    """Where one object ball's way ends: what it meets, which one, and its centre there (mm).

    ``which`` is a pocket's name, or for a cushion ``baulk``, ``top``, ``left`` or ``right``;
    ``jaw`` is ``near`` or ``far``, by distance from where the ball lay, or ``right`` or ``left`` as
    the ball looks at the pocket where the two are about as far.
    """

    met: Met
    which: str
    at: tuple[float, float]
    jaw: str = ""


SAME_DISTANCE = 0.03  # jaws whose distances differ by less than this part are not near and far
ALL = np.arange(len(POCKETS))
# The cushion beside each pocket's jaws, right-hand and left-hand, in the order of POCKETS.
BESIDE = (
    ("left", "baulk"),
    ("baulk", "right"),
    ("left", "left"),
    ("right", "right"),
    ("top", "left"),
    ("right", "top"),
)


def meeting(table: Table, object_ball: ArrayLike, way: ArrayLike) -> Meeting:
    """What a ball sent from ``object_ball`` (2,) along the unit ``way`` (2,) meets first.

    A ball that meets a jaw may still drop off it; see ``jaws.drops``. Where the pocket is met,
    ``at`` is the ball's centre as it crosses the mouth.
    """
    ball, way = np.asarray(object_ball, float), np.asarray(way, float)
    radius, on = table.balls.object_radius, outline(table)
    found: list[tuple[float, Meeting]] = []

    def end(run: float) -> tuple[float, float]:
        at = ball + way * run
        return float(at[0]), float(at[1])

    runs = first_contact(on, np.tile(ball, (6, 1)), np.tile(way, (6, 1)), ALL, radius)
    distances = length(table.jaws - ball)
    holds = _clean(table, float(ball[0]), float(ball[1])).holds(np.broadcast_to(way, (6, 2)))
    right, mouth = table.jaws[:, 0], table.jaws[:, 1] - table.jaws[:, 0]
    outward = cross(way, mouth)
    to_mouth = cross(right - ball, mouth) / np.where(outward > 0, outward, 1.0)
    for k, name in enumerate(POCKETS):
        for j in (0, 1):  # a cushion ends at two jaws, which both know it
            beside = float(runs[k, j, CUSHION])
            if np.isfinite(beside):
                found.append((beside, Meeting(Met.CUSHION, BESIDE[k][j], end(beside))))
        passes = outward[k] > 0 and to_mouth[k] >= 0
        if holds[k]:
            run = float(to_mouth[k])
            found.append((run, Meeting(Met.POCKET, name, end(run))))
            continue
        touch = runs[k, :, :CUSHION].min(axis=-1)
        j, run = int(touch.argmin()), float(touch.min())
        if not np.isfinite(run) and passes:
            # Between the noses, yet outside the window: a graze that is lost in rounding.
            at = float(dot(ball + way * to_mouth[k] - right[k], mouth[k]) / dot(mouth[k], mouth[k]))
            if 0 <= at <= 1:
                j, run = int(at > 0.5), float(to_mouth[k])
        if np.isfinite(run):
            found.append((run, Meeting(Met.JAW, name, end(run), _jaw_name(distances[k], j))))
    if not found:  # only a ball that lies inside a mouth gets here: its jaw is all there is
        closest = int(distances.min(axis=1).argmin())
        return Meeting(Met.JAW, POCKETS[closest], end(0.0), "near")
    return min(found, key=lambda item: item[0])[1]


@lru_cache(maxsize=64)
def _clean(table: Table, x: float, y: float) -> Window:
    """The clean windows of all pockets from one place, which many ways are held against."""
    return clean_window(table, (x, y), ALL)


def _jaw_name(distances: Floats, j: int) -> str:
    mine, other = float(distances[j]), float(distances[1 - j])
    if abs(mine - other) < SAME_DISTANCE * max(mine, other):
        return ("right", "left")[j]
    return "near" if mine < other else "far"
