"""What the program thinks of a player's seeing: bias and noise over the signed offset.

Bias is a Gaussian process over the signed cut, kept as a joint Gaussian over a grid. Its prior has
three parts: a broad pull ("everything too thick"), a part shared by both sides, and a part of each
side's own. The noise is unknown, so several noise levels are carried side by side, each with its
own grid, and weighed by how well they foretold the calls. A call may also be a lapse, unrelated to
the shot; the update weighs that too. Everything is closed form, one call at a time.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

GRID_DEGREES = np.linspace(-81.0, 81.0, 55)
GRID_SINES = np.sin(np.radians(GRID_DEGREES))

# Prior standard deviations of the bias, in balls. A test bias of 0.06 ball is realistic, since
# acute angles are misjudged by 3 to 4 degrees, which is 0.04 to 0.06 ball mid-range.
BROAD_SD, SHARED_SD, SIDE_SD = 0.04, 0.04, 0.05
BROAD_SCALE, SCALE = 40.0, 8.0  # degrees of cut
NOISE_LEVELS = np.array([0.02, 0.03, 0.045, 0.065, 0.09, 0.13, 0.2])  # balls
LAPSE_RATE = 0.025
LAPSE_DENSITY = 0.5  # a lapse lands anywhere over two balls' width


def _prior() -> Floats:
    apart = GRID_DEGREES[:, None] - GRID_DEGREES[None, :]
    mirrored = np.abs(GRID_DEGREES)[:, None] - np.abs(GRID_DEGREES)[None, :]
    cov = BROAD_SD**2 * np.exp(-0.5 * (mirrored / BROAD_SCALE) ** 2)
    cov = cov + SHARED_SD**2 * np.exp(-0.5 * (mirrored / SCALE) ** 2)
    cov = cov + SIDE_SD**2 * np.exp(-0.5 * (apart / SCALE) ** 2)
    return np.asarray(cov + 1e-10 * np.eye(len(GRID_DEGREES)))


PRIOR = _prior()


@dataclass(frozen=True)
class Estimate:
    """A bias and how sure of it: mean and standard deviation, in balls, + thick."""

    mean: float
    sd: float

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval."""
        return self.mean - 1.96 * self.sd

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval."""
        return self.mean + 1.96 * self.sd


class Belief:
    """A joint Gaussian over the bias at each grid cut, for each noise level, and their weights."""

    def __init__(self) -> None:
        levels = len(NOISE_LEVELS)
        self._mean = np.zeros((levels, len(GRID_DEGREES)))
        self._cov = np.repeat(PRIOR[None], levels, axis=0)
        self._log_weight = np.zeros(levels)
        self.calls = 0

    def update(self, sine: float, error: float, width: float = 0.0) -> None:
        """Learn from one marked call.

        Parameters
        ----------
        sine : float
            Sine of the signed cut (the signed offset for equal balls), -1 to 1.
        error : float
            Signed error of the call in balls, + thick.
        width : float
            How far apart neighbouring answers were, in balls: rounding to them adds ``width^2/12``.
        """
        at = _weights(np.array([sine]))[0]
        spread = self._cov @ at  # (levels, grid)
        own = NOISE_LEVELS**2 + width * width / 12.0
        variance = spread @ at + own
        off = error - self._mean @ at
        seen = (1 - LAPSE_RATE) * np.exp(-0.5 * off * off / variance) / np.sqrt(2 * np.pi * variance)
        lapse = LAPSE_RATE * LAPSE_DENSITY
        meant = seen / (seen + lapse)  # chance that the call was meant, by noise level
        gain = spread / variance[:, None]
        self._mean += (meant * off)[:, None] * gain
        # Mean and covariance of the two-part mixture "meant or lapse".
        shrink = meant * variance - meant * (1 - meant) * off * off
        self._cov -= shrink[:, None, None] * gain[:, :, None] * gain[:, None, :]
        self._log_weight += np.log(seen + lapse)
        self._log_weight -= self._log_weight.max()
        self.calls += 1

    @property
    def weights(self) -> Floats:
        """Chance of each of ``NOISE_LEVELS``, shape (levels,)."""
        weight = np.exp(self._log_weight)
        return np.asarray(weight / weight.sum())

    @property
    def noise(self) -> float:
        """Mean of the noise (standard deviation of a call), in balls."""
        return float(self.weights @ NOISE_LEVELS)

    def curve(self, sines: ArrayLike) -> tuple[Floats, Floats]:
        """Mean and standard deviation of the bias at signed sines of the cut (n,), in balls."""
        return self._mixed(_weights(np.asarray(sines, float)))

    def average(self, sines: ArrayLike) -> Estimate:
        """The bias averaged over signed sines of the cut (n,)."""
        mean, sd = self._mixed(_weights(np.asarray(sines, float)).mean(axis=0, keepdims=True))
        return Estimate(float(mean[0]), float(sd[0]))

    def _mixed(self, at: Floats) -> tuple[Floats, Floats]:
        """Mean and deviation of linear functions ``at`` (n, grid) over all noise levels."""
        means = self._mean @ at.T  # (levels, n)
        variances = np.einsum("ng,lgh,nh->ln", at, self._cov, at)
        weight = self.weights[:, None]
        mean = (weight * means).sum(axis=0)
        variance = (weight * (variances + (means - mean) ** 2)).sum(axis=0)
        return mean, np.sqrt(np.maximum(variance, 0.0))

    def sample(self, rng: np.random.Generator) -> Floats:
        """One bias curve that the belief holds possible, over ``GRID_DEGREES``, in balls."""
        level = int(np.searchsorted(np.cumsum(self.weights), rng.random()))
        level = min(level, len(NOISE_LEVELS) - 1)
        values, vectors = np.linalg.eigh(self._cov[level])
        draw = rng.standard_normal(len(values)) * np.sqrt(np.maximum(values, 0.0))
        return np.asarray(self._mean[level] + vectors @ draw)


def _weights(sines: Floats) -> Floats:
    """Linear interpolation on the grid: rows (n, grid) that sum to 1."""
    place = np.interp(sines, GRID_SINES, np.arange(len(GRID_SINES), dtype=float))
    left = np.minimum(place.astype(np.intp), len(GRID_SINES) - 2)
    part = place - left
    rows = np.zeros((len(sines), len(GRID_SINES)))
    rows[np.arange(len(sines)), left] = 1 - part
    rows[np.arange(len(sines)), left + 1] = part
    return rows


def at_sines(curve: Floats, sines: ArrayLike) -> Floats:
    """A curve over the grid, read off at signed sines of the cut (n,)."""
    return np.asarray(_weights(np.asarray(sines, float)) @ curve)
