"""Many simulated players, alike but for where their fault is, and what came of them together."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from trainer.levels.level import Level
from trainer.simulate import cores
from trainer.simulate.players import Nature
from trainer.simulate.simulation import Outcome, outcome, with_bump

NEAR_NOISE = 0.15  # noise is recovered where it is told within this part of itself
MOST = 0.95  # of the players


@dataclass(frozen=True)
class Crowd:
    """What players do, and how they see.

    ``nature`` is what they have in common; each has a bump of ``size`` balls besides (0: none), of the
    sign ``sign`` (+ thick; 0: either, at random), anywhere in the level. ``days`` in a row they play
    ``shots`` of the ``level``. ``seed`` decides all the rest.
    """

    level: Level
    nature: Nature
    size: float
    sign: float
    days: int
    shots: int
    seed: int

    def player(self, number: int) -> tuple[Nature, int]:
        """One player's own nature and seed; they don't depend on how many players there are."""
        rng = np.random.default_rng([self.seed, number])
        seed = int(rng.integers(1 << 62))
        if not self.size:
            return self.nature, seed
        return with_bump(self.nature, self.level, self.size, rng, sign=self.sign), seed


@dataclass(frozen=True)
class Summary:
    """What came of the players together.

    ``found`` counts those whose bump was told (None where they had none); half of all players had it
    told within ``median_calls``, 95 of 100 within ``p95_calls`` (None: not so many had it told at all).
    ``accused`` counts those who were told of a bias that they haven't got, at any moment;
    ``accused_range`` is between which shares of such players lie with 95 % certainty.
    ``median_noise`` is that of what was thought of their noise, ``noise_near`` counts those for whom it was
    within 15 % of the truth; ``median_rmse`` is that of how far the curve was off, in balls.
    """

    players: int
    found: int | None
    median_calls: int | None
    p95_calls: int | None
    accused: int
    accused_range: tuple[float, float]
    median_noise: float
    noise_near: int
    median_rmse: float


def outcomes(crowd: Crowd, players: int, processes: int, progress: Callable[[int], object]) -> list[Outcome]:
    """What came of each player; ``progress`` is told how many calls more were made. Cores change nothing."""
    return cores.spread(partial(_outcome, crowd), players, processes, progress)


def _outcome(crowd: Crowd, number: int, progress: Callable[[int], object]) -> Outcome:
    nature, seed = crowd.player(number)
    return outcome(crowd.level, nature, days=crowd.days, shots=crowd.shots, seed=seed, progress=progress)


def summary(crowd: Crowd, found: Sequence[Outcome]) -> Summary:
    """What came of all together."""
    noise, true_noise = np.array([one.noise for one in found]), crowd.nature.noise
    calls = sorted(math.inf if at is None else at for one in found for at in one.found)
    accused = sum(one.accused is not None for one in found)
    return Summary(
        players=len(found),
        found=sum(math.isfinite(at) for at in calls) if crowd.size else None,
        median_calls=_within(calls, 0.5),
        p95_calls=_within(calls, MOST),
        accused=accused,
        accused_range=likely_share(accused, len(found)),
        median_noise=float(np.median(noise)),
        noise_near=int((np.abs(noise / true_noise - 1.0) <= NEAR_NOISE).sum()),
        median_rmse=float(np.median([one.rmse for one in found])),
    )


def _within(calls: Sequence[float], part: float) -> int | None:
    """Within how many calls so large a part of the players is done, of sorted numbers of calls."""
    if not calls:
        return None
    last = calls[math.ceil(part * len(calls) - 1e-9) - 1]
    return int(last) if math.isfinite(last) else None


def likely_share(hits: int, of: int) -> tuple[float, float]:
    """The share that ``hits`` of ``of`` speak for: a 95 % interval.

    Source: E. B. Wilson, "Probable inference, the law of succession, and statistical inference",
    Journal of the American Statistical Association 22 (1927), 209-212.
    """
    z, part = 1.959964, hits / of
    middle = part + z * z / (2 * of)
    half = z * math.sqrt(part * (1 - part) / of + z * z / (4 * of * of))
    low, high = (middle - half) / (1 + z * z / of), (middle + half) / (1 + z * z / of)
    return (0.0 if not hits else low), (1.0 if hits == of else high)
