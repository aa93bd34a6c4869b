"""What is cheered: five in a row, a level passed, the first kind seen true."""

from trainer.drills import DRILLS, Choice
from trainer.learner.verdicts import TRUE, kind_verdicts
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay


def call(played: SetInPlay, *, right: bool) -> str:
    question = played.question()
    if question.choices:
        choice: Choice = question.choices[(question.best + (not right)) % len(question.choices)]
    else:
        choice = DRILLS[question.drill].answer(question, 0.0 if right else 0.3)
    played.call(choice)
    return played.cheer


def test_every_five_in_a_row_are_cheered_and_a_miss_begins_anew(game: Game) -> None:
    played = game.begin(game.level(None, "aim"), shots=20, seed=1)
    said = [call(played, right=k != 6) for k in range(17)]
    assert {k: words for k, words in enumerate(said) if words} == {
        4: "Five in a row",
        11: "Five in a row",
        16: "10 in a row",
    }
    played.undo()
    assert played.cheer == ""


def test_a_level_is_cheered_at_the_call_that_passes_it_and_only_then(game: Game) -> None:
    level = game.shelf.levels[0]
    played = game.begin(level, seed=2)
    said = [call(played, right=True) for _ in range(level.shots)]
    assert said[level.passed.right - 1] == "Level passed"
    assert said.count("Level passed") == 1
    again = game.begin(level, seed=3)
    assert "Level passed" not in [call(again, right=True) for _ in range(level.shots)]


def test_the_first_kind_that_is_seen_true_is_cheered_once(game: Game) -> None:
    played = game.begin(game.level(None, "slide"), shots=400, seed=4)
    said = []
    while not any(words.startswith("Seen true") for words in said):
        said.append(call(played, right=True))
        rows = kind_verdicts(game.belief, game.skill().tally)
        if any(row.verdict == TRUE for row in rows):
            break
    assert said[-1].startswith("Seen true: ")
    assert not any(call(played, right=True).startswith("Seen true") for _ in range(40))
