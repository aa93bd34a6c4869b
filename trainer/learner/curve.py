"""Curves of bias over the signed cut: which ones are likely, as a few coefficients.

Bias is a Gaussian process over the signed cut. Its prior has three parts: a broad one ("everything too
thick"), one that both sides share, and one of each side's own. A curve is written as coefficients that are
independent and of variance one before anything is known: the leading eigenvectors of the prior's
covariance, each times the root of its eigenvalue, which leave out less than a millionth.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

DEGREES = np.linspace(-84.0, 84.0, 113)

# Standard deviations of the parts, in balls. Acute angles are misjudged by 3 to 4 degrees, which is
# 0.04 to 0.06 ball for cuts in the middle: these say that such a bias is as likely as not.
BROAD_SD, SHARED_SD, SIDE_SD = 0.03, 0.025, 0.045
BROAD_SCALE, SCALE = 40.0, 7.0  # degrees of cut
SIZE = 40  # coefficients


def covariance(one: ArrayLike, other: ArrayLike) -> Floats:
    """The prior's covariance between the biases at signed cuts (n,) and (m,), degrees; (n, m) balls^2."""
    x, y = np.asarray(one, float)[:, None], np.asarray(other, float)[None, :]
    mirrored, apart = np.abs(x) - np.abs(y), x - y
    broad = BROAD_SD**2 * np.exp(-0.5 * (mirrored / BROAD_SCALE) ** 2)
    shared = SHARED_SD**2 * np.exp(-0.5 * (mirrored / SCALE) ** 2)
    return np.asarray(broad + shared + SIDE_SD**2 * np.exp(-0.5 * (apart / SCALE) ** 2))


@lru_cache(maxsize=1)
def _basis() -> Floats:
    values, vectors = np.linalg.eigh(covariance(DEGREES, DEGREES))
    return np.asarray(vectors[:, ::-1][:, :SIZE] * np.sqrt(values[::-1][:SIZE]))


def rows(sines: ArrayLike) -> Floats:
    """What turns coefficients into the bias at sines of signed cuts (n,): shape (n, SIZE), balls.

    Between the places of the grid a curve is a straight line; beyond them it stays as it is.
    """
    cuts = np.degrees(np.arcsin(np.clip(np.asarray(sines, float), -1.0, 1.0)))
    step = DEGREES[1] - DEGREES[0]
    place = np.clip((cuts - DEGREES[0]) / step, 0.0, len(DEGREES) - 1.0)
    left = np.minimum(place.astype(np.intp), len(DEGREES) - 2)
    part = (place - left)[:, None]
    basis = _basis()
    return np.asarray((1.0 - part) * basis[left] + part * basis[left + 1])
