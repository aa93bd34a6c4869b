"""Finding one's place: which chapters calls open, and that they count as passed."""

import random

import pytest

from trainer.drills import DRILLS, Choice, Question
from trainer.levels.level import CHAPTERS
from trainer.play import placement
from trainer.play.game import Game
from trainer.play.placement import FIRST, LEVEL, Place, gates, opened_by, place_after

ALL = len(CHAPTERS)


def called(question: Question, *, right: bool) -> Choice:
    """The answer that is right, or one that isn't."""
    if question.choices:
        return question.choices[(question.best + (not right)) % len(question.choices)]
    return DRILLS[question.drill].answer(question, 0.0 if right else -0.4)


def walked(rights: list[bool]) -> tuple[int, int | None]:
    """By another way: how many chapters are mastered, and the one asked next; None where it is over."""
    best, worst, at = -1, ALL, FIRST
    path = list(rights)
    while True:
        height = 0
        while -4 < height < 4:
            if not path:
                return best + 1, at
            height += 1 if path.pop(0) else -2
        if height >= 4:
            best = at
        else:
            worst = at
        if worst - best == 1:
            return best + 1, None
        at = best + 1 if best >= 0 else worst - 1


def test_where_a_player_stands_is_what_steps_up_and_down_come_to() -> None:
    rng = random.Random(4)
    ends = set()
    for _ in range(400):
        good = rng.random()
        rights = [rng.random() < good for _ in range(rng.randrange(45))]
        mastered, at = walked(rights)
        place = place_after(rights)
        assert (place.mastered, place.done) == (mastered, at is None)
        if at is not None:
            assert place.chapter == at
        ends.add(mastered)
    assert ends == set(range(ALL + 1))


@pytest.mark.parametrize(
    ("rights", "mastered"),
    [([True] * 40, ALL), ([False] * 8, 0), ([True] * 4 + [False] * 2, 3), ([False] * 2 + [True] * 4, 2)],
)
def test_all_right_opens_every_chapter_and_all_wrong_none(rights: list[bool], mastered: int) -> None:
    assert place_after(rights) == Place(place_after(rights).chapter, 0, mastered, done=True)
    assert opened_by([[False] * 8, rights]) == mastered


def test_every_chapter_can_be_asked_about(game: Game) -> None:
    found = gates(game.shelf.levels)
    assert [levels[0].chapter for levels in found] == list(CHAPTERS)
    for levels in found:
        assert not any(level.picks or level.again for level in levels)
        assert [level.place for level in levels] == sorted((level.place for level in levels), reverse=True)


# The third and the fourth chapter mastered, then nothing right.
def test_chapters_that_are_mastered_count_as_passed_and_no_others(game: Game) -> None:
    played = game.begin(LEVEL, seed=3)
    asked = set()
    while not played.done:
        question = played.question()
        asked.add((played.level_now.chapter, question.drill))
        played.call(called(question, right=len(played.attempts) < 8))
    assert len(played.attempts) == 10
    assert played.place.mastered == 4
    chapters = list(CHAPTERS)
    assert {chapter for chapter, _ in asked} == set(chapters[2:5])
    assert {level.chapter for level in game.shelf.levels if game.passed(level)} == set(chapters[:4])
    assert all(game.passed(level) for level in game.shelf.levels if level.chapter in chapters[:4])
    assert game.next_level().chapter == chapters[4]
    assert game.unfinished(LEVEL) is None
    assert "The first 4 chapters are yours" in played.findings[0]
    again = Game(game.history, game.shelf)
    assert again.opened == tuple(chapters[:4])
    played.undo()
    assert game.opened == tuple(chapters[:4])  # the call that failed the fifth


def test_a_place_that_was_left_goes_on_where_it_was(game: Game) -> None:
    played = game.begin(LEVEL, seed=5)
    for _ in range(3):
        question = played.question()
        played.call(called(question, right=True))
    going_on = Game(game.history, game.shelf).begin(placement.LEVEL)
    assert (going_on.number, going_on.place) == (4, played.place)
    assert going_on.question().shot == played.question().shot
