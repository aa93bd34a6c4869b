"""Balls that drop off the jaws, against a ball that is rolled over polygons of rubber in steps."""

import numpy as np
import pytest
from marching import EACH_SHAPE, OWN, places, rolls_in, swap, toward, turned
from openings import drops

from trainer.geometry.jaws import MOST_CONTACTS, RESTITUTION, bare, line_edge
from trainer.geometry.pockets import axes, clean_window
from trainer.geometry.tables import POCKETS, TABLES, Table

DOUBT = 1e-4  # radians: a way whose neighbours this far off end otherwise proves nothing


def some(table: Table, n: int, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Balls, pockets, and ways at the mouth and the rubber beside it."""
    spots = places(table, n, seed)
    rng = np.random.default_rng(seed + 1)
    pocket = rng.integers(0, 6, n)
    aims = rng.uniform(-1.25, 1.25, n)
    ways = np.array([toward(table, s, POCKETS[k], a) for s, k, a in zip(spots, pocket, aims, strict=True)])
    return spots, pocket, ways


@pytest.mark.parametrize(
    ("table", "restitution"),
    [
        pytest.param(*case, marks=pytest.mark.slow if k % 2 or k == 2 else [])
        for k, case in enumerate(zip([*TABLES.values(), OWN], [RESTITUTION, 0.6, 0.9] * 2, strict=True))
    ],
    ids=lambda value: value.name if isinstance(value, Table) else f"{value:g}",
)
def test_a_ball_rolled_in_steps_drops_where_the_trainer_says(table: Table, restitution: float) -> None:
    spots, pocket, ways = some(table, 50, 31)
    said = [
        drops(table, spots, turned(ways, turn), pocket, restitution=restitution)
        for turn in (-DOUBT, 0.0, DOUBT)
    ]
    clean = clean_window(table, spots, pocket).holds(ways)
    seen = {"clean": 0, "helped": 0, "out": 0}
    doubtful = 0
    for i in range(len(spots)):
        if not said[0][i] == said[1][i] == said[2][i]:
            doubtful += 1
            continue
        real = rolls_in(table, spots[i], ways[i], POCKETS[pocket[i]], restitution, MOST_CONTACTS)
        assert bool(said[1][i]) is real, (spots[i], POCKETS[pocket[i]], ways[i])
        seen["clean" if clean[i] else "helped" if real else "out"] += 1
    assert doubtful < 8
    assert min(seen.values()) >= 4, seen


@EACH_SHAPE
def test_without_help_it_is_the_clean_window(table: Table) -> None:
    spots, pocket, ways = some(table, 3000, 33)
    clean = clean_window(table, spots, pocket)
    np.testing.assert_array_equal(drops(table, spots, ways, pocket, help="none"), clean.holds(ways))


@EACH_SHAPE
def test_more_help_never_takes_a_ball_away(table: Table) -> None:
    spots, pocket, ways = some(table, 3000, 35)
    none, near, both = (drops(table, spots, ways, pocket, help=h) for h in ("none", "near", "both"))
    assert not (none & ~near).any()
    assert not (near & ~both).any()
    assert none.sum() < near.sum() < both.sum()


@EACH_SHAPE
def test_mirror(table: Table) -> None:
    spots, pocket, ways = some(table, 2000, 41)
    flip, size = np.array([1.0, -1.0]), np.array([0.0, table.width])
    twin = np.array([POCKETS.index(swap(name, "left")) for name in POCKETS])[pocket]
    for help in ("near", "both"):
        here = drops(table, spots, ways, pocket, help=help)
        there = drops(table, size + spots * flip, ways * flip, twin, help=help)
        assert (here != there).sum() <= 2  # rattles that rounding decides


def test_near_is_the_jaw_on_the_balls_side() -> None:
    """Along the long cushion into a corner the ball comes off the far jaw, so near help is no help."""
    table = TABLES["pool-9"]
    k, r = POCKETS.index("top-right"), table.balls.object_radius
    spot, way = [table.length - 900.0, r + 1.0], [1.0, 0.0]
    assert not drops(table, spot, way, k, help="none")
    assert not drops(table, spot, way, k, help="near")
    assert drops(table, spot, way, k, help="both")


@EACH_SHAPE
def test_what_becomes_of_a_ball_depends_on_its_line_alone(table: Table) -> None:
    """From anywhere back along its way, as far as the cloth goes; rattles that rounding decides apart."""
    spots, pocket, ways = some(table, 2000, 43)
    low, high = np.full(2, table.balls.object_radius), np.array(table.size) - table.balls.object_radius
    with np.errstate(divide="ignore"):
        back = np.maximum((spots - low) / ways, (spots - high) / ways).min(axis=1)
    farther = spots - ways * (back * np.random.default_rng(44).random(len(spots)))[:, None]
    assert (np.linalg.norm(farther - spots, axis=1) > 100).mean() > 0.4
    for help in ("none", "both"):
        here, there = (drops(table, at, ways, pocket, help=help) for at in (spots, farther))
        assert (here != there).sum() <= 2


@pytest.mark.parametrize("restitution", [RESTITUTION, RESTITUTION + 0.01])
def test_an_edge_is_worked_out_for_any_table_and_rubber(restitution: float) -> None:
    entries, edge = line_edge(bare(TABLES["snooker"]), "corner", "both", restitution)
    assert len(entries) == len(edge) > 100
    assert (np.diff(entries) > 0).all()


def test_a_line_beyond_the_outer_side_of_the_last_jaw_does_not_drop() -> None:
    """At a corner, nearly along the cushion: the edge lies between two lines that are rolled in steps."""
    table, hole, entry = TABLES["pool-8"], 0, -42.875
    entries, edge = line_edge(table, "corner", "both", 0.6)
    assert 50.5 < np.interp(entry, np.degrees(entries), edge) < 51.5
    way = turned(axes(table)[hole], np.radians(entry))
    for aside, falls in ((50.5, True), (51.5, False)):
        line = table.jaws[hole].mean(axis=0) + aside * np.array([-way[1], way[0]])
        start = line + way * ((table.balls.object_radius + 0.01 - line) / way).min()
        assert (start >= table.balls.object_radius).all()
        assert rolls_in(table, start, way, POCKETS[hole], 0.6, MOST_CONTACTS) is falls
