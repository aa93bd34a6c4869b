"""What players are known to do: each cause of misses is a part of the bias, with a size.

A cause has a shape over the signed cut, in balls of fullness (+ thick) for each ball of its size. The belief
holds every one beside the local curve (``priors``); ``diagnosis`` says which of them are surely there.

The shapes follow from geometry. ``s`` is the sine of the cut, so ``1 - s`` is the fullness, and the cue
ball's centre must pass ``s`` ball widths beside the object ball's.

- ball-width: the line of aim goes toward the contact point, which lies ``s / 2`` beside the centre. Whoever
  aims at it hits ``s / 2`` too thick. The size is the error at half ball.
- line-shift: the line of aim lies to one side at every shot. A cut to the left needs the cue ball on the
  right, so a line too far right is thin there and thick for a cut to the right.
- overall: everything a little thick or thin.
- names: a shot is taken for the nearest named fraction. The size is the part of the way to it.
- middle: thick shots are seen thinner, and thin ones thicker. The size is the error at full.
- thin-cuts: beyond 30 degrees the line of aim passes beside the object ball, and there is nothing to aim at.

Two have no shape over the cut. Throw that isn't allowed for is told by speed and spin: the size is the part
of it that is left out. A view that differs from another is told by the views: the size is the difference.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

OVERALL, THROW, VIEW = "overall", "throw", "view"
LOCAL = "local"  # no cause: one stretch of cuts
FRACTIONS = np.array([1.0, 3 / 4, 1 / 2, 1 / 4])  # fractions that players call shots by


def _to_the_nearest_name(sines: Floats) -> Floats:
    fullness = 1.0 - np.abs(sines)
    away = FRACTIONS - fullness[:, None]
    nearest = np.abs(away).argmin(axis=1)
    found = away[np.arange(len(away)), nearest]
    return np.where(fullness < FRACTIONS[-1] / 2, 0.0, found)


def _toward_the_middle(sines: Floats) -> Floats:
    return np.asarray(2.0 * np.abs(sines) - 1.0, float)


@dataclass(frozen=True)
class Cause:
    """A cause: its name, the prior standard deviation of its size, and its shape over signed sines (n,)."""

    name: str
    sd: float
    shape: Callable[[Floats], Floats]


# The standard deviations are set by simulation, see tests/benchmarks/bench_diagnosis.py
CAUSES = (
    Cause("ball-width", 0.08, lambda s: 2.0 * np.abs(s)),
    Cause("line-shift", 0.03, lambda s: -np.sign(s)),
    Cause(OVERALL, 0.04, np.ones_like),
    Cause("names", 0.25, _to_the_nearest_name),
    Cause("middle", 0.06, _toward_the_middle),
    Cause("thin-cuts", 0.05, lambda s: np.where(np.abs(s) > 0.5, 1.0, 0.0)),
)
COUNT = len(CAUSES)
NAMED_CAUSES = {cause.name: cause for cause in CAUSES}


def shapes_at(sines: ArrayLike) -> Floats:
    """Each cause's shape at sines of signed cuts (n,), of a size of one standard deviation: (n, COUNT)."""
    s = np.asarray(sines, float)
    return np.stack([cause.sd * cause.shape(s) for cause in CAUSES], axis=1)
