"""Whether a fault of a month ago has become smaller: said only with the calls that it takes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.geometry.bands import bands
from trainer.learner.average import Average, average, without_strays
from trainer.learner.call import Call
from trainer.learner.report import SIDES, stretch

THEN, NOW = (21, 70), (0, 13)  # days ago, from and to: two stretches with a week and more between them
SURE = 3.0  # standard errors: this is looked at day after day, but the same calls count for weeks
POWER = 1.64  # standard errors more, so that 19 of 20 real changes are seen
SMALLER = 0.5  # a fault half as large is what a player wants to hear of
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
    found = []
    calls = [c for c in calls if not c.compares and (math.isfinite(c.low) or math.isfinite(c.high))]
    calls = [c for c in calls if today - c.day <= THEN[1]]
    for band in bands():
        for side, sign in SIDES:
            low, high = stretch(band, sign)
            mine = [c for c in calls if low <= c.sine < high or (c.sine == high == 1.0)]
            change = _change(band.name, side, _between(mine, today, THEN), _between(mine, today, NOW))
            if change is not None:
                found.append(change)
    return found


def _between(calls: Sequence[Call], today: int, days: tuple[int, int]) -> Average | None:
    """Errors of so many days ago on the whole, without those that are far from all others."""
    mine = [c for c in calls if days[0] <= today - c.day <= days[1]]
    if len(mine) >= FEWEST:
        mine = without_strays(mine)
    return average(mine) if mine else None


def _change(band: str, side: str, then: Average | None, now: Average | None) -> Change | None:
    if then is None or then.calls < FEWEST or abs(then.mean) <= SURE * then.error:
        return None
    calls, missing = (now.calls if now else 0), _missing(then, now)
    if now is None or calls < 2:
        return Change(band, side, then.mean, math.nan, False, missing)
    # A few calls may lie close together by chance.
    error = math.hypot(then.error, max(now.error, math.sqrt(then.variance / 4 / calls)))
    # Smaller on its own side, and not as large on the other.
    gain = math.copysign(1.0, then.mean) * (then.mean - now.mean)
    better = calls >= FEWEST and gain > SURE * error and abs(now.mean) < abs(then.mean)
    return Change(band, side, then.mean, now.mean, better, None if better else missing)


def _missing(then: Average, now: Average | None) -> int | None:
    """How many calls of late there must be for a fault half as large to be told, less those there are."""
    needed = (SMALLER * abs(then.mean) / (SURE + POWER)) ** 2 - then.error**2
    if needed <= 0:
        return None
    calls = now.calls if now else 0
    return max(math.ceil(then.variance / needed) - calls, FEWEST - calls, 0)
