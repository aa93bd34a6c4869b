"""A ball at a cushion by impulses in small steps, as vectors in space: the tests' own integration.

It shares nothing with the trainer. The cushion touches the ball at its nose, above the ball's middle, and
presses it on the cloth, which holds its height: at either contact friction goes against the slip of the
moment. Mass in kg, lengths in metres, speeds in m/s: those of Mathavan, Jackson, Parkin (2010),
doi 10.1243/09544062JMES1964.
"""

import numpy as np

RADIUS, MASS = 0.02625, 0.1406
E, CUSHION, CLOTH, NOSE = 0.98, 0.14, 0.212, 0.7
MODEL = {"restitution": E, "cushion": CUSHION, "cloth": CLOTH, "nose": NOSE}


def cross(a, b):  # type: ignore[no-untyped-def]
    """The vector product of vectors (n, 3) or (3,), without the checks of numpy's own."""
    (ax, ay, az), (bx, by, bz) = np.moveaxis(a, -1, 0), np.moveaxis(b, -1, 0)
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=-1)


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

    ``roll`` and ``side`` in parts of the speed, + side turns to the left seen from above. All but ``steps``
    may be arrays (n,): many balls cost hardly more than one.
    """
    angle = np.radians(np.atleast_1d(np.asarray(degrees, float)))
    each = (np.broadcast_to(x, angle.shape)[:, None] for x in (roll, side, speed, cushion, cloth, nose))
    roll, side, speed, cushion, cloth, nose = each
    up = np.array([0.0, 0.0, 1.0])
    v = speed * np.stack([np.sin(angle), -np.cos(angle), 0 * angle], axis=-1)
    spin = (roll * cross(up, v) + side * speed * up) / RADIUS
    high = (2 * nose - 1) * RADIUS
    at_nose = np.concatenate([0 * high, -np.sqrt(RADIUS**2 - high**2), high], axis=1)
    normal, at_cloth = -at_nose / RADIUS, -RADIUS * up
    inertia = 0.4 * MASS * RADIUS**2
    push = MASS * speed * np.cos(angle)[:, None] / steps
    done, given_back, turned = np.zeros(len(angle)), np.zeros(len(angle)), np.zeros(len(angle), bool)
    going = np.ones(len(angle), bool)

    def drag(arm, across, friction, size):  # type: ignore[no-untyped-def]
        slip = v + cross(spin, arm)
        slip = slip - (slip * across).sum(axis=1, keepdims=True) * across
        fast = np.sqrt((slip * slip).sum(axis=1, keepdims=True))
        stops = 2 / 7 * MASS * fast  # the impulse that takes all of the slip
        return -slip / np.maximum(fast, 1e-300) * np.minimum(friction * size, stops)

    while going.any():
        rubs = drag(at_nose, normal, cushion, push)
        down = -(normal * push + rubs)[:, 2:]  # what the cloth takes, so that the height stays
        holds = drag(at_cloth, up, cloth, np.maximum(down, 0))
        before = (v * normal).sum(axis=1)
        live = going[:, None]
        v = v + live * (normal * push + rubs + holds + down * up) / MASS
        spin = spin + live * (cross(at_nose, rubs) + cross(at_cloth, holds)) / inertia
        work = going * push[:, 0] * (before + (v * normal).sum(axis=1)) / 2
        done, given_back = np.where(turned, done, done - work), np.where(turned, given_back + work, 0.0)
        turned |= v[:, 1] >= 0
        going &= ~turned | (given_back < restitution**2 * done)
    return v


def in_one_go(cases, degrees):  # type: ignore[no-untyped-def]
    """Velocities (angles, 3) for each case, of :func:`off_the_nose` by its words; all moved at once."""
    each = {name: np.repeat([case[name] for case in cases], len(degrees)) for name in cases[0]}
    return np.split(off_the_nose(np.tile(degrees, len(cases)), **each), len(cases))


def model_of(rubber):  # type: ignore[no-untyped-def]
    """The words that say a cushion and its cloth."""
    return dict(zip(MODEL, (rubber.restitution, rubber.friction, rubber.cloth, rubber.nose), strict=True))


def out_of(v):  # type: ignore[no-untyped-def]
    """Degrees off square (n,) at which balls with these velocities (n, 3) come off."""
    return np.degrees(np.arctan2(v[:, 0], v[:, 1]))
