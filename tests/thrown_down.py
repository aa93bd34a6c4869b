"""Shots from balls that are thrown anywhere on a table."""

import numpy as np

from trainer.geometry.pockets import on_cloth
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, distance_to_way, length
from trainer.shots.draw import APART as DAYLIGHT
from trainer.shots.shot import Shots
from trainer.shots.truth import work_out


def draw_anywhere(rng: np.random.Generator, n: int, table: Table) -> Shots:
    """Balls thrown anywhere on the table, each shot into its easiest pocket (the widest margin).

    Nothing is asked of the cut: this is how often each angle comes up in play.
    """
    size = np.array(table.size)
    kept: list[Shots] = []
    count = 0
    while count < n:
        m = n - count + 64
        cue = uniform(rng, m, table.balls.cue_radius, size)
        ball = uniform(rng, m, table.balls.object_radius, size)
        best = np.full(m, -1, np.intp)
        widest = np.zeros(m)
        for k in range(len(POCKETS)):
            truths = work_out(Shots(table, cue, ball, np.full(m, k, np.intp), table.stroke))
            clear = distance_to_way(ball, truths.window.target, cue) > table.contact
            apart = length(cue - ball) > table.contact + DAYLIGHT
            on = on_cloth(table, truths.touching, table.balls.cue_radius)
            on &= on_cloth(table, cue, table.balls.cue_radius)
            on &= on_cloth(table, ball, table.balls.object_radius)
            wide = np.where(
                truths.can_pot & clear & apart & on, truths.margin[:, 1] - truths.margin[:, 0], 0.0
            )
            best = np.where(wide > widest, k, best)
            widest = np.maximum(wide, widest)
        rows = np.flatnonzero(best >= 0)[: n - count]
        kept.append(Shots(table, cue[rows], ball[rows], best[rows], table.stroke))
        count += len(rows)
    return Shots(
        table,
        np.concatenate([k.cue_ball for k in kept]),
        np.concatenate([k.object_ball for k in kept]),
        np.concatenate([k.pocket for k in kept]),
        table.stroke,
    )


def uniform(rng: np.random.Generator, n: int, radius: float, size: Floats) -> Floats:
    return np.asarray(radius + (size - 2 * radius) * rng.random((n, 2)))
