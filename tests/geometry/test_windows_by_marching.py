"""Windows against distances to polygons of rubber, by halving and by scanning."""

import dataclasses
import math

import numpy as np
import pytest
import shapely
from marching import EACH_SHAPE, clear, places, swap, through, toward, turned, width
from rubber import deep, noses, rubber

from trainer.geometry.jaws import outline
from trainer.geometry.pockets import axes, clean_window, clear_width, on_cloth, window
from trainer.geometry.tables import POCKETS, TABLES, Table

ARC = 1.3e-5  # mm; how far the polygons lie inside their true arcs, and rounding


def some(table: Table, n: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    return places(table, n, seed), np.random.default_rng(seed + 1).integers(0, 6, n)


@EACH_SHAPE
def test_the_trainers_jaws_are_the_polygons(table: Table) -> None:
    """The discs that bound a jaw touch the polygon that is built afresh, and so do its straight parts."""
    on = outline(table)
    for k, name in enumerate(POCKETS):
        for jaw in rubber(table)[name]:
            j = min((0, 1), key=lambda j: jaw.distance(shapely.Point(on.centres[k, j, 1])))
            nose, radius = on.centres[k, j, 0], on.radii[k, j, 0]
            if radius:
                edge = jaw.exterior.distance(shapely.Point(nose))
                assert edge <= radius + 1e-6  # the nose may be cut off short of its centre
                facing = on.starts[k, j, 0] + on.ways[k, j, 0] * on.runs[k, j, 0] * 0.5
                assert jaw.exterior.distance(shapely.Point(facing)) < ARC
                for turn in np.linspace(0, 1, 7):
                    out = on.normals[k, j, 0] * turn + on.normals[k, j, 1] * (1 - turn)
                    rim = nose + out / math.hypot(*out) * radius
                    assert jaw.exterior.distance(shapely.Point(rim)) < ARC
            assert jaw.exterior.distance(shapely.Point(on.centres[k, j, 1])) < 1e-9
            cushion = on.starts[k, j, 1] + on.ways[k, j, 1] * 50.0
            assert jaw.exterior.distance(shapely.Point(cushion)) < 1e-9
        a, _ = noses(table, name)
        depth = on.drop[k] - on.axes[k] @ np.array([a.real, a.imag])
        assert depth == pytest.approx(deep(table, name), abs=1e-9)


@EACH_SHAPE
def test_the_edges_of_a_window_by_halving(table: Table) -> None:
    spots, pocket = some(table, 120, 3)
    opening = clean_window(table, spots, pocket)
    rows = np.flatnonzero(opening.is_open)[:40]
    assert len(rows) > 25
    spots, pocket, r = spots[rows], pocket[rows], table.balls.object_radius
    middle = opening.middle[rows]
    assert (clear(table, spots, middle, pocket) >= r - ARC).all()
    for edge, side in ((opening.right[rows], -1.0), (opening.left[rows], 1.0)):
        inside, outside = np.zeros(len(rows)), np.full(len(rows), side * 0.5)
        for _ in range(40):
            half = (inside + outside) / 2
            way = turned(middle, half)
            free = (clear(table, spots, way, pocket) >= r) & through(table, spots, way, pocket)
            inside, outside = np.where(free, half, inside), np.where(free, outside, half)
        found = turned(middle, inside)
        # seen across: how far apart the two ways are at the jaws, mm, and in angle
        apart = np.abs(found[:, 0] * edge[:, 1] - found[:, 1] * edge[:, 0])
        run = np.hypot(*(opening.target[rows] - spots).T)
        on_cushion = np.isclose(np.minimum(spots, np.array(table.size) - spots).min(axis=1), r)
        assert (apart * run)[~on_cushion].max() < 2 * ARC
        assert apart.max() < 1e-6


@EACH_SHAPE
def test_open_and_closed_by_scanning(table: Table) -> None:
    """Closed: of many ways through the mouth none is clear. Open: just those inside are."""
    spots, pocket = some(table, 60, 5)
    opening = clean_window(table, spots, pocket)
    r, counts = table.balls.object_radius, {True: 0, False: 0}
    for i in range(len(spots)):
        ways = np.array([toward(table, spots[i], POCKETS[pocket[i]], p) for p in np.linspace(-1.2, 1.2, 61)])
        here, which = np.tile(spots[i], (61, 1)), np.full(61, pocket[i])
        gap = clear(table, here, ways, which)
        free = (gap >= r) & through(table, here, ways, which)
        sure = np.abs(gap - r) > 1e-4
        one = clean_window(table, spots[i], int(pocket[i]))
        np.testing.assert_array_equal(one.holds(ways)[sure], free[sure])
        counts[bool(opening.is_open[i])] += 1
        if not opening.is_open[i]:
            assert not free[sure].any()
    assert min(counts.values()) > 10


@EACH_SHAPE
def test_middle_and_target(table: Table) -> None:
    spots, pocket = some(table, 3000, 7)
    opening = clean_window(table, spots, pocket)
    rows = np.flatnonzero(opening.is_open)
    assert len(rows) > 800
    right, middle, left = (v[rows] for v in (opening.right, opening.middle, opening.left))
    np.testing.assert_allclose(
        np.arccos(np.clip((middle * right).sum(1), -1, 1)),
        np.arccos(np.clip((middle * left).sum(1), -1, 1)),
        atol=1e-7,
    )
    ends = [[(z.real, z.imag) for z in noses(table, POCKETS[k])] for k in pocket[rows]]
    assert shapely.distance(shapely.linestrings(ends), shapely.points(opening.target[rows])).max() < 1e-9
    to_target = opening.target[rows] - spots[rows]
    np.testing.assert_allclose(to_target / np.hypot(*to_target.T)[:, None], middle, atol=1e-10)
    assert opening.holds(opening.middle)[rows].all()
    assert not opening.holds(opening.middle)[~opening.is_open].any()
    assert not opening.holds(-opening.middle).any()


@EACH_SHAPE
def test_mirror_and_half_turn(table: Table) -> None:
    spots, pocket = some(table, 2000, 6)
    opening = clean_window(table, spots, pocket)
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
        got = clean_window(table, moved, twin)
        np.testing.assert_array_equal(got.is_open, rows)
        half_turn = flip.prod() > 0  # a half turn keeps right and left, a mirror swaps them
        pairs = [(got.right, opening.right if half_turn else opening.left)]
        pairs += [(got.left, opening.left if half_turn else opening.right)]
        pairs += [(got.middle, opening.middle)]
        for a, b in pairs:
            np.testing.assert_allclose(a[rows], (b * flip)[rows], atol=1e-9)
        want = np.where(flip > 0, opening.target, size - opening.target)
        np.testing.assert_allclose(got.target[rows], want[rows], atol=1e-7)


@EACH_SHAPE
def test_a_bigger_ball_or_a_tighter_jaw_never_has_a_wider_window(table: Table) -> None:
    spots, pocket = some(table, 2000, 9)
    wide = width(clean_window(table, spots, pocket))
    for other in (
        dataclasses.replace(table, balls=dataclasses.replace(table.balls, object_radius=29.0)),
        dataclasses.replace(table, corner=table.corner - 3, middle=table.middle - 3),
        dataclasses.replace(
            table,
            corner_jaw=dataclasses.replace(table.corner_jaw, depth=table.corner_jaw.depth + 30),
            middle_jaw=dataclasses.replace(table.middle_jaw, depth=table.middle_jaw.depth + 30),
        ),
    ):
        narrower = width(clean_window(other, spots, pocket))
        assert (narrower <= wide + 1e-12).all()
        assert (narrower < wide - 1e-6).any()


@EACH_SHAPE
def test_the_clear_width_is_the_gap_between_the_jaws_shadows(table: Table) -> None:
    """From far away: turn the polygons so that the way runs up, and look how far apart they are."""
    for k, name in ((1, "baulk-right"), (2, "middle-left"), (4, "top-left")):
        for angle in np.radians([0.0, 12.0, 30.0, 39.0]):
            way = turned(axes(table)[k], angle)
            shadows = []
            for jaw in rubber(table)[name]:
                at = shapely.get_coordinates(jaw)
                across = way[0] * at[:, 1] - way[1] * at[:, 0]
                shadows.append((across.min(), across.max()))
            shadows.sort()
            gap = shadows[1][0] - shadows[0][1] - 2 * table.balls.object_radius
            assert float(clear_width(table, way, k)) == pytest.approx(gap, abs=ARC)


@EACH_SHAPE
def test_a_ball_on_the_cloth_overlaps_no_jaw(table: Table) -> None:
    """Balls placed anywhere, most about the pockets; the cue ball too."""
    rng = np.random.default_rng(11)
    size = np.array([table.length, table.width])
    mouths = np.array([[sum(noses(table, n)).real / 2, sum(noses(table, n)).imag / 2] for n in POCKETS])
    spots = mouths[rng.integers(0, 6, 4000)] + rng.uniform(-120, 120, (4000, 2))
    spots = np.concatenate([spots, rng.uniform(0, 1, (1000, 2)) * size])
    jaws = shapely.union_all([j for pair in rubber(table).values() for j in pair])
    shapely.prepare(jaws)
    for r in (table.balls.object_radius, table.balls.cue_radius):
        on = on_cloth(table, spots, r)
        assert 1500 < on.sum() < 4500
        assert shapely.dwithin(shapely.points(spots[on]), jaws, r - 1e-9).sum() == 0


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
    got = clean_window(table, np.full((5, 1, 2), 600.0), np.arange(6))
    assert got.is_open.shape == (5, 6)
    assert got.right.shape == got.left.shape == got.middle.shape == got.target.shape == (5, 6, 2)
    assert (got.holds(got.middle) == got.is_open).all()
    assert got.holds(np.array([1.0, 0.0])).shape == (5, 6)
    mixed = window(np.full((4, 1, 2), 500.0), table.jaws, np.full((4, 1), 28.575), table.discs)
    assert mixed.is_open.shape == (4, 6)
    plain = window(np.full((4, 1, 2), 500.0), table.jaws, np.full((4, 1), 28.575))
    assert plain.is_open.shape == (4, 6)
