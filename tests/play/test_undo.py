"""A call that was taken back counts for nothing, at once and ever after."""

from collections.abc import Callable

import pytest

from trainer.drills import DRILLS, Choice, Question
from trainer.history import TrainerError
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay
from trainer.play.summary import kind_summaries
from trainer.report.report import report


def best(question: Question) -> Choice:
    return DRILLS[question.drill].best(question)


def worst(question: Question) -> Choice:
    return max(question.choices, key=lambda choice: abs(choice.value - best(question).value))


def play(played: SetInPlay, *calls: Callable[[Question], Choice]) -> None:
    for call in calls:
        played.call(call(played.question()), 2.0)


def test_as_if_it_had_not_been_made(game: Game, history: History) -> None:
    level = game.shelf.find("eighths")
    played = game.begin(level, shots=9, seed=3)
    play(played, best, best, worst, best)
    before = report(game)
    kept = list(game.attempts)
    play(played, worst)
    assert played.run == 0
    assert report(game) != before
    assert played.undo()
    assert report(game) == before
    assert game.attempts == played.attempts == kept
    assert (played.run, played.best_run, sum(played.rights)) == (1, 2, 3)
    assert sum(row.calls for row in kind_summaries(played.attempts)) == 4
    again = Game(history, game.shelf)  # and so it is after a start
    assert report(again) == before
    assert again.skill().belief.plain() == game.skill().belief.plain()


def test_its_number_is_not_asked_again_and_the_rest_is_as_after_a_break(game: Game, history: History) -> None:
    level = game.shelf.find("eighths")
    played = game.begin(level)
    for number in range(1, played.of + 1):
        assert played.number == number
        play(played, best)
        if number in (1, 4, 5):
            assert played.undo()
        if number < played.of:
            other = Game(history, game.shelf).begin(level)
            assert other.kept.id == played.kept.id
            assert other.number == played.number
            assert other.question() == played.question()
    assert played.done
    assert [a.number for a in played.attempts] == [n for n in range(1, played.of + 1) if n not in (1, 4, 5)]
    assert game.unfinished(level) is None


def test_the_last_of_a_set(game: Game) -> None:
    played = game.begin(game.shelf.levels[0], shots=1)
    play(played, best)
    assert played.undo()
    assert played.done
    assert not played.undo()
    assert (played.rights, played.best_run, played.potted) == ([], 0, 0)
    assert report(game)["attempts"] == report(game)["days"] == report(game)["streak_days"] == 0


def test_passing(game: Game) -> None:
    level = game.shelf.levels[0]
    assert level.passed is not None
    played = game.begin(level, shots=level.passed.right)
    play(played, *[best] * level.passed.right)
    assert game.passed(level)
    played.undo()
    assert not game.passed(level)


def test_a_skill_of_its_own(game: Game) -> None:
    """A drill that tells nothing of seeing angles."""
    game.begin(game.level(None, "band"), shots=2, seed=1)
    played = game.begin(game.level(None, "cushion"), shots=2, seed=1)
    play(played, best)
    before = game.skill().tally.plain()
    assert game.skill("cushion").tally.calls == 1
    played.undo()
    assert game.skill("cushion").tally.calls == 0
    assert game.skill().tally.plain() == before


def test_where_it_cannot_be_written_it_counts(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    played = game.begin(game.shelf.levels[0])
    play(played, best)

    def full(_: str) -> bool:
        raise TrainerError("the disk is full")

    monkeypatch.setattr(game.history, "undo", full)
    with pytest.raises(TrainerError, match="the disk is full"):
        played.undo()
    assert len(played.attempts) == len(game.attempts) == game.skill().tally.calls == 1


def test_from_outside_while_it_is_open(game: Game, history: History) -> None:
    """Somebody has taken the call back with the command."""
    played = game.begin(game.shelf.levels[0])
    play(played, best)
    history.undo(game.attempts[-1].id)
    assert not played.undo()
    assert played.attempts == game.attempts == Game(history, open_shelf()).attempts == []
