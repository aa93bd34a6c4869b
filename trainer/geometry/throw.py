"""Throw: friction between the balls sends the object ball a little along the cue ball's motion.

Formula: Alciatore, *TP A.24* (restating *TP A.14*). Friction: the fit of *TP A.28* through three
values of Marlow, *The Physics of Pocket Billiards* (1995), Table 10: 0.11, 0.06 and 0.01 for a ball
of 0.1, 1 and 10 m/s at a cut of 45 degrees, that is at 0.0707, 0.707 and 7.07 m/s of sliding.

Masses and radii (derived from the impulse equations): a normal impulse ``J`` changes the closing speed
by ``J / m``, a tangential one ``K`` changes the sliding of the surfaces by ``7/2 K / m``, with the same
``m = Mc Mo / (Mc + Mo)`` and whatever the radii, since each sphere turns with ``2/5 M R^2``. So
``J = (1 + e) m v cos(cut)``, the ``K`` that stops the sliding is ``2/7 m * sliding``, and ``m`` drops
out of ``K / J``: throw depends on the restitution ``e`` but not on the masses or the sizes.
"""

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

FRICTION = (9.951e-3, 0.108, 1.088)  # TP A.28: mu = a + b exp(-c v), v in m/s
STOP_SLIDING = 2.0 / 7.0  # of m * sliding, see above: TP A.24's limit of 1/7 is this over 1 + e, e = 1
# Most side spin of a clean hit, as R*wz over the ball's speed: "gearing" at a 90 degree cut needs
# 80 % of the most side spin (Alciatore, "Cut-shot throw"), so the most is 1/0.8 of the speed.
MOST_SIDE = 1.25
SPINS = ("stun", "roll")
TINY = 1e-300


def friction(speed: ArrayLike) -> Floats:
    """Friction coefficient between balls at a relative surface speed in m/s. Shape (...)."""
    a, b, c = FRICTION
    return np.asarray(a + b * np.exp(-c * np.abs(np.asarray(speed, float))))


def friction_impulse(
    cut: ArrayLike,
    speed: ArrayLike,
    roll: ArrayLike = 0.0,
    side_spin: ArrayLike = 0.0,
    restitution: ArrayLike = 1.0,
) -> tuple[Floats, Floats]:
    """The impulse that friction gives the object ball, over the impulse along the line of centres.

    Parameters are those of :func:`throw_angle`.

    Returns
    -------
    right, up : (...) float
        Toward the right of the line of centres, and upward (below 0 for a cue ball with top spin,
        whose face goes down). The sliding keeps its direction while it lasts, so the impulse is along
        it: friction times the normal impulse, and no more than stops the sliding.
    """
    cut, v = np.asarray(cut, float), np.asarray(speed, float)
    normal = v * np.cos(cut)
    right = v * (np.sin(cut) - np.asarray(side_spin, float) * MOST_SIDE)
    up = -normal * np.asarray(roll, float)
    sliding = np.sqrt(right * right + up * up)
    most = STOP_SLIDING / (1.0 + np.asarray(restitution, float))
    share = np.minimum(friction(sliding) / np.maximum(sliding, TINY), most / np.maximum(normal, TINY))
    return np.asarray(share * right), np.asarray(share * up)


def throw_angle(
    cut: ArrayLike,
    speed: ArrayLike,
    roll: ArrayLike = 0.0,
    side_spin: ArrayLike = 0.0,
    restitution: ArrayLike = 1.0,
) -> Floats:
    """How far the object ball leaves off the line of centres, toward the cue ball's motion.

    Parameters
    ----------
    cut : (...) float
        Signed cut angle of the line of centres, radians, within +-pi/2.
    speed : (...) float
        Cue ball's speed at contact, m/s, above 0.
    roll : (...) float
        Forward roll over speed, ``R wx / v``: 0 stun, 1 natural roll, below 0 back spin; any size.
    side_spin : (...) float
        -1 to 1 of the most side spin of a clean hit; + is right-hand side (it turns to the left
        about ``z``). Right-hand side takes throw away from a ball sent left, left-hand side from
        one sent right ("outside" spin).
    restitution : (...) float
        Closing speed after contact over before, 0 to 1. TP A.24 has 1; less than 1 lets slow balls
        be thrown a little more, up to ``atan(2 tan(cut) / (7 (1 + e)))`` (derived).

    Returns
    -------
    (...) float
        Radians. At or above 0, except where outside spin is stronger than the sliding of the cut:
        there the face of the cue ball moves the other way, and so is the ball thrown: below 0. For a
        straight shot, which has no side, + is to the right.
    """
    cut = np.asarray(cut, float)
    right, _ = friction_impulse(cut, speed, roll, side_spin, restitution)
    angle = np.arctan(right)
    return np.where(cut < 0, -angle, angle)
