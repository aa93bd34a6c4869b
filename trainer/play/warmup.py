"""The warm-up: five minutes before a match, and one sentence to take to the table.

Straight ones first, then a spread from thick to thin, to both sides in turn; then what this player is known
to see wrong, or what is known least; and at the end what the player sees well. Its progress follows
from its calls alone, so that a question asked again is the same.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from trainer.drills import ANGLE, DRILLS, Question
from trainer.drills.words import small
from trainer.history.attempt import Attempt
from trainer.history.store import PlayedSet
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.tally import Tally
from trainer.learner.today_shift import EVERYTHING, LINE, WIDTH, Shift, today_shifts
from trainer.learner.verdicts import THICK, THIN, TRUE, KindVerdict, kind_verdicts
from trainer.levels.level import Level
from trainer.play.calls import call_of
from trainer.play.pair import without_seconds
from trainer.play.set_in_play import Keeper, SetInPlay, eye_at
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import Style
from trainer.shots.truth import truth_of

NAME = "warmup"
SECONDS = 300.0  # of a warm-up without a number of shots
PAUSE = 30.0  # seconds: a longer time between two calls is a break, and counts as this
LEFT_FOR = 600.0  # seconds: a warm-up that was left for longer is over
MOST_SHOTS = 200  # in a warm-up by the clock
PACE, USUAL = 10.0, 3  # the prior of seconds a shot, and how many shots it is worth
# Up to this part of the warm-up each sort of shot is asked.
STRAIGHT, SPREAD, WEAK = 0.1, 0.5, 0.8
STRAIGHTEST, THICKEST, THINNEST = (math.sin(math.radians(cut)) for cut in (3.0, 5.0, 65.0))
MOST_WEAK, MOST_WELL = 3, 4  # kinds of shot
HISTORY = 80  # earlier calls from which it can be said that the eye is as usual
BEFORE = 600  # earlier calls that are looked at
ENOUGH = 10  # calls today from which anything can be said
SCATTERED = 2.5  # times the usual scatter: the eye isn't warm yet
TOO_FEW = "Too few shots to say how your eye is today."
SLOWLY = "Today your calls scatter: look longer before you trust a line."
AS_USUAL, NOTHING = "Your eye is as usual", "Nothing stands out: trust your eye."

LEVEL = Level(
    name=NAME,
    title="Warm-up",
    teaches="Five minutes before a match: thick to thin, what you see wrong, and at last what you see well.",
    drill="slide",
    views=("down", "standing", "plan"),
    adaptive=False,
    limits=Limits(cuts=(0.0, 70.0), cue_distance=(300.0, 1000.0), pocket_distance=(250.0, 900.0)),
    shots=0,  # as many as there is time for
    passed=None,
)


class Warmup(SetInPlay):
    """A warm-up under way. It goes by the clock, unless a number of shots was asked for.

    By the clock ``of`` is about how many shots it will be.
    """

    def __init__(self, game: Keeper, level: Level, kept: PlayedSet) -> None:
        super().__init__(game, level, kept)
        self.by_clock = not kept.shots
        self._foresee()

    @property
    def part(self) -> float:
        """How much of it is over, from 0 to 1 and a little beyond."""
        played = self.number - 1
        if self.by_clock:
            return max(seconds_of(self.attempts) / SECONDS, played / MOST_SHOTS)
        return played / self.kept.shots

    @property
    def seconds_left(self) -> float:
        """How long it goes on, where it goes by the clock."""
        return max(SECONDS - seconds_of(self.attempts), 0.0)

    @property
    def done(self) -> bool:
        """Whether its time, or its number of shots, is over."""
        return self.part >= 1.0

    @property
    def closing(self) -> str:
        """What to take to the table, in one sentence."""
        mine = [call_of(attempt) for attempt in self.attempts]
        drills = [name for name, drill in DRILLS.items() if drill.skill == ANGLE]
        lately = self.game.history.last_attempts(BEFORE, drills)
        before = [call_of(each) for each in without_seconds(lately) if each.set_id != self.kept.id]
        known = self.game.diagnosis.worst
        return closing(mine, before, known.short if known else "", self.game.style)

    def _foresee(self) -> None:
        if self.by_clock:
            # The prior counts as a few shots of today's.
            gone, shots = seconds_of(self.attempts), len(self.attempts)
            pace = (gone + USUAL * PACE) / (shots + USUAL)
            self.of = min(self.number - 1 + max(math.ceil(self.seconds_left / pace), 1), MOST_SHOTS)

    def _ask(self) -> Question:
        self._foresee()
        rng = np.random.default_rng([self.kept.seed, self.number])
        side = 1.0 if (self.number + self.kept.seed) % 2 else -1.0
        sine = sine_asked(rng, self.part, side, self.skill.belief, self.skill.tally)
        shot = draw(rng, 1, LEVEL.limits, [sine * LEVEL.limits.table.reach])[0]
        eye = eye_at(self.skill.belief, sine, f"{LEVEL.drill} {LEVEL.views[0]}")
        return LEVEL.question(shot, truth_of(shot), rng, eye)


def sine_asked(rng: np.random.Generator, part: float, side: float, belief: Belief, tally: Tally) -> float:
    """The sine of the signed cut (+ left) that is asked at a part of the warm-up.

    ``side`` is where the first half's shots go (1 left, -1 right); ``belief`` and ``tally`` are the player's.
    """
    first, along = rng.random(2).tolist()
    if part < STRAIGHT:
        return side * STRAIGHTEST * float(first)
    if part < SPREAD:
        return side * (THICKEST + (THINNEST - THICKEST) * (part - STRAIGHT) / (SPREAD - STRAIGHT))
    rows = [row for row in kind_verdicts(belief, tally) if min(map(abs, _stretch(row))) < THINNEST]
    some = weakest(rows) if part < WEAK else best_seen(rows)
    low, high = _stretch(some[int(first * len(some))])
    return float(np.clip(low + (high - low) * along, -THINNEST, THINNEST))


def goes_on(kept: PlayedSet, attempts: Sequence[Attempt], now_ms: int) -> bool:
    """Whether a warm-up that was left is still worth going on with: its time isn't over, nor long past."""
    mine = [attempt for attempt in attempts if attempt.set_id == kept.id]
    if not mine or now_ms - mine[-1].epoch_ms > 1000 * LEFT_FOR:
        return False
    return kept.done < kept.shots if kept.shots else seconds_of(mine) < SECONDS


def seconds_of(attempts: Sequence[Attempt]) -> float:
    """How long a warm-up has lasted up to its last call, without the breaks."""
    if not attempts:
        return 0.0
    gaps = [(after.epoch_ms - before.epoch_ms) / 1000.0 for before, after in pairwise(attempts)]
    return sum(min(max(gap, 0.0), PAUSE) for gap in (attempts[0].seconds or 0.0, *gaps))


def weakest(rows: Sequence[KindVerdict]) -> list[KindVerdict]:
    """What is seen thick or thin, the worst few; or else what is known least."""
    told = sorted((row for row in rows if row.verdict in (THICK, THIN)), key=lambda row: -abs(row.bias))
    return (told or sorted(rows, key=lambda row: row.low - row.high))[:MOST_WEAK]


def best_seen(rows: Sequence[KindVerdict]) -> list[KindVerdict]:
    """What is surely seen true, the surest few; or else the thicker ones seen least wrong."""
    true = sorted((row for row in rows if row.verdict == TRUE), key=lambda row: row.high - row.low)
    thick = [row for row in rows if max(map(abs, _stretch(row))) <= 0.6]
    return (true or sorted(thick, key=lambda row: abs(row.bias)))[:MOST_WELL]


def _stretch(row: KindVerdict) -> tuple[float, float]:
    """The signed sines of a kind's cuts, low and high."""
    return row.kind.sines


def closing(today: Sequence[Call], before: Sequence[Call], known: str, style: Style) -> str:
    """One sentence to take to the table; of today it says only what today's calls support.

    Parameters
    ----------
    today, before : sequence of Call
        The calls of the warm-up, and those of the same skill from before it.
    known : str
        What is known to be wrong with this eye, as a sentence; '' for nothing.
    style : Style
    """
    earlier = [call for call in before if call.tells]
    found = today_shifts(today, earlier)
    if found.calls < ENOUGH:
        return TOO_FEW
    surest = max(found.shifts, key=lambda shift: shift.sure)
    if surest.is_sure:
        return _today(surest, style)
    if found.scatter > SCATTERED:
        return SLOWLY
    if known:
        return f"{AS_USUAL}: {small(known)}"
    return f"{AS_USUAL}." if len(earlier) >= HISTORY else NOTHING


def _today(shift: Shift, style: Style) -> str:
    """What is off today, and how to aim."""
    by = f"{style.one_over(shift.error)} ball"
    if shift.shots == LINE:
        side, other = ("right", "left") if shift.error > 0 else ("left", "right")
        return f"Today your line of aim lies {by} to the {side}, so aim a little more to the {other}."
    way, mend = ("thick", "thinner") if shift.error > 0 else ("thin", "thicker")
    if shift.shots == WIDTH:
        return f"Today your cuts go {way}, the thinner the more ({by} at half ball), so aim them {mend}."
    these = "" if shift.shots == EVERYTHING else "those "
    return f"Today you see {shift.shots} {by} {way}, so aim {these}a little {mend}."
