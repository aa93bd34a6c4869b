"""Help explains first the words that stand on the screen; the numbers say which way round they go."""

import pytest
from by_hand import playing, shown

from trainer.app.app import TrainerApp
from trainer.app.screens.help import WORDS, HelpScreen, words_in
from trainer.play.game import Game

EXPLAINED = {word for row in WORDS for word in row[0].split(", ")}


def test_every_word_that_a_junior_lacks_is_explained() -> None:
    assert {"graze", "stun", "jaw", "throw", "inside edge", "natural roll", "forgives"} <= EXPLAINED
    assert {"easy", "medium", "hard", "thick", "thin", "half ball"} <= EXPLAINED
    assert len({row[0] for row in WORDS}) == len(WORDS)


def test_words_are_found_whole_in_any_number_and_in_the_order_of_the_list() -> None:
    found = [row[0] for row in words_in("It goes off the far jaws: an EASY pot, thrown by stun.")]
    assert found == ["easy, medium, hard", "jaw", "stun"]
    assert words_in("The jawbone, the stunt and the hardware") == []


async def test_asked_from_a_mark_help_explains_the_words_of_the_mark_first(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.level("throw-slow"), seed=3))
    async with app.run_test(size=(120, 60)) as pilot:
        app.animation_level = "none"
        await pilot.pause()
        await pilot.press("question_mark")
        await pilot.pause()
        before = shown(app)
        assert "Words here" in before
        assert before.index("slides into the object ball") < before.index("Keys here")
        assert "Other words" in before
        await pilot.press("escape", "6", "enter")
        await pilot.pause()
        assert playing(app).mark is not None
        said = playing(app).said()
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(app.screen, HelpScreen)
        here, others = shown(app).split("Keys here")
        for word, meaning in WORDS:
            start = meaning[:40]
            assert (start in " ".join(here.split())) == ((word, meaning) in words_in(said))
        assert "forgives" in others or "forgives" in here


async def test_a_screen_without_words_has_one_list(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(120, 60)) as pilot:
        await pilot.pause()
        await pilot.press("question_mark")
        await pilot.pause()
        assert "Words here" not in shown(app)
        assert "Other words" not in shown(app)


@pytest.mark.parametrize("drill", ["slide", "edge", "throw", "back", "cushion", "send"])
async def test_the_numbers_say_where_they_set_a_line(game: Game, drill: str) -> None:
    played = game.begin(game.level(None, drill), seed=4)
    dial = played.question().dial
    assert dial is not None
    app = TrainerApp(game, played)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        first, last = dial.ends
        assert f"(1 {first}, 9 {last})" in shown(app)
        await pilot.press("1")
        low = playing(app).scene.considered
        await pilot.press("9")
        high = playing(app).scene.considered
        assert low is not None
        assert high is not None
        assert low.value < high.value  # from left to right, and along a cushion to the pocket
        assert f"(1 {first}" not in shown(app)
