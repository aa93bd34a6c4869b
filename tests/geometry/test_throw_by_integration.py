"""Throw and the balls after contact by other means: impulse after impulse, and a rigid-body library.

Nothing here uses a closed form of the contact: two spheres in space, Newton's and Euler's equations,
Coulomb friction at the point of contact against the sliding there, integrated over the normal impulse.
"""

import itertools

import numpy as np
import pymunk
import pytest
from scipy.integrate import solve_ivp

from trainer.geometry import throw as throw_module
from trainer.geometry.aiming import Stroke
from trainer.geometry.cue_path import contact
from trainer.geometry.throw import MOST_SIDE, friction, throw_angle

UP = np.array([0.0, 0.0, 1.0])


class Spheres:
    """Two spheres that touch along ``normal``; state: both velocities, both angular velocities."""

    def __init__(self, normal, masses, radii, velocity, spin) -> None:  # type: ignore[no-untyped-def]
        self.n, self.m, self.r = normal, masses, radii
        self.start = np.concatenate([velocity, np.zeros(3), spin, np.zeros(3)])
        self.slid = self.sliding(self.start)
        size = np.linalg.norm(self.slid)
        self.first = self.slid / size if size > 1e-13 else np.zeros(3)
        self.mu = float(friction(size))

    def surfaces(self, y):  # type: ignore[no-untyped-def]
        """Velocity of the cue ball's surface against the object ball's, at the point of contact."""
        v, o, spin, object_spin = y.reshape(4, 3)
        return v + np.cross(spin, self.r[0] * self.n) - o - np.cross(object_spin, -self.r[1] * self.n)

    def sliding(self, y):  # type: ignore[no-untyped-def]
        u = self.surfaces(y)
        return u - self.n * (u @ self.n)

    def step(self, rubs: bool):  # type: ignore[no-untyped-def]
        def change(_, y):  # type: ignore[no-untyped-def]
            force = self.n.copy()  # on the object ball, for one unit of normal impulse
            if rubs:
                u = self.sliding(y)
                force = force + self.mu * u / np.linalg.norm(u)
            turn = [2.5 / (m * r * r) for m, r in zip(self.m, self.r, strict=True)]
            return np.concatenate(
                [
                    -force / self.m[0],
                    force / self.m[1],
                    turn[0] * np.cross(self.r[0] * self.n, -force),
                    turn[1] * np.cross(-self.r[1] * self.n, force),
                ]
            )

        return change

    def run(self, y, impulse, rubs, closing_ends):  # type: ignore[no-untyped-def]
        def stuck(_, y):  # type: ignore[no-untyped-def]
            return self.sliding(y) @ self.first - 1e-10

        def closed(_, y):  # type: ignore[no-untyped-def]
            return self.surfaces(y) @ self.n

        stuck.terminal = closed.terminal = True  # type: ignore[attr-defined]
        events = [stuck] * rubs + [closed] * closing_ends
        got = solve_ivp(self.step(rubs), (0, impulse), y, events=events, rtol=1e-9, atol=1e-12)
        hit = rubs and got.t_events[0].size > 0
        return got.y[:, -1], got.t[-1], rubs and not hit, got.status

    def collide(self, restitution):  # type: ignore[no-untyped-def]
        y, rubs, done = self.start, bool(self.first.any()), 0.0
        while True:  # until they close no more
            y, used, still, _ = self.run(y, 1e3, rubs, True)
            done += used
            if still == rubs:
                break
            rubs = still
        left = restitution * done  # Poisson: as much again, times e, to part them
        while left > 1e-15:
            y, used, rubs, status = self.run(y, left, rubs, False)
            left -= used
            if status == 0:
                break
        return y.reshape(4, 3)


GRID = list(
    itertools.product(
        (-75.0, -30.0, 4.0, 20.0, 45.0, 80.0),
        (0.3, 1.5, 5.0),
        ((0.0, 0.0), (1.0, 0.0), (-0.7, 0.4), (0.3, -0.9), (1.6, 1.0)),
    )
)


@pytest.mark.parametrize(
    ("masses", "radii", "e", "step"),
    [
        ((1.5, 1.0), (1.0, 1.3), 0.9, 4),
        pytest.param((1.5, 1.0), (1.0, 1.3), 0.9, 1, marks=pytest.mark.long),
        pytest.param((1.0, 1.0), (1.0, 1.0), 1.0, 1, marks=pytest.mark.slow),
        pytest.param((94.0, 116.0), (23.8, 25.4), 1.0, 1, marks=pytest.mark.slow),
    ],
)
def test_contact_by_impulse_steps(masses, radii, e, step) -> None:  # type: ignore[no-untyped-def]
    """Throw, and every velocity and spin after contact, whatever the masses, sizes and restitution."""
    for cut_deg, v, (roll, side) in GRID[::step]:
        cut, stroke = np.radians(cut_deg), Stroke(v, roll, side)
        normal = np.array([np.cos(cut), np.sin(cut), 0.0])
        spin = np.array([0.0, roll * v, side * MOST_SIDE * v]) / radii[0]
        y = Spheres(normal, masses, radii, np.array([v, 0.0, 0.0]), spin).collide(e)
        cue, ball, cue_spin, ball_spin = y
        off = np.arctan2(np.cross(ball, normal)[2], ball @ normal)
        size = float(throw_angle(cut, v, roll, side, e))
        assert size == pytest.approx(off if cut > 0 else -off, abs=1e-6)
        after = contact(cut, stroke, restitution=e, mass_ratio=masses[0] / masses[1], with_friction=True)
        np.testing.assert_allclose(after.velocity, cue[:2], atol=1e-6)
        np.testing.assert_allclose(after.object_velocity, ball[:2], atol=1e-6)
        np.testing.assert_allclose(after.roll, np.cross(cue_spin * radii[0], UP)[:2], atol=1e-6)
        np.testing.assert_allclose(after.object_roll, np.cross(ball_spin * radii[1], UP)[:2], atol=1e-6)
        assert float(after.side) == pytest.approx(cue_spin[2] * radii[0], abs=1e-6)


@pytest.mark.parametrize("mu", [0.02, 0.06, 0.11])
@pytest.mark.parametrize("side", [0.0, 0.5, -1.0])
def test_discs_by_pymunk(mu: float, side: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Discs turn with 1/2 m R^2, so what stops their sliding is 1/3 (of m times it), not 2/7.

    With that and a constant friction in place, the formula must be what a library for flat bodies does:
    friction up to the same kind of limit, 1/6 for discs where spheres have 1/7.
    """
    monkeypatch.setattr(throw_module, "FRICTION", (mu, 0.0, 0.0))
    monkeypatch.setattr(throw_module, "STOP_SLIDING", 1.0 / 3.0)
    stuck = []
    for cut_deg in (-70.0, -40.0, -10.0, 5.0, 15.0, 30.0, 50.0, 75.0):
        cut = np.radians(cut_deg)
        space = pymunk.Space()
        space.iterations = 40
        bodies = []
        for at in ((0.0, 0.0), (2.0 * np.cos(cut) * (1 - 1e-9), 2.0 * np.sin(cut) * (1 - 1e-9))):
            body = pymunk.Body(1.0, pymunk.moment_for_circle(1.0, 0.0, 1.0))
            body.position = at
            shape = pymunk.Circle(body, 1.0)
            shape.elasticity, shape.friction = 1.0, float(np.sqrt(mu))  # the library multiplies the two
            space.add(body, shape)
            bodies.append(body)
        bodies[0].velocity = (1.0, 0.0)
        bodies[0].angular_velocity = side * MOST_SIDE
        space.step(1e-9)
        went = np.array(bodies[1].velocity)
        assert went @ (np.cos(cut), np.sin(cut)) == pytest.approx(np.cos(cut), abs=1e-6)
        off = cut - np.arctan2(went[1], went[0])
        got = float(throw_angle(cut, 1.0, 0.0, side)) * np.sign(cut)
        assert got == pytest.approx(off, abs=1e-6)
        stuck.append(abs(np.tan(off)) < mu - 1e-6)
    if side == 0:
        assert any(stuck)
        assert not all(stuck)  # both sides of the limit were seen
