"""The drill *same*, against a second computation from the balls and targets alone."""

import cmath
import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from trainer import drills
from trainer.drills import DRILLS, Asked, Question
from trainer.drills.question import Answers
from trainer.geometry.tables import TABLES
from trainer.learner.belief import Belief
from trainer.levels.level import Level, free_practice, narrowed
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf
from trainer.levels.toml_reader import FileError
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shot
from trainer.shots.truth import Truth, truth_of, work_out
from trainer.simulate.players import Bump, Nature
from trainer.simulate.simulation import practise

SAME = DRILLS["same"]
TEXT = 'title = "T"\nteaches = "T."\ndrill = "same"\n'


def questions(count: int, seed: int, table: str = "snooker", **answers: object) -> list[Question]:
    rng = np.random.default_rng(seed)
    limits = Limits(TABLES[table])
    level = Level("t", "t", "t", "same", limits=limits, answers=Answers(**answers))  # type: ignore[arg-type]
    shots = draw(rng, count, limits)
    truths = work_out(shots)
    return [level.question(shots[i], truths[i], rng) for i in range(count)]


def seen(shot: Shot, truth: Truth) -> tuple[float, float]:
    """Fullness and side (+1 left) of a shot by the angle between two lines, as complex numbers."""
    balls = shot.table.balls
    cue, ball, target = complex(*shot.cue_ball), complex(*shot.object_ball), complex(*truth.target)
    way = (target - ball) / abs(target - ball)
    contact = 2 * math.sqrt(balls.cue_radius * balls.object_radius)  # on the cloth, seen from above
    cut = cmath.phase(way / (ball - way * contact - cue))
    return 1 - abs(math.sin(cut)), math.copysign(1.0, cut)


@pytest.mark.parametrize(
    ("table", "mirrored"),
    [
        ("snooker", False),
        ("small-ball", True),
        pytest.param("snooker", True, marks=pytest.mark.slow),
        pytest.param("small-ball", False, marks=pytest.mark.slow),
    ],
)
@pytest.mark.parametrize("count", [80, pytest.param(250, marks=pytest.mark.long)])
def test_exactly_one_of_many_options_is_as_full_and_the_others_differ_by_whole_steps(
    table: str, mirrored: bool, count: int
) -> None:
    places, keys, asked = [0] * 4, [0] * 4, questions(count, 3, table, mirrored=mirrored)
    for question in asked:
        full, side = seen(question.shot, question.truth)
        found = [seen(o.shot, o.truth) for o in question.options]
        steps = [(option - full) * 8 for option, _ in found]
        assert len(steps) == 4
        assert steps == pytest.approx([round(s) for s in steps], abs=1e-6)
        assert len({round(s) for s in steps}) == 4
        assert max(steps) - min(steps) == pytest.approx(3, abs=1e-6)
        assert round(steps[question.best]) == 0
        if 0.01 < full < 0.99:
            assert all(s == (-side if mirrored else side) for _, s in found)
        assert all(o.shot.pocket != question.shot.pocket for o in question.options)
        places[sorted(steps).index(steps[question.best])] += 1
        keys[question.best] += 1
        for choice, (option, _) in zip(question.choices, found, strict=True):
            mark = drills.mark(question, choice)
            assert mark.error == pytest.approx(option - full, abs=1e-6)
            assert mark.right == (choice == question.choices[question.best])
            low, high = question.truth.margin
            assert mark.potted == (low <= full + mark.error <= high)
    # A quarter each, but for cuts where the row can't lie anywhere; four standard deviations.
    assert min(places) > 0.12 * count
    assert min(keys) > count / 4 - 4 * math.sqrt(count * 3 / 16)


@pytest.mark.parametrize("step", ["1/4", "1/16", "1/32"])
def test_steps_are_those_of_the_level(step: str) -> None:
    for question in questions(60, 5, step=Fraction(step)):
        full = sorted(o.truth.fullness for o in question.options)
        assert np.diff(full) == pytest.approx(float(Fraction(step)), abs=1e-9)
        assert 2 <= len(full) <= 4
        assert full[0] >= 1 - math.sin(math.radians(80)) - 1e-9


def test_what_a_call_means_can_be_told_from_the_attempt_alone() -> None:
    for question in questions(60, 9, "small-ball"):
        fullnesses = sorted(o.truth.fullness for o in question.options)
        right = question.options[question.best].truth
        for option, choice in zip(question.options, question.choices, strict=True):
            error = SAME.error(question, choice.value)
            asked: Asked = question.asked
            low, high = SAME.meant(asked, choice, error)
            place = fullnesses.index(option.truth.fullness)
            full = question.truth.fullness
            ends = [
                (fullnesses[place + k] + option.truth.fullness) / 2 - full
                if 0 <= place + k < len(fullnesses)
                else k * math.inf
                for k in (-1, 1)
            ]
            assert [low, high] == pytest.approx(ends, abs=1e-9)
            assert SAME.answer(question, error) == choice
            assert SAME.against(asked, choice) == pytest.approx(math.sin(right.cut), abs=1e-9)


@pytest.mark.parametrize("step", [4, pytest.param(1, marks=pytest.mark.slow)])
def test_every_built_in_level_and_table_can_be_asked_so(step: int) -> None:
    levels = [level.with_drill("same") for level in open_shelf().levels]
    levels += [replace(free_practice("same"), limits=Limits(table)) for table in TABLES.values()]
    levels.append(replace(levels[0], limits=Limits(pockets=("top-left",), forgives=(0.02, 0.03))))
    rng = np.random.default_rng(1)
    for level in levels[::-step]:
        shots = draw(rng, 6, narrowed(level))
        truths = work_out(shots)
        for i in range(6):
            question = level.question(shots[i], truths[i], rng)
            assert 2 <= len(question.options) <= 4, level.name


def test_a_straight_shot_is_asked_too() -> None:
    rng = np.random.default_rng(2)
    shot = draw(rng, 1, Limits(), [0.0])[0]
    question = free_practice("same").question(shot, truth_of(shot), rng)
    choice = question.choices[question.best]
    assert SAME.error(question, choice.value) == pytest.approx(0.0, abs=1e-9)
    assert SAME.is_right(question, choice, True)
    low, high = SAME.meant(question.asked, choice, 0.0)
    fullnesses = sorted(o.truth.fullness for o in question.options)
    assert (low, high) == (pytest.approx((fullnesses[-2] - fullnesses[-1]) / 2, abs=1e-6), math.inf)


@pytest.mark.parametrize(
    ("drill", "more", "said"),
    [
        ("same", 'step = "1/2"', "answers.step: '1/2' can't be used; allowed: \"1/4\""),
        ("same", "mirrored = 1", "answers.mirrored: 1"),
        ("same", "choices = 5", "answers.choices: only for the drill aim"),
        ("same", 'within = "1/16"', "answers.within: only for the drill band"),
        ("band", "mirrored = true", "answers.mirrored: only for the drill same"),
        ("aim", "mirrored = false", "answers.mirrored: only for the drill same"),
    ],
)
def test_a_bad_key_is_one_line(drill: str, more: str, said: str) -> None:
    with pytest.raises(FileError) as found:
        read_level(TEXT.replace("same", drill) + f"[answers]\n{more}\n", "mine", "mine.toml")
    (problem,) = found.value.problems
    assert said in problem


def test_the_key_is_read() -> None:
    assert read_level(TEXT, "mine", "mine.toml").answers.mirrored
    assert not read_level(TEXT + "[answers]\nmirrored = false\n", "mine", "mine.toml").answers.mirrored


def test_limits_that_have_no_such_options_are_a_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)  # why there is none is found out afterwards
    text = TEXT + '[answers]\nstep = "1/4"\n[shots]\ncuts = [5, 10]\npocket_distance = [300, 320]\n'
    assert read_level(text, "mine", "mine.toml")
    with pytest.raises(
        FileError, match=r"shots to compare with, up to .*3/4.* ball thicker or thinner"
    ) as found:
        read_level(text + 'forgives = ["1/12", "1/6"]\n', "mine", "mine.toml")
    assert len(found.value.problems) == 1


# A simulated player


def difference(belief: Belief) -> tuple[float, float]:
    """What is thought of left less right, on average over cuts of 20 to 50 degrees: mean and SD."""
    sines = np.sin(np.radians(np.arange(20, 51, 5)))
    weights = np.repeat([1.0, -1.0], len(sines)) / len(sines)
    mean, covariance = belief.joint(np.concatenate([sines, -sines]))
    return float(weights @ mean), math.sqrt(float(weights @ covariance @ weights))


def first_told(step: str, size: float, seed: int, most: int) -> tuple[int | None, float, float]:
    """After how many calls 95 % lie on one side of none; and the difference and its SD in the end."""
    level = open_shelf().find("same-angle")
    level = replace(level, answers=replace(level.answers, step=Fraction(step)))
    nature = Nature(noise=0.05, bumps=tuple(Bump(-cut, size, 15.0) for cut in (15, 30, 45, 60)))
    first, mean, sd = None, 0.0, 0.0
    for moment in practise(level, nature, days=most // 30, shots=30, seed=seed):
        mean, sd = difference(moment.belief)
        if first is None and mean + 1.96 * sd < 0:
            first = moment.number
    return first, mean, sd


@pytest.mark.parametrize("count", [1, pytest.param(4, marks=pytest.mark.long)])
def test_a_fault_on_one_side_is_told_from_the_comparison_alone(count: int) -> None:
    # Measured over 30 players who see the right side 0.06 ball too full, with a noise of 0.05 a look, and
    # look at all five shots: at a step of 1/8 that left and right differ is told with 95 % after 34 calls
    # by half of them, after 98 by 19 in 20. Of a fault of 0.03: after 131 calls by half.
    found = [first_told("1/8", 0.06, seed, 150) for seed in range(count)]
    assert all(first is not None and first > 3 for first, _, _ in found), found
    assert float(np.mean([mean for _, mean, _ in found])) == pytest.approx(-0.06, abs=0.02)
    assert all(abs(mean + 0.06) < 3.5 * sd for _, mean, sd in found), found


@pytest.mark.slow
def test_no_fault_is_told_of_a_player_without_one() -> None:
    found = [first_told("1/8", 0.0, seed, 90) for seed in range(4)]
    assert sum(first is not None for first, _, _ in found) <= 1
    assert all(abs(mean) < 0.02 for _, mean, _ in found)
