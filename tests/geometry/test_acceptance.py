"""The windows that a table counts, against tracing each ball's ways one by one."""

import dataclasses

import numpy as np
import pytest
from marching import EACH_SHAPE, EACH_TABLE, OWN, places, rolls_in, swap, turned, width
from openings import drops, effective_opening

from trainer.geometry.acceptance import table_window
from trainer.geometry.jaws import KINDS, MOST_CONTACTS, RESTITUTION, line_edge
from trainer.geometry.pockets import Window, axes, clean_window
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.shots.draw import draw
from trainer.shots.shot import Limits

SCANNED = 0.25  # mm at the mouth: the step at which ways are tried outward from the middle


def some(table: Table, n: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    return places(table, n, seed), np.random.default_rng(seed + 1).integers(0, 6, n)


def traced_end(
    table: Table, ball: np.ndarray, pocket: np.ndarray, start: np.ndarray, side: float, help: str
) -> np.ndarray:
    """How far, in mm at the mouth, the way may turn from ``start`` and every way between drops."""
    far = np.linalg.norm(table.jaws[pocket].mean(axis=1) - ball, axis=1)
    off = np.arange(0.0, 1.5 * table.middle, SCANNED)

    def falls(mm: np.ndarray) -> np.ndarray:
        ways = turned(start[:, None], side * mm / far[:, None])
        return drops(table, ball[:, None], ways, pocket[:, None], help=help)

    good = falls(np.broadcast_to(off, (len(ball), len(off))))
    assert not good.all(axis=1).any()
    out = off[good.argmin(axis=1)]
    inside, outside = np.maximum(out - SCANNED, 0.0), out
    for _ in range(20):
        half = (inside + outside) / 2
        ok = falls(half[:, None])[:, 0]
        inside, outside = np.where(ok, half, inside), np.where(ok, outside, half)
    return inside


@pytest.mark.parametrize(
    ("count", "names"),
    [
        (150, ["pool-9", "small-ball"]),
        pytest.param(700, [*TABLES, "own"], marks=pytest.mark.slow),
        pytest.param(2200, [*TABLES, "own"], marks=pytest.mark.long),
    ],
)
def test_every_end_is_within_half_a_millimetre(count: int, names: list[str]) -> None:
    """Of open positions all over six tables, into all pockets however steep: 10,000 in the long test."""
    positions, worst = 0, 0.0
    for name in names:
        table = OWN if name == "own" else TABLES[name]
        ball, pocket = some(table, count, 67)
        got = table_window(table, ball, pocket)
        rows = got.is_open & drops(table, ball, got.middle, pocket)
        # Open and yet the middle misses: by next to nothing, and hardly ever.
        assert (got.is_open & ~rows).mean() < 0.002
        ball, pocket, middle = ball[rows], pocket[rows], got.middle[rows]
        far = np.linalg.norm(table.jaws[pocket].mean(axis=1) - ball, axis=1)
        for end, side in ((got.right[rows], -1.0), (got.left[rows], 1.0)):
            angle = np.arccos(np.clip((end * middle).sum(axis=1), -1, 1))
            for some_rows in np.array_split(np.arange(len(ball)), max(len(ball) // 200, 1)):
                traced = traced_end(
                    table, ball[some_rows], pocket[some_rows], middle[some_rows], side, "both"
                )
                off = np.abs((angle * far)[some_rows] - traced)
                worst = max(worst, float(off.max()))
        positions += len(ball)
    assert positions > 0.75 * count * len(names)
    assert worst < 0.5


@pytest.mark.parametrize("name", ["pool-7", "snooker"])
def test_an_end_that_the_jaws_help_to_lies_on_their_edge(name: str) -> None:
    """To rounding: a window is then no wider for one ball than for another on the same line."""
    table = TABLES[name]
    ball, pocket = some(table, 3000, 71)
    got, clean = table_window(table, ball, pocket), clean_window(table, ball, pocket)
    into, rel = axes(table)[pocket], ball - table.jaws[pocket].mean(axis=1)
    is_middle = np.array([hole.startswith("middle") for hole in POCKETS])[pocket]
    on_edge = 0
    for kind in KINDS:
        entries, edge = line_edge(table, kind, "both")
        for side, end, own in ((1.0, got.left, clean.left), (-1.0, got.right, clean.right)):
            rows = got.is_open & (is_middle == (kind == "middle")) & (end != own).any(axis=1)
            way, axis, at = (part[rows, 0] + 1j * part[rows, 1] for part in (end, into, rel))
            entry, passes = side * np.angle(way / axis), side * (at / way).imag
            inside = (entry > entries[0]) & (entry < entries[-1])
            off = np.abs(passes - np.interp(entry, entries, edge))[inside]
            # Where the edge jumps, the line lies somewhere on the jump.
            assert np.quantile(off, 0.99) < 1e-8
            on_edge += int((off < 1e-8).sum())
    assert on_edge > 2000


def test_a_steep_way_into_a_middle_pocket_forgives_what_tracing_says() -> None:
    """The lines that drop there all pass beside the line midway between the jaws."""
    table, ball = TABLES["pool-9"], np.array([[824.7, 248.8]])
    pocket = np.array([POCKETS.index("middle-right")])
    got = table_window(table, ball, pocket)
    for end, side in ((got.right, -1.0), (got.left, 1.0)):
        angle = float(np.arccos(np.clip((end * got.middle).sum(), -1, 1)))
        far = float(np.linalg.norm(table.jaws[pocket].mean(axis=1) - ball))
        traced = float(traced_end(table, ball, pocket, got.middle, side, "both")[0])
        assert angle * far == pytest.approx(traced, abs=0.1)


def how_often(table: Table, help: str) -> pytest.MarkDecorator | tuple[()]:
    """Each kind of jaw by all its help in the quick tests, and by the nearer jaw alone in the slow ones."""
    if help == "both" and table.name in ("snooker", "small-ball", "own"):
        return ()
    return pytest.mark.slow if table.name in ("snooker", "pool-9", "own") else pytest.mark.long


@pytest.mark.parametrize(
    ("table", "help"),
    [
        pytest.param(table, help, marks=how_often(table, help), id=f"{table.name}-{help}")
        for table in (*TABLES.values(), OWN)
        for help in ("near", "both")
    ],
)
def test_the_ends_are_those_of_tracing_every_way(table: Table, help: str) -> None:
    ball, pocket = some(table, 80, 51)
    got = table_window(table, ball, pocket, help=help)
    rows = got.is_open
    assert rows.sum() > 48
    ball, pocket = ball[rows], pocket[rows]
    far = np.linalg.norm(table.jaws[pocket].mean(axis=1) - ball, axis=1)
    off = []
    for end, side in ((got.right[rows], -1.0), (got.left[rows], 1.0)):
        angle = np.arccos(np.clip((end * got.middle[rows]).sum(axis=1), -1, 1))
        traced = traced_end(table, ball, pocket, got.middle[rows], side, help)
        off.append(angle * far - traced)
    off = np.abs(np.concatenate(off))
    assert np.median(off) < 0.004
    assert off.max() < 0.5


@EACH_SHAPE
def test_without_help_it_is_the_clean_window(table: Table) -> None:
    ball, pocket = some(table, 500, 53)
    got, clean = table_window(table, ball, pocket, help="none"), clean_window(table, ball, pocket)
    for field in dataclasses.fields(Window):
        np.testing.assert_array_equal(getattr(got, field.name), getattr(clean, field.name))


@EACH_SHAPE
def test_help_only_widens(table: Table) -> None:
    ball, pocket = some(table, 3000, 55)
    none, near, both = (table_window(table, ball, pocket, help=h) for h in ("none", "near", "both"))
    for less, more in ((none, near), (none, both)):
        assert not (less.is_open & ~more.is_open).any()
        assert less.is_open.sum() < more.is_open.sum() or more is near
        rows = less.is_open
        assert (width(more)[rows] >= width(less)[rows]).all()
        assert (width(more)[rows] > width(less)[rows]).mean() > 0.5
        np.testing.assert_array_equal(more.target, less.target)
    assert table.help == "both"
    np.testing.assert_array_equal(table_window(table, ball, pocket).right, both.right)


@EACH_SHAPE
def test_where_it_is_closed_the_middle_way_does_not_drop(table: Table) -> None:
    ball, pocket = some(table, 3000, 57)
    got = table_window(table, ball, pocket)
    drop = drops(table, ball, got.middle, pocket)
    assert drop[got.is_open].mean() > 0.998  # not all: a corner of the edge is cut across
    assert drop[~got.is_open].mean() < 0.01
    assert (~got.is_open).sum() > 100


@EACH_TABLE
def test_mirror(table: Table) -> None:
    ball, pocket = some(table, 1000, 59)
    flip, size = np.array([1.0, -1.0]), np.array([0.0, table.width])
    twin = np.array([POCKETS.index(swap(name, "left")) for name in POCKETS])[pocket]
    one, two = table_window(table, ball, pocket), table_window(table, size + ball * flip, twin)
    np.testing.assert_array_equal(one.is_open, two.is_open)
    rows = one.is_open
    np.testing.assert_allclose(one.right[rows], (two.left * flip)[rows], atol=1e-9)


def test_near_is_the_jaw_on_the_balls_side() -> None:
    """Along the long cushion into a corner the ball comes off the far jaw, so near help is no help."""
    table = TABLES["pool-9"]
    k, r = POCKETS.index("top-right"), table.balls.object_radius
    spot = [table.length - 900.0, r + 1.0]
    assert not clean_window(table, spot, k).is_open
    assert not table_window(table, spot, k, help="near").is_open
    assert table_window(table, spot, k).holds([1.0, 0.0])


def test_balls_frozen_on_a_cushion_go_along_it() -> None:
    for table in TABLES.values():
        k, r = POCKETS.index("top-right"), table.balls.object_radius
        x = np.linspace(table.length / 2 + 200, table.length - 150, 40)
        got = table_window(table, np.stack([x, np.full(40, r)], axis=1), k)
        assert got.is_open.all()
        assert got.holds(np.broadcast_to([1.0, 0.0], (40, 2))).all()


def test_shapes_and_what_is_refused() -> None:
    table = TABLES["snooker"]
    spots = places(table, 5, 3)
    got = table_window(table, spots[:, None], np.arange(6))
    assert got.right.shape == got.target.shape == (5, 6, 2)
    assert got.is_open.shape == (5, 6)
    one = table_window(table, spots[2], 4)
    assert one.is_open.shape == ()
    np.testing.assert_array_equal(one.left, got.left[2, 4])
    for call, said in (
        (lambda: table_window(table, spots[0], 0, help="far"), "help 'far'; allowed: none, near, both"),
        (lambda: table_window(table, spots[0], 0, restitution=1.2), "restitution of 1.2; allowed: 0 to 1"),
    ):
        with pytest.raises(ValueError, match=said):
            call()


def test_a_bigger_ball_never_finds_a_wider_opening() -> None:
    """With help too, at any angle a corner or middle pocket is seen from."""
    for table in (TABLES["snooker"], TABLES["pool-9"]):
        bigger = dataclasses.replace(
            table, balls=dataclasses.replace(table.balls, object_radius=table.balls.object_radius + 2)
        )
        for kind in ("corner", "middle"):
            for help in ("none", "both"):
                angles = np.radians([0.0, 10.0, 25.0, 40.0])
                small = effective_opening(table, kind, angles, 700.0, help=help)
                assert (effective_opening(bigger, kind, angles, 700.0, help=help) < small).all()


@EACH_TABLE
def test_drawn_shots_that_need_the_jaws_drop_when_rolled(table: Table) -> None:
    """Along cushions, mostly: no clean way there, and a ball rolled at polygons of rubber drops."""
    shots = draw(np.random.default_rng(61), 1500, Limits(table))
    rows = np.flatnonzero(~clean_window(table, shots.object_ball, shots.pocket).is_open)
    assert 0.03 < len(rows) / 1500 < 0.4
    way = table_window(table, shots.object_ball, shots.pocket).middle
    fallen = [
        rolls_in(table, shots.object_ball[i], way[i], POCKETS[shots.pocket[i]], RESTITUTION, MOST_CONTACTS)
        for i in rows[:10]
    ]
    assert sum(fallen) >= 9
