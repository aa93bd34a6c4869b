"""Leave: from where the next ball would be a wanted fullness to a wanted pocket.

A cut and the way the object ball must take fix the touching position and the line of aim, so the cue
ball has to lie on the half-line that ends at the touching position. A band of fullness is the wedge
between two such half-lines. With throw the touching position moves a little with the cut; the wedge's tip
is then a short arc.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.aiming import Stroke, signed_throw
from trainer.geometry.contact import touching_position
from trainer.geometry.fullness import cut_from_fullness, fullness_from_cut
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats, clipped, dot, scaled, turn_by, unit

TIP_STEPS = 16  # straight pieces of the arc at the wedge's tip: within a micrometre of it


@dataclass(frozen=True)
class LeaveLine:
    """Half-lines of cue-ball places, for any number of cuts.

    ``touching`` (..., 2) mm is where they begin, ``back`` (..., 2) the unit direction away from the object
    ball. The stretch inside the noses runs from ``first`` to ``last`` (...) mm along it; where no part of
    it is on the table ``last`` is below ``first``.
    """

    touching: Floats
    back: Floats
    first: Floats
    last: Floats

    @property
    def is_empty(self) -> NDArray[np.bool_]:
        """Whether there is no such place on the table, shape (...)."""
        return np.asarray(self.last < self.first)

    def place(self, along: ArrayLike) -> Floats:
        """The place ``along`` (...) mm behind the touching position, shape (..., 2)."""
        return self.touching + scaled(self.back, along)

    def apart(self, object_ball: ArrayLike, distance: ArrayLike) -> Floats:
        """The place whose distance from the object ball is ``distance`` (...) mm, shape (..., 2).

        NaN where that is less than the balls' contact distance.
        """
        off = self.touching - np.asarray(object_ball, float)
        along = dot(off, self.back)
        square = along**2 - dot(off, off) + np.asarray(distance, float) ** 2
        return self.place(np.sqrt(np.where(square >= along**2, square, np.nan)) - along)


def leave_line(
    table: Table,
    object_ball: ArrayLike,
    way: ArrayLike,
    fullness: ArrayLike,
    side: ArrayLike,
    stroke: Stroke | None = None,
) -> LeaveLine:
    """The cue-ball places that give one fullness.

    Parameters
    ----------
    table : Table
    object_ball : (..., 2) float
        The next object ball's centre, mm.
    way : (..., 2) float
        Unit direction it must take to the pocket.
    fullness : (...) float
        0 (a graze) to 1 (full); NaN outside.
    side : (...) float
        +1 to send it left as the player sees it, -1 right.
    stroke : Stroke or None
        Counts throw if given.
    """
    way = np.asarray(way, float)
    cut = np.asarray(side, float) * cut_from_fullness(fullness)
    thrown = np.zeros_like(cut) if stroke is None else signed_throw(cut, stroke)
    centres = turn_by(way, thrown)
    touching = touching_position(object_ball, centres, table.contact)
    back = -turn_by(way, thrown - cut)
    radius, size = table.balls.cue_radius, np.array(table.size)
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (radius - touching) / back, (size - radius - touching) / back
    inside = (touching >= radius) & (touching <= size - radius)
    level = back == 0
    near = np.where(level, np.where(inside, -np.inf, np.inf), np.minimum(a, b))
    far = np.where(level, np.inf, np.maximum(a, b))
    return LeaveLine(touching, back, np.maximum(near.max(axis=-1), 0.0), far.min(axis=-1))


def leave_region(
    table: Table,
    object_ball: ArrayLike,
    way: ArrayLike,
    fullness: tuple[float, float],
    side: float,
    stroke: Stroke | None = None,
) -> Floats:
    """The places on the table from which the next ball is between two fullnesses, on one side.

    Parameters are those of :func:`leave_line`, for one ball; ``fullness`` is thin and thick, 0 to 1.

    Returns
    -------
    (k, 2) float
        The corners of the region, mm; none where no place on the table will do.
    """
    thin, thick = sorted(fullness)
    if not (thin >= 0 and thick <= 1):
        raise ValueError(f"fullness must be 0 to 1, not {fullness}")
    ball, way = np.asarray(object_ball, float), unit(way)
    cuts = np.linspace(float(cut_from_fullness(thick)), float(cut_from_fullness(thin)), TIP_STEPS + 1)
    lines = leave_line(table, ball, way, fullness_from_cut(cuts), side, stroke)
    beyond = 4.0 * (table.length + table.width)
    tip = lines.touching if stroke is not None else lines.touching[[0, -1]]
    far = (lines.touching + beyond * lines.back)[[-1, 0]]
    return clipped(np.concatenate([tip, far]), table.size, table.balls.cue_radius)
