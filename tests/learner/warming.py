"""Simulated players who warm up: calls on earlier days, then thirty shots of a warm-up, and its sentence.

The cuts are those that the warm-up asks; the answers are what a player sees, who shares no formula with
the belief. Only shots, pictures and disk are left out.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.tally import Tally
from trainer.learner.verdicts import believe, kind_verdicts
from trainer.play.warmup import closing, sine_asked
from trainer.shots.style import USUAL
from trainer.simulate.players import Nature, Player

SHOTS = 30
A_DAY = 20
WIDEST = 0.9  # sine of the thinnest cut on earlier days
THIN = 0.5  # from this sine on a cut is thin


@dataclass(frozen=True)
class Morning:
    """What players have in common: their nature, ``earlier`` calls, and what is off today alone.

    Today thin cuts to the left are seen ``shift`` balls thicker than usual.
    """

    nature: Nature
    earlier: int = 0
    shift: float = 0.0


def sentence(morning: Morning, seed: int) -> str:
    """What one player is told at the end of the warm-up."""
    rng = np.random.default_rng([seed, 1])
    player = Player(morning.nature, np.random.default_rng([seed, 2]))
    before = []
    for k in range(morning.earlier):
        if k % A_DAY == 0:
            player.begin_set()
        before.append(_called(player, float(rng.uniform(-WIDEST, WIDEST)), k // A_DAY))
    belief: Belief = believe(before)
    player.begin_set()
    today: list[Call] = []
    for number in range(SHOTS):
        side = 1.0 if number % 2 else -1.0
        sine = sine_asked(rng, number / SHOTS, side, belief, Tally(before + today))
        call = _called(player, sine, 1 + morning.earlier // A_DAY)
        if sine > THIN:
            s = morning.shift
            call = replace(call, low=call.low + s, high=call.high + s, error=call.error + s)
        belief.update(call)
        today.append(call)
    return closing(today, before, kind_verdicts(belief, Tally(before + today)), USUAL)


def _called(player: Player, sine: float, day: int) -> Call:
    fullness = 1.0 - abs(sine)
    seen = player.sees(math.degrees(math.asin(sine)), fullness)
    player.answered(seen)
    error = seen - fullness
    return Call(sine, error, error, error, abs(error) < 1 / 32, "slide down", str(day), 739_000 + day)
