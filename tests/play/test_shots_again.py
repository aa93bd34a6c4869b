"""Sets whose shots come again: with the other stroke, or in the other view."""

from dataclasses import replace

from trainer import drills
from trainer.history.attempt import Attempt
from trainer.levels.reading import read_level
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay

TWICE = """
title = "Twice"
teaches = "Each comes twice."
drill = "slide"
views = ["standing", "down"]
[set]
shots = {shots}
again = "view"
"""


def play(played: SetInPlay) -> list[Attempt]:
    while not played.done:
        question = played.question()
        played.call(drills.DRILLS[question.drill].best(question))
    return played.attempts


def places(attempt: Attempt) -> tuple[object, ...]:
    return attempt.cue_ball, attempt.object_ball, attempt.pocket


def test_a_shot_comes_again_with_the_stroke_from_the_other_end(game: Game) -> None:
    level = game.level("throw-or-not")
    found = play(game.begin(level, shots=12, seed=4))
    slow, fast = level.strokes[0], level.strokes[-1]
    assert (slow.speed, slow.roll) < (fast.speed, fast.roll)
    for first, second in zip(found[:6], found[6:], strict=True):
        assert places(first) == places(second)
        assert {first.stroke, second.stroke} == {slow, fast}
        least, most = sorted((first, second), key=lambda each: each.stroke is slow or each.stroke == slow)
        assert most.throw_deg > 3 * least.throw_deg > 0
        assert abs(most.cut_deg) > abs(least.cut_deg)  # more throw must be allowed for by a thinner hit
    assert {attempt.stroke for attempt in found[:6]} == {slow, fast}
    assert len({places(attempt) for attempt in found}) == 6


def test_a_shot_comes_again_in_the_other_view_and_each_view_comes_first_in_turn(game: Game) -> None:
    played = game.begin(game.level("standing-or-down"), shots=12, seed=4)
    seen = []
    while not played.done:
        seen.append(played.views)
        question = played.question()
        played.call(drills.DRILLS[question.drill].best(question))
    found = played.attempts
    assert [(attempt.view,) for attempt in found] == seen
    for first, second in zip(found[:6], found[6:], strict=True):
        assert places(first) == places(second)
        assert {first.view, second.view} == {"standing", "down"}
        assert first.cut_deg == second.cut_deg
    assert {attempt.view for attempt in found[:6]} == {"standing", "down"}


def test_the_last_of_an_odd_set_is_a_shot_of_its_own(game: Game) -> None:
    found = play(game.begin(read_level(TWICE.format(shots=7), "twice", "twice.toml"), seed=1))
    assert [places(a) for a in found[:3]] == [places(a) for a in found[3:6]]
    assert len({places(attempt) for attempt in found}) == 4


def test_where_the_first_call_was_taken_back_a_new_shot_is_asked(game: Game) -> None:
    played = game.begin(read_level(TWICE.format(shots=6), "twice", "twice.toml"), seed=1)
    question = played.question()
    played.call(drills.DRILLS[question.drill].best(question))
    assert played.undo()
    found = play(played)
    assert [attempt.number for attempt in found] == [2, 3, 4, 5, 6]
    assert len({places(attempt) for attempt in found}) == 3


def test_a_set_that_was_left_goes_on_with_the_same_shots(game: Game) -> None:
    level = game.level("throw-or-not")
    played = game.begin(level, shots=12, seed=4)
    for _ in range(7):
        question = played.question()
        played.call(drills.DRILLS[question.drill].best(question))
    asked = played.question().shot
    left = SetInPlay(game, level, replace(played.kept, done=7))
    assert left.question().shot == asked


def test_the_other_drills_ask_each_of_the_shots_once(game: Game) -> None:
    found = play(game.begin(game.level("throw-or-not", "slide"), shots=6, seed=2))
    assert len({places(attempt) for attempt in found}) == 6
