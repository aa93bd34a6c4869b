"""By the cushion first: the rebound against impulses in small steps, the aim against playing it."""

import math

import numpy as np
import pytest

from trainer.geometry.acceptance import table_window
from trainer.geometry.cushion import (
    aim_width,
    cushion_first,
    play_cushion,
)
from trainer.geometry.pockets import Window
from trainer.geometry.tables import POCKETS, TABLES
from trainer.geometry.vectors import angle_between

UP = np.array([0.0, 1.0])


def near_cushion(
    seed: int, table_name: str = "snooker", n: int = 400
) -> tuple[object, np.ndarray, np.ndarray, object]:
    """Object balls within 60 mm of the right-hand cushion, to be potted along it; cue balls anywhere."""
    rng, table = np.random.default_rng(seed), TABLES[table_name]
    radius = table.balls.object_radius
    ball = np.stack([rng.uniform(500, table.length - 500, n), rng.uniform(radius, radius + 60, n)], -1)
    cue = np.stack([rng.uniform(100, table.length - 100, n), rng.uniform(200, table.width - 100, n)], -1)
    opening = table_window(table, ball, np.full(n, POCKETS.index("top-right")))
    return table, cue, ball, opening


@pytest.mark.parametrize("table_name", ["snooker", "small-ball"])
@pytest.mark.parametrize("side", [0.0, 0.4])
def test_the_aim_by_the_cushion_sends_the_ball_its_way(table_name: str, side: float) -> None:
    table, cue, ball, opening = near_cushion(1, table_name)
    first = cushion_first(table, cue, ball, opening.middle, "right", side_spin=side)
    assert first.possible.sum() > 40
    played = play_cushion(table, cue, ball, first.aim, "right", side_spin=side)
    ok = first.possible
    assert played.hits[ok].all()
    assert played.nose[ok] == pytest.approx(first.nose[ok], abs=1e-6)
    assert played.touching[ok] == pytest.approx(first.touching[ok], abs=1e-6)
    assert np.abs(angle_between(played.way, opening.middle))[ok].max() < 1e-9


def test_the_width_of_the_aim_agrees_with_bisection_on_playing_it() -> None:
    table, cue, ball, opening = near_cushion(2)
    wide = aim_width(table, cue, ball, opening, "right")
    first = cushion_first(table, cue, ball, opening.middle, "right")
    rows = np.flatnonzero(wide > 0)[:60]
    assert len(rows) > 20
    for i in rows:
        one = table_window(table, ball[i], POCKETS.index("top-right"))

        def pots(turn: float, i: int = int(i), one: Window = one) -> bool:
            sine, cosine = math.sin(turn), math.cos(turn)
            x, y = first.aim[i]
            aim = np.array([x * cosine - y * sine, x * sine + y * cosine])
            played = play_cushion(table, cue[i], ball[i], aim, "right")
            return bool(played.hits) and bool(one.holds(played.way))

        ends = []
        for sign in (-1.0, 1.0):
            inside, outside = 0.0, sign * 0.05
            assert pots(inside)
            assert not pots(outside)
            for _ in range(45):
                middle = (inside + outside) / 2
                inside, outside = (middle, outside) if pots(middle) else (inside, middle)
            ends.append(abs(inside))
        assert sum(ends) == pytest.approx(wide[i], rel=1e-6)


def test_a_ball_on_the_cushion_has_no_room_behind_it_for_a_straight_hit_into_the_table() -> None:
    table = TABLES["snooker"]
    radius = table.balls.object_radius
    ball = np.array([1500.0, radius])
    cue = np.array([1200.0, 500.0])
    # To a middle pocket across the table the cue ball would have to stand in the cushion.
    opening = table_window(table, ball, POCKETS.index("middle-left"))
    assert float(aim_width(table, cue, ball, opening)) == 0.0


def test_cushion_first_is_sometimes_the_surer_way_and_often_not() -> None:
    table, cue, ball, opening = near_cushion(3, "pool-9", 4000)
    straight, first = aim_width(table, cue, ball, opening), aim_width(table, cue, ball, opening, "right")
    assert ((first > straight) & (first > 0)).any()
    assert ((straight > first) & (first > 0)).any()
