"""What is said of a shot beyond its aim, worked out again from the positions."""

import math
from dataclasses import replace

import numpy as np
import pytest

from trainer.geometry.aiming import Stroke, send
from trainer.geometry.cushion import play_cushion
from trainer.geometry.tables import TABLES
from trainer.shots.along_cushion import by_cushion
from trainer.shots.check import ShotError, checked
from trainer.shots.describe import FAST, MEDIUM, SLOW, at_speeds, cue_ball_ways, outlook_object
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shot
from trainer.shots.style import USUAL
from trainer.shots.truth import truth_of

POOL = TABLES["pool-9"]


def drawn(n: int, seed: int, **limits: object) -> list[Shot]:
    shots = draw(np.random.default_rng(seed), n, Limits(POOL, **limits))  # type: ignore[arg-type]
    return [shots[i] for i in range(n)]


def test_at_two_speeds_the_ball_leaves_for_the_same_target() -> None:
    for shot in drawn(40, 1, cuts=(5.0, 60.0)):
        target = np.subtract(truth_of(shot).target, shot.object_ball)
        slow, fast = at_speeds(shot)
        assert (slow.stroke, fast.stroke) == (Stroke(SLOW), Stroke(FAST))
        for one in (slow, fast):
            assert one.truth is not None
            sent = send(
                shot.cue_ball,
                shot.object_ball,
                one.truth.offset,
                POOL.balls.object_radius,
                POOL.contact,
                one.stroke,
            )
            off = sent.way[0] * target[1] - sent.way[1] * target[0]
            assert abs(off) / math.hypot(*target) < 1e-9
        assert slow.truth is not None
        assert fast.truth is not None
        # Slow balls are thrown more, so they are cut thinner.
        assert slow.truth.throw > fast.truth.throw > 0
        assert slow.truth.fullness < fast.truth.fullness < truth_of(shot).fullness


def test_the_shots_own_spin_is_kept_and_a_pot_that_no_stroke_makes_is_said() -> None:
    shot = replace(drawn(1, 2)[0], stroke=Stroke(1.0, 0.0, 0.4))
    assert [one.stroke for one in at_speeds(shot)] == [Stroke(SLOW, 0.0, 0.4), Stroke(FAST, 0.0, 0.4)]
    thin = Shot(POOL, (1000.0, 500.0), (1800.0, 640.0), "top-right", None)
    none = [
        at_speeds(replace(thin, cue_ball=(1800.0 + x, 1200.0)))[0].truth is None for x in range(0, 700, 10)
    ]
    assert any(none)
    assert not all(none)


def test_the_cue_balls_way_by_the_published_rules() -> None:
    """Stun: 90 degrees from the object ball's way; roll: TP A.20's direction, see the published tests."""
    for shot in drawn(40, 3, cuts=(10.0, 60.0)):
        truth = truth_of(shot)
        stun, roll = cue_ball_ways(shot, truth)
        assert (stun.spin, roll.spin) == ("stun", "natural roll")
        assert stun.speed == roll.speed == MEDIUM
        cut = abs(truth.cut)
        sign = math.copysign(1.0, truth.cut)
        assert math.degrees(stun.turns * -sign) == pytest.approx(90 - math.degrees(cut), abs=1e-9)
        wanted = math.atan(math.sin(cut) * math.cos(cut) / (math.sin(cut) ** 2 + 0.4))
        assert roll.turns * -sign == pytest.approx(wanted, abs=1e-12)
        for way in (stun, roll):
            x, y = way.end
            radius = POOL.balls.cue_radius
            walls = {
                "baulk": x - radius,
                "top": POOL.length - radius - x,
                "right": y - radius,
                "left": POOL.width - radius - y,
            }
            assert min(walls.values()) > -1e-6
            if way.cushion:
                assert abs(walls[way.cushion]) < 1e-6
    with_stroke = replace(shot, stroke=Stroke(2.0, 0.5))
    assert [way.speed for way in cue_ball_ways(with_stroke, truth_of(with_stroke))] == [2.0]


@pytest.mark.parametrize("count", [150, pytest.param(400, marks=pytest.mark.slow)])
def test_by_the_cushion_pots_when_played_and_the_wider_way_is_the_better(count: int) -> None:
    seen = {True: 0, False: 0}
    rng = np.random.default_rng(4)
    for _ in range(count):
        ball = (float(rng.uniform(300, 2300)), float(rng.uniform(30, 120)))
        cue = (float(rng.uniform(100, 2400)), float(rng.uniform(150, 1200)))
        shot = Shot(POOL, cue, ball, "top-right", None)
        found = by_cushion(shot)
        if found is None:
            continue
        assert found.cushion == "right"
        assert found.nose[1] == pytest.approx(POOL.balls.cue_radius)
        aim = np.subtract(found.nose, cue)
        played = play_cushion(POOL, cue, ball, aim / np.hypot(*aim), "right")
        target = np.subtract(truth_of(shot).target, ball)
        assert played.hits
        assert abs(played.way[0] * target[1] - played.way[1] * target[0]) / np.hypot(*target) < 1e-6
        assert found.wide > 0
        assert found.is_better == (found.wide > 1.15 * found.direct_wide)
        assert found.is_worse == (found.direct_wide > 1.15 * found.wide)
        assert math.dist(found.nose, ball) <= 8 * 57.15
        seen[found.is_worse] += 1
    assert min(seen.values()) >= 3, seen
    only_way = by_cushion(Shot(POOL, (2000.0, 300.0), (1800.0, 110.0), "middle-left", None))
    assert only_way is not None
    assert only_way.is_better
    assert only_way.direct_wide == 0
    in_the_open = Shot(POOL, (600.0, 400.0), (1500.0, 600.0), "top-right", None)
    assert by_cushion(in_the_open) is None


def test_a_ball_that_only_the_cushion_pots_is_refused_with_that_hint() -> None:
    shot = Shot(POOL, (2000.0, 300.0), (1800.0, 110.0), "middle-left", None)
    with pytest.raises(ShotError, match="by the right cushion first, met 1836 mm up from the baulk"):
        checked(shot, USUAL)


def test_the_object_for_scripts() -> None:
    shot = drawn(1, 6)[0]
    found = outlook_object(shot, truth_of(shot))
    assert set(found) == {"without_throw", "at_speeds", "cue_ball_ways", "cushion_first"}
    for one in found["at_speeds"]:
        low, high = one["margin"]
        assert low < one["fullness"] < high
        assert one["fullness"] < found["without_throw"]["fullness"]
    assert [one["name"] for one in found["at_speeds"]] == ["slow", "fast"]
    near = Shot(POOL, (1000.0, 900.0), (1800.0, 40.0), "top-right", None)
    cushion = outlook_object(near, truth_of(near))["cushion_first"]
    assert cushion["cushion"] == "right"
    assert cushion["better"] == (cushion["wide_deg"] > 1.15 * cushion["direct_wide_deg"])
    hopeless = Shot(POOL, (2300.0, 200.0), (1800.0, 640.0), "top-right", None)
    assert outlook_object(hopeless, truth_of(hopeless))["at_speeds"][0]["fullness"] is None


@pytest.mark.parametrize("room", [0.0, 0.4, 1.5])
def test_a_ball_frozen_to_the_cushion_is_worked_out_with_throw_too(room: float) -> None:
    """The cue ball must then press into the rubber a little, which gives way."""
    for name in ("snooker", "pool-9"):
        table = TABLES[name]
        y = table.balls.object_radius + room
        shot = Shot(table, (900.0, 700.0), (table.length - 1000.0, y), "top-right", Stroke(1.0))
        truth = checked(shot, USUAL)
        assert truth.throw > 0
        assert truth.touching[1] > table.balls.cue_radius - 2.0
