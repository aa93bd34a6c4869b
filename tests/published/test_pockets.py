"""How wide pockets are, against what is published about them.

Sources:

* Alciatore, "Just How Big are the Pockets, Anyway? Part I" (as listed
  among his illustrated principles, https://online.documentine.com/pool-tables-sizes/1/david-alciatore-phd-dr-dave-illustrated-principles.html):
  a pocket's size depends on angle and speed; at slow speed and some angles the corner's effective target
  exceeds the side's.
* WPA, as quoted in "Official pool table pocket size", Billiards Forum,
  http://www.billiardsforum.com/pool-tables/official-pool-table-pocket-size : mouths nose to nose, cut
  angles of 142 degrees at the corners and 104 at the sides, +/-1.
* Alciatore, typical values, https://billiards.colostate.edu/threads/physics.html : ball on rail,
  restitution 0.6 to 0.9.

His formulas and curves (TP 3.5 to 3.8) were not at hand, so only what the article says in words is
checked. The model has no speed; it is one of a slow ball, which is the case that the words are about.
"""

import dataclasses
import math

import numpy as np
import pytest
from openings import drops, effective_opening

from trainer.geometry.acceptance import table_window
from trainer.geometry.jaws import RESTITUTION, outline
from trainer.geometry.pockets import axes, clean_window, clear_width
from trainer.geometry.tables import POCKETS, TABLES, Balls, Jaw, Table

POOL = TABLES["pool-9"]
EACH_POOL = pytest.mark.parametrize("name", ["pool-9", "pool-8", "pool-7"])
EACH_TABLE = pytest.mark.parametrize("table", TABLES.values(), ids=lambda table: table.name)

# --- Published -------------------------------------------------------------------------------------


@EACH_POOL
def test_cut_angles(name: str) -> None:
    """Cushion and facing meet at 142 degrees in the corners, 104 at the sides, within the 1 allowed."""
    on = outline(TABLES[name])
    for k, pocket in enumerate(POCKETS):
        for j in (0, 1):
            facing, cushion = on.ways[k, j]
            angle = math.degrees(math.acos(facing @ cushion))
            assert angle == pytest.approx(104 if pocket.startswith("middle") else 142, abs=1)


@pytest.mark.parametrize("restitution", [0.6, RESTITUTION, 0.9])
def test_a_corner_is_effectively_bigger_than_a_side_pocket_at_some_angles(restitution: float) -> None:
    """With help, over the whole published range of restitution; head-on it is the other way about."""
    angles = np.radians(np.arange(0, 46, 3))
    corner, side = (
        effective_opening(POOL, kind, angles, 700.0, help="both", restitution=restitution)
        for kind in ("corner", "middle")
    )
    assert (corner > side).any()
    assert corner[0] < side[0]
    # It is the jaws that do it: without their help the side pocket is the bigger one at every angle.
    corner, side = (effective_opening(POOL, kind, angles, 700.0) for kind in ("corner", "middle"))
    assert (corner < side).all()


@EACH_TABLE
def test_pocket_size_depends_on_the_angle(table: Table) -> None:
    angles = np.radians(np.arange(0, 36, 5))
    for kind in ("corner", "middle"):
        clean = effective_opening(table, kind, angles, 600.0)
        assert (np.diff(clean) < 0).all()
        assert np.ptp(effective_opening(table, kind, angles, 600.0, help="both")) > 3.0


# --- Derived, not published ------------------------------------------------------------------------


def points(mouth: float, ball: float) -> Table:
    """Jaws that are points: facings cut back so far that no ball meets them."""
    back = Jaw(facing=5.0, depth=ball)
    return dataclasses.replace(
        POOL,
        corner=mouth,
        middle=mouth,
        corner_jaw=dataclasses.replace(back, facing=50.0),
        middle_jaw=back,
        balls=Balls(ball / 2, ball / 2, 1.0, 1.0),
    )


@pytest.mark.parametrize(
    ("mouth", "ball", "halves"),
    [
        (127.0, 57.15, {0: 34.9, 15: 32.8, 30: 26.4, 45: 16.3, 60: 3.2}),
        (114.3, 57.15, {0: 28.6, 15: 26.6, 30: 20.9, 45: 11.8}),
        (85.0, 52.5, {0: 16.2, 15: 14.8, 30: 10.6, 45: 3.8}),
    ],
)
def test_stand_in_for_point_jaws(mouth: float, ball: float, halves: dict[int, float]) -> None:
    """(M cos t - 2R) / 2, the table of it printed to a digit that is cut off here and there."""
    table = points(mouth, ball)
    for degrees, half in halves.items():
        for angle in np.radians([degrees, -degrees]):
            got = float(effective_opening(table, "middle", angle, 1e7)) / 2
            assert got == pytest.approx(half, abs=0.07)
            assert got == pytest.approx((mouth * math.cos(angle) - ball) / 2, abs=1e-3)
            axis, sine = axes(table)[2], math.sin(angle)
            way = axis * math.cos(angle) + np.array([-axis[1], axis[0]]) * sine
            assert float(clear_width(table, way, 2)) / 2 == pytest.approx(got, abs=1e-3)


def test_limit_angle_of_a_side_pocket() -> None:
    """acos(2R / M) = 63.3 degrees for point jaws; the facings of a real one close it a little sooner."""
    limit = math.degrees(math.acos(57.15 / 127.0))
    assert limit == pytest.approx(63.3, abs=0.05)
    for degrees, takes in ((limit - 0.01, True), (limit + 0.01, False)):
        opening = effective_opening(points(127.0, 57.15), "middle", np.radians(degrees), 1e7)
        assert bool(opening > 0) is takes
    shaped = [
        d for d in np.arange(55.0, 64.0, 0.1) if effective_opening(POOL, "middle", np.radians(d), 1e7) > 0
    ]
    assert limit - 4 < max(shaped) < limit


@pytest.mark.parametrize(("depth", "wide"), [(1.0, 4.25), (1.5, 4.13), (2.0, 4.01)])
def test_throat_of_a_corner(depth: float, wide: float) -> None:
    """Facings close 142 - 135 = 7 degrees a side: a 4.5 in mouth is so wide, in inches, so deep."""
    table = dataclasses.replace(POOL, corner_jaw=Jaw(facing=142.0, depth=depth * 25.4))
    right, left = outline(table).centres[POCKETS.index("top-left"), :, 1]
    assert math.dist(right, left) / 25.4 == pytest.approx(wide, abs=0.006)
    head_on = float(clear_width(table, axes(table)[5], 5))
    assert head_on == pytest.approx(math.dist(right, left) - 57.15, abs=1e-9)


@EACH_TABLE
def test_head_on_the_side_pocket_is_the_bigger_one(table: Table) -> None:
    for help in ("none", "both"):
        corner, side = (
            effective_opening(table, kind, 0.0, 600.0, help=help) for kind in ("corner", "middle")
        )
        assert side > corner


# --- Common practice -------------------------------------------------------------------------------


@EACH_TABLE
def test_a_corner_takes_balls_along_the_cushion_and_a_side_pocket_does_not(table: Table) -> None:
    r = table.balls.object_radius
    far = table.length / 3
    corner, side = POCKETS.index("top-right"), POCKETS.index("middle-right")
    frozen = np.array([table.length - far, r])
    assert not clean_window(table, frozen, corner).is_open
    assert table_window(table, frozen, corner).holds([1.0, 0.0])
    assert drops(table, frozen, [1.0, 0.0], corner)
    beside = np.array([table.length / 2 - far, r])
    assert not table_window(table, beside, side).is_open
