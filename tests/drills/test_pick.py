"""The drill *pick*: one ball goes, and the others don't, by another library; what is said of them."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

from trainer import drills
from trainer.drills import DRILLS, Eye, Question
from trainer.geometry.acceptance import table_window
from trainer.geometry.meetings import Met
from trainer.geometry.tables import POCKETS, TABLES
from trainer.levels.level import Level
from trainer.levels.reading import read_level
from trainer.levels.toml_reader import FileError
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import USUAL
from trainer.shots.truth import truth_of, work_out

PICK = DRILLS["pick"]


def asked(n: int, balls: int = 3, table: str = "snooker", seed: int = 1) -> list[Question]:
    limits = Limits(TABLES[table])
    level = Level("x", "x", "x", "pick", limits=limits, balls=balls)
    rng = np.random.default_rng(seed)
    shots = draw(rng, n, limits)
    truths = work_out(shots)
    return [PICK.ask(level, shots[i], truths[i], rng, Eye()) for i in range(n)]


def goes(question: Question, k: int) -> bool:
    """Whether some way into the pocket is free for a ball, by shapely and vectors written out."""
    shot, ball = question.shot, np.array(question.balls[k])
    others = [Point(b) for b in question.balls if b != question.balls[k]]
    wide = 2 * shot.table.balls.object_radius
    window = table_window(shot.table, ball, POCKETS.index(shot.pocket))
    cue = np.array(shot.cue_ball)
    for share in np.linspace(0.0, 1.0, 9):
        way = window.right * (1 - share) + window.left * share
        way = way / np.hypot(*way)
        touching = ball - way * wide
        aim = touching - cue
        if float(aim @ way) <= 0:
            continue
        runs = LineString([ball, ball + way * math.dist(ball, window.target)]), LineString([cue, touching])
        if all(run.distance(other) >= wide for run in runs for other in others):
            return True
    return False


@pytest.mark.parametrize(
    ("table", "balls", "n"),
    [
        ("snooker", 3, 60),
        ("pool-9", 5, 30),
        pytest.param("pool-7", 4, 60, marks=pytest.mark.slow),
        *[
            pytest.param(table, balls, n, marks=pytest.mark.long)
            for table, balls, n in (("snooker", 3, 500), ("pool-9", 5, 250), ("pool-7", 4, 250))
        ],
    ],
)
def test_the_one_that_goes_is_the_only_one(table: str, balls: int, n: int) -> None:
    places = []
    for question in asked(n, balls, table):
        assert len(question.choices) == balls
        assert [goes(question, k) for k in range(balls)] == [k == question.best for k in range(balls)]
        places.append(question.best)
    # It may be any of them: three standard deviations.
    assert max(np.bincount(places)) < n / balls + 3 * math.sqrt(n * (balls - 1)) / balls


@pytest.mark.parametrize("count", [25, pytest.param(60, marks=pytest.mark.long)])
def test_a_mark_plays_the_ball_that_was_called(count: int) -> None:
    ends = set()
    for question in asked(count, 4):
        for k, choice in enumerate(question.choices):
            mark = drills.mark(question, choice)
            assert mark.played.object_ball == question.balls[k]
            assert mark.question.shot.object_ball == question.balls[question.best]
            assert (mark.right, mark.potted) == (k == question.best, k == question.best)
            assert mark.error == pytest.approx(0.0 if mark.right else choice.value)
            if mark.run.stopped:  # by one of the others, which it touches
                near = min(math.dist(mark.run.before[-1], ball) for ball in mark.played.others)
                assert near == pytest.approx(mark.played.table.contact, abs=1e-6)
                assert mark.met is None
                ends.add("stopped")
            elif mark.met is not None and mark.met.met is Met.BALL:
                near = min(math.dist(mark.met.at, ball) for ball in mark.played.others)
                assert near == pytest.approx(52.5, abs=1e-6)
                assert mark.miss_mm == pytest.approx(math.dist(mark.met.at, mark.question.truth.target))
                ends.add("into a ball")
            said = f"{drills.headline(mark, USUAL)} {drills.detail(mark, USUAL)}"
            assert (f"{choice.key} it is" in said) == mark.right
            assert ("is blocked by" in said) == ("in its way" in said or "cue ball's way" in said)
    assert ends == {"stopped", "into a ball"}


def test_what_is_shown_before_the_call_says_nothing_of_the_answer() -> None:
    """Shown about any of the balls alike, with the pocket's own middle as the target."""
    about = []
    for question in asked(120):
        about.append(question.shot.object_ball == question.balls[question.best])
        mouth = TABLES["snooker"].jaws[POCKETS.index(question.shot.pocket)].mean(axis=0)
        assert question.truth.target == tuple(mouth.tolist())
        assert {question.shot.object_ball, *question.shot.others} == set(question.balls)
        assert PICK.in_view(question) == question.balls
    assert 0.2 < np.mean(about) < 0.5


def test_the_pot_of_the_right_ball_is_the_drawn_one() -> None:
    for question in asked(40):
        best = question.choices[question.best]
        settled = PICK.settled(question, best)
        assert settled.truth == truth_of(replace(settled.shot, others=()))
        assert drills.mark(question, best).potted


LEVEL = 'title = "x"\nteaches = "x"\ndrill = "{}"\n[shots]\n{}\n'


@pytest.mark.parametrize(
    ("drill", "shots", "problem"),
    [
        ("pick", "balls = 1", "shots.balls: 1 leaves nothing to pick; allowed: 2 to 5"),
        ("pick", "balls = 6", "shots.balls: 6 can't be used; allowed: a whole number from 1 to 5"),
        ("same", "balls = 3", "shots.balls: not for the drill same; allowed: for band"),
        ("leave", "others = 3", "shots.others: not for the drill leave; allowed: for band"),
        ("aim", "others = 16", "shots.others: 16 can't be used; allowed: a whole number from 0 to 15"),
        ("aim", "others = true", "shots.others: True can't be used"),
    ],
)
def test_a_level_that_can_not_have_its_balls_is_told_so(drill: str, shots: str, problem: str) -> None:
    with pytest.raises(FileError) as caught:
        read_level(LEVEL.format(drill, shots), "x", "x.toml")
    assert any(problem in line for line in caught.value.problems), caught.value.problems


def test_a_level_without_help() -> None:
    text = 'title = "x"\nteaches = "x"\ndrill = "{}"\ninset = false\nwhole_table = false\nchapter = "Mine"\n'
    level = read_level(text.format("slide"), "x", "x.toml")
    assert (level.inset, level.whole_table, level.chapter) == (False, False, "Mine")
    assert level.with_drill("aim").inset  # it has its candidates there
    with pytest.raises(FileError, match="inset: not for the drill aim"):
        read_level(text.format("aim"), "x", "x.toml")
