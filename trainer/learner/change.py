"""Whether a fault of a month ago has become smaller: said only with the calls that it takes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.geometry.bands import bands
from trainer.geometry.vectors import Floats
from trainer.learner.call import Call
from trainer.learner.report import SIDES, stretch

THEN, NOW = (21, 70), (0, 13)  # days ago, from and to: two stretches with a week and more between them
SURE = 3.0  # standard errors: this is looked at day after day, but the same calls count for weeks
POWER = 1.64  # standard errors more, so that 19 of 20 real changes are seen
SMALLER = 0.5  # a fault half as large is what a player wants to hear of
STRAY = 4.0  # spreads from the middle: a lapse, not an answer
FEWEST = 8  # calls in each stretch, or their spread is anybody's guess


@dataclass(frozen=True)
class Change:
    """A kind of shot that was seen thick or thin: its mean error then and now, in balls, + thick.

    ``better``: it surely is smaller. Else ``missing`` is about how many more calls of late it takes
    to say that a fault half as large is smaller; None where no number would do.
    """

    band: str
    side: str
    then: float
    now: float
    better: bool
    missing: int | None


def changes(calls: Sequence[Call], today: int) -> list[Change]:
    """Every kind of shot whose error was sure a month ago, thick to thin, left before right."""
    found, calls = [], [call for call in calls if not call.compares]
    for band in bands():
        for side, sign in SIDES:
            low, high = stretch(band, sign)
            mine = [c for c in calls if low <= c.sine < high or (c.sine == high == 1.0)]
            change = _change(band.name, side, _between(mine, today, THEN), _between(mine, today, NOW))
            if change is not None:
                found.append(change)
    return found


def _between(calls: Sequence[Call], today: int, days: tuple[int, int]) -> Floats:
    """Errors of so many days ago, without those that are far from all others."""
    errors = np.array([c.error for c in calls if days[0] <= today - c.day <= days[1]])
    if len(errors) < FEWEST:
        return errors
    middle = float(np.median(errors))
    # 1.4826 times the median distance is a normal spread; half a step of answers at the least.
    spread = max(1.4826 * float(np.median(np.abs(errors - middle))), 0.02)
    return errors[np.abs(errors - middle) <= STRAY * spread]


def _change(band: str, side: str, then: Floats, now: Floats) -> Change | None:
    if len(then) < FEWEST:
        return None
    before, variance = float(then.mean()), float(then.var(ddof=1))
    if abs(before) <= SURE * math.sqrt(variance / len(then)):
        return None
    if len(now) < 2:
        return Change(band, side, before, math.nan, False, _missing(before, variance, len(then), len(now)))
    after = float(now.mean())
    error = math.sqrt(variance / len(then) + max(float(now.var(ddof=1)), variance / 4) / len(now))
    # Smaller on its own side, and not as large on the other.
    gain = math.copysign(1.0, before) * (before - after)
    better = len(now) >= FEWEST and gain > SURE * error and abs(after) < abs(before)
    missing = None if better else _missing(before, variance, len(then), len(now))
    return Change(band, side, before, after, better, missing)


def _missing(before: float, variance: float, then: int, now: int) -> int | None:
    """How many calls of late there must be for a fault half as large to be told, less those there are."""
    needed = (SMALLER * abs(before) / (SURE + POWER)) ** 2 - variance / then
    if needed <= 0:
        return None
    return max(math.ceil(variance / needed) - now, FEWEST - now, 0)
