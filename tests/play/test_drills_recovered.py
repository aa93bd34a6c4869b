"""A player with a known fault, found from one drill alone.

Measured, 20 players a drill with a fault of .06 ball about one cut, noise .05, both sides, free practice:
found by half of them after 87 calls of `slide`, 72 of `edge`, 87 of `throw` and 105 of `back`, by 19 in 20
after 153, 131, 153 and 417 (bands of an eighth: 163 and 267); of 10 without a fault none was accused.
Of 10 players `send` found it in half after 146 calls, in all after 300. What `judge`, `straight`, `same`,
`leave` and `cushion` find stands in their own tests.
"""

import numpy as np
import pytest

from trainer.levels.shelf import open_shelf
from trainer.play.named_levels import level_named
from trainer.simulate.players import Nature
from trainer.simulate.simulation import outcome, with_bump

EYE = Nature(noise=0.05, lapse=0.02)


@pytest.mark.long
@pytest.mark.parametrize(
    ("drill", "calls"), [("slide", 180), ("edge", 180), ("throw", 180), ("back", 420), ("send", 340)]
)
def test_a_fault_is_found_from_one_drill_alone(drill: str, calls: int) -> None:
    level = level_named(open_shelf(), None, drill)
    found, curves = 0, []
    for seed in range(6):
        nature = with_bump(EYE, level, 0.06, np.random.default_rng([seed, 9]))
        made = outcome(level, nature, days=calls // 20, shots=20, seed=seed)
        found += made.found[0] is not None
        curves.append(made.rmse)
        assert made.noise == pytest.approx(0.05, rel=0.25)
    assert found >= 5
    assert np.mean(curves) < 0.013
