"""Simulated players at the game: they practise day by day, and the learner says what it finds.

The learner, the choice of shots and the drills are those of the game; only pictures and disk are left out.
Shots come out of a stock that is drawn once, since drawing each anew is what would take the time.
"""

import math
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.drills import DRILLS, Choice, Eye, Question
from trainer.drills.same import SameQuestion
from trainer.geometry.fullness import SIGNS
from trainer.geometry.vectors import Floats
from trainer.learner import verdicts
from trainer.learner.belief import Belief
from trainer.learner.call import Call, thrown_by
from trainer.learner.choice import choose
from trainer.learner.tally import Tally
from trainer.levels.level import Level, narrowed, narrowed_each
from trainer.play.set_in_play import BATCH, eye_at
from trainer.shots.draw import draw, even_offsets
from trainer.shots.truth import work_out
from trainer.simulate.players import Bump, Nature, Player

STEP = 85  # shots in the stock for each of a batch
NEAR = 7.5  # degrees: a bias told this near to a bump is that bump
# A bias is told wrongly where the player has none of its sign, as large as this, so near in so many days.
LEAST = 0.005  # balls
ABOUT = np.array([-5.0, -2.5, 0.0, 2.5, 5.0])  # degrees
FRESH = 4  # days, today among them: what is gone may be told a little longer
FIRST_DAY = 739_000  # any
PLACES = np.sin(np.radians(np.arange(-72.5, 73.0, 2.5)))  # cuts at which what is told is looked at


@dataclass(frozen=True)
class AfterCall:
    """After a call: which it was (from 1), the call, the log of its forecast, belief and player by then."""

    number: int
    call: Call
    log_score: float
    belief: Belief
    player: Player


def practise(
    level: Level, nature: Nature, *, days: int, shots: int, seed: int, free: bool = False
) -> Iterator[AfterCall]:
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
    AfterCall
        After each call; the belief and the player in it go on changing.
    """
    rng, stock = np.random.default_rng([seed, 1]), _stock(level)
    player, belief = Player(nature, np.random.default_rng([seed, 2])), Belief()
    tally, where = Tally(), f"{level.drill} {level.views[0]}"
    for day in range(days):
        if day:
            player.sleep()
        set_seed = int(rng.integers(1 << 32))
        player.begin_set()
        for number in range(1, shots + 1):
            today = FIRST_DAY + day
            rests = verdicts.resting(belief, tally, today) if level.adaptive and day else []
            wanted = np.random.default_rng([set_seed, number])
            batch = stock.batch(wanted)
            at = choose(
                belief,
                stock.sines[batch],
                wanted,
                resting=rests,
                adaptive=level.adaptive,
            )
            place = int(batch[at])
            eye = eye_at(belief, float(stock.sines[place]), where)
            question = stock.ask(place, wanted, eye)
            if free:
                call = _free_call(question, player, where, str(day), today)
            else:
                call = call_made(question, answer(question, player), where, str(day), today)
            score = belief.update(call)
            tally.take(call)
            yield AfterCall(tally.calls, call, score, belief, player)


class _Stock:
    """Shots of a level that cover it evenly, thick to thin, what is true of them, and their sines."""

    def __init__(self, level: Level) -> None:
        rng, limits = np.random.default_rng(7), narrowed(level)
        offsets = even_offsets(rng, BATCH * STEP, limits)
        self.level = level
        ordered, kinds = offsets[np.argsort(np.abs(offsets))], len(level.strokes) or 1
        each = narrowed_each(level)
        parts = [draw(rng, len(ordered[k::kinds]), one, ordered[k::kinds]) for k, one in enumerate(each)]
        truths = [work_out(part) for part in parts]
        # Every stroke by turns, so that each comes at every fullness.
        self.shots = [parts[i % kinds][i // kinds] for i in range(len(ordered))]
        self.truths = [truths[i % kinds][i // kinds] for i in range(len(ordered))]
        self.sines: Floats = np.array([truth.offset for truth in self.truths]) / limits.table.reach

    def batch(self, rng: np.random.Generator) -> NDArray[np.intp]:
        """Places of shots to choose from: one of each step of fullness, in random order, as in the game."""
        return rng.permutation(np.arange(BATCH) * STEP + rng.integers(STEP, size=BATCH))

    def ask(self, at: int, rng: np.random.Generator, eye: Eye) -> Question:
        """The question about one of the shots."""
        return DRILLS[self.level.drill].ask(self.level, self.shots[at], self.truths[at], rng, eye)


@lru_cache(maxsize=4)
def _stock(level: Level) -> _Stock:
    return _Stock(level)


def answer(question: Question, player: Player) -> Choice:
    """What a player calls who sees the shot of a question."""
    truth, drill = question.truth, DRILLS[question.drill]
    seen = player.sees(math.degrees(truth.cut), truth.fullness)
    if isinstance(question, SameQuestion):  # each is looked at, and the one taken that looks most alike
        looks = np.array([player.sees(math.degrees(o.truth.cut), o.truth.fullness) for o in question.options])
        choice = question.choices[player.answers(seen, looks)]
    else:
        choice = drill.answer(question, seen - truth.fullness)
    settled = drill.settled(question, choice)
    player.answered(settled.truth.fullness + drill.error(settled, choice.value))
    return choice


def call_made(question: Question, choice: Choice, where: str, set_id: str, day: int) -> Call:
    """What the learner is told of an answer, as by its mark; whether it pots is told by the margin alone."""
    drill = DRILLS[question.drill]
    question = drill.settled(question, choice)
    offset, error = drill.called_offset(question, choice.value), drill.error(question, choice.value)
    least, most = drill.forgiven(question)
    right = drill.is_right(question, choice, least <= error <= most)
    told = drill.told(question.asked, choice, error, offset, right)
    return told.at(where, set_id, day, thrown_by(question.truth.cut, question.truth.throw))


def _free_call(question: Question, player: Player, where: str, set_id: str, day: int) -> Call:
    """A player says just what is seen."""
    truth = question.truth
    seen = player.sees(math.degrees(truth.cut), truth.fullness)
    against = None
    if isinstance(question, SameQuestion):  # by how much the shot that is alike looks otherwise
        other = question.options[question.best].truth
        seen -= player.sees(math.degrees(other.cut), other.fullness) - other.fullness
        against = math.sin(other.cut)
    player.answered(seen)
    error = seen - truth.fullness
    right = truth.margin[0] <= seen <= truth.margin[1]
    return Call(math.sin(truth.cut), error, error, error, right, where, set_id, day, against)


@dataclass(frozen=True)
class Outcome:
    """What the learner found of one player.

    ``found`` is the number of the call after which each bump was told, in the right place and of the
    right sign (None: never), ``accused`` of the first after which a bias was told that the player hasn't
    got; ``noise`` is what it thinks at a cut of 35 degrees, ``rmse`` how far its curve is off, in balls.
    """

    calls: int
    found: tuple[int | None, ...]
    accused: int | None
    noise: float
    rmse: float


def outcome(
    level: Level,
    nature: Nature,
    *,
    days: int,
    shots: int,
    seed: int,
    free: bool = False,
    progress: Callable[[int], object] = lambda calls: None,
) -> Outcome:
    """Let a player practise and look at what is told after every call; parameters as in `practise`.

    ``progress`` is told now and then how many calls have been made since it was told last.
    """
    found: list[int | None] = [None] * len(nature.bumps)
    accused, at = None, places_of(level)
    cuts = np.degrees(np.arcsin(at))
    had, today = deque[NDArray[np.bool_]](maxlen=FRESH), None
    after = None
    for after in practise(level, nature, days=days, shots=shots, seed=seed, free=free):
        if after.call.day != today:
            today = after.call.day
            had.append(_has(after.player.nature, cuts))
            progress(min(after.number - 1, shots))
        mean, sd = after.belief.curve(at)
        told = verdicts.is_sure(mean, sd)
        if not told.any():
            continue
        thick = mean > 0
        for k, bump in enumerate(after.player.nature.bumps):
            there = told & (thick == (bump.size > 0)) & (np.abs(cuts - bump.cut) <= NEAR)
            if found[k] is None and there.any():
                found[k] = after.number
        is_thick, is_thin = np.any(had, axis=0)
        if accused is None and (told & ~np.where(thick, is_thick, is_thin)).any():
            accused = after.number
    if after is None:
        return Outcome(0, tuple(found), None, math.nan, math.nan)
    progress(shots)
    truth = np.array([after.player.nature.bias(cut) for cut in cuts])
    mean, _ = after.belief.curve(at)
    noise = float(after.belief.noise([math.sin(math.radians(35.0))])[0])
    rmse = float(np.sqrt(np.mean((mean - truth) ** 2)))
    return Outcome(after.number, tuple(found), accused, noise, rmse)


def _has(nature: Nature, cuts: Floats) -> NDArray[np.bool_]:
    """Whether a player has a bias about each of the signed cuts (n,), degrees: thick, and thin; (2, n)."""
    biases = np.array([[nature.bias(cut + off) for off in ABOUT] for cut in cuts.tolist()])
    return np.array([(biases >= LEAST).any(axis=1), (biases <= -LEAST).any(axis=1)])


def places_of(level: Level) -> Floats:
    """Sines of the signed cuts of a level at which what is told is looked at."""
    inside = np.zeros(len(PLACES), bool)
    for low, high in narrowed(level).sines:
        inside |= (np.abs(PLACES) >= low - 1e-9) & (np.abs(PLACES) <= high + 1e-9)
    inside &= np.isin(np.sign(PLACES), [SIGNS[side] for side in level.limits.sides])
    if not inside.any():  # so narrow that it lies between two of them
        low, high = narrowed(level).sines[0]
        return np.array([SIGNS[side] * (low + high) / 2 for side in level.limits.sides])
    return np.asarray(PLACES[inside])


def with_bump(
    nature: Nature,
    level: Level,
    size: float,
    rng: np.random.Generator,
    wide: float = 12.0,
    sign: float = 0.0,
) -> Nature:
    """A nature with one bump more, anywhere in the level's cuts but their very ends.

    ``sign`` is that of the bump (+ thick), 0 for either at random.
    """
    stretches = []
    for ends in narrowed(level).sines:
        low, high = (math.degrees(math.asin(end)) for end in ends)
        inset = min(wide / 2, (high - low) / 4)
        stretches.append((low + inset, high - inset))
    along = float(rng.random()) * sum(high - low for low, high in stretches)
    cut = stretches[-1][1]
    for low, high in stretches:
        if along <= high - low:
            cut = low + along
            break
        along -= high - low
    cut *= SIGNS[level.limits.sides[int(rng.random() * len(level.limits.sides))]]
    either = 1.0 if rng.random() < 0.5 else -1.0
    bump = Bump(cut, size * (sign or either), wide)
    return replace(nature, bumps=(*nature.bumps, bump))
