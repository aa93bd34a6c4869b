"""What a ball meets, against a ball rolled over polygons of rubber."""

import math

import numpy as np
import pytest
from marching import EACH_SHAPE, places, roll, swap, toward, turned
from rubber import axis, deep, noses, rubber

from trainer.geometry.meetings import Met, meeting
from trainer.geometry.pockets import clean_window
from trainer.geometry.tables import POCKETS, TABLES, Table

DOUBT = 1e-5  # radians: a way whose neighbours this far off meet something else proves nothing


def ways_out(table: Table, n: int, seed: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """Balls and ways, two in three of them at a pocket or the rubber beside it."""
    rng = np.random.default_rng(seed)
    found = []
    for i, spot in enumerate(places(table, n, seed)):
        turn = rng.random() * 2 * math.pi
        way = np.array([math.cos(turn), math.sin(turn)])
        if i % 3:
            way = toward(table, spot, POCKETS[int(rng.integers(6))], rng.uniform(-1.6, 1.6))
        found.append((spot, way))
    return found


@EACH_SHAPE
def test_what_is_met_first(table: Table) -> None:
    seen: dict[str, int] = {}
    doubtful = 0
    for spot, way in ways_out(table, 120, 17):
        got = meeting(table, spot, way)
        near = [meeting(table, spot, turned(way, t)) for t in (-DOUBT, DOUBT)]
        if any((m.met, m.which, m.jaw) != (got.met, got.which, got.jaw) for m in near):
            doubtful += 1
            continue
        label = (spot, way, got)
        touch = roll(table, spot, way)
        if touch is None:
            assert got.met is Met.POCKET, label
            a, b = noses(table, got.which)
            # on the mouth, between the noses
            z = (complex(*got.at) - a) / (b - a)
            assert abs(z.imag) * abs(b - a) < 1e-6, label
            assert 0 < z.real < 1, label
            k = POCKETS.index(got.which)
            assert clean_window(table, spot, k).holds(way), label
        else:
            assert got.met is not Met.POCKET, label
            # a graze is met anywhere along a long stretch: how far apart is judged across the way too
            assert math.dist(got.at, touch.at) < 0.02, label
            x, y = touch.on
            sides = {"baulk": x, "top": table.length - x, "right": y, "left": table.width - y}
            if got.met is Met.CUSHION:
                assert abs(sides[got.which]) < 1e-6, label
                assert got.jaw == "", label
            else:
                check_jaw(table, spot, touch.on, got.which, got.jaw)
                assert min(sides.values()) < 1e-6, label  # on the nose line or behind it
        seen[got.met.name] = seen.get(got.met.name, 0) + 1
    assert doubtful < 4
    assert min(seen.get(m.name, 0) for m in Met if m is not Met.BALL) > 8, seen


def check_jaw(table: Table, spot: np.ndarray, on: np.ndarray, which: str, said: str) -> None:
    """The touched point is rubber of this pocket's jaw, and the jaw's name is true."""
    ends, into = noses(table, which), axis(table, which)
    point = complex(*on)
    mine = min((0, 1), key=lambda j: abs(point - ends[j]))
    nose, other = ends[mine], ends[1 - mine]
    jaw = table.middle_jaw if which.startswith("middle") else table.corner_jaw
    tangent = jaw.rounding / math.tan(math.radians(jaw.facing) / 2)
    assert abs(point - nose) <= max(tangent, deep(table, which) * 1.5) + 1e-6
    assert ((point - nose) / into).real <= deep(table, which) + 1e-6
    assert rubber(table)[which]
    ball = complex(*spot)
    if said in ("near", "far"):
        assert said == ("near" if abs(nose - ball) < abs(other - ball) else "far")
    else:
        assert said == ("left" if ((nose - ball) / (other - ball)).imag > 0 else "right")
        assert abs(nose - ball) == pytest.approx(abs(other - ball), rel=0.04)


@EACH_SHAPE
def test_mirror(table: Table) -> None:
    flip, names = np.array([1.0, -1.0]), {"left": "right", "right": "left"}
    for spot, way in ways_out(table, 200, 18):
        one = meeting(table, spot, way)
        two = meeting(table, np.array([spot[0], table.width - spot[1]]), way * flip)
        assert one.met is two.met
        assert two.at == pytest.approx((one.at[0], table.width - one.at[1]), abs=1e-6)
        assert names.get(one.jaw, one.jaw) == two.jaw
        which = swap(one.which, "left") if "-" in one.which else names.get(one.which, one.which)
        assert two.which == which


@EACH_SHAPE
def test_a_graze_to_the_last_bit_still_meets_something(table: Table) -> None:
    """Along the very edges of a window, and a bit to each side, rounding loses no ball."""
    for spot in places(table, 60, 19)[20:32]:  # none is frozen to a cushion, which it would meet
        for k, name in enumerate(POCKETS):
            opening = clean_window(table, spot, k)
            if not opening.is_open:
                continue
            for edge in (opening.right, opening.left):
                for turn in (-1e-15, -1e-16, 0.0, 1e-16, 1e-15):
                    got = meeting(table, spot, turned(edge, turn))
                    assert got.met in (Met.POCKET, Met.JAW)
                    assert got.which == name
                    assert np.isfinite(got.at).all()


def test_known_ways() -> None:
    table = TABLES["snooker"]
    mid, width = table.length / 2, table.width
    straight = meeting(table, [mid, 400.0], [0.0, 1.0])
    assert (straight.met, straight.which) == (Met.POCKET, "middle-left")
    assert straight.at == pytest.approx((mid, width))
    beside = meeting(table, [600.0, 400.0], [0.0, 1.0])
    assert (beside.met, beside.which) == (Met.CUSHION, "left")
    assert beside.at == pytest.approx((600.0, width - 26.25))
    up = meeting(table, [600.0, 400.0], [1.0, 0.0])
    assert (up.met, up.which) == (Met.CUSHION, "top")
    back = meeting(table, [600.0, 400.0], [-1.0, 0.0])
    assert (back.met, back.which) == (Met.CUSHION, "baulk")
    slant = np.array([1.0, 1.0]) / math.sqrt(2)
    corner = meeting(table, [table.length - 500, width - 500], slant)
    assert (corner.met, corner.which) == (Met.POCKET, "top-left")
    frozen = meeting(table, [600.0, 26.25], [0.6, -0.8])
    assert (frozen.met, frozen.which, frozen.at) == (Met.CUSHION, "right", (600.0, 26.25))
    # Onto a rounded jaw: the ball's centre stops a ball's radius and the rounding's from its centre.
    far = meeting(table, [mid - 400, width - 420.0], slant)
    assert (far.met, far.which, far.jaw) == (Met.JAW, "middle-left", "far")
    centre = (mid + table.middle / 2 + 40.0, width + 40.0)
    assert math.dist(far.at, centre) == pytest.approx(26.25 + 40.0)
    # A ball past a corner's mouth has only its jaws left.
    inside = meeting(table, [20.0, 20.0], [1.0, 0.0])
    assert (inside.met, inside.which) == (Met.JAW, "baulk-right")
