"""Balls rolled at any table's pockets, and how wide these are for them, by the trainer's own geometry."""

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry import jaws
from trainer.geometry.acceptance import table_window
from trainer.geometry.jaws import EVEN, KINDS, RESTITUTION, outline
from trainer.geometry.pockets import axes
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats, cross, dot, length, turn_by


def drops(
    table: Table,
    ball: ArrayLike,
    way: ArrayLike,
    pocket: ArrayLike,
    *,
    help: str = "both",
    restitution: float = RESTITUTION,
) -> np.ndarray:
    """Whether balls (..., 2) that leave along ways (..., 2) drop in pockets (...), with help from no jaw,
    the near ones or both."""
    ball, way, pocket = np.asarray(ball, float), np.asarray(way, float), np.asarray(pocket, np.intp)
    shape = np.broadcast_shapes(ball.shape[:-1], way.shape[:-1], pocket.shape)
    at, ways = (np.broadcast_to(part, (*shape, 2)).reshape(-1, 2) for part in (ball, way))
    hole = np.broadcast_to(pocket, shape).reshape(-1)
    far = length(table.jaws[hole] - at[:, None])
    # A ball in the middle has two near jaws.
    barred = (far > far[:, ::-1] * (1.0 + EVEN)) if help == "near" else np.full(far.shape, help == "none")
    radius = table.balls.object_radius
    return jaws.drops(outline(table), at, ways, hole, barred, radius, restitution).reshape(shape)


def effective_opening(
    table: Table,
    kind: str,
    entry_angle: ArrayLike,
    distance: float = 1000.0,
    *,
    help: str = "none",
    restitution: float = RESTITUTION,
) -> Floats:
    """How wide a corner or middle pocket is for a ball's centre, mm, from entry angles (...), radians.

    ``2 distance tan(half the window)`` from ``distance`` mm before the middle of the mouth; 0 where nothing
    drops. At a corner + is toward the long cushion, which runs at 45 degrees.
    """
    k = KINDS[kind]
    ball = table.jaws[k].sum(axis=0) / 2 + distance * turn_by(-axes(table)[k], np.asarray(entry_angle, float))
    seen = table_window(table, ball, k, help=help, restitution=restitution)
    half = cross(seen.right, seen.left) / (1.0 + dot(seen.right, seen.left))
    return np.where(seen.is_open, 2.0 * distance * half, 0.0)
