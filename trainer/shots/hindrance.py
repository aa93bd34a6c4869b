"""What stands in the way of a pot: other balls, a cut that no hit gives, a pocket that can't be seen into.

A cushion where the cue ball would have to be doesn't count.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.acceptance import table_window
from trainer.geometry.aiming import line_for
from trainer.geometry.contact import cut_angle, touching_position
from trainer.geometry.paths import distance_to_way
from trainer.geometry.tables import POCKETS
from trainer.geometry.vectors import Floats, dot, length, scaled, unit
from trainer.shots.shot import Point, Shot

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

    @property
    def is_free(self) -> bool:
        """Whether the ball can be potted."""
        return self.amount <= 0.0


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
    n, wide = len(balls), 2.0 * table.balls.object_radius
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
