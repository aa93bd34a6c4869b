"""Simulated players, to try the learner on.

Nothing here comes from the belief, nor does it share its formulas: a player's bias is a sum of raised
cosines, noise grows in a straight line, the central tendency is to a leaky mean, and a lapse is any answer.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from trainer.geometry.vectors import Floats

LEAK = 0.15  # of the mean of what was shown, from shot to shot


@dataclass(frozen=True)
class Bump:
    """A bias about a cut of ``cut`` degrees (+ left): ``size`` balls there, half of it ``wide / 2`` away."""

    cut: float
    size: float
    wide: float = 12.0

    def at(self, cut: float) -> float:
        """The bias at a signed cut."""
        away = abs(cut - self.cut)
        return 0.5 * self.size * (1 + math.cos(math.pi * away / self.wide)) if away < self.wide else 0.0


@dataclass(frozen=True)
class Nature:
    """How a player sees; lengths in balls of fullness, + thick.

    ``noise`` is the standard deviation of a call at a cut of 35 degrees and grows by ``growth`` of itself
    over 35 more. ``everywhere`` is a bias at every cut, ``step`` one of all cuts thinner than half ball.
    ``central`` is the central tendency, the part of the way that an answer is drawn to the mean of what was
    shown, ``serial`` the serial dependence, the same to the answer before.
    ``lapse`` is the share of answers that have nothing to do with the shot, ``skew`` the skewness of the
    noise (0 to 2). Over a day ``drift`` is the standard deviation of what a bump's size and the bias
    everywhere wander by, and ``learns`` the part of all biases that a practised day takes away.
    """

    noise: float = 0.05
    growth: float = 0.0
    bumps: tuple[Bump, ...] = ()
    everywhere: float = 0.0
    step: float = 0.0
    central: float = 0.0
    serial: float = 0.0
    lapse: float = 0.0
    skew: float = 0.0
    drift: float = 0.0
    learns: float = 0.0

    def bias(self, cut: float) -> float:
        """The bias at a signed cut, degrees."""
        stepped = self.step if abs(cut) > 30.0 else 0.0
        return self.everywhere + stepped + sum(bump.at(cut) for bump in self.bumps)


class Player:
    """A player who looks at shots and answers, day after day."""

    def __init__(self, nature: Nature, rng: np.random.Generator) -> None:
        self.nature = nature
        self._rng = rng
        self._mean: float | None = None
        self._last: float | None = None

    def begin_set(self) -> None:
        """Nothing of another set is on the player's mind."""
        self._mean = self._last = None

    def sleep(self) -> None:
        """A day passes."""
        nature, rng = self.nature, self._rng
        kept = 1.0 - nature.learns
        bumps = tuple(
            replace(bump, size=kept * bump.size + nature.drift * rng.standard_normal())
            for bump in nature.bumps
        )
        everywhere = kept * nature.everywhere + nature.drift * rng.standard_normal()
        self.nature = replace(nature, bumps=bumps, everywhere=everywhere, step=kept * nature.step)
        self.begin_set()

    def sees(self, cut: float, fullness: float) -> float:
        """How full the player takes a shot to be, of a signed cut (degrees) and a fullness."""
        nature, rng = self.nature, self._rng
        seen = fullness + nature.bias(cut) + self._noise(cut)
        if self._mean is not None:
            seen += nature.central * (self._mean - fullness)
        if self._last is not None:
            seen += nature.serial * (self._last - fullness)
        self._mean = fullness if self._mean is None else (1 - LEAK) * self._mean + LEAK * fullness
        if rng.random() < nature.lapse:
            seen = rng.uniform(-0.05, 1.05)
        return float(seen)

    def answered(self, fullness: float) -> None:
        """What was called, as a fullness, which the next answer depends on."""
        self._last = fullness

    def answers(self, seen: float, fullnesses: Floats) -> int:
        """Which of the fullnesses is nearest to what was seen."""
        return int(np.argmin(np.abs(np.asarray(fullnesses) - seen)))

    def _noise(self, cut: float) -> float:
        nature, rng = self.nature, self._rng
        size = nature.noise * max(0.1, 1.0 + nature.growth * (abs(cut) - 35.0) / 35.0)
        if not nature.skew:
            return float(size * rng.standard_normal())
        shape = (2.0 / nature.skew) ** 2  # of a gamma variable with this skewness
        return float(size * (rng.gamma(shape) - shape) / math.sqrt(shape))
