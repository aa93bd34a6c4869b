"""The weekly measure: 24 shots that are as hard every week and never the same, to see what has changed.

Its cuts are spread alike each time, each goes to both sides, and every shot is drawn until it forgives as
much as the shot of that cut always does. Nothing the player was seen to do decides what is asked, and what is
called teaches the choice of shots nothing (``learns_from`` in ``play/calls.py``): practice measured by its
own shots looks better than it is.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from trainer.drills import Question
from trainer.drills.words import capital, counted
from trainer.history.attempt import Attempt
from trainer.history.clock import short_date
from trainer.history.store import History, PlayedSet
from trainer.learner.measured import FEWEST, FIRST, Measured, measured, trend
from trainer.levels.level import MEASURE, Level
from trainer.play.set_in_play import SetInPlay
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import Style
from trainer.shots.truth import truth_of, work_out

SHOTS, SIDES = 24, 2
THICKEST, THINNEST = 0.04, 0.88  # sines of the cuts
STRETCH = (THINNEST - THICKEST) / (SHOTS // SIDES)
FORGIVES = 0.05  # balls, straight; of a cut as much less as its cosine is, so that distances don't tell it
NEAR = 0.02  # the part by which it may be off
BATCH = 8  # shots, of which the one that forgives thick and thin most alike is asked
EVERY = 7  # days
AGAIN = "Next week other shots, as hard, tell more."

LEVEL = Level(
    name=MEASURE,
    title="Weekly measure",
    teaches="24 shots, as hard every week, to see what has changed.",
    drill="slide",
    views=("down",),
    adaptive=False,
    limits=Limits(cuts=(0.0, 65.0), cue_distance=(500.0, 800.0), pocket_distance=(300.0, 1000.0)),
    shots=SHOTS,
    passed=None,
)


class WeeklyMeasure(SetInPlay):
    """A measure under way."""

    @property
    def closing(self) -> str:
        """What it came to beside the weeks before, in a few words."""
        return closing(self.attempts, measures_of(self.game.history), self.game.style)

    @property
    def findings(self) -> tuple[str, ...]:
        """The same, as any set says it at its end."""
        return (self.closing,)

    def _ask(self) -> Question:
        place = int(np.argsort(np.random.default_rng([self.kept.seed, 0]).random(SHOTS))[self.number - 1])
        stretch, side = divmod(place, SIDES)
        rng = np.random.default_rng([self.kept.seed, self.number])
        sine = (THICKEST + STRETCH * (stretch + float(rng.random()))) * (1.0 if side else -1.0)
        forgives = forgiven(stretch)
        limits = replace(LEVEL.limits, forgives=(forgives * (1 - NEAR), forgives * (1 + NEAR)))
        shots = draw(rng, BATCH, limits, np.full(BATCH, sine * limits.table.reach))
        truths = work_out(shots)
        uneven = np.abs(truths.margin.sum(axis=1) - 2 * truths.fullness)
        shot = shots[int(uneven.argmin())]
        return LEVEL.question(shot, truth_of(shot), rng)


def forgiven(stretch: int) -> float:
    """How much the shots of a stretch of cuts forgive, in balls; the first is the thickest."""
    middle = THICKEST + STRETCH * (stretch + 0.5)
    return FORGIVES * math.sqrt(1.0 - middle * middle)


def goes_on(kept: PlayedSet, attempts: Sequence[Attempt], today: str) -> bool:
    """Whether a measure that was left can be gone on with: it is of one day."""
    mine = [attempt for attempt in attempts if attempt.set_id == kept.id]
    return kept.done < kept.shots and bool(mine) and mine[-1].local_day == today


def is_due(history: History) -> bool:
    """Whether it is a week since the last measure."""
    since = date.fromisoformat(history.today) - timedelta(days=EVERY - 1)
    return history.longest_set(LEVEL.name, since.isoformat()) < FEWEST


def measures_of(history: History) -> list[Measured]:
    """The measures of a history, in order: of each week from Monday to Sunday the first that is whole."""
    sets = dict[str, list[tuple[str, int, float]]]()
    for rows in history.brief(("set_id", "local_day", "potted", "error"), level=LEVEL.name):
        for set_id, day, potted, error in rows:
            sets.setdefault(set_id, []).append((day, potted, error))
    found = dict[tuple[int, int], Measured]()
    for calls in sets.values():
        days, potted, errors = zip(*calls, strict=True)
        week = date.fromisoformat(days[0]).isocalendar()[:2]
        if len(calls) >= FEWEST and week not in found:
            found[week] = measured(days[0], [bool(each) for each in potted], errors)
    return sorted(found.values(), key=lambda each: each.day)


# In words


def closing(attempts: Sequence[Attempt], known: Sequence[Measured], style: Style) -> str:
    """What a set came to, and what is known beside it.

    Parameters
    ----------
    attempts : sequence of Attempt
        Those of the set.
    known : sequence of Measured
        All measures, with that of the set if it counts as one.
    style : Style
    """
    if len(attempts) < FEWEST:
        return f"Too few shots: a measure takes {SHOTS}."
    mine = measured(attempts[0].local_day, [a.potted for a in attempts], [a.error for a in attempts])
    said = [f"{result(mine, style)}."]
    if mine not in known:
        return f"{said[0]} This week has its measure already: this one stays out of the chart."
    before = [each for each in known if each.day < mine.day]
    if not before:
        return f"{said[0]} {AGAIN}"
    last = before[-1]
    said.append(
        f"{short_date(last.day).strip()}: {last.potted} of {last.shots}, {ball(last.typical, style)} ball."
    )
    return " ".join([*said, change_sentence([*before, mine], style)])


def result(mine: Measured, style: Style) -> str:
    """``14 of 24 go in, 1/21 ball off on average (sure: 9 to 18, 1/30 to 1/15)``."""
    fewest, most = pots(mine)
    least, largest = (ball(end, style) for end in mine.typical_range)
    return (
        f"{mine.potted} of {mine.shots} go in, {ball(mine.typical, style)} ball off on average "
        f"(sure: {fewest} to {most}, {least} to {largest})"
    )


def pots(mine: Measured) -> tuple[int, int]:
    """The interval of the pots, in shots."""
    low, high = mine.share
    return round(low * mine.shots), round(high * mine.shots)


def ball(part: float, style: Style) -> str:
    """A part of a ball as fine as a measure is told: ``1/21``, or ``0.048``."""
    return f"{part:.3f}" if style.decimal else f"1/{round(1 / part)}"


def change_sentence(measures: Sequence[Measured], style: Style) -> str:
    """What has changed over the weeks; only what is sure is told."""
    found = trend(measures)
    if found is None:
        more = FIRST - len(measures)
        return f"{capital(counted(more, 'more week'))}, and a change can be told."
    since = short_date(found.since).strip()
    if not found.sure:
        return f"No sure change since {since}."
    way = "Better" if found.better else "Worse"
    then, now = ball(found.then, style), ball(found.now, style)
    return f"{way} for sure: from {then} ball off on {since} to {now}."
