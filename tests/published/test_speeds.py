"""Published speeds of the cue ball: what the trainer calls slow is, and each can be set, and each pots.

Sources:

* Alciatore, "Typical speeds": soft touch under 0.45 m/s, slow 0.45 to 0.89, medium 0.89 to 1.9, fast 1.9
  to 3.2, power 3.2 to 4.5, a strong break 11 to 13, https://billiards.colostate.edu/faq/speed/typical/
* Alciatore, "Physics" (an older list, about twice as fast for the same words): touch 1.5 mph, slow 3,
  medium-soft 5, medium 7, medium-fast 8, fast 12, power 15 to 20, break 25 to 30,
  http://billiards.colostate.edu/threads/physics.html

The trainer's three names are held to the newer list, and so is what is published about throw of "slow" and
"fast" shots.
"""

import numpy as np
import pytest

from trainer.geometry.aiming import SPEEDS, Stroke, hit_for, send
from trainer.geometry.contact import aim_offset
from trainer.geometry.tables import TABLES
from trainer.geometry.throw import throw_angle
from trainer.levels.reading import read_level
from trainer.levels.table_file import read_table

MPH = 0.44704
NEWER = {
    "soft touch": (0.2, 0.45),  # "under 0.45": any lower end will do
    "slow": (0.45, 0.89),
    "medium": (0.89, 1.9),
    "fast": (1.9, 3.2),
    "power": (3.2, 4.5),
    "strong break": (11.0, 13.0),
}
OLDER_MPH = (1.5, 3, 5, 7, 8, 12, 15, 20, 25, 30)
EVERY = sorted({end for pair in NEWER.values() for end in pair} | {mph * MPH for mph in OLDER_MPH})


LEVEL = """
title = "Ours"
teaches = "Something."
drill = "throw"
[shots]
speeds = ["{}"]
"""

# --- Published -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["slow", "medium", "fast"])
def test_a_named_speed_is_the_middle_of_the_class_of_that_name(name: str) -> None:
    """It speaks for the whole class: as far from the next slower one as from the next faster one."""
    least, most = NEWER[name]
    assert SPEEDS[name] == pytest.approx((least + most) / 2, abs=0.006)
    level = read_level(LEVEL.format(name), "ours", "ours.toml")
    assert {stroke.speed for stroke in level.strokes} == {SPEEDS[name]}


@pytest.mark.parametrize("speed", EVERY)
def test_every_published_speed_can_be_set_for_a_table(speed: float) -> None:
    for spin in ("stun", "roll"):
        text = f'title = "Ours"\nlike = "pool-9"\n[stroke]\nspeed = {speed!r}\nspin = "{spin}"'
        assert read_table(text, "ours", "ours.toml").stroke == Stroke(speed, float(spin == "roll"))


@pytest.mark.parametrize("roll", [0.0, 1.0])
def test_every_published_speed_pots(roll: float) -> None:
    """The hit that is worked out, played at that speed, sends the object ball where it is to go."""
    table = TABLES["pool-9"]
    radius, apart = table.balls.object_radius, table.contact
    cue, ball = np.array([600.0, 500.0]), np.array([1500.0, 620.0])
    straight = ball - cue
    for cut in np.radians([-55.0, -30.0, -8.0, 15.0, 45.0, 65.0]):
        turn = np.array([[np.cos(cut), -np.sin(cut)], [np.sin(cut), np.cos(cut)]])
        way = turn @ straight / np.hypot(*straight)
        speeds = Stroke(np.array(EVERY), roll)  # type: ignore[arg-type]
        hit = hit_for(cue, ball, way, apart, speeds)
        assert hit.exists.all()
        sent = send(cue, ball, aim_offset(cue, ball, hit.touching, radius), radius, apart, speeds)
        np.testing.assert_allclose(sent.way, np.broadcast_to(way, (len(EVERY), 2)), atol=1e-9)


# --- Derived, not published ------------------------------------------------------------------------


def test_derived_each_faster_class_throws_less() -> None:
    """At half ball stun, from slow up: the fastest of a class still throws more than the next class."""
    ends = np.array([pair for name, pair in NEWER.items() if name != "soft touch"])
    throw = np.degrees(throw_angle(np.radians(30.0), ends))
    assert (np.diff(throw.ravel()) <= 0).all()
    assert (throw[:, 0] > throw[:, 1]).all()
