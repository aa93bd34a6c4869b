"""How much pots of one kind forgive: the kind said by fullness and by how far the object ball is off."""

import math
from functools import lru_cache

import numpy as np

from trainer.geometry.fullness import cut_from_fullness
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import turn_by
from trainer.shots.shot import Shots
from trainer.shots.truth import work_out

POCKET = "top-left"  # a corner; all four are alike
BETWEEN = 500.0  # mm between the touching position and the cue ball: what a pot forgives hardly depends on it
LEAST = 1e-3  # balls


@lru_cache(maxsize=4096)
def forgives(table: Table, fullness: float, distance: float) -> float:
    """How far off a hit may be and still pot, either way, in balls of fullness.

    The object ball lies ``distance`` mm from the middle of a corner pocket's mouth, straight in front of it,
    as near as it can be at the least and on the table's bed at the most.
    """
    pocket = POCKETS.index(POCKET)
    mouth = table.jaws[pocket].mean(axis=0)
    into = np.array([1.0, 1.0]) / math.sqrt(2.0)
    radius = table.balls.object_radius
    farthest = (min(float(mouth[1]), float(mouth[0])) - radius) * math.sqrt(2.0)
    ball = mouth - into * min(max(distance, 2.0 * radius), farthest)
    touching = ball - into * table.contact
    way = turn_by(into, float(cut_from_fullness(min(max(fullness, 1 / 64), 1.0))))
    shots = Shots(table, (touching - way * BETWEEN)[None], ball[None], np.array([pocket]))
    low, high = work_out(shots).margin[0].tolist()
    return float(max((high - low) / 2.0, LEAST))
