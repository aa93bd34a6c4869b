"""Players who are measured once a week, by errors alone: how often they are told that they got better."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from trainer.learner.measured import Measured, measured, trend

SHOTS = 24
MONDAY = date(2026, 3, 2)
LAPSE = 0.02  # of the calls have nothing to do with the shot


@dataclass(frozen=True)
class Eye:
    """How far calls scatter each week, and by which part that differs by itself from day to day."""

    noise: tuple[float, ...]
    days: float = 0.1

    def weeks(self, seed: int) -> list[Measured]:
        """The measures of one such player: each cut has a bias of its own, which shrinks with the noise."""
        rng = np.random.default_rng(seed)
        bias, found = 0.4 * rng.standard_normal(SHOTS), list[Measured]()
        for week, noise in enumerate(self.noise):
            spread = noise * np.exp(self.days * rng.standard_normal())
            errors = noise * bias + spread * rng.standard_normal(SHOTS)
            errors = np.where(rng.random(SHOTS) < LAPSE, rng.uniform(-1, 1, SHOTS), errors)
            day = (MONDAY + timedelta(days=7 * week)).isoformat()
            found.append(measured(day, (np.abs(errors) < 0.05).tolist(), errors.tolist()))
        return found


def even(noise: float, weeks: int = 12) -> tuple[float, ...]:
    """No change."""
    return (noise,) * weeks


def within(first: float, last: float, changing: int, weeks: int = 12) -> tuple[float, ...]:
    """A change by the same part each week, within so many weeks."""
    return tuple(first * (last / first) ** min(week / changing, 1.0) for week in range(weeks))


def told(weeks: Sequence[Measured], *, better: bool = True) -> int | None:
    """After how many weeks a player who looks every week is first told of a change; None: never."""
    for seen in range(1, len(weeks) + 1):
        found = trend(weeks[:seen])
        if found is not None and found.sure and found.better is better:
            return seen
    return None
