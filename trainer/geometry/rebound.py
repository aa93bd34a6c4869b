"""How a ball comes off a cushion: the published model of the impact, integrated once and then looked up.

S. Mathavan, M. R. Jackson, R. M. Parkin, "A theoretical analysis of billiard ball dynamics under cushion
impacts", Proc. IMechE Part C 224(9), 1863-1873, 2010, doi 10.1243/09544062JMES1964. The cushion is rigid and
touches the ball above its middle, so it presses the ball on the cloth; both rub against it. Impulse by
impulse, friction goes against the slip of the moment at either place, until the work along the contact normal
has come back but for what restitution takes.

It is a model fitted to one snooker table; its constants belong together. It holds up to 2.5 m/s of normal
speed. Below that direction and share of speed don't depend on the speed: every velocity in its equations
can be made twice as large. What comes after, the curve of a ball that doesn't roll yet, isn't in it.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats, dot, left_of, scaled, unit

# Of the ball's diameter: pool tables by the WPA's rules, as told in "Pool table markings and measurements",
# https://de.lavozdeecuador.com/articles/sports-and-fitness/pool-table-markings-measurements.html . For
# snooker no rule gives one; Mathavan takes 0.7 for both games.
RULES_NOSE = 0.635
STEPS = 64  # of the impact's compression: directions are then within .05 degrees of ever finer ones
WAYS = 129  # at which the impact is worked out; straight between them
SPIN_PER_PUSH = 2.5  # R m / I of a solid sphere
STOPS = 3.5  # times an impulse at its surface over the mass: the change of the slip there (derived)
TINY = 1e-300


@dataclass(frozen=True)
class Rubber:
    """A cushion and the cloth before it, as the model knows them.

    ``restitution`` is the square root of the part of the work along the contact normal that comes back,
    ``friction`` that of ball on cushion, ``cloth`` that of ball on cloth while they touch, ``nose`` the
    height of the nose in ball diameters. The defaults are the published ones, all from one source.
    """

    restitution: float = 0.98
    friction: float = 0.14
    cloth: float = 0.212
    nose: float = 0.7


PUBLISHED = Rubber()
OTHERS = (
    Rubber(nose=RULES_NOSE),
    Rubber(cloth=0.15),
    Rubber(cloth=0.4),
    Rubber(restitution=0.89),
)
"""What tables differ in, one thing at a time: the nose as pool's rules have it, ball on cloth 0.15 to 0.4,
and a cushion that gives a sliding ball 0.76 of its speed back square on, where the published one gives 0.84:
the middle of 0.6 to 0.9 (the ranges: Alciatore, typical values,
https://billiards.colostate.edu/threads/physics.html)."""


@dataclass(frozen=True)
class Impact:
    """What a ball leaves a cushion with, in parts of the speed it came with; each (...).

    ``along`` the nose and ``away`` from it, and the spins times the radius: ``spin_along`` (about the axis
    along the nose), ``spin_toward`` (about the one into the cushion), ``spin_up``.
    """

    along: Floats
    away: Floats
    spin_along: Floats
    spin_toward: Floats
    spin_up: Floats


def impact(
    along: ArrayLike,
    roll: float = 1.0,
    side_spin: float = 0.0,
    rubber: Rubber = PUBLISHED,
    steps: int = STEPS,
) -> Impact:
    """Integrate the published equations of an impact.

    Parameters
    ----------
    along : (...) float
        Part of the ball's unit way that runs along the nose, between -1 and 1; + to the left of one who
        looks from the cushion over the table.
    roll : float
        Forward roll over speed: 0 stun, 1 natural roll.
    side_spin : float
        ``R wz / v``, + turns to the left seen from above.
    rubber : Rubber
    steps : int
        Of the compression. They are even in the speed into the cushion, which falls all the time, and a
        slip that one step would stop is stopped.
    """
    x = np.asarray(along, float)
    toward = np.sqrt(1.0 - x * x)
    step = toward / steps
    # Parts along the nose and into the cushion, as published: vx, and R times wx, wy, wz.
    state = np.stack([x, -roll * toward, roll * x, np.full(x.shape, side_spin)])
    work = np.zeros(x.shape)
    for k in range(steps):
        state, done = _stepped(state, toward - k * step, step, rubber)
        work += done
    owed, away = rubber.restitution**2 * work, np.zeros(x.shape)
    while (owed > 0).any():
        after, done = _stepped(state, -away, step, rubber)
        # The work of a step grows as the square of the speed: of the last one a part is left.
        left = np.minimum(owed / np.maximum(-done, TINY), 1.0)
        part = np.where(step > 0, np.sqrt(away**2 + left * (2 * away + step) * step) - away, 0.0)
        state = state + (after - state) * (part / np.maximum(step, TINY))
        away, owed = away + part, np.where(left < 1, 0.0, owed + done)
    return Impact(state[0], away, *state[1:])


def _stepped(state: Floats, speed: Floats, step: Floats, rubber: Rubber) -> tuple[Floats, Floats]:
    """The state when the speed into the cushion has fallen by a step, and the work done meanwhile (Heun)."""
    first, push = _rates(state, speed, step, rubber)
    second, then = _rates(state + first * step, speed - step, step, rubber)
    return state + (first + second) * (step / 2), (push * speed + then * (speed - step)) * (step / 2)


def _rates(state: Floats, speed: Floats, step: Floats, rubber: Rubber) -> tuple[Floats, Floats]:
    """How the state changes, and the work over the speed, while the speed into the cushion falls by 1."""
    sine = 2.0 * rubber.nose - 1.0
    cosine = np.sqrt(1.0 - sine * sine)
    vx, wx, wy, wz = state
    at_nose = vx + wy * sine - wz * cosine, wx - speed * sine
    at_cloth = vx - wy, speed + wx
    by_nose = _rub(at_nose, rubber.friction, step / cosine)
    pressed = sine + by_nose[1] * cosine  # on the cloth, of the push along the contact normal
    by_cloth = _rub(at_cloth, rubber.cloth, step / cosine)
    by_cloth = by_cloth[0] * pressed, by_cloth[1] * pressed
    slows = cosine - sine * by_nose[1] + by_cloth[1]
    changes = (
        by_nose[0] + by_cloth[0],
        SPIN_PER_PUSH * (by_nose[1] + by_cloth[1]),
        SPIN_PER_PUSH * (by_nose[0] * sine - by_cloth[0]),
        -SPIN_PER_PUSH * by_nose[0] * cosine,
    )
    return -np.stack(changes) / slows, cosine / slows


def _rub(slip: tuple[Floats, Floats], friction: float, push: Floats) -> tuple[Floats, Floats]:
    """Friction along the slip, of the normal impulse; less where a step's push would more than stop it."""
    stops = np.maximum(STOPS * friction * push, TINY)
    share = friction / np.maximum(np.hypot(*slip), stops)
    return slip[0] * share, slip[1] * share


@lru_cache(maxsize=64)
def _looked_up(roll: float, side_spin: float, rubber: Rubber) -> tuple[Floats, Floats, Floats]:
    """Tangents of half the angle off square, even from -1 to 1, and what leaves along the nose and away."""
    half = np.linspace(-1.0, 1.0, WAYS)
    found = impact(2.0 * half[1:-1] / (1.0 + half[1:-1] ** 2), roll, side_spin, rubber)
    # Along the nose nothing pushes.
    return half, np.pad(found.along, 1, constant_values=(-1.0, 1.0)), np.pad(found.away, 1)


def off_nose(
    along: Floats, away: Floats, roll: float = 1.0, side_spin: float = 0.0, rubber: Rubber = PUBLISHED
) -> tuple[Floats, Floats]:
    """:func:`rebound` of a unit way in parts ``along`` ``left_of(normal)`` and ``away`` from the nose."""
    half, out_along, out_away = _looked_up(roll, side_spin, rubber)
    at = along / (1.0 - away)
    return np.interp(at, half, out_along), np.interp(at, half, out_away)


def rebound(
    way: ArrayLike,
    normal: ArrayLike,
    roll: float = 1.0,
    side_spin: float = 0.0,
    rubber: Rubber = PUBLISHED,
) -> tuple[Floats, Floats]:
    """How a ball comes off a cushion, within .05 degrees of the published equations.

    Parameters
    ----------
    way : (..., 2) float
        Unit direction it comes along, toward the cushion.
    normal : (..., 2) float
        The cushion's normal, into the table.
    roll, side_spin : float
        As in :func:`impact`.
    rubber : Rubber

    Returns
    -------
    (..., 2) float, (...) float
        Unit direction it leaves along, and its speed over the speed it came with.
    """
    way, normal = np.asarray(way, float), np.asarray(normal, float)
    along_nose = left_of(normal)  # so that (along, into the cushion, up) is right-handed, as published
    out_x, out_y = off_nose(dot(way, along_nose), dot(way, normal), roll, side_spin, rubber)
    out = scaled(along_nose, out_x) + scaled(normal, out_y)
    return unit(out), np.hypot(out_x, out_y)
