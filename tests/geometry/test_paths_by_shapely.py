"""Distances and free ways against shapely."""

import numpy as np
import pytest
import shapely

from trainer.geometry.vectors import distance_to_way, on_table, way_to_edge

SIZE = (3569.0, 1778.0)


def test_distance_to_way() -> None:
    rng = np.random.default_rng(0)
    start, end, point = rng.random((3, 5000, 2)) * SIZE
    end[:50] = start[:50]  # no way at all
    ways = shapely.linestrings(np.stack([start, end], axis=1))
    want = shapely.distance(ways, shapely.points(point))
    np.testing.assert_allclose(distance_to_way(start, end, point), want, atol=1e-9)


def test_distance_to_way_broadcasts() -> None:
    got = distance_to_way(np.zeros((3, 1, 2)), np.ones((4, 2)), np.full(2, 2.0))
    assert got.shape == (3, 4)
    np.testing.assert_allclose(got, np.sqrt(2))


@pytest.mark.parametrize("radius", [0.0, 23.8125, 26.25])
def test_on_table(radius: float) -> None:
    rng = np.random.default_rng(1)
    points = rng.random((20_000, 2)) * (SIZE[0] + 200, SIZE[1] + 200) - 100
    room = shapely.box(0, 0, *SIZE).buffer(-radius, join_style="mitre")
    np.testing.assert_array_equal(
        on_table(points, radius, SIZE), shapely.contains(room, shapely.points(points))
    )


def test_a_ball_frozen_to_a_cushion_is_on_the_table() -> None:
    assert on_table([26.25, 900.0], 26.25, SIZE)
    assert on_table([26.25, 26.25], 26.25, SIZE)
    assert not on_table([26.25 - 1e-9, 900.0], 26.25, SIZE)
    assert not on_table([np.nan, 900.0], 26.25, SIZE)


def test_way_to_edge() -> None:
    rng = np.random.default_rng(2)
    radius = 26.25
    room = shapely.box(radius, radius, SIZE[0] - radius, SIZE[1] - radius)
    start = radius + rng.random((3000, 2)) * (np.array(SIZE) - 2 * radius)
    turn = rng.random(3000) * 2 * np.pi
    turn[:4] = np.array([0, 1, 2, 3]) * np.pi / 2
    way = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    way[:4] = [(1, 0), (0, 1), (-1, 0), (0, -1)]  # along an axis exactly: divides by zero
    rays = shapely.linestrings(np.stack([start, start + 1e4 * way], axis=1))
    want = shapely.length(shapely.intersection(rays, room))
    np.testing.assert_allclose(way_to_edge(start, way, radius, SIZE), want, atol=1e-6)


def test_way_to_edge_is_quiet_on_the_edge() -> None:
    assert way_to_edge([26.25, 500.0], [-1.0, 0.0], 26.25, SIZE) == 0.0
    assert way_to_edge([26.25, 500.0], [0.0, 1.0], 26.25, SIZE) == SIZE[1] - 26.25 - 500.0
