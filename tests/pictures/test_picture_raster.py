"""Spans of many shapes at once, against plain loops over pixels."""

import math

import numpy as np
import pytest

from trainer.pictures.raster import depths, inward, spans, stretched


def polygon(rng):
    """A convex polygon: places round an ellipse, either way round."""
    turn = np.sort(rng.uniform(0, 2 * math.pi, rng.integers(3, 7)))[:: rng.choice([1, -1])]
    x, y = rng.uniform(-10, 50, 2)
    return [(x + 25 * math.cos(t), y + 12 * math.sin(t)) for t in turn.tolist()]


def inside_by(corners, x, y):
    """How deep a place lies inside a polygon, by cross products, its corners put left to right first."""
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    ring = corners if area > 0 else corners[::-1]
    edges = zip(ring, ring[1:] + ring[:1], strict=True)
    return min(((b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])) / math.dist(a, b) for a, b in edges)


def test_depths_are_those_of_the_nearest_edge():
    rng = np.random.default_rng(1)
    for _ in range(30):
        corners, x, y = polygon(rng), rng.uniform(-20, 60, 9), rng.uniform(-20, 60, 9)
        lines = np.repeat(np.array(inward(corners)).T[..., None], 9, axis=2)
        want = [inside_by(corners, a, b) for a, b in zip(x, y, strict=True)]
        np.testing.assert_allclose(depths(lines, x, y), want, atol=1e-9)


@pytest.mark.parametrize("level", [-0.5, 0.0, 0.5])
@pytest.mark.parametrize("count", [12, pytest.param(40, marks=pytest.mark.long)])
def test_spans_are_the_pixels_deep_enough_inside(level, count):
    rng = np.random.default_rng(2)
    for _ in range(count):
        corners = polygon(rng)
        lines = np.repeat(np.array(inward(corners)).T[..., None], 40, axis=2)
        low, high = np.full(40, 3), np.full(40, 45)
        ((first, end),) = spans(lines, np.arange(40) + 0.5, low, high, (level,))
        for row in range(40):
            deep = [inside_by(corners, col + 0.5, row + 0.5) >= level for col in range(3, 45)]
            assert list(range(first[row], end[row])) == [col for col, is_in in enumerate(deep, 3) if is_in]
            assert 3 <= first[row] <= end[row] <= 45


def test_upright_and_level_edges_bound_spans_too():
    square = [(4.0, 2.0), (9.0, 2.0), (9.0, 7.0), (4.0, 7.0)]
    lines = np.repeat(np.array(inward(square)).T[..., None], 10, axis=2)
    ((first, end),) = spans(lines, np.arange(10) + 0.5, np.zeros(10, int), np.full(10, 20), (0.0,))
    assert [list(range(a, b)) for a, b in zip(first, end, strict=True)] == (
        [[]] * 2 + [[4, 5, 6, 7, 8]] * 5 + [[]] * 3
    )


def test_stretched_counts_from_each_first_to_its_end():
    which, number = stretched(np.array([3, 7, 5, 0]), np.array([6, 7, 2, 2]))
    assert which.tolist() == [0, 0, 0, 3, 3]
    assert number.tolist() == [3, 4, 5, 0, 1]
