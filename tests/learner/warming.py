"""Simulated players who warm up: calls on earlier days, then thirty shots of a warm-up, and its sentence.

The cuts are those that the warm-up asks; the answers are what a player sees, who shares no formula with
the belief. Only shots, pictures and disk are left out.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from practising import believe

from trainer.drills.question import bounds
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.tally import Tally
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

    Today thin cuts to the left are seen ``shift`` balls thicker than usual, and the line of aim lies
    ``right`` balls farther to the right. The earlier calls are a number ("slide"), the nearest eighth
    ("band"), or the best of nine points a sixteenth apart, the true one anywhere among them ("aim").
    """

    nature: Nature
    earlier: int = 0
    shift: float = 0.0
    right: float = 0.0
    drill: str = "slide"


def sentence(morning: Morning, seed: int) -> str:
    """What one player is told at the end of the warm-up."""
    rng = np.random.default_rng([seed, 1])
    player = Player(morning.nature, np.random.default_rng([seed, 2]))
    before = []
    for k in range(morning.earlier):
        if k % A_DAY == 0:
            player.begin_set()
        sine = float(rng.uniform(-WIDEST, WIDEST))
        before.append(_answered(_called(player, sine, k // A_DAY), morning.drill, rng))
    belief: Belief = believe(before)
    player.begin_set()
    today: list[Call] = []
    for number in range(SHOTS):
        side = 1.0 if number % 2 else -1.0
        sine = sine_asked(rng, number / SHOTS, side, belief, Tally(before + today))
        call = _called(player, sine, 1 + morning.earlier // A_DAY)
        off = morning.shift * (sine > THIN) - math.copysign(morning.right, sine)
        call = replace(call, low=call.low + off, high=call.high + off, error=call.error + off)
        belief.update(call)
        today.append(call)
    return closing(today, before, "", USUAL)


def _answered(call: Call, drill: str, rng: np.random.Generator) -> Call:
    """The same with an answer out of a row."""
    if drill == "slide":
        return call
    if drill == "band":
        answers = np.arange(1, 9) / 8 - call.fullness
    else:
        answers = (np.arange(9) - rng.integers(9)) / 16
    error = float(answers[np.abs(answers - call.error).argmin()])
    low, high = bounds(error, answers.tolist())
    return replace(call, low=low, high=high, error=error, condition=f"{drill} down")


def _called(player: Player, sine: float, day: int) -> Call:
    fullness = 1.0 - abs(sine)
    seen = player.sees(math.degrees(math.asin(sine)), fullness)
    player.answered(seen)
    error = seen - fullness
    return Call(sine, error, error, error, abs(error) < 1 / 32, "slide down", str(day), 739_000 + day)
