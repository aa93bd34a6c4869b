"""A card as it is printed, set up from its words and played forward: the aim it names pots, throw and all.

The hit is friction step by step, the way to the pocket a ball that is rolled into polygons of rubber.
"""

import re

import numpy as np
import pytest
from laid_out import Pace, blocks, comes, offset_of, placed, sent, sine
from marching import rolls_in
from rubber import noses

from trainer.geometry.fullness import bands
from trainer.geometry.jaws import MOST_CONTACTS, RESTITUTION
from trainer.geometry.tables import TABLES, Table
from trainer.levels.table_file import read_table
from trainer.report.card import Card, card_text
from trainer.shots.layout import kinds_said, lay_out

OWN = read_table(
    'title = "The room at the back"\nlike = "pool-7"\n[balls]\ncue_mm = 60\nobject_mm = 57\n'
    '[stroke]\nspeed = 1.2\nspin = "stun"\n',
    "back-room",
    "x",
)
EVERY = [band.name for band in bands()]
PACES = {"slow": 0.67, "medium": 1.4, "fast": 2.55}


def printed(table: Table, count: int, seed: int) -> list[dict[str, str]]:
    layouts = lay_out(table, kinds_said(EVERY), count, np.random.default_rng(seed))
    return blocks(card_text(Card(table, tuple(layouts), "mm", "2026-03-01", seed)))


def pots(one: dict[str, str], table: Table, pace: Pace, more: float = 0.0) -> bool:
    """Whether a layout's ball drops at a pace, aimed as the words say, or so many balls to the right."""
    cue, ball = placed(one["cue ball"], table), placed(one["object ball"], table)
    way, cut = sent(table, cue, ball, offset_of(one["aim"], table) + more, pace)
    mouth = sum(noses(table, one["pocket"])) / 2
    if comes(table, cut, pace) < abs(mouth - ball):
        return False
    start, unit = (np.array([z.real, z.imag]) for z in (ball, way))
    return rolls_in(table, start, unit, one["pocket"], RESTITUTION, MOST_CONTACTS)


def is_as_printed(one: dict[str, str], table: Table) -> None:
    pace = Pace.of(one["played"])
    assert pots(one, table, pace), one
    said = one["played"].split("; ")[1]
    if "slow to fast" in said:
        named = list(PACES)
    else:
        named = re.findall(
            "slow|medium|fast", re.split(", (?:not|slow|medium)", said.removeprefix("pots "))[0]
        )
    for name in named:
        assert pots(one, table, Pace(PACES[name], pace.roll, pace.side)), (name, one)
    # What it forgives: three quarters of it always pot, and two fifths more never.
    ends = re.findall(r"([\d/]+) ball (?:to the )?(thick|thin|left|right)", one["forgives"])
    assert len(ends) == 2
    thin = 1 if offset_of(one["aim"], table) > 0 else -1
    edge = 0.97 * np.sqrt(table.balls.cue_radius / table.balls.object_radius)
    for part, way in ends:
        top, _, under = part.partition("/")
        size = int(top) / int(under or 1) * {"thin": thin, "thick": -thin, "right": 1, "left": -1}[way]
        if abs(offset_of(one["aim"], table) + 0.75 * size) < edge:
            assert pots(one, table, pace, 0.75 * size), (way, one)
        if abs(offset_of(one["aim"], table) + 1.4 * size) < edge:
            assert not pots(one, table, pace, 1.4 * size), (way, one)
    cue, ball = placed(one["cue ball"], table), placed(one["object ball"], table)
    thrown, plain = (abs(sine(table, cue, ball, one["pocket"], how)) for how in (pace, None))
    if part := re.search(r"aim 1/(\d+) ball thinner", one["throw"]):
        assert thrown - plain == pytest.approx(1 / int(part[1]), abs=0.017 if part[1] in "32" else 0.034)


@pytest.mark.parametrize(("name", "count"), [("snooker", 17), ("pool-9", 14)])
def test_the_aim_of_a_card_pots_at_the_pace_that_it_names(name: str, count: int) -> None:
    for one in printed(TABLES[name], count, 3):
        is_as_printed(one, TABLES[name])


@pytest.mark.long
@pytest.mark.parametrize("table", [*TABLES.values(), OWN], ids=lambda table: table.name)
def test_five_hundred_layouts_pot_as_they_are_aimed(table: Table) -> None:
    found = [one for seed in (1, 2) for one in printed(table, 42, seed)]
    assert len(found) == 84
    for one in found:
        is_as_printed(one, table)
