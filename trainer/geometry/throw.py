"""Throw: friction between the balls sends the object ball a little along the cue ball's motion.

Formula: Alciatore, *TP A.24* (restating *TP A.14*). Friction: the fit of *TP A.28* through three
values of Marlow, *The Physics of Pocket Billiards* (1995), Table 10: 0.11, 0.06 and 0.01 for a ball
of 0.1, 1 and 10 m/s at a cut of 45 degrees, that is at 0.0707, 0.707 and 7.07 m/s of sliding.
"""

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

FRICTION = (9.951e-3, 0.108, 1.088)  # TP A.28: mu = a + b exp(-c v), v in m/s
NO_SLIP = 1.0 / 7.0  # TP A.24: no more than stops the surfaces from sliding
# Most side spin of a clean hit, as R*wz over the ball's speed: "gearing" at a 90 degree cut needs
# 80 % of the most side spin (Alciatore, "Cut-shot throw"), so the most is 1/0.8 of the speed.
MOST_SIDE = 1.25
SPINS = ("stun", "roll")


def friction(speed: ArrayLike) -> Floats:
    """Friction coefficient between balls at a relative surface speed in m/s. Shape (...)."""
    a, b, c = FRICTION
    return np.asarray(a + b * np.exp(-c * np.abs(np.asarray(speed, float))))


def throw_angle(
    cut: ArrayLike, speed: ArrayLike, roll: ArrayLike = 0.0, side_spin: ArrayLike = 0.0
) -> Floats:
    """How far the object ball leaves off the line of centres, toward the cue ball's motion.

    Parameters
    ----------
    cut : (...) float
        Signed cut angle of the line of centres, radians, within +-pi/2.
    speed : (...) float
        Cue ball's speed at contact, m/s, above 0.
    roll : (...) float
        Forward roll over speed, ``R wx / v``: 0 stun, 1 natural roll.
    side_spin : (...) float
        -1 to 1 of the most side spin of a clean hit; + is right-hand side (it turns to the left
        about ``z``). Right-hand side takes throw away from a ball sent left, left-hand side from
        one sent right ("outside" spin).

    Returns
    -------
    (...) float
        Radians. At or above 0 except where outside spin is stronger than the sliding of the cut,
        which throws the ball the other way.
    """
    cut, v = np.asarray(cut, float), np.asarray(speed, float)
    size, sign = np.abs(cut), np.where(cut < 0, -1.0, 1.0)
    outside = sign * np.asarray(side_spin, float) * MOST_SIDE  # R wz / v
    sliding = v * (np.sin(size) - outside)
    over = v * np.asarray(roll, float) * np.cos(size)
    relative = np.sqrt(sliding * sliding + over * over)
    grip = friction(relative) * v * np.cos(size) / np.where(relative > 0, relative, 1.0)
    tangential = np.minimum(np.where(relative > 0, grip, NO_SLIP), NO_SLIP) * sliding
    normal = v * np.cos(size)
    return np.asarray(np.arctan2(tangential, normal))
