"""How hard a shot is for a player whose calls scatter."""

import math

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.shots.truth import Truths

NOISE = 1 / 20  # balls of fullness: no measured value, a round one of our own to compare levels by

erf = np.vectorize(math.erf, otypes=[float])


def chance(margin: ArrayLike, fullness: ArrayLike, noise: ArrayLike = NOISE) -> Floats:
    """How likely a call pots whose error is normal about the truth.

    Parameters
    ----------
    margin : (..., 2) float
        The fullness that still pots, low and high.
    fullness : (...) float
        The true one.
    noise : (...) float
        Standard deviation of the called fullness, in balls, above 0.

    Returns
    -------
    (...) float
        ``Phi((high - f) / noise) - Phi((low - f) / noise)``, 0 to 1.

    Raises
    ------
    ValueError
        If the noise isn't above 0.
    """
    noise = np.asarray(noise, float)
    if not (noise > 0).all():
        raise ValueError("the noise of a player's calls is above 0")
    off = (np.asarray(margin, float) - np.asarray(fullness, float)[..., None]) / noise[..., None]
    ends = erf(off / np.sqrt(2.0))
    return np.asarray(np.clip((ends[..., 1] - ends[..., 0]) / 2.0, 0.0, 1.0))


def chances(truths: Truths, noise: ArrayLike = NOISE) -> Floats:
    """:func:`chance` for every shot of a batch, shape (n,); 0 where none pots."""
    return np.where(truths.can_pot, chance(truths.margin, truths.fullness, noise), 0.0)
