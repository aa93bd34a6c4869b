"""Where a name is asked, the right one pots and the next miss; free practice has no shots to turn down."""

import numpy as np
import pytest

from trainer.drills import DRILLS, Eye, mark
from trainer.levels.level import Level, free_practice, narrowed
from trainer.levels.shelf import open_shelf
from trainer.play.set_in_play import question_about
from trainer.shots.draw import draw, even_offsets
from trainer.shots.truth import work_out

COARSE = "between-the-eighths"  # its lesson is that names are too coarse
NAMED = [level for level in open_shelf().levels if level.drill == "band" and level.name != COARSE]


@pytest.mark.parametrize("level", [*NAMED, free_practice("band")], ids=lambda level: level.name)
def test_the_right_name_pots_and_its_neighbours_miss(level: Level) -> None:
    rng, right, beside = np.random.default_rng(4), [], []
    for offset in even_offsets(rng, 40, narrowed(level)).tolist():
        question = question_about(level, offset, rng, Eye())
        best = question.best
        right.append(mark(question, question.choices[best]).potted)
        for at in (best - 1, best + 1):
            if 0 <= at < len(question.choices):
                beside.append(mark(question, question.choices[at]).potted)
    assert np.mean(right) >= 0.9
    assert np.mean(beside) <= 0.05


@pytest.mark.parametrize("drill", [name for name, drill in DRILLS.items() if drill.turns_down])
def test_free_practice_has_no_pot_that_one_would_turn_down(drill: str) -> None:
    level, rng = free_practice(drill), np.random.default_rng(2)
    limits = narrowed(level)
    low, high = work_out(draw(rng, 200, limits, even_offsets(rng, 200, limits))).margin.T
    assert ((high - low) / 2 >= 1 / 64 - 1e-9).all()
