"""A shot, and a batch of shots on one table."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.aiming import Stroke
from trainer.geometry.contact import aim_at_offset
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, dot, unit

Point = tuple[float, float]


@dataclass(frozen=True)
class Shot:
    """Cue ball, object ball, pocket and table; centres in mm.

    ``stroke`` is None where throw isn't counted; ``others`` are object balls that lie about.
    """

    table: Table
    cue_ball: Point
    object_ball: Point
    pocket: str
    stroke: Stroke | None = None
    others: tuple[Point, ...] = ()

    def abreast(self, offset: float) -> Point:
        """Where the line of aim at a signed offset (ball widths) is abreast of the object ball, mm."""
        cue, ball = np.array(self.cue_ball), np.array(self.object_ball)
        way = aim_at_offset(cue, ball, offset, self.table.balls.object_radius)
        x, y = (cue + way * dot(way, ball - cue)).tolist()
        return x, y

    def beside_line(self, through: Point) -> Point:
        """Where the cue ball's way through a point passes nearest to the object ball's centre, mm."""
        cue, ball = np.array(self.cue_ball), np.array(self.object_ball)
        way = unit(np.array(through) - cue)
        x, y = (cue + way * dot(way, ball - cue)).tolist()
        return x, y

    def line(self, offset: float, beside: float = 0.0) -> tuple[Point, Point]:
        """Both ends (mm) of the line of aim at a signed offset, ``beside`` ball widths to its right."""
        (cx, cy), (ax, ay) = self.cue_ball, self.abreast(offset)
        wide = 2 * self.table.balls.object_radius * beside / math.dist((cx, cy), (ax, ay))
        right = (ay - cy) * wide, -(ax - cx) * wide
        return (cx + right[0], cy + right[1]), (ax + right[0], ay + right[1])


@dataclass(frozen=True)
class Shots:
    """``n`` shots on one table: centres (n, 2) in mm, pockets (n,) as indices into ``POCKETS``."""

    table: Table
    cue_ball: Floats
    object_ball: Floats
    pocket: NDArray[np.intp]
    stroke: Stroke | None = None

    def __len__(self) -> int:
        return len(self.pocket)

    def __getitem__(self, i: int) -> Shot:
        (cx, cy), (ox, oy) = self.cue_ball[i].tolist(), self.object_ball[i].tolist()
        return Shot(self.table, (cx, cy), (ox, oy), POCKETS[int(self.pocket[i])], self.stroke)

    @classmethod
    def of(cls, shot: Shot) -> "Shots":
        """A batch of one."""
        return cls(
            shot.table,
            np.array([shot.cue_ball], float),
            np.array([shot.object_ball], float),
            np.array([POCKETS.index(shot.pocket)]),
            shot.stroke,
        )
