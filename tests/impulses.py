"""A ball at a cushion by impulses in small steps, as vectors in space: the tests' own integration.

It shares nothing with the trainer. The cushion touches the ball at its nose, above the ball's middle, and
presses it on the cloth, which holds its height: at either contact friction goes against the slip of the
moment. Mass in kg, lengths in metres, speeds in m/s: those of Mathavan, Jackson, Parkin (2010),
doi 10.1243/09544062JMES1964.
"""

import numpy as np

RADIUS, MASS = 0.02625, 0.1406
E, CUSHION, CLOTH, NOSE = 0.98, 0.14, 0.212, 0.7


def off_the_nose(  # type: ignore[no-untyped-def]
    degrees,
    roll=1.0,
    side=0.0,
    speed=1.0,
    steps=3000,
    restitution=E,
    cushion=CUSHION,
    cloth=CLOTH,
    nose=NOSE,
):
    """Velocities (n, 3) after balls came at angles off square (n,); the cushion below, x along it, z up.

    ``roll`` and ``side`` in parts of the speed, + side turns to the left seen from above.
    """
    angle = np.radians(np.atleast_1d(np.asarray(degrees, float)))
    up = np.array([0.0, 0.0, 1.0])
    v = speed * np.stack([np.sin(angle), -np.cos(angle), 0 * angle], axis=-1)
    spin = (roll * np.cross(up, v) + side * speed * up) / RADIUS
    high = (2 * nose - 1) * RADIUS
    at_nose = np.array([0.0, -np.sqrt(RADIUS**2 - high**2), high])
    normal, at_cloth = -at_nose / RADIUS, -RADIUS * up
    inertia = 0.4 * MASS * RADIUS**2
    push = (MASS * speed * np.cos(angle) / steps)[:, None]
    done, given_back, turned = np.zeros(len(angle)), np.zeros(len(angle)), np.zeros(len(angle), bool)
    going = np.ones(len(angle), bool)

    def drag(arm, across, friction, size):  # type: ignore[no-untyped-def]
        slip = v + np.cross(spin, arm)
        slip = slip - (slip @ across)[:, None] * across
        fast = np.linalg.norm(slip, axis=1, keepdims=True)
        stops = 2 / 7 * MASS * fast  # the impulse that takes all of the slip
        return -slip / np.maximum(fast, 1e-300) * np.minimum(friction * size, stops)

    while going.any():
        rubs = drag(at_nose, normal, cushion, push)
        down = -(normal * push + rubs)[:, 2:]  # what the cloth takes, so that the height stays
        holds = drag(at_cloth, up, cloth, np.maximum(down, 0))
        before = v @ normal
        live = going[:, None]
        v = v + live * (normal * push + rubs + holds + down * up) / MASS
        spin = spin + live * (np.cross(at_nose, rubs) + np.cross(at_cloth, holds)) / inertia
        work = going * push[:, 0] * (before + v @ normal) / 2
        done, given_back = np.where(turned, done, done - work), np.where(turned, given_back + work, 0.0)
        turned |= v[:, 1] >= 0
        going &= ~turned | (given_back < restitution**2 * done)
    return v


def out_degrees(degrees, **how):  # type: ignore[no-untyped-def]
    """Degrees off square (n,) at which balls come off that came at these."""
    v = off_the_nose(degrees, **how)
    return np.degrees(np.arctan2(v[:, 0], v[:, 1]))
