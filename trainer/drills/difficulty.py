"""How hard a level is for a player whose calls scatter."""

import numpy as np

from trainer.drills.registry import DRILLS
from trainer.shots.difficulty import NOISE
from trainer.shots.draw import draw
from trainer.shots.level import Level, narrowed_each
from trainer.shots.truth import work_out

SHOTS = 200  # drawn to judge a level
SEED = 0
RARE = 5  # times fewer shots are drawn where they are rare


def level_chance(level: Level, noise: float = NOISE, shots: int = SHOTS, seed: int = SEED) -> float:
    """The part of a level's shots that a player with this noise pots: 1 easy, 0 hopeless.

    The mean of the drill's chances over ``shots`` shots drawn with ``seed``, the same every time. What is
    called by name counts as if it were called to the hair: the shots are what a level is hard by.
    """
    each = narrowed_each(level)
    if each[0].by_cushion is not None:  # such shots are rare, and drawing them takes long
        shots = -(-shots // RARE)
    rng, count, drill = np.random.default_rng(seed), -(-shots // len(each)), DRILLS[level.drill]
    drawn = [draw(rng, count, one) for one in each]
    return float(np.mean([drill.chances(level, some, work_out(some), noise).mean() for some in drawn]))
