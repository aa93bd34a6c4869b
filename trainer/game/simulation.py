"""Simulated players at the game: they practise day by day, and the learner says what it finds.

The learner, the choice of shots and the drills are those of the game; only pictures and disk are left out.
Shots come out of a stock that is drawn once, since drawing each anew is what would take the time.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from trainer.drills import DRILLS, Question
from trainer.geometry.vectors import Floats
from trainer.learner import report
from trainer.learner.belief import Belief
from trainer.learner.call import Call, bounds
from trainer.learner.choice import block_start, choose
from trainer.learner.players import Bump, Nature, Player
from trainer.shots.draw import draw, even_offsets
from trainer.shots.level import Level, narrowed
from trainer.shots.shot import Shots
from trainer.shots.truth import Truths, work_out

STOCK = 4096  # shots
BATCH = 48  # shots to choose from, as in the game
NEAR = 7.5  # degrees: a bias told this near to a bump is that bump
FAR = 15.0  # degrees: one told farther from every bump is none of the player's
FIRST_DAY = 739_000  # any
PLACES = np.sin(np.radians(np.arange(-72.5, 73.0, 2.5)))  # cuts at which what is told is looked at


@dataclass(frozen=True)
class Moment:
    """After a call: which it was (from 1), the call, the log of its forecast, belief and player by then."""

    number: int
    call: Call
    log_score: float
    belief: Belief
    player: Player


def practise(
    level: Level, nature: Nature, *, days: int, shots: int, seed: int, free: bool = False
) -> Iterator[Moment]:
    """Let a player of this nature practise a level.

    Parameters
    ----------
    level : Level
    nature : Nature
    days, shots : int
        Days in a row, and shots a day, in one set.
    seed : int
    free : bool
        The answer is what the player sees, not the nearest of the drill's choices.

    Yields
    ------
    Moment
        After each call; the belief and the player in it go on changing.
    """
    rng = np.random.default_rng([seed, 1])
    player, belief = Player(nature, np.random.default_rng([seed, 2])), Belief()
    calls: list[Call] = []
    for day in range(days):
        if day:
            player.sleep()
        set_seed, asked = int(rng.integers(1 << 32)), dict[int, float]()
        player.begin_set()
        for number in range(1, shots + 1):
            today = FIRST_DAY + day
            begins = level.adaptive and block_start(set_seed, number) == number
            rests = report.resting(belief, calls, today) if begins and day else []
            question = _ask(level, belief, set_seed, number, asked, rests)
            call = _answer(question, player, f"{level.drill} {level.views[0]}", str(day), today, free)
            asked[number] = call.sine
            score = belief.update(call)
            calls.append(call)
            yield Moment(len(calls), call, score, belief, player)


@lru_cache(maxsize=4)
def _stock(level: Level) -> tuple[Shots, Truths, Floats]:
    """Shots of a level that cover it evenly, what is true of them, and their sines."""
    rng, limits = np.random.default_rng(7), narrowed(level)
    shots = draw(rng, STOCK, limits, even_offsets(rng, STOCK, limits))
    truths = work_out(shots)
    return shots, truths, truths.offset / limits.table.reach


def _ask(
    level: Level,
    belief: Belief,
    seed: int,
    number: int,
    asked: dict[int, float],
    rests: Sequence[tuple[float, float]],
) -> Question:
    shots, truths, sines = _stock(level)
    rng = np.random.default_rng([seed, number])
    # The stock is in random order; as many stretches of it as there are shots to choose from.
    batch = (np.arange(BATCH) * (STOCK // BATCH) + rng.integers(STOCK // BATCH, size=BATCH)) % STOCK
    wanted = choose(
        belief,
        sines[batch],
        rng,
        number=number,
        seed=seed,
        asked=asked,
        resting=rests,
        adaptive=level.adaptive,
    )
    at = int(batch[wanted])
    return DRILLS[level.drill].ask(level, shots[at], truths[at], rng)


def _answer(question: Question, player: Player, where: str, set_id: str, day: int, free: bool) -> Call:
    truth, drill = question.truth, DRILLS[question.drill]
    seen = player.sees(math.degrees(truth.cut), truth.fullness)
    errors = np.array([drill.error(question, choice.value) for choice in question.choices])
    if free:
        error = low = high = seen - truth.fullness
    else:
        chosen = player.answers(seen, truth.fullness + errors)
        error = float(errors[chosen])
        low, high = bounds(error, errors.tolist())
    player.answered(truth.fullness + error)
    least, most = truth.margin
    return Call(
        sine=math.sin(truth.cut),
        low=low,
        high=high,
        error=error,
        right=least <= truth.fullness + error <= most,
        where=where,
        set_id=set_id,
        day=day,
    )


@dataclass(frozen=True)
class Outcome:
    """What the learner found of one player.

    ``found`` is the number of the call after which each bump was told, in the right place and of the
    right sign (None: never), ``accused`` of the first after which a bias was told where there is none;
    ``noise`` is what it thinks at a cut of 35 degrees, ``rmse`` how far its curve is off, in balls.
    """

    calls: int
    found: tuple[int | None, ...]
    accused: int | None
    noise: float
    rmse: float


def outcome(level: Level, nature: Nature, *, days: int, shots: int, seed: int, free: bool = False) -> Outcome:
    """Let a player practise and look at what is told after every call; parameters as in `practise`."""
    found: list[int | None] = [None] * len(nature.bumps)
    accused, at = None, places_of(level)
    moment = None
    for moment in practise(level, nature, days=days, shots=shots, seed=seed, free=free):
        mean, sd = moment.belief.curve(at)
        told = np.abs(mean) > report.SURE * sd
        if not told.any():
            continue
        cuts = np.degrees(np.arcsin(at))
        false = told.copy()
        for k, bump in enumerate(nature.bumps):
            same = told & (np.sign(mean) == math.copysign(1.0, bump.size))
            if found[k] is None and (same & (np.abs(cuts - bump.cut) <= NEAR)).any():
                found[k] = moment.number
            false &= ~(same & (np.abs(cuts - bump.cut) <= FAR))
        if accused is None and not nature.everywhere and not nature.step and false.any():
            accused = moment.number
    if moment is None:
        return Outcome(0, tuple(found), None, math.nan, math.nan)
    truth = np.array([moment.player.nature.bias(cut) for cut in np.degrees(np.arcsin(at))])
    mean, _ = moment.belief.curve(at)
    noise = float(moment.belief.noise([math.sin(math.radians(35.0))])[0])
    rmse = float(np.sqrt(np.mean((mean - truth) ** 2)))
    return Outcome(moment.number, tuple(found), accused, noise, rmse)


def places_of(level: Level) -> Floats:
    """Sines of the signed cuts of a level at which what is told is looked at."""
    thick, thin = (math.sin(math.radians(cut)) for cut in level.limits.cuts)
    inside = (np.abs(PLACES) >= thick - 1e-9) & (np.abs(PLACES) <= thin + 1e-9)
    inside &= np.isin(np.sign(PLACES), [{"left": 1.0, "right": -1.0}[side] for side in level.limits.sides])
    return np.asarray(PLACES[inside])


def with_bump(
    nature: Nature, level: Level, size: float, rng: np.random.Generator, wide: float = 12.0
) -> Nature:
    """A nature with one bump more, of either sign, anywhere in the level's cuts but their very ends."""
    low, high = level.limits.cuts
    cut = float(rng.uniform(low + wide / 2, high - wide / 2)) * (
        1.0 if level.limits.sides[int(rng.random() * len(level.limits.sides))] == "left" else -1.0
    )
    bump = Bump(cut, size * (1.0 if rng.random() < 0.5 else -1.0), wide)
    return Nature(**{**vars(nature), "bumps": (*nature.bumps, bump)})
