"""A level's test: shorter and harder, and it passes the level."""

import math
from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from trainer.drills import DRILLS
from trainer.levels.level import TEST_SHOTS, Level, Pass, as_test
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game

LEVELS = open_shelf().levels


def chance(rule_right: int, of: int, in_a_row: int, each: float) -> float:
    """How likely somebody who is right with this chance passes one set, over all its outcomes."""
    found = 0.0
    for calls in product((0, 1), repeat=of):
        run = best = 0
        for right in calls:
            run = run + 1 if right else 0
            best = max(best, run)
        if sum(calls) >= rule_right and best >= in_a_row:
            found += math.prod(each if right else 1 - each for right in calls)
    return found


@pytest.mark.parametrize("level", LEVELS, ids=lambda level: level.name)
def test_it_is_shorter_asks_for_more_and_helps_less(level: Level) -> None:
    test = as_test(level)
    assert test.passed is not None
    assert level.passed is not None
    assert test.shots == test.passed.of == TEST_SHOTS < level.shots
    assert Fraction(test.passed.right, TEST_SHOTS) > Fraction(level.passed.right, level.passed.of)
    assert not test.line_to_pocket
    assert not test.adaptive
    assert "plan" not in test.views or test.views == level.views


RULES = sorted({(rule.right, rule.of, rule.in_a_row) for rule in (one.passed for one in LEVELS) if rule})


@pytest.mark.parametrize("rule", RULES)
def test_guesses_pass_it_less_often_than_a_set_or_hardly_ever(
    rule: tuple[int, int, int],
) -> None:
    right, of, in_a_row = rule
    test = as_test(replace(LEVELS[0], passed=Pass(in_a_row, right, of))).passed
    assert test is not None
    for each in (0.33, 0.5):
        assert chance(test.right, test.of, test.in_a_row, each) < max(chance(*rule, each), 0.03)


def test_who_passes_it_has_passed_the_level_and_no_other(game: Game) -> None:
    level = game.level("test-eighths")
    played = game.begin(level, seed=2)
    while not played.done:
        question = played.question()
        played.call(question.choices[question.best])
    assert game.passed(game.level("eighths"))
    assert [one.name for one in game.shelf.levels if game.passed(one)] == ["eighths"]
    assert Game(game.history, game.shelf).passed(game.level("eighths"))
    played.undo()
    assert played.attempts[-1].right
    assert game.passed(game.level("eighths"))  # seven of eight are enough
    played.undo()
    assert not game.passed(game.level("eighths"))


@pytest.mark.parametrize("name", ["test-nothing", "test-", "test-free"])
def test_of_a_level_that_isn_t_there_it_is_said(game: Game, name: str) -> None:
    with pytest.raises(LookupError, match="no level is called"):
        game.level(name)


def test_every_test_can_be_asked(game: Game) -> None:
    for level in LEVELS:
        question = game.begin(game.level(f"test-{level.name}"), seed=1).question()
        assert question.drill in as_test(level).drills
        assert question.choices or DRILLS[question.drill].answer(question, 0.0)
