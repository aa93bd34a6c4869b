"""How often a warm-up's sentence is wrong, by simulated players; ``bench_warmup.py`` has 1,000 of each."""

import math
from functools import partial
from multiprocessing import get_context

import pytest
from warming import Morning, sentence

from trainer.play.warmup import AS_USUAL, NOTHING
from trainer.simulate.players import Nature

NATURE = Nature(noise=0.05, growth=0.3, lapse=0.02)
PULLED = Nature(noise=0.05, growth=0.3, lapse=0.02, central=0.15, serial=0.1)
MORNING = Morning(NATURE, 0, 0.15)
SLOW, LONG = pytest.mark.slow, pytest.mark.long


def told(morning: Morning, players: int) -> list[str]:
    with get_context("spawn").Pool(2) as pool:
        return pool.map(partial(sentence, morning), range(players), chunksize=4)


@pytest.mark.parametrize(
    ("morning", "players"),
    [
        pytest.param(Morning(NATURE), 80, marks=SLOW),
        pytest.param(Morning(PULLED, 120), 50, marks=LONG),
        pytest.param(Morning(NATURE), 1000, marks=LONG),
        pytest.param(Morning(NATURE, 100), 1000, marks=LONG),
        pytest.param(Morning(PULLED, 200), 1000, marks=LONG),
    ],
)
def test_one_unbiased_player_in_twenty_at_the_most_is_told_of_a_bias(morning: Morning, players: int) -> None:
    wrong = [said for said in told(morning, players) if said not in (NOTHING, f"{AS_USUAL}.")]
    # So few players may have some more of them by chance; a thousand are counted as they are.
    assert len(wrong) <= 0.05 * players + (0 if players >= 1000 else 2 * math.sqrt(0.05 * 0.95 * players))


@pytest.mark.slow
def test_a_shift_of_a_seventh_of_a_ball_is_told_to_most() -> None:
    told_so = [said.startswith("Today you see thin cuts to the left") for said in told(MORNING, 40)]
    assert sum(told_so) >= 35
