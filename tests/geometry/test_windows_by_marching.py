"""Windows against a ball marched toward the jaws in small steps, and against shapely."""

import math

import numpy as np
import pytest
import shapely
from marching import drops, ground, steps

from trainer.geometry.pockets import table_window, window
from trainer.geometry.tables import POCKETS, TABLES, Table

EACH_TABLE = pytest.mark.parametrize("table", TABLES.values(), ids=lambda table: table.name)


def places(table: Table, n: int, seed: int) -> np.ndarray:
    """Balls all over the table, a third of them frozen to a cushion or near a pocket."""
    rng = np.random.default_rng(seed)
    r, size = table.balls.object_radius, np.array([table.length, table.width])
    spots = r + rng.random((n, 2)) * (size - 2 * r)
    third = n // 3
    axis, high = rng.integers(0, 2, third), rng.integers(0, 2, third)
    spots[np.arange(third), axis] = np.where(high, size[axis] - r, r)
    return spots


@EACH_TABLE
def test_a_marched_ball_drops_where_the_window_says(table: Table) -> None:
    rng = np.random.default_rng(7)
    on = ground(table)
    mouths = {name: (one, other) for name, one, other in on.mouths}
    told = {True: 0, False: 0}
    for spot in places(table, 30, 3):
        k = int(rng.integers(6))
        one, other = mouths[POCKETS[k]]
        opening = table_window(table, spot, np.intp(k))
        # toward the mouth and about its edges, so that both answers occur
        centre = math.atan2(*((one + other) / 2 - spot)[::-1])
        far = math.dist(spot, (one + other) / 2)
        spread = 1.3 * (table.corner + table.middle) / 2 / max(far, 150.0)
        for turn in centre + spread * (rng.random(4) - 0.5):
            way = np.array([math.cos(turn), math.sin(turn)])
            path = steps(spot, way, far + 2 * table.middle)
            real = drops(path, one, other, on.radius)
            if real is None:
                continue
            assert bool(opening.holds(way)) is real, (spot, POCKETS[k], math.degrees(turn))
            told[real] += 1
    assert min(told.values()) > 15


@EACH_TABLE
def test_the_edges_of_a_window_graze_the_jaws(table: Table) -> None:
    """By shapely: a way along an edge passes its jaw at one radius; just inside it is free of both."""
    spots = places(table, 3000, 4)
    pocket = np.random.default_rng(8).integers(0, 6, len(spots))
    opening = table_window(table, spots, pocket)
    rows = np.flatnonzero(opening.is_open)
    assert len(rows) > 1000
    on = ground(table)
    r = on.radius
    ends = {name: (one, other) for name, one, other in on.mouths}
    jaws = np.array([ends[POCKETS[k]] for k in pocket[rows]])

    def clearance(way: np.ndarray) -> np.ndarray:
        ways = shapely.linestrings(np.stack([spots[rows], spots[rows] + 6000 * way], axis=1))
        return np.stack([shapely.distance(ways, shapely.points(jaws[:, j])) for j in (0, 1)])

    for edge in (opening.right[rows], opening.left[rows]):
        np.testing.assert_allclose(clearance(edge).min(axis=0), r, atol=1e-8)
    inner = opening.middle[rows]
    assert (clearance(inner) >= r - 1e-9).all()
    # midway: as far, in angle, from one edge as from the other
    right, left = (e[rows] for e in (opening.right, opening.left))
    np.testing.assert_allclose(
        np.arccos(np.clip((inner * right).sum(1), -1, 1)),
        np.arccos(np.clip((inner * left).sum(1), -1, 1)),
        atol=1e-7,
    )
    mouths = shapely.linestrings(jaws)
    assert shapely.distance(mouths, shapely.points(opening.target[rows])).max() < 1e-9
    to_target = opening.target[rows] - spots[rows]
    np.testing.assert_allclose(to_target / np.hypot(*to_target.T)[:, None], inner, atol=1e-10)


@EACH_TABLE
def test_cushions_leave_the_way_to_an_open_pocket_free(table: Table) -> None:
    """No window needs the cushion: from anywhere on the table its middle way is clear of all noses."""
    spots = places(table, 3000, 5)
    pocket = np.random.default_rng(9).integers(0, 6, len(spots))
    opening = table_window(table, spots, pocket)
    rows = np.flatnonzero(opening.is_open)
    on = ground(table)
    noses = shapely.multilinestrings([shapely.linestrings([a, b]) for _, a, b in on.cushions])
    for way in (opening.right[rows], opening.middle[rows], opening.left[rows]):
        run = np.hypot(*(opening.target[rows] - spots[rows]).T)[:, None]
        # up to where the mouth begins: the edges reach the mouth line sooner or later than the middle
        ways = shapely.linestrings(np.stack([spots[rows], spots[rows] + way * run * 0.98], axis=1))
        assert shapely.distance(ways, noses).min() >= on.radius - 1e-6


@EACH_TABLE
def test_mirror_and_half_turn(table: Table) -> None:
    spots = places(table, 2000, 6)
    pocket = np.random.default_rng(10).integers(0, 6, len(spots))
    opening = table_window(table, spots, pocket)
    size = np.array([table.length, table.width])
    other_side = np.array([POCKETS.index(p) for p in (swap(name, "left") for name in POCKETS)])
    other_end = np.array([POCKETS.index(swap(name, "top")) for name in POCKETS])
    rows = opening.is_open
    for flip, twin in (
        (np.array([1.0, -1.0]), other_side[pocket]),
        (np.array([-1.0, 1.0]), other_end[pocket]),
        (np.array([-1.0, -1.0]), other_end[other_side[pocket]]),
    ):
        moved = np.where(flip > 0, spots, size - spots)
        got = table_window(table, moved, twin)
        np.testing.assert_array_equal(got.is_open, rows)
        turned = flip.prod() > 0  # a half turn keeps right and left, a mirror swaps them
        pairs = [(got.right, opening.right if turned else opening.left)]
        pairs += [(got.left, opening.left if turned else opening.right)]
        pairs += [(got.middle, opening.middle)]
        for a, b in pairs:
            np.testing.assert_allclose(a[rows], (b * flip)[rows], atol=1e-9)
        want = np.where(flip > 0, opening.target, size - opening.target)
        np.testing.assert_allclose(got.target[rows], want[rows], atol=1e-7)


def swap(name: str, word: str) -> str:
    """The pocket's name on the other side (``left``) or at the other end (``top``)."""
    end, side = name.split("-")
    if word == "left":
        return f"{end}-{'right' if side == 'left' else 'left'}"
    return f"{ {'top': 'baulk', 'baulk': 'top'}.get(end, end) }-{side}"


def test_a_ball_too_big_or_behind_or_in_a_jaw_finds_no_window() -> None:
    jaws = np.array([[0.0, -40.0], [0.0, 40.0]])
    r = np.array(26.25)
    assert window([-500.0, 0.0], jaws, r).is_open
    assert not window([500.0, 0.0], jaws, r).is_open  # behind the mouth
    assert not window([-500.0, 0.0], jaws, np.array(40.1)).is_open  # wider than the mouth
    assert not window([0.0, 30.0], jaws, r).is_open  # overlaps a jaw
    assert not window([-500.0, 0.0], jaws, r).holds([-1.0, 0.0])
    for closed in (window([500.0, 0.0], jaws, r), window([0.0, 30.0], jaws, r)):
        turns = np.linspace(0, 2 * np.pi, 73)
        assert not closed.holds(np.stack([np.cos(turns), np.sin(turns)], axis=1)).any()


def test_shapes_broadcast() -> None:
    table = TABLES["pool-9"]
    got = table_window(table, np.full((5, 1, 2), 600.0), np.arange(6))
    assert got.is_open.shape == (5, 6)
    assert got.right.shape == got.left.shape == got.middle.shape == got.target.shape == (5, 6, 2)
    assert got.holds(got.middle).all()
    assert got.holds(np.array([1.0, 0.0])).shape == (5, 6)
    mixed = window(np.full((4, 1, 2), 500.0), table.jaws, np.full((4, 1), 28.575))
    assert mixed.is_open.shape == (4, 6)
