"""What a ball meets, against a ball marched over the table in small steps."""

import math

import numpy as np
import pytest
from marching import STEP, first_met, ground

from trainer.geometry.pockets import Met, meeting
from trainer.geometry.tables import POCKETS, TABLES, Table

EACH_TABLE = pytest.mark.parametrize("table", TABLES.values(), ids=lambda table: table.name)


def in_play(table: Table, rng: np.random.Generator) -> np.ndarray:
    """A place on the cloth that is not past the mouth of a corner pocket."""
    r = table.balls.object_radius
    while True:
        spot = r + rng.random(2) * (np.array([table.length, table.width]) - 2 * r)
        corner = np.minimum(spot, np.array([table.length, table.width]) - spot).sum()
        if corner > table.corner / math.sqrt(2) + 1:
            return np.asarray(spot)


@EACH_TABLE
def test_what_is_met_first(table: Table) -> None:
    rng = np.random.default_rng(17)
    on = ground(table)
    seen: dict[str, int] = {}
    for i in range(70):
        spot = in_play(table, rng)
        turn = rng.random() * 2 * math.pi
        if i % 3:  # toward a pocket, within a ball or two of its middle
            _, one, other = on.mouths[int(rng.integers(6))]
            aim = (one + other) / 2 + (other - one) * 0.9 * (rng.random() - 0.5) - spot
            turn = math.atan2(aim[1], aim[0])
        way = np.array([math.cos(turn), math.sin(turn)])
        want = first_met(on, spot, way, 1.1 * math.hypot(table.length, table.width))
        got = meeting(table, spot, way)
        if want.doubtful:
            continue
        label = (spot, math.degrees(turn), want, got)
        assert got.met.name.lower() == want.what, label
        assert got.which == want.which, label
        # marched ends lie a step past the touch; across a slanted mouth up to a step as well
        assert math.dist(got.at, want.at) <= 1.5 * STEP, label
        if want.jaw is not None:
            mouth = next(m for m in on.mouths if m[0] == want.which)
            mine = math.dist(spot, want.jaw)
            theirs = max(math.dist(spot, j) for j in mouth[1:] if not np.array_equal(j, want.jaw))
            if got.jaw in ("near", "far"):
                assert got.jaw == ("near" if mine < theirs else "far"), label
            else:
                hit, rest = (
                    want.jaw - spot,
                    next(j for j in mouth[1:] if not np.array_equal(j, want.jaw)) - spot,
                )
                left = hit[0] * rest[1] - hit[1] * rest[0] < 0
                assert got.jaw == ("left" if left else "right"), label
                assert mine == pytest.approx(theirs, rel=0.04)
        else:
            assert got.jaw == ""
        seen[want.what] = seen.get(want.what, 0) + 1
    assert {"pocket", "jaw", "cushion"} <= set(seen)


@EACH_TABLE
def test_mirror(table: Table) -> None:
    rng = np.random.default_rng(18)
    flip = np.array([1.0, -1.0])
    names = {"left": "right", "right": "left"}
    for _ in range(200):
        spot = in_play(table, rng)
        turn = rng.random() * 2 * math.pi
        way = np.array([math.cos(turn), math.sin(turn)])
        one = meeting(table, spot, way)
        two = meeting(table, np.array([spot[0], table.width - spot[1]]), way * flip)
        assert one.met is two.met
        assert two.at == pytest.approx((one.at[0], table.width - one.at[1]), abs=1e-6)
        assert names.get(one.jaw, one.jaw) == two.jaw
        end, _, side = one.which.rpartition("-")
        side = names.get(side, side)
        assert two.which == (f"{end}-{side}" if end else side)


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
    assert set(POCKETS) == {name for name, _, _ in ground(table).mouths}
