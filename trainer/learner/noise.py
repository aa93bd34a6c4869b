"""How coarse a player's eye is: how likely each level of noise is, for several models at once.

Noise is log-linear in the cut. It is known as chances of a grid of levels and growths, which follow from how
well each foretold the calls.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

# Levels at a cut of 35 degrees, and how the logarithm grows over 35 degrees more.
LEVELS = np.exp(np.linspace(math.log(0.012), math.log(0.3), 27))
GROWTHS = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
USUAL_LEVEL, LEVEL_SD, GROWTH_SD = 0.06, 0.6, 0.25
MIDDLE = 35.0
_LOG_LEVEL, _GROWTH = (part.ravel() for part in np.meshgrid(np.log(LEVELS), GROWTHS, indexing="ij"))


class Noise:
    """The noise of one drill and view, as each of ``models`` sees it."""

    def __init__(self, models: int) -> None:
        self._log_prior = np.tile(
            -0.5 * ((_LOG_LEVEL - math.log(USUAL_LEVEL)) / LEVEL_SD) ** 2 - 0.5 * (_GROWTH / GROWTH_SD) ** 2,
            (models, 1),
        )
        self.log_weight = self._log_prior

    @property
    def chances(self) -> Floats:
        """Chance of each level and growth, (models, levels)."""
        return np.exp(log_chances(self.log_weight))

    def weigh(self, log_call: Floats) -> Floats:
        """Weigh the levels by the logarithm of how likely each made a call, (models, levels).

        Returns that of the call itself, (models,).
        """
        joint = log_chances(self.log_weight) + log_call
        self.log_weight = self.log_weight + log_call
        return log_sum(joint)

    def at(self, sines: ArrayLike) -> Floats:
        """The logarithm of the noise at sines of signed cuts (n,), as expected: (models, n)."""
        return np.asarray(self.chances @ np.log(noises(sines)).T)

    def fade(self, kept: float) -> None:
        """Forget a part of what is known."""
        self.log_weight = self._log_prior + kept * (self.log_weight - self._log_prior)


def noises(sines: ArrayLike) -> Floats:
    """The noise at sines of signed cuts (...) for each level and growth (..., levels), in balls."""
    cuts = np.degrees(np.arcsin(np.minimum(np.abs(sines), 1.0)))[..., None]
    return np.asarray(np.exp(_LOG_LEVEL + _GROWTH * (cuts - MIDDLE) / MIDDLE))


def log_chances(log_weight: Floats) -> Floats:
    """Logarithms of chances that add up to one over the last axis."""
    return np.asarray(log_weight - log_sum(log_weight)[..., None])


def log_sum(logs: Floats) -> Floats:
    """Logarithm of the sum over the last axis of what the logarithms are of."""
    highest = logs.max(axis=-1)
    return np.asarray(highest + np.log(np.exp(logs - highest[..., None]).sum(axis=-1)))
