"""Tables and balls against the published specifications that the trainer holds.

Sources:

* *Rules of snooker* (WPBSA) as quoted in "Rules of snooker to play", AZBilliards forums,
  https://forums.azbilliards.com/threads/rules-of-snooker-to-play.186959/post-2419104 ;
  the ball: German text of the rules, http://fpsco.de/themen/die-ausruestung/
* WPA table sizes: Cue Sports India, "Table: pool",
  http://cuesportsindia.com/myweb/equipments/table_pool.htm ; there too 18 sights on the rails, 31.75 cm from
  one to the next on a 9 ft table, 29.20 cm on an 8 ft one
* "Teile des Tisches", German text of WPA's rules: the sights mark a quarter of the width and an eighth of the
  length, measured from the noses; head line and foot line mark a quarter of the table, and on the long line
  through its middle lie head spot, centre spot and foot spot,
  https://www.billardregel.de/regel-pool-allgemein/regel-pool-definitionen/8-1-teile-des-tisches
* WPA ball size as quoted in "WPA ball size regulations, is there a mistake?", AZBilliards forums,
  https://forums.azbilliards.com/threads/wpa-ball-size-regulations-is-there-a-mistake.543808/post-7275809
* WPA pocket mouths as quoted in "Official pool table pocket size", Billiards Forum,
  http://www.billiardsforum.com/pool-tables/official-pool-table-pocket-size
* 7 ft: a retailer, Game Tables Online, "Pool tables", http://www.gametablesonline.com/pool-tables/
* Small-ball pool: a retailer quoting WEPF, Assassin Cues, "Pool tables",
  https://assassincues.com.au/pool-tables

From memory, so not checked here: snooker pocket mouths (outside the weak minimum of 85 mm) and the
shape of its jaws, ball mass in snooker, shelves. Published but of no use
to the trainer, so not held: rail heights, back draft, the thickness of facings.
"""

import numpy as np
import pytest

from trainer.geometry.tables import POCKETS, SMALL_SURFACES, TABLES
from trainer.shots.places import landmarks, place_at

INCH = 25.4
SNOOKER, SMALL = TABLES["snooker"], TABLES["small-ball"]
POOL = [TABLES[name] for name in ("pool-9", "pool-8", "pool-7")]


def test_snooker_playing_area() -> None:
    assert (SNOOKER.length, SNOOKER.width) == (3569, 1778)
    # 11 ft 8.5 in by 5 ft 10 in, within the 13 mm that the rules allow
    assert SNOOKER.length == pytest.approx((11 * 12 + 8.5) * INCH, abs=13)
    assert SNOOKER.width == pytest.approx((5 * 12 + 10) * INCH, abs=13)


def test_snooker_baulk() -> None:
    assert (SNOOKER.baulk, SNOOKER.d_radius) == (737, 292)
    assert SNOOKER.baulk == pytest.approx(29 * INCH, abs=0.5)
    assert SNOOKER.d_radius == pytest.approx(11.5 * INCH, abs=0.5)


def test_snooker_spots() -> None:
    """Brown mid baulk line, yellow right and green left of it where the D ends, and up the table."""
    length, middle = 3569, 1778 / 2
    brown, yellow, green = (737, middle), (737, middle - 292), (737, middle + 292)
    blue = (length / 2, middle)
    pink = ((length / 2 + length) / 2, middle)
    black = (length - 324, middle)
    assert set(SNOOKER.spots) == {brown, yellow, green, blue, pink, black}
    assert length - black[0] == pytest.approx(12.75 * INCH, abs=0.5)


def test_snooker_ball() -> None:
    balls = SNOOKER.balls
    assert 2 * balls.cue_radius == pytest.approx(52.5, abs=1e-9)
    assert 2 * balls.object_radius == pytest.approx(52.5, abs=1e-9)
    assert abs(balls.cue_mass - balls.object_mass) <= 3  # "equal within 3 g"


def test_snooker_corner_is_no_tighter_than_the_weak_minimum() -> None:
    """85.0 mm: Chinese text of the rules in a garbled translation, a weak source,
    http://paradisewindows.org/Competition-Rules/200812/25-221.html
    """
    assert SNOOKER.corner >= 85.0


@pytest.mark.parametrize(
    ("name", "length", "width"), [("pool-9", 100, 50), ("pool-8", 92, 46), ("pool-7", 76, 38)]
)
def test_pool_playing_surfaces(name: str, length: float, width: float) -> None:
    """9 and 8 ft: WPA. 7 ft is no WPA size: a retailer."""
    table = TABLES[name]
    assert (table.length, table.width) == pytest.approx((length * INCH, width * INCH), abs=1e-9)


@pytest.mark.parametrize(("name", "apart"), [("pool-9", 317.5), ("pool-8", 292.0), ("pool-7", None)])
def test_diamonds_lie_where_the_sights_are(name: str, apart: float | None) -> None:
    """What a card calls a diamond is the step from one sight to the next, along and across."""
    table = TABLES[name]
    along, across = table.length / 8, table.width / 4
    if apart is not None:
        assert (along, across) == pytest.approx((apart, apart), abs=0.5)
    for k in range(1, 8):
        for j in (1, 3):  # the spots, on the long line, are called by their names
            words = place_at(table, (k * along, j * across), "mm").words
            count = min(k, 8 - k)
            assert words.startswith(f"{count} diamond{'s' * (count > 1)} from the ")
            assert ", 1 from the " in words
    halves = landmarks(table)[len(table.spots) :] / (along / 2, across / 2)
    np.testing.assert_allclose(halves, np.round(halves), atol=1e-9)
    assert len(halves) == 15 * 7


@pytest.mark.parametrize("table", POOL, ids=lambda table: table.name)
def test_pool_balls_and_mouths(table) -> None:  # type: ignore[no-untyped-def]
    balls = table.balls
    assert 2 * balls.cue_radius == pytest.approx(2.25 * INCH, abs=0.005 * INCH)
    assert balls.cue_radius == balls.object_radius
    assert 156 <= balls.cue_mass <= 170
    assert 156 <= balls.object_mass <= 170
    assert table.corner_jaw.facing == pytest.approx(142, abs=1)  # "horizontal cut angle"
    assert table.middle_jaw.facing == pytest.approx(104, abs=1)
    slack = 1e-9
    assert 4.5 * INCH - slack <= table.corner <= 4.625 * INCH + slack
    assert 5.0 * INCH - slack <= table.middle <= 5.125 * INCH + slack


@pytest.mark.parametrize("table", POOL, ids=lambda table: table.name)
def test_pool_spots_lie_a_quarter_of_the_table_from_its_ends(table) -> None:  # type: ignore[no-untyped-def]
    head, foot = sorted(table.spots)
    assert table.baulk == head[0] == pytest.approx(table.length / 4)
    assert foot[0] == pytest.approx(table.length * 3 / 4)
    assert head[1] == foot[1] == pytest.approx(table.width / 2)


def test_small_balls() -> None:
    balls = SMALL.balls
    assert 2 * balls.object_radius == pytest.approx(2 * INCH, abs=1e-9)
    assert 2 * balls.cue_radius == pytest.approx(1.875 * INCH, abs=1e-9)
    assert balls.object_mass == pytest.approx(116, abs=2)
    assert balls.cue_mass == pytest.approx(94, abs=2)


def test_small_ball_table() -> None:
    assert 6 * 12 * INCH - 1e-9 <= SMALL.length <= 7 * 12 * INCH + 1e-9
    assert 3 * 12 * INCH - 1e-9 <= SMALL.width <= 3.5 * 12 * INCH + 1e-9
    least, most = SMALL_SURFACES
    assert least == pytest.approx((1828.8, 914.4), abs=0.05)  # 6 x 3 ft
    assert most == pytest.approx((2133.6, 1066.8), abs=0.05)  # 7 ft x 3 ft 6 in
    assert (SMALL.length, SMALL.width) == least
    assert pytest.approx(SMALL.length / 5) == SMALL.baulk
    (black,) = SMALL.spots
    assert black == pytest.approx((SMALL.length * 3 / 4, SMALL.width / 2))
    assert (SMALL.corner, SMALL.middle) == (85, 95)  # the retailer calls them "depth"


@pytest.mark.parametrize("table", TABLES.values(), ids=lambda table: table.name)
def test_mouths_are_as_wide_as_the_table_says(table) -> None:  # type: ignore[no-untyped-def]
    """Nose to nose, as the WPA measures them."""
    right, left = table.jaws[:, 0], table.jaws[:, 1]
    wide = np.hypot(*(left - right).T)
    for name, mouth in zip(POCKETS, wide, strict=True):
        want = table.middle if name.startswith("middle") else table.corner
        assert mouth == pytest.approx(want, abs=1e-9)
