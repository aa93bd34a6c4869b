"""A cue ball after contact, in small steps of time: how near it passes a place.

Nothing here shares a formula with the trainer: contact by momentum and energy, then friction on the foot of
the ball step by step, all in complex numbers (mm, mm/s), many balls at once.
"""

import numpy as np

from trainer.geometry.tables import Table

GRAVITY, SLIDING, ROLLING = 9806.65, 0.2, 0.01
SLIDE_S, ROLL_S = 1 / 1000, 1 / 10


def complex_of(point):  # type: ignore[no-untyped-def]
    """Places or ways (..., 2) as complex numbers (...)."""
    point = np.asarray(point, float)
    return point[..., 0] + 1j * point[..., 1]


def along(a, b):  # type: ignore[no-untyped-def]
    """The part of ``a`` along ``b``, times its length."""
    return (a * np.conj(b)).real


def aside(table: Table, cue, ball, offset, speed: float, roll: float, place):  # type: ignore[no-untyped-def]
    """How near the cue ball's centre passes a place, by shot (n,), mm; NaN where it misses the object ball.

    ``cue``, ``ball`` and ``place`` are complex, ``offset`` in ball widths; all (n,). Up to the first cushion.
    """
    cue, ball, offset, place = np.broadcast_arrays(cue, ball, offset, place)
    balls, speed = table.balls, 1000 * speed
    reach = 2 * np.sqrt(balls.cue_radius * balls.object_radius)
    wide = offset * 2 * balls.object_radius
    moving = abs(wide) <= reach
    wide = np.where(moving, wide, 0)
    aim = (ball - cue) / abs(ball - cue) * np.exp(-1j * np.arcsin(wide / abs(ball - cue)))
    back = np.sqrt(reach**2 - wide**2)
    at = cue + aim * (along(ball - cue, aim) - back)
    centres = (ball - at) / reach
    heavy = 2 * balls.object_mass / (balls.cue_mass + balls.object_mass)
    v = speed * aim * np.ones(cue.shape)
    v = v - heavy * along(v, centres) * centres
    spin = roll * speed * aim  # what the ball would roll at
    least = np.where(moving, np.inf, np.nan)
    while moving.any():
        slip = v - spin
        slides = abs(slip) > 1e-6
        left = np.where(slides, abs(slip) / (3.5 * SLIDING * GRAVITY), abs(v) / (ROLLING * GRAVITY))
        dt = np.minimum(left, np.where(slides, SLIDE_S, ROLL_S))
        pull = np.where(slides, -SLIDING * GRAVITY * slip / np.maximum(abs(slip), 1e-12), 0)
        pull = np.where(slides, pull, -ROLLING * GRAVITY * v / np.maximum(abs(v), 1e-12))
        step = v * dt + pull * dt**2 / 2
        part = np.ones(cue.shape)
        for end, where, size in ((step.real, at.real, table.length), (step.imag, at.imag, table.width)):
            room = np.where(end > 0, size - balls.cue_radius - where, balls.cue_radius - where)
            with np.errstate(divide="ignore", invalid="ignore"):
                part = np.where(end == 0, part, np.minimum(part, np.maximum(room / end, 0)))
        step = step * part
        to, size = place - at, np.maximum(abs(step) ** 2, 1e-300)
        near = abs(to - step * np.clip(along(to, step) / size, 0, 1))
        least = np.where(moving, np.fmin(least, near), least)
        at = np.where(moving, at + step, at)
        # Friction on the foot: what the way loses, the spin gains two and a half times over.
        v = v + pull * dt
        spin = np.where(slides, spin - 2.5 * pull * dt, v)
        moving &= (part >= 1) & (abs(v) > 1e-6)
    return least
