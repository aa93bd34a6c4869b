"""When something of today is told: seldom where nothing is off, mostly where a tenth of a ball is.

Of the few players that a quick test has time for the first ones are among the unluckiest of forty.
``bench_warmup.py`` has a thousand of each kind, and the warm-up's own cuts and sentence.
"""

import math

import numpy as np

from trainer.learner.call import Call
from trainer.learner.today_shift import GROUPS, today_shifts
from trainer.simulate.players import Nature, Player

EARLIER, TODAY, A_DAY = 100, 30, 20
PLAIN = Nature(noise=0.05, growth=0.3, lapse=0.02)
PULLED = Nature(noise=0.05, growth=0.3, lapse=0.02, central=0.15, serial=0.1)


def told(nature: Nature, seed: int, shift: float = 0.0) -> list[str]:
    """What is surely off today, after some days; thin cuts to the left are seen ``shift`` thicker today."""
    rng, player = np.random.default_rng([seed, 1]), Player(nature, np.random.default_rng([seed, 2]))
    calls = []
    for k in range(EARLIER + TODAY):
        if k % A_DAY == 0 or k == EARLIER:
            player.begin_set()
        today = k >= EARLIER
        sine = float(rng.uniform(-0.9, 0.9))
        seen = player.sees(math.degrees(math.asin(sine)), 1.0 - abs(sine))
        player.answered(seen)
        error = seen - (1.0 - abs(sine)) + shift * (today and sine > 0.5)
        day = EARLIER if today else k // A_DAY
        calls.append(
            Call(sine, error, error, error, abs(error) < 1 / 32, "slide down", str(day), 739_000 + day)
        )
    found = today_shifts(calls[EARLIER:], calls[:EARLIER])
    return [one.shots for one in found.shifts if one.is_sure]


def test_hardly_anybody_is_told_of_what_is_not_off() -> None:
    """Seven things are looked at, of calls that are pulled by those before: two and a half sd won't do."""
    assert sum(bool(told(PULLED, seed)) for seed in range(10)) <= 1


def test_most_are_told_of_a_tenth_of_a_ball() -> None:
    """And of where it is: with four sd and more, half of them would go to the table without a word."""
    shots = GROUPS[1]
    assert shots == "thin cuts to the left"
    assert sum(shots in told(PLAIN, seed, 0.1) for seed in range(12)) >= 7
