"""Plane vectors against complex numbers."""

import numpy as np

from trainer.geometry.vectors import (
    angle_between,
    cross,
    dot,
    left_of,
    length,
    turn,
    turn_by,
    unit,
)


def as_complex(a: np.ndarray) -> np.ndarray:
    return a[..., 0] + 1j * a[..., 1]


def test_against_complex_numbers() -> None:
    a, b = np.random.default_rng(0).normal(size=(2, 4000, 2)) * 500
    za, zb = as_complex(a), as_complex(b)
    product = za.conj() * zb
    np.testing.assert_allclose(dot(a, b), product.real, atol=1e-9)
    np.testing.assert_allclose(cross(a, b), product.imag, atol=1e-9)
    np.testing.assert_allclose(length(a), np.abs(za), rtol=1e-15)
    np.testing.assert_allclose(as_complex(unit(a)), za / np.abs(za), atol=1e-15)
    np.testing.assert_allclose(as_complex(left_of(a)), 1j * za, atol=0)
    np.testing.assert_allclose(angle_between(a, b), np.angle(zb / za), atol=1e-14)
    angle = np.linspace(-7, 7, 4000)
    np.testing.assert_allclose(as_complex(turn_by(a, angle)), za * np.exp(1j * angle), atol=1e-11)
    np.testing.assert_allclose(turn(a, np.sin(angle), np.cos(angle)), turn_by(a, angle), atol=0)


def test_tiny_angles_keep_their_digits() -> None:
    angles = np.array([1e-12, -1e-9, 1e-300, np.pi / 2, 0.0])
    east = np.array([1.0, 0.0])
    np.testing.assert_allclose(angle_between(east, turn_by(east, angles)), angles, rtol=1e-15)


def test_a_zero_vector_has_no_direction() -> None:
    assert unit(np.zeros(2)).tolist() == [0.0, 0.0]
    assert unit(np.array([[3.0, 4.0], [0.0, 0.0]])).tolist() == [[0.6, 0.8], [0.0, 0.0]]


def test_shapes_broadcast() -> None:
    a, b = np.ones((3, 1, 2)), np.ones((4, 2))
    for f in (dot, cross, angle_between):
        assert f(a, b).shape == (3, 4)
    assert turn_by(b, np.zeros((5, 1))).shape == (5, 4, 2)
    assert unit(a).shape == left_of(a).shape == (3, 1, 2)
