"""What is thought of a player's bias and noise before any call, and how the noise's levels are weighed.

Bias is what causes make of it (``causes``) and a local curve: a Gaussian process over the signed cut, with a
part that both sides share and one of each side's own. The curve is written as coefficients that are
independent and of variance one before anything is known: the leading eigenvectors of its covariance, each
times the root of its eigenvalue, which leave out less than a millionth. So are the causes' sizes.

Noise is log-linear in the cut. Its posterior is a grid of levels and growths, weighed by how well each
foretold the calls.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.learner import causes

DEGREES = np.linspace(-84.0, 84.0, 113)

# Standard deviations of the parts, in balls. Acute angles are seen 3 to 4 degrees too large, most so at 30 to
# 45 (D. Purves, "The perception of angles", a lecture,
# https://www.coursera.org/lecture/visual-perception/the-perception-of-angles-FvGPB), which is 0.04 to 0.06
# ball for medium cuts: with these a bias of that size is as likely as not.
SHARED_SD, SIDE_SD = 0.025, 0.045
SCALE = 7.0  # degrees of cut
LOCAL = 40  # coefficients of the local curve; those of the causes follow
COEFFICIENTS = LOCAL + causes.COUNT


def local_covariance(one: ArrayLike, other: ArrayLike) -> Floats:
    """The prior's covariance between the biases at signed cuts (n,) and (m,), degrees; (n, m) balls^2."""
    x, y = np.asarray(one, float)[:, None], np.asarray(other, float)[None, :]
    mirrored, apart = np.abs(x) - np.abs(y), x - y
    shared = SHARED_SD**2 * np.exp(-0.5 * (mirrored / SCALE) ** 2)
    return np.asarray(shared + SIDE_SD**2 * np.exp(-0.5 * (apart / SCALE) ** 2))


def bias_covariance(one: ArrayLike, other: ArrayLike) -> Floats:
    """The same of the whole bias: the local curve and the causes."""
    by_cause = [causes.shapes_at(np.sin(np.radians(np.asarray(cuts, float)))) for cuts in (one, other)]
    return np.asarray(local_covariance(one, other) + by_cause[0] @ by_cause[1].T)


@lru_cache(maxsize=1)
def _basis() -> Floats:
    values, vectors = np.linalg.eigh(local_covariance(DEGREES, DEGREES))
    return np.asarray(vectors[:, ::-1][:, :LOCAL] * np.sqrt(values[::-1][:LOCAL]))


def basis_at(sines: ArrayLike) -> Floats:
    """Basis of the bias at sines of signed cuts (n,): (n, COEFFICIENTS), balls a coefficient.

    The local curve is linear between the places of the grid and constant beyond them. What comes back can't
    be written to: the same places are asked again and again, and are worked out once.
    """
    return _basis_at(np.asarray(sines, float).tobytes())


@lru_cache(maxsize=64)
def _basis_at(places: bytes) -> Floats:
    sines = np.frombuffer(places)
    cuts = np.degrees(np.arcsin(np.clip(sines, -1.0, 1.0)))
    step = DEGREES[1] - DEGREES[0]
    place = np.clip((cuts - DEGREES[0]) / step, 0.0, len(DEGREES) - 1.0)
    left = np.minimum(place.astype(np.intp), len(DEGREES) - 2)
    part = (place - left)[:, None]
    basis = _basis()
    local = (1.0 - part) * basis[left] + part * basis[left + 1]
    found = np.hstack([local, causes.shapes_at(sines)])
    found.flags.writeable = False
    return found


# Levels at a cut of 35 degrees, and how the logarithm grows over 35 degrees more.
LEVELS = np.exp(np.linspace(math.log(0.012), math.log(0.3), 27))
GROWTHS = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
USUAL_LEVEL, LEVEL_SD, GROWTH_SD = 0.06, 0.6, 0.25
MIDDLE = 35.0
_LOG_LEVEL, _GROWTH = (part.ravel() for part in np.meshgrid(np.log(LEVELS), GROWTHS, indexing="ij"))


class NoisePosterior:
    """The posterior of the noise in one condition, in each of so many models."""

    def __init__(self, models: int) -> None:
        level, growth = (_LOG_LEVEL - math.log(USUAL_LEVEL)) / LEVEL_SD, _GROWTH / GROWTH_SD
        self._log_prior = np.tile(log_normalised(-0.5 * (level**2 + growth**2)), (models, 1))
        self.log_weight = self._log_prior

    @property
    def posterior(self) -> Floats:
        """Posterior probability of each level and growth, (models, levels)."""
        return np.exp(self.log_weight)

    def weigh(self, log_call: Floats) -> Floats:
        """Weigh the levels by each one's log likelihood of a call, (models, levels).

        Returns the log likelihood of the call in each model, (models,).
        """
        joint = self.log_weight + log_call
        found = log_sum_exp(joint)
        self.log_weight = joint - found[:, None]
        return found

    def at(self, sines: ArrayLike) -> Floats:
        """Posterior mean of the log noise at sines of signed cuts (n,): (models, n)."""
        return np.asarray(self.posterior @ np.log(noise_levels(sines)).T)

    def fade(self, kept: float) -> None:
        """Keep this part of what the calls told."""
        self.log_weight = log_normalised(self._log_prior + kept * (self.log_weight - self._log_prior))


def noise_levels(sines: ArrayLike) -> Floats:
    """The noise at sines of signed cuts (...) for each level and growth (..., levels), in balls."""
    cuts = np.degrees(np.arcsin(np.minimum(np.abs(sines), 1.0)))[..., None]
    return np.asarray(np.exp(_LOG_LEVEL + _GROWTH * (cuts - MIDDLE) / MIDDLE))


def log_normalised(log_weight: Floats) -> Floats:
    """Logarithms of probabilities that sum to one over the last axis."""
    return np.asarray(log_weight - log_sum_exp(log_weight)[..., None])


def log_sum_exp(logs: Floats) -> Floats:
    """Logarithm of the sum of exponentials over the last axis."""
    highest = logs.max(axis=-1)
    return np.asarray(highest + np.log(np.exp(logs - highest[..., None]).sum(axis=-1)))
