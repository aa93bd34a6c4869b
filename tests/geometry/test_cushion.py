"""By the cushion first: the rebound against impulses in small steps, the aim against playing it."""

import math

import numpy as np
import pytest

from trainer.geometry.acceptance import table_window
from trainer.geometry.cushion import (
    CUSHIONS,
    FRICTION,
    NORMALS,
    RESTITUTION,
    aim_width,
    cushion_first,
    play_cushion,
    rebound,
)
from trainer.geometry.pockets import Window
from trainer.geometry.tables import POCKETS, TABLES
from trainer.geometry.vectors import angle_between, unit

UP = np.array([0.0, 1.0])


def by_small_impulses(way: np.ndarray, roll: float, side: float, steps: int = 200_000) -> np.ndarray:
    """A sphere against a nose at 0.27 R above its centre, the impulse given in small steps.

    Compression until the normal velocity is gone, then restitution^2 of the work back, as Poisson's
    hypothesis has it for a normal impulse; friction against the slip of the moment. The cushion lies
    below, its normal is up. Mass and radius 1, moment of inertia 2/5.
    """
    theta = math.asin(0.27)
    normal = np.array([0.0, math.cos(theta), -math.sin(theta)])
    arm = -normal
    v = np.array([way[0], way[1], 0.0])
    spin = np.array([-roll * way[1], roll * way[0], side])
    approach = -(v @ normal)
    total = (1 + RESTITUTION) * approach
    step = total / steps
    for _ in range(steps):
        slip = v + np.cross(spin, arm)
        slip = slip - (slip @ normal) * normal
        size = math.sqrt(slip @ slip)
        # Friction, or what stops the slip if that is less: 2/7 of it.
        tangential = -slip / size * min(FRICTION * step, size * 2 / 7) if size > 0 else np.zeros(3)
        impulse = normal * step + tangential
        v = v + impulse
        spin = spin + np.cross(arm, impulse) / 0.4
    return v[:2]


@pytest.mark.parametrize(
    "angle", [-70, 0, 25, *(pytest.param(a, marks=pytest.mark.slow) for a in (-40, -10, 60))]
)
@pytest.mark.parametrize(("roll", "side"), [(1.0, 0.0), (0.0, 0.0), (1.0, 0.6), (0.3, -0.9)])
def test_a_rebound_agrees_with_impulses_in_small_steps(angle: int, roll: float, side: float) -> None:
    way = np.array([math.sin(math.radians(angle)), -math.cos(math.radians(angle))])
    out, speed = rebound(way, UP, roll, side)
    stepped = by_small_impulses(way, roll, side, 1000)
    # In one impulse the slip keeps its direction; small steps let it turn, which is a small thing.
    assert np.degrees(abs(angle_between(out, stepped))) < 1.0
    assert speed == pytest.approx(np.hypot(*stepped), abs=0.02)


def test_without_friction_and_loss_it_is_a_mirror() -> None:
    for angle in np.radians([-60, -20, 0, 45]):
        way = np.array([np.sin(angle), -np.cos(angle)])
        out, speed = rebound(way, UP, restitution=1.0, friction=0.0, nose_height=0.5)
        assert out == pytest.approx([way[0], -way[1]], abs=1e-12)
        assert speed == pytest.approx(1.0)


def test_it_loses_what_cushions_are_said_to_lose() -> None:
    # Ball-rail restitution 0.6 to 0.9, square on (Alciatore, "Physical properties of balls and
    # tables", billiards.colostate.edu/threads/physics.html).
    _, stun = rebound(-UP, UP, 0.0)
    assert 0.6 <= stun <= 0.9
    # A rolling ball comes off the model a little livelier than that, since the cloth's friction under
    # the ball is left out.
    _, rolling = rebound(-UP, UP, 1.0)
    assert 0.9 < rolling < 0.92


def test_it_is_the_same_at_every_cushion_and_mirrored_on_the_other_side() -> None:
    turns = {"right": 0.0, "top": np.pi / 2, "left": np.pi, "baulk": -np.pi / 2}
    for cushion, turn in turns.items():
        normal = NORMALS[CUSHIONS.index(cushion)]
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        assert rotation @ UP == pytest.approx(normal, abs=1e-12)
        way = unit(np.array([0.5, -1.0]))
        out, _ = rebound(way, UP, 1.0, 0.3)
        assert rebound(rotation @ way, normal, 1.0, 0.3)[0] == pytest.approx(rotation @ out, abs=1e-12)
        mirrored, _ = rebound(way * [-1, 1], UP, 1.0, -0.3)
        assert mirrored == pytest.approx(out * [-1, 1], abs=1e-12)


def near_cushion(seed: int, table_name: str = "snooker") -> tuple[object, np.ndarray, np.ndarray, object]:
    """Object balls within 60 mm of the right-hand cushion, to be potted along it; cue balls anywhere."""
    rng, table = np.random.default_rng(seed), TABLES[table_name]
    n, radius = 400, table.balls.object_radius
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
    table, cue, ball, opening = near_cushion(3)
    straight, first = aim_width(table, cue, ball, opening), aim_width(table, cue, ball, opening, "right")
    assert ((first > straight) & (first > 0)).any()
    assert ((straight > first) & (first > 0)).any()
