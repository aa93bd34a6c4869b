"""Other balls on the table: what bars a pot, and balls laid so that they bar none, or can't be potted."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

from trainer.drills.drill import run_at
from trainer.geometry.acceptance import table_window
from trainer.geometry.tables import POCKETS, TABLES
from trainer.geometry.vectors import unit
from trainer.shots.draw import draw
from trainer.shots.obstacles import APART, BARRED, first_ball, hindrance, scattered, unpottable
from trainer.shots.shot import Limits, Shot
from trainer.shots.truth import truth_of, work_out

SNOOKER = TABLES["snooker"]


def shots(n, seed, table=SNOOKER):
    found = draw(np.random.default_rng(seed), n, Limits(table))
    truths = work_out(found)
    return [(found[i], truths[i]) for i in range(n)]


def ways_of(shot, count=65):
    """Ways into the pocket from one end of what drops to the other, and where each ends."""
    ball, pocket = np.array(shot.object_ball), POCKETS.index(shot.pocket)
    window = table_window(shot.table, ball, pocket)
    for share in np.linspace(0, 1, count):
        way = unit(window.right * (1 - share) + window.left * share)
        yield way, ball + way * math.dist(shot.object_ball, window.target)


def barred_by_hand(shot):
    """The least part of a ball's width that the others lie in any way of a pot, by another library."""
    wide, contact = 2 * shot.table.balls.object_radius, shot.table.contact
    least = math.inf
    if not table_window(shot.table, np.array(shot.object_ball), POCKETS.index(shot.pocket)).is_open:
        return math.inf
    for way, end in ways_of(shot):
        touching = np.array(shot.object_ball) - way * contact
        aim = unit(touching - np.array(shot.cue_ball))
        if float(aim @ way) <= 0:
            least = min(least, 1.0 - float(aim @ way))
            continue
        runs = ((LineString([shot.object_ball, end]), wide), (LineString([shot.cue_ball, touching]), contact))
        lies = [(room - run.distance(Point(b))) / wide for run, room in runs for b in shot.others]
        least = min(least, 1.0, max(lies, default=-math.inf))
    return least


@pytest.mark.parametrize(
    "table",
    [
        "snooker",
        pytest.param("small-ball", marks=pytest.mark.slow),
        pytest.param("pool-9", marks=pytest.mark.slow),
    ],
)
def test_what_bars_a_pot_is_what_another_library_finds_in_its_ways(table):
    seen = set()
    rng = np.random.default_rng(4)
    for shot, _ in shots(60, 1, TABLES[table]):
        size = np.array(shot.table.size)
        ball = np.array(shot.object_ball)
        others = np.clip(ball + rng.normal(0, 120, (4, 2)), 30, size - 30)
        others = others[np.hypot(*(others - ball).T) > 60]
        laid = replace(shot, others=tuple(tuple(b) for b in others.tolist()))
        found, by_hand = hindrance(laid), barred_by_hand(laid)
        # Few ways are looked at: between two of them the surest may be a little surer.
        assert found.amount == pytest.approx(by_hand, abs=0.03)
        assert found.amount >= by_hand - 1e-9
        seen.add(found.amount <= 0.0)
        if found.amount > 0.0:
            assert 0 <= found.by < len(others)
    assert seen == {True, False}


def test_a_ball_alone_is_free_and_one_that_cannot_be_cut_is_not():
    shot, truth = shots(1, 3)[0]
    assert hindrance(shot).amount <= 0.0
    found = hindrance(replace(shot, cue_ball=truth.target))  # the cue ball in the pocket's mouth
    assert (found.amount, found.by, found.aim) == (pytest.approx(2.0, abs=0.2), -1, False)


def test_which_ball_bars_which_way():
    shot = Shot(SNOOKER, (500.0, 889.0), (1000.0, 889.0), "top-left")
    target = truth_of(shot).target
    half = ((1000.0 + target[0]) / 2, (889.0 + target[1]) / 2)
    assert hindrance(replace(shot, others=((700.0, 889.0), half))).by in (0, 1)
    on_way = hindrance(replace(shot, others=((300.0, 300.0), half)))
    assert (on_way.by, on_way.aim) == (1, False)
    assert on_way.amount > 0.5
    # Just before the pocket it bars as much as just beyond the object ball.
    for part in (0.05, 0.3, 0.7, 0.95):
        at = tuple((1 - part) * a + part * b for a, b in zip(shot.object_ball, target, strict=True))
        found = hindrance(replace(shot, others=(at,)))
        assert (found.by, found.aim) == (0, False)
        assert found.amount > 0.4
    on_aim = hindrance(replace(shot, others=((700.0, 889.0),)))
    assert (on_aim.by, on_aim.aim) == (0, True)


def test_the_first_ball_on_a_way_is_met_where_small_steps_meet_it():
    rng, runs, met = np.random.default_rng(8), np.arange(0, 1500, 0.1), 0
    for _ in range(150):
        others, start = rng.uniform(0, 1000, (5, 2)), rng.uniform(0, 1000, 2)
        angle = rng.uniform(0, 2 * np.pi)
        way = np.array([math.cos(angle), math.sin(angle)])
        apart = np.hypot(*np.moveaxis(start + runs[:, None, None] * way - others, -1, 0))
        if apart[0].min() < 60:
            continue
        found = first_ball(tuple(start.tolist()), tuple(way.tolist()), others, 52.5)
        if apart.min() >= 52.5:  # but for a graze between two steps
            assert found is None or apart.min() < 52.6
            continue
        step, ball = np.argwhere(apart < 52.5)[0]
        assert found is not None
        assert found[1] == ball
        assert found[0] == pytest.approx(runs[step], abs=0.2)
        met += 1
    assert met > 20
    assert first_ball((0.0, 0.0), (1.0, 0.0), [], 52.5) is None


@pytest.mark.parametrize("table", ["snooker", pytest.param("pool-9", marks=pytest.mark.slow)])
def test_scattered_balls_leave_the_shot_as_it_is(table):
    rng = np.random.default_rng(11)
    for shot, truth in shots(60, 2, TABLES[table]):
        places = scattered(rng, shot, truth, 6)
        laid = replace(shot, others=places)
        assert len(places) >= 4
        radius = shot.table.balls.object_radius
        every = [shot.object_ball, *places]
        for i, one in enumerate(every):
            assert radius <= one[0] <= shot.table.length - radius
            assert radius <= one[1] <= shot.table.width - radius
            for other in every[:i]:
                assert math.dist(one, other) > 2 * radius + APART - 1e-9
        for way, end in ways_of(shot, 9):
            run = LineString([shot.object_ball, end])
            assert min(run.distance(Point(b)) for b in places) > 2 * radius, way
        for offset in np.linspace(-0.95, 0.95, 9):
            assert not run_at(laid, float(offset)).stopped
        assert hindrance(laid).amount <= 0.0


@pytest.mark.parametrize("table", ["snooker", pytest.param("pool-8", marks=pytest.mark.slow)])
def test_balls_that_can_not_be_potted_can_not_and_leave_the_shot_free(table):
    rng, kinds = np.random.default_rng(12), []
    for shot, truth in shots(24, 5, TABLES[table]):
        places = unpottable(rng, shot, truth, 3)
        assert len(places) == 3
        balls = [shot.object_ball, *places]
        assert hindrance(replace(shot, others=places)).amount <= 0.0
        for ball in places:
            about = tuple(b for b in balls if b != ball)
            laid = replace(shot, object_ball=ball, others=about)
            found = hindrance(laid)
            assert found.amount >= BARRED
            assert barred_by_hand(laid) >= BARRED - 0.03
            kinds.append("none" if found.by < 0 else "aim" if found.aim else "way")
    for kind in ("none", "aim", "way"):
        assert kinds.count(kind) > len(kinds) / 8


def test_the_same_state_lays_the_same_balls_and_no_balls_draw_nothing():
    shot, truth = shots(1, 9)[0]
    one, other = np.random.default_rng(1), np.random.default_rng(1)
    assert scattered(one, shot, truth, 5) == scattered(other, shot, truth, 5)
    assert unpottable(one, shot, truth, 4) == unpottable(other, shot, truth, 4)
    before = one.bit_generator.state
    assert scattered(one, shot, truth, 0) == unpottable(one, shot, truth, 0) == ()
    assert one.bit_generator.state == before
