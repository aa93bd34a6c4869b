"""Fullness, cut, offset and throw against closed forms at high precision, by sympy."""

import numpy as np
import pytest
import sympy as sp

from trainer.geometry import fullness as fullness_module
from trainer.geometry.fullness import (
    cut_from_fullness,
    fullness_from_cut,
    offset_from_fullness,
)
from trainer.geometry.throw import FRICTION, MOST_SIDE, throw_angle

DIGITS = 60
CUTS = [0.0, 1e-12, 1e-6, 0.5, 10.0, 29.999999, 30.0, 45.0, 60.0, 80.0, 89.0, 89.9999, 89.999999]
REACHES = [1.0, float(np.sqrt(1.875 / 2.0)), 1.05]


def exact(x: float) -> sp.Float:
    """The double as it is, with room for many more digits."""
    return sp.Float(sp.Rational(x), DIGITS)


def number(expression: sp.Expr) -> float:
    return float(sp.N(expression, 40))


@pytest.mark.parametrize("degrees", CUTS)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_fullness_from_cut(degrees: float, side: float) -> None:
    cut = float(np.radians(degrees))
    want = number(1 - sp.sin(exact(cut)))
    got = float(fullness_from_cut(side * cut))
    assert got == pytest.approx(want, abs=4e-16)
    # near 90 degrees the fullness itself keeps digits, though it is as small as 1e-16
    assert got == pytest.approx(want, rel=3e-8, abs=1e-24)


@pytest.mark.parametrize(
    "fullness", [0.0, 1e-300, 1e-16, 1e-9, 1e-3, 0.125, 0.5, 0.75, 0.999999, 1 - 1e-12, 1.0]
)
def test_cut_from_fullness(fullness: float) -> None:
    want = number(sp.asin(1 - exact(fullness)))
    assert float(cut_from_fullness(fullness)) == pytest.approx(want, abs=4e-16)


@pytest.mark.parametrize("degrees", CUTS)
def test_fullness_and_cut_undo_each_other(degrees: float) -> None:
    cut = float(np.radians(degrees))
    assert float(cut_from_fullness(fullness_from_cut(cut))) == pytest.approx(cut, abs=1e-15)


@pytest.mark.parametrize(("cue", "ball"), [(26.25, 26.25), (23.8125, 25.4), (30.0, 10.0)])
def test_reach(cue: float, ball: float) -> None:
    want = number(sp.sqrt(exact(cue) / exact(ball)))
    assert float(fullness_module.reach(cue, ball)) == pytest.approx(want, abs=4e-16)


def test_outside_the_range_is_nan_and_quiet() -> None:
    assert np.isnan(cut_from_fullness(np.array([-1e-9, 1 + 1e-9, np.nan]))).all()


def test_shapes_broadcast() -> None:
    cuts, reaches = np.linspace(-1, 1, 12).reshape(3, 1, 4), np.linspace(0.9, 1.1, 5)[:, None]
    assert fullness_from_cut(cuts).shape == (3, 1, 4)
    assert cut_from_fullness(np.full((2, 3), 0.5)).shape == (2, 3)
    assert offset_from_fullness(cuts, 1.0, reaches).shape == (3, 5, 4)
    assert throw_angle(cuts, reaches, 0.5, 0.1).shape == (3, 5, 4)
    for scalar in (fullness_from_cut(0.3), cut_from_fullness(0.3), offset_from_fullness(0.3, 1.0)):
        assert np.shape(scalar) == ()
    wide = offset_from_fullness(cuts, -1.0, reaches)
    for i, j, k in np.ndindex(wide.shape):
        assert wide[i, j, k] == offset_from_fullness(cuts[i, 0, k], -1.0, reaches[j, 0])


# --- Throw: the vector form of the same physics, worked with sympy at high precision ---------------


def thrown(cut: float, speed: float, roll: float, side: float) -> float:
    """Slide of the two surfaces at contact as 3-D vectors; friction along it; no more than sticks.

    The cue ball moves along +x and spins about y (roll) and z (side); the object ball lies at
    ``cut`` to the left. Nothing here knows left from right but the cross product.
    """
    a, b, c = (exact(v) for v in FRICTION)
    phi, v = exact(cut), exact(speed)
    normal = sp.Matrix([sp.cos(phi), sp.sin(phi), 0])
    along = sp.Matrix([-sp.sin(phi), sp.cos(phi), 0])
    velocity = sp.Matrix([v, 0, 0])
    # R times the spin: rolling forward turns about +y, right-hand side about +z
    spin = sp.Matrix([0, exact(roll) * v, exact(side) * exact(MOST_SIDE) * v])
    surface = velocity + spin.cross(normal)
    slide = (surface - normal * surface.dot(normal)).evalf(DIGITS)
    flat = slide.dot(along)
    relative = sp.sqrt(slide.dot(slide))
    mu = a + b * sp.exp(-c * relative)
    pull = sp.Min(mu * v * sp.cos(phi) / relative, sp.Rational(1, 7)) * flat
    leaves = normal * (v * sp.cos(phi)) + along * pull
    turned = sp.atan2(leaves[1], leaves[0]) - phi
    return -float(turned) if cut >= 0 else float(turned)  # toward the cue ball's motion is +


@pytest.mark.parametrize("cut", [1e-9, 0.1, 0.5, 0.9, 1.3, 1.57])
@pytest.mark.parametrize("turned", [1.0, -1.0])
@pytest.mark.parametrize(
    ("speed", "roll", "side"),
    [(0.3, 0.0, 0.0), (1.0, 1.0, 0.3), (2.5, 0.4, -0.7), (4.0, -0.5, 1.0), (0.6, 0.0, 0.5)],
)
def test_throw_from_three_dimensions(
    cut: float, turned: float, speed: float, roll: float, side: float
) -> None:
    got = float(throw_angle(turned * cut, speed, roll, side))
    assert got == pytest.approx(thrown(turned * cut, speed, roll, side), abs=1e-12)


def test_throw_is_continuous_through_straight() -> None:
    """Side spin throws a straight ball one way, whichever sign the cut's rounding has."""
    for side in (-1.0, -0.3, 0.4, 1.0):
        right = -throw_angle(-1e-12, 1.0, 0.3, side)
        left = throw_angle(1e-12, 1.0, 0.3, side)
        assert left == pytest.approx(float(right), abs=1e-11)
        assert left * side < 0  # right-hand side throws to the left


def test_throw_is_finite_where_nothing_slides() -> None:
    assert throw_angle(0.0, 1.0) == 0.0
    assert np.isfinite(throw_angle(np.pi / 2, 1.0, 0.0, 0.8))
    assert np.isfinite(throw_angle(np.array([-np.pi / 2, np.pi / 2]), 1e-9)).all()
