"""What is said at the end of a set that asked something, of what has healed, and of what is as it was."""

import math
from datetime import date

import pytest

from trainer.drills import DRILLS, Choice, Question
from trainer.learner.diagnosis import Healed, Looks
from trainer.play.answered import answers
from trainer.play.game import Game
from trainer.play.summary import worth_reading
from trainer.shots.style import USUAL

SCATTER = "that is scatter, and no side to mend"


def call(question: Question, error: float) -> Choice:
    return DRILLS[question.drill].answer(question, error)


def play(game: Game, name: str, error: float, shots: int) -> None:
    played = game.begin(game.level(name), shots=shots, seed=3)
    while not played.done:
        question = played.question()
        played.call(call(question, error))


def test_a_set_that_asks_for_the_line_answers_or_says_how_much_is_missing(game: Game) -> None:
    play(game, "straight-or-not", 0.0, 12)
    (said,) = answers("straight-or-not", game.model, USUAL)
    assert said == "Whether your line of aim goes to one side: 18 more calls of Straight or not will tell."
    played = game.begin(game.level("straight-or-not"), shots=1, seed=9)
    played.call(played.question().choices[0])
    assert played.findings == answers("straight-or-not", game.model, USUAL)


def test_a_set_that_asks_for_throw_says_whether_it_is_allowed_for(game: Game) -> None:
    play(game, "slide-the-line", 0.0, 30)
    for seed in range(3):
        played = game.begin(game.level("throw-or-not"), shots=12, seed=seed)
        while not played.done:
            question = played.question()
            cut, throw = abs(question.truth.cut), question.truth.throw
            ignored = math.sin(cut) - math.sin(cut - throw)
            played.call(call(question, ignored))
    (said,) = played.findings
    assert said.startswith("You don't allow for throw (a slow half ball with stun goes ")


def test_whether_what_has_healed_holds_is_said_by_the_last_step_of_its_course(game: Game) -> None:
    assert answers("slide-thin", game.model, USUAL) == ()
    play(game, "slide-thin", 0.0, 24)
    game.skill().looks.healed["ball-width"] = Healed(date(2026, 3, 8).toordinal(), 0.24)
    (said,) = answers("slide-thin", game.model, USUAL)
    begins = "The cue ball's width: healed since 8 Mar. It was 1/4 ball once, and now is within 1/"
    assert said.startswith(begins)
    assert answers("inside-edge", game.model, USUAL) == ()


def test_what_is_healed_is_kept_with_its_size(game: Game) -> None:
    looks = Looks({"names": 4}, {"names": 0.3}, {"ball-width": [739_000, 0.2]})
    again = Looks(*looks.plain())
    assert (again.since, again.worst, again.healed) == (looks.since, looks.worst, looks.healed)
    assert again.healed["ball-width"] == Healed(739_000, 0.2)


def test_the_same_isn_t_said_twice(game: Game) -> None:
    played = game.begin(game.level("slide-the-line"), shots=40, seed=1)
    while not played.done:
        question = played.question()
        played.call(call(question, abs(math.sin(question.truth.cut)) / 2))
    now = game.diagnosis
    assert now.worst is not None
    assert now.news(None, USUAL) == now.sentence
    assert now.news(played.before, USUAL) == now.sentence  # there was nothing before
    said = now.news(now, USUAL)
    assert said == f"As before: your cuts{now.worst.short.removeprefix('Your cuts')}"
    assert len(said) < len(now.sentence)


@pytest.mark.parametrize(
    ("errors", "said"),
    [
        ([0.1, 0.1, 0.1, 0.0], "Of the misses 3 were too thick and none too thin."),
        ([-0.1, -0.1, -0.1, 0.1], "Of the misses 3 were too thin and 1 too thick."),
        ([-0.1, 0.1] * 3, f"The misses go both ways, 3 thick and 3 thin: {SCATTER}."),
        ([0.0, 0.1], ""),
    ],
)
def test_to_which_side_a_set_went(game: Game, errors: list[float], said: str) -> None:
    played = game.begin(game.level(None, "slide"), shots=len(errors), seed=2)
    for error in errors:
        played.call(call(played.question(), error))
    assert worth_reading(played) == said


def test_the_best_set_of_a_level_is_told_of(game: Game) -> None:
    for seed, right in enumerate((3, 5, 4)):
        played = game.begin(game.level("slide-the-line"), shots=6, seed=seed)
        for number in range(6):
            played.call(call(played.question(), 0.0 if number < right else 0.3 * (-1) ** number))
        best = worth_reading(played)
        assert best.startswith("Your best at this level: 5 right, and 3 before.") == (right == 5)
