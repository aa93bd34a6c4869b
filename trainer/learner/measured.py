"""What a benchmark set says: how many shots go in, how far off calls are, how sure that is, what has changed.

Of change one figure alone is tested, the typical error: it is finer than the number of pots. The threshold is
set by simulation, so that whoever looks every week is rarely told of a change that isn't there
(``tests/benchmarks/bench_measure.py``).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist, fmean, variance

FEWEST = 20  # calls of a set from which it counts as a measure
FARTHEST = 1 / 8  # balls: a call that is farther off counts as this, so that one slip doesn't make a week
WEEKS = 12  # the last measures of which a change is told
FIRST = 4  # measures from which a change can be told
GOOD_DAYS = 0.1  # the part by which good and bad days differ by themselves: no measured value, one of ours
SURE = 2.8  # standard errors from which it is
NORMAL = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True)
class Measured:
    """One week's measure, each figure with its 95 % interval.

    ``share`` of its shots goes in. ``typical`` is the mean size of the errors in balls, each counted as
    ``FARTHEST`` at the most; ``error`` the mean error in balls, + thick, of the same.
    """

    day: str
    shots: int
    potted: int
    share: tuple[float, float]
    typical: float
    typical_range: tuple[float, float]
    error: float
    error_range: tuple[float, float]
    spread: float  # the variance of the logarithm of ``typical``, as far as the set itself tells it


@dataclass(frozen=True)
class Trend:
    """What the typical error did from the first measure to the last, by a line through its logarithm.

    ``then`` and ``now`` are the ends of that line, in balls; ``low`` and ``high`` the 95 % interval of
    ``now / then``; ``sure`` is whether it may be told.
    """

    since: str
    then: float
    now: float
    low: float
    high: float
    sure: bool

    @property
    def better(self) -> bool:
        """Whether calls are surely nearer to the truth than they were."""
        return self.sure and self.now < self.then


def measured(day: str, potted: Sequence[bool], errors: Sequence[float]) -> Measured:
    """The measure of a set, from what became of its shots and by how much they were off (balls, + thick)."""
    calls = len(errors)
    near = [max(-FARTHEST, min(FARTHEST, error)) for error in errors]
    sizes = [abs(error) for error in near]
    # Whoever is right to the hair every time has a size all the same: what a dial can't tell apart.
    typical = max(fmean(sizes), 1e-4)
    spread = max(variance(sizes) / typical**2, 1e-3) / calls
    mean, by = fmean(near), t_quantile(calls - 1)
    half, factor = by * math.sqrt(variance(near) / calls), math.exp(by * math.sqrt(spread))
    return Measured(
        day=day,
        shots=calls,
        potted=sum(potted),
        share=wilson(sum(potted), calls),
        typical=typical,
        typical_range=(typical / factor, typical * factor),
        error=mean,
        error_range=(mean - half, mean + half),
        spread=spread,
    )


def trend(measures: Sequence[Measured]) -> Trend | None:
    """What has changed over the last measures; None where there are too few to tell.

    A straight line over the days, by least squares. How far measures lie from it comes of their few shots,
    which each set tells by itself and all together tell well, and of good and bad days: where they lie
    farther from the line than these explain, it is as much less sure.
    """
    mine = measures[-WEEKS:]
    if len(mine) < FIRST:
        return None
    days = [date.fromisoformat(each.day).toordinal() for each in mine]
    logs = [math.log(each.typical) for each in mine]
    middle, mean = fmean(days), fmean(logs)
    wide = sum((day - middle) ** 2 for day in days)
    slope = sum((day - middle) * value for day, value in zip(days, logs, strict=True)) / wide
    apart = sum((value - mean - slope * (day - middle)) ** 2 for day, value in zip(days, logs, strict=True))
    noise = max(fmean(each.spread for each in mine) + GOOD_DAYS**2, apart / (len(mine) - 2))
    long = days[-1] - days[0]
    moved, error = slope * long, math.sqrt(noise / wide) * long
    return Trend(
        since=mine[0].day,
        then=math.exp(mean + slope * (days[0] - middle)),
        now=math.exp(mean + slope * (days[-1] - middle)),
        low=math.exp(moved - NORMAL * error),
        high=math.exp(moved + NORMAL * error),
        sure=abs(moved) >= SURE * error,
    )


def wilson(hits: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share by Wilson (1927): ``hits`` of ``of``, above 0."""
    square, share = NORMAL**2, hits / of
    middle = (share + square / (2 * of)) / (1 + square / of)
    half = NORMAL * math.sqrt(share * (1 - share) / of + square / (4 * of * of)) / (1 + square / of)
    return max(middle - half, 0.0), min(middle + half, 1.0)


def t_quantile(freedom: int) -> float:
    """The 97.5 % point of Student's t, by Abramowitz and Stegun 26.7.5; for 15 or more, to 0.0001."""
    z = NORMAL
    return (
        z
        + (z**3 + z) / (4 * freedom)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * freedom**3)
    )
