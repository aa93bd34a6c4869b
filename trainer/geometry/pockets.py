"""Pockets: which directions of the object ball drop, and what the ball meets when it doesn't.

A ball drops cleanly when it passes between the two jaws without touching either. Help from a jaw
(a ball that touches one and still drops) is not counted.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.paths import on_table
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, dot, length, turn, unit


@dataclass(frozen=True)
class Window:
    """The object-ball directions that drop, for any number of balls.

    ``right`` and ``left`` are the outermost unit directions (..., 2) as the ball looks at the
    pocket, ``middle`` the one midway between them, ``target`` the point (..., 2) where that one
    crosses the mouth, and ``is_open`` (...) whether any direction drops at all.
    """

    right: Floats
    left: Floats
    middle: Floats
    target: Floats
    is_open: NDArray[np.bool_]

    def holds(self, way: ArrayLike) -> NDArray[np.bool_]:
        """Whether a ball that leaves along the unit direction ``way`` drops, shape (...)."""
        inside = (cross(self.right, way) >= 0) & (cross(way, self.left) >= 0)
        return np.asarray(inside & (dot(self.middle, way) > 0) & self.is_open)


def window(object_ball: ArrayLike, jaws: ArrayLike, radius: ArrayLike) -> Window:
    """The window of a pocket, exact for jaws that are points.

    Parameters
    ----------
    object_ball : (..., 2) float
        Centre, mm, on the table's side of the mouth.
    jaws : (..., 2, 2) float
        Right-hand and left-hand jaw, mm, see :attr:`Table.jaws`.
    radius : (...) float
        Object ball's radius, mm.
    """
    object_ball, jaws = np.asarray(object_ball, float), np.asarray(jaws, float)
    radius = np.asarray(radius, float)
    right_jaw, left_jaw = jaws[..., 0, :], jaws[..., 1, :]
    right, clear_right = _past(object_ball, right_jaw, radius, +1.0)
    left, clear_left = _past(object_ball, left_jaw, radius, -1.0)
    middle = unit(right + left)
    mouth = left_jaw - right_jaw
    facing = cross(right_jaw - object_ball, left_jaw - object_ball) > 0
    run = cross(middle, mouth)
    is_open = clear_right & clear_left & facing & (cross(right, left) > 0) & (run > 0)
    far = cross(right_jaw - object_ball, mouth) / np.where(run > 0, run, 1.0)
    target = object_ball + middle * far[..., None]
    return Window(right, left, middle, target, np.asarray(is_open))


def _past(ball: Floats, jaw: Floats, radius: Floats, side: float) -> tuple[Floats, NDArray[np.bool_]]:
    """The direction that just clears a jaw, and whether the ball is clear of it where it lies."""
    to_jaw = jaw - ball
    far = length(to_jaw)
    clear = far > radius
    sine = np.where(clear, radius / np.where(far > 0, far, 1.0), 0.0)
    return turn(unit(to_jaw), side * sine, np.sqrt(1.0 - sine * sine)), clear


def table_window(table: Table, object_ball: ArrayLike, pocket: ArrayLike) -> Window:
    """:func:`window` for pockets given by index into ``POCKETS``; ``pocket`` broadcasts with the balls."""
    return window(object_ball, table.jaws[np.asarray(pocket)], table.balls.object_radius)


def on_cloth(table: Table, point: ArrayLike, radius: ArrayLike) -> NDArray[np.bool_]:
    """Whether a ball's centre (..., 2) lies inside the cushion noses and not in a pocket. Shape (...)."""
    point = np.asarray(point, float)
    right_jaw, mouth = table.jaws[:, 0], table.jaws[:, 1] - table.jaws[:, 0]
    outside_mouths = cross(mouth, point[..., None, :] - right_jaw) > 0
    return np.asarray(on_table(point, radius, table.size) & outside_mouths.all(axis=-1))


class Met(IntEnum):
    """What an object ball meets first."""

    POCKET = 0
    JAW = 1
    CUSHION = 2


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


def meeting(table: Table, object_ball: ArrayLike, way: ArrayLike) -> Meeting:
    """What a ball sent from ``object_ball`` (2,) along the unit ``way`` (2,) meets first."""
    ball, way = np.asarray(object_ball, float), np.asarray(way, float)
    radius = table.balls.object_radius
    found: list[tuple[float, Meeting]] = []

    def end(run: float) -> tuple[float, float]:
        at = ball + way * run
        return float(at[0]), float(at[1])

    opening = window(ball, table.jaws, radius)
    mouth = table.jaws[:, 1] - table.jaws[:, 0]
    for k in np.flatnonzero(opening.holds(np.broadcast_to(way, (6, 2)))):
        run = float(cross(table.jaws[k, 0] - ball, mouth[k]) / cross(way, mouth[k]))
        found.append((run, Meeting(Met.POCKET, POCKETS[k], end(run))))

    to_jaws = table.jaws - ball
    along, across = dot(way, to_jaws), cross(way, to_jaws)
    for k, j in zip(*np.nonzero((np.abs(across) < radius) & (along > 0)), strict=True):
        run = float(along[k, j] - np.sqrt(radius**2 - across[k, j] ** 2))
        if run >= 0:
            name = _jaw_name(length(to_jaws[k]), int(j))
            found.append((run, Meeting(Met.JAW, POCKETS[k], end(run), name)))

    corner, middle = table.corner / np.sqrt(2.0), table.middle / 2
    for axis, name_low, name_high in ((0, "baulk", "top"), (1, "right", "left")):
        if way[axis] == 0:
            continue
        high = way[axis] > 0
        wall = table.size[axis] - radius if high else radius
        run = float((wall - ball[axis]) / way[axis])
        other = float(ball[1 - axis] + way[1 - axis] * run)
        on_nose = corner <= other <= table.size[1 - axis] - corner
        if axis == 1:
            on_nose = on_nose and abs(other - table.length / 2) >= middle
        if run >= 0 and on_nose:
            name = name_high if high else name_low
            found.append((run, Meeting(Met.CUSHION, name, end(run))))
    if not found:  # only a ball that lies inside a mouth gets here: its jaw is all there is
        closest = int(np.argmin(length(to_jaws).min(axis=1)))
        return Meeting(Met.JAW, POCKETS[closest], end(0.0), "near")
    return min(found, key=lambda item: item[0])[1]


def _jaw_name(distances: Floats, j: int) -> str:
    mine, other = float(distances[j]), float(distances[1 - j])
    if abs(mine - other) < SAME_DISTANCE * max(mine, other):
        return ("right", "left")[j]
    return "near" if mine < other else "far"
