"""Contact in plan against two real spheres that rest on a plane, solved numerically in 3-D."""

import math
from dataclasses import replace

import numpy as np
import pytest

from trainer.geometry.aiming import send
from trainer.geometry.contact import (
    aim_at_offset,
    aim_offset,
    cut_angle,
    line_of_aim,
    touching_on_line,
    touching_position,
)
from trainer.geometry.fullness import reach
from trainer.geometry.tables import TABLES, Balls

SIZES = [(26.25, 26.25), (23.8125, 25.4), (28.575, 20.0), (10.0, 40.0)]


def in_contact(rc: float, ro: float) -> float:
    """How far apart the centres of two balls are in plan, as the trainer has it."""
    return replace(TABLES["snooker"], balls=Balls(rc, ro, 1.0, 1.0)).contact


def first_touch(
    cue: np.ndarray, ball: np.ndarray, aim: np.ndarray, rc: float, ro: float
) -> tuple[np.ndarray, np.ndarray]:
    """Roll a sphere along ``aim`` until it touches: its centre in plan, the line of centres in plan."""

    def gap(run: float) -> float:
        at = (*(cue + run * aim), rc)
        return math.dist(at, (*ball, ro)) - (rc + ro)

    low, high = 0.0, math.dist(cue, ball)  # past the closest approach: go back to it
    a, b = low, high
    for _ in range(300):  # a ternary search for the closest approach
        m, n = a + (b - a) / 3, b - (b - a) / 3
        a, b = (a, n) if gap(m) < gap(n) else (m, b)
    assert gap(low) > 0 > gap(a)
    high = a
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if gap(middle) > 0 else (low, middle)
    at = cue + low * aim
    centres = np.array([*(ball - at), ro - rc])
    impulse = centres / math.sqrt(float(centres @ centres))
    # the blow is along the 3-D line of centres; the table takes its upright part
    return at, impulse[:2] / math.hypot(*impulse[:2])


@pytest.mark.parametrize(("rc", "ro"), SIZES)
@pytest.mark.parametrize("part", [0.0, 1e-12, 0.1, -0.35, 0.5, -0.8, 0.99])
def test_where_spheres_meet(rc: float, ro: float, part: float) -> None:
    rng = np.random.default_rng(11)
    for _ in range(5):
        cue, ball = rng.random(2) * 900, 1000 + rng.random(2) * 900
        offset = part * math.sqrt(rc / ro)
        distance = in_contact(rc, ro)
        sent = send(cue, ball, offset, ro, distance)
        at, way = first_touch(cue, ball, sent.aim, rc, ro)
        assert bool(sent.hits)
        np.testing.assert_allclose(sent.touching, at, atol=2e-9)
        np.testing.assert_allclose(sent.way, way, atol=1e-9)
        assert math.dist(at, ball) == pytest.approx(distance, abs=1e-9)
        cut = float(cut_angle(cue, ball, sent.touching))
        assert cut == pytest.approx(math.asin(offset / float(reach(rc, ro))), abs=1e-9)
        left = sent.aim[0] * way[1] - sent.aim[1] * way[0]  # + where the ball goes left of the aim
        assert left == pytest.approx(math.sin(cut), abs=1e-9)


@pytest.mark.parametrize(("rc", "ro"), SIZES)
@pytest.mark.parametrize("degrees", [0.0, 1e-12, 1.0, 30.0, 60.0, 89.0, 89.999999, 90.5])
@pytest.mark.parametrize("side", [1, -1])
def test_cut_is_exact_at_both_ends(rc: float, ro: float, degrees: float, side: int) -> None:
    """Build a shot from its cut with Python's complex numbers; read it back to 1e-9."""
    cut = side * math.radians(degrees)
    d = 2 * math.sqrt(rc * ro)
    for turn in np.linspace(0, 2 * math.pi, 17):
        u = complex(math.cos(turn), math.sin(turn))  # the way of the object ball
        ball = complex(1400, 800)
        touching = ball - d * u
        aim = u * complex(math.cos(cut), -math.sin(cut))
        cue = touching - 750 * aim
        args = [np.array([z.real, z.imag]) for z in (cue, ball, touching)]
        got = float(cut_angle(*args))
        assert got == pytest.approx(cut, abs=1e-11)
        offset = d / (2 * ro) * math.sin(cut)
        assert float(aim_offset(*args, ro)) == pytest.approx(offset, abs=1e-12)
        np.testing.assert_allclose(line_of_aim(args[0], args[2]), [aim.real, aim.imag], atol=1e-14)
        way = np.array([u.real, u.imag])
        np.testing.assert_allclose(touching_position(args[1], way, d), args[2], atol=1e-12)


@pytest.mark.parametrize(("rc", "ro"), SIZES)
def test_the_aim_passes_the_ball_at_its_offset(rc: float, ro: float) -> None:
    rng = np.random.default_rng(2)
    for offset in (-0.7, -0.2, 0.0, 0.4, 0.69):
        cue, ball = rng.random(2) * 500, 900 + rng.random(2) * 500
        offset *= float(reach(rc, ro))
        sent = send(cue, ball, offset, ro, in_contact(rc, ro))
        # abreast of the centre: the foot of the perpendicular, on the aim's right for + offsets
        point = cue + sent.aim * ((ball - cue) @ sent.aim)
        right = np.array([sent.aim[1], -sent.aim[0]])
        assert float((point - ball) @ right) == pytest.approx(offset * 2 * ro, abs=1e-9)


def test_misses_are_told() -> None:
    cue, ball = np.array([0.0, 0.0]), np.array([500.0, 0.0])
    for offset, hits in ((0.999999, True), (1.000001, False), (-1.000001, False), (30.0, False)):
        sent = send(cue, ball, offset, 26.25, 52.5)
        assert bool(sent.hits) is hits
        assert bool(np.isfinite(sent.way).all()) is hits
        assert bool(np.isfinite(sent.touching).all()) is hits
    assert np.isnan(touching_on_line(cue, ball, [-1.0, 0.0], 52.5)).all()  # the other way
    assert np.isnan(aim_at_offset(cue, ball, 500 / 52.5 + 0.01, 26.25)).all()


def test_shapes_broadcast() -> None:
    cue = np.zeros((4, 1, 2))
    ball = np.full((3, 2), 700.0)
    offset = np.linspace(-0.5, 0.5, 5)[:, None, None]
    radius, distance = np.full(3, 26.25), np.full((4, 1), 52.5)
    sent = send(cue, ball, offset, radius, distance)
    assert sent.hits.shape == (5, 4, 3)
    for points in (sent.touching, sent.way, sent.aim):
        assert points.shape == (5, 4, 3, 2)
    assert cut_angle(cue, ball, sent.touching).shape == (5, 4, 3)
    one = send(cue[1, 0], ball[2], offset[3, 0, 0], 26.25, 52.5)
    np.testing.assert_array_equal(sent.way[3, 1, 2], one.way)
