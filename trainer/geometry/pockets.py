"""Pockets: which directions of the object ball drop without touching a jaw.

A ball drops cleanly when its way passes both jaws, from the nose to the inner end of the facing,
without touching either, not even while it goes down. What drops off a jaw is in ``jaws``, the two
together in ``acceptance``.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats, cross, dot, left_of, length, on_table, turn, unit

PASSES = np.array([1.0, -1.0])  # to which a way passes the right-hand and the left-hand jaw, + left


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

    def at(self, rows: NDArray[np.intp] | int) -> "Window":
        """The windows of some of the balls, or of one, given by index into the first axis."""
        return Window(
            self.right[rows], self.left[rows], self.middle[rows], self.target[rows], self.is_open[rows]
        )


def window(
    object_ball: ArrayLike,
    jaws: ArrayLike,
    radius: ArrayLike,
    discs: tuple[ArrayLike, ArrayLike, ArrayLike] | None = None,
) -> Window:
    """The clean window of a pocket, exact.

    Parameters
    ----------
    object_ball : (..., 2) float
        Centre, mm, on the table's side of the mouth.
    jaws : (..., 2, 2) float
        Right-hand and left-hand end of the mouth, mm, see :attr:`Table.jaws`.
    radius : (...) float
        Object ball's radius, mm.
    discs : (..., 2, 2, 2), (..., 2, 2) and (..., 2, 2) float, optional
        The jaws' shape, see :attr:`Table.discs`. Without it they are points, the ends of the mouth.
    """
    object_ball, jaws = np.asarray(object_ball, float), np.asarray(jaws, float)
    radius = np.asarray(radius, float)
    if discs is None:
        centres, radii = np.stack([jaws, jaws], axis=-2), np.zeros(jaws.shape)
        facings = np.zeros(jaws.shape)
    else:
        centres, radii, facings = (np.asarray(part, float) for part in discs)
    reach = radii + radius[..., None, None]

    # The directions that just clear each jaw: past the nose where that way touches its arc, else past the
    # facing's inner end.
    ways, clear = _past(object_ball[..., None, None, :], centres, reach, PASSES[:, None])
    nose, end = ways[..., 0, :], ways[..., 1, :]
    beyond = PASSES * dot(left_of(nose), facings) > 0
    past = np.where(beyond[..., None], end, nose)
    right, left = past[..., 0, :], past[..., 1, :]
    right_jaw, left_jaw = jaws[..., 0, :], jaws[..., 1, :]
    mouth = left_jaw - right_jaw
    middle = unit(right + left)
    before = cross(right_jaw - object_ball, left_jaw - object_ball) > 0
    run = cross(middle, mouth)
    is_open = clear.all(axis=(-2, -1)) & before & (cross(right, left) > 0) & (run > 0)
    far = cross(right_jaw - object_ball, mouth) / np.where(run > 0, run, 1.0)
    target = object_ball + middle * far[..., None]
    return Window(right, left, middle, target, np.asarray(is_open))


def _past(ball: Floats, centre: Floats, reach: Floats, side: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """The directions that just clear discs on one side, + left, and whether the ball lies clear of them."""
    to_disc = centre - ball
    far = length(to_disc)
    clear = far > reach
    some = np.where(far > 0, far, 1.0)
    sine = np.where(clear, reach / some, 0.0)
    return turn(to_disc / some[..., None], side * sine, np.sqrt(1.0 - sine * sine)), clear


def clean_window(table: Table, object_ball: ArrayLike, pocket: ArrayLike) -> Window:
    """:func:`window` for pockets given by index into ``POCKETS``; ``pocket`` broadcasts with the balls."""
    pocket = np.asarray(pocket)
    centres, radii, facings = (part[pocket] for part in table.discs)
    discs = centres, radii, facings
    return window(object_ball, table.jaws[pocket], table.balls.object_radius, discs)


@lru_cache(maxsize=64)
def axes(table: Table) -> Floats:
    """The unit direction straight into each pocket, square to its mouth, (6, 2)."""
    found = unit(-left_of(table.jaws[:, 1] - table.jaws[:, 0]))
    found.flags.writeable = False
    return found


def clear_width(table: Table, way: ArrayLike, pocket: ArrayLike) -> Floats:
    """How wide the way into a pocket is for a ball's centre, mm, shape (...).

    For balls that come from far away along the unit direction ``way`` (..., 2); nothing or less
    where none passes cleanly. For jaws that are points it is ``M cos t - 2R``, ``t`` off the axis.
    """
    right, left = _shadows(table, way, pocket)
    return np.asarray(left - right - table.ball_width)


@lru_cache(maxsize=64)
def straight_widths(table: Table) -> Floats:
    """:func:`clear_width` straight into each pocket, mm, shape (6,)."""
    found = clear_width(table, axes(table), np.arange(len(table.jaws)))
    found.flags.writeable = False
    return found


def clear_line(table: Table, way: ArrayLike, pocket: ArrayLike) -> Floats:
    """How far left of the middle of the mouth the line along ``way`` is that passes midway, mm, (...)."""
    right, left = _shadows(table, way, pocket)
    return np.asarray((right + left) / 2 - cross(way, table.jaws[np.asarray(pocket)].mean(axis=-2)))


def _shadows(table: Table, way: ArrayLike, pocket: ArrayLike) -> tuple[Floats, Floats]:
    """How far left of the origin the innermost rubber of the right and of the left jaw lies, mm, (...)."""
    pocket = np.asarray(pocket)
    centres, radii, facings = (part[pocket] for part in table.discs)
    way = np.asarray(way, float)
    across = cross(way[..., None, None, :], centres)
    right, left = across[..., 0, :] + radii[..., 0, :], across[..., 1, :] - radii[..., 1, :]
    along = dot(left_of(way)[..., None, :], facings) * np.array([1.0, -1.0])
    ends = [np.where(along[..., j] > 0, at[..., 1], at[..., 0]) for j, at in enumerate((right, left))]
    return ends[0], ends[1]


def on_cloth(table: Table, point: ArrayLike, radius: ArrayLike) -> NDArray[np.bool_]:
    """Whether a ball's centre (..., 2) lies inside the cushion noses and not in a pocket. Shape (...).

    The jaws lie outside the noses, so no ball on the cloth overlaps one.
    """
    point = np.asarray(point, float)
    right_jaw, mouth = table.jaws[:, 0], table.jaws[:, 1] - table.jaws[:, 0]
    outside_mouths = cross(mouth, point[..., None, :] - right_jaw) > 0
    return np.asarray(on_table(point, radius, table.size) & outside_mouths.all(axis=-1))
