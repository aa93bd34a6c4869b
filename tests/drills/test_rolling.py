"""The film of a call: where it begins and ends, and what it never does."""

import math

import numpy as np
import pytest
from test_marking import questions

from trainer import drills
from trainer.drills.mark import HOLDS, LEAVES, ROLLS, along, rolling
from trainer.geometry.meetings import Met

TIMES = np.linspace(0.0, 1.7, 160)


def films(n):
    """Films of calls of many questions, made as they are looked at."""
    for question in questions("aim", n, 31):
        for choice in question.choices[::2]:
            mark = drills.mark(question, choice)
            yield mark, rolling(mark)


@pytest.fixture(scope="module")
def some():
    return list(films(40))


def test_it_begins_with_the_shot_touches_where_the_mark_says_and_lasts_under_two_seconds(some):
    for mark, film in some:
        shot = mark.question.shot
        first = film.at(0.0)
        assert first.cue_ball == pytest.approx(shot.cue_ball)
        assert first.object_ball == shot.object_ball
        assert film.seconds < 2
        if mark.touching is not None:
            for time in (ROLLS, ROLLS + HOLDS / 2):
                held = film.at(time)
                assert held.cue_ball == pytest.approx(mark.touching)
                assert held.object_ball == pytest.approx(shot.object_ball)


def test_it_ends_where_the_mark_says(some):
    dropped = 0
    for mark, film in some:
        end = film.at(film.seconds)
        assert end == film.at(99.0)
        assert (end.object_ball is None) == mark.potted
        dropped += mark.potted
        if mark.met is not None and not mark.potted:
            assert end.object_ball == pytest.approx(mark.met.at)
        if mark.met is None:
            assert end.object_ball == mark.question.shot.object_ball
    assert dropped > 20


def test_balls_never_pass_through_each_other_or_jump(some):
    for mark, film in some:
        table = mark.question.shot.table
        before = film.at(0.0)
        for time in TIMES:
            now = film.at(float(time))
            if now.object_ball is not None:
                assert math.dist(now.cue_ball, now.object_ball) > table.contact - 0.5
            assert math.dist(now.cue_ball, before.cue_ball) < 250
            before = now


def test_the_object_ball_takes_the_way_of_the_mark(some):
    for mark, film in some:
        if mark.way is None:
            continue
        ball = mark.question.shot.object_ball
        place = film.at(ROLLS + HOLDS + LEAVES * 0.05).object_ball
        assert place is not None
        off = np.subtract(place, ball)
        assert abs(off[0] * mark.way[1] - off[1] * mark.way[0]) < 1e-6 * max(1.0, np.hypot(*off))
        assert off @ np.array(mark.way) >= 0


def test_a_ball_that_goes_off_a_jaw_turns_there():
    turns = (mark.met.met for mark, film in films(150) if mark.potted and len(film.object_after) == 4)
    assert any(met is Met.JAW for met in turns)


def test_along_a_line():
    line = ((0.0, 0.0), (3.0, 0.0), (3.0, 4.0))
    assert along(line, 0.0) == (0.0, 0.0)
    assert along(line, 3 / 7) == pytest.approx((3.0, 0.0))
    assert along(line, 5 / 7) == pytest.approx((3.0, 2.0))
    assert along(line, 1.0) == (3.0, 4.0)
    assert along(((1.0, 2.0), (1.0, 2.0)), 0.5) == (1.0, 2.0)
