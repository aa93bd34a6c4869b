"""Today's practice and the warm-up on the screen: what home offers, and what it leads to."""

import pytest
from by_hand import MOSTLY_SMALL, click_row, offered, playing, shown, text_of
from textual.widgets import OptionList

from trainer.app.app import TrainerApp
from trainer.app.keys import USUAL
from trainer.app.screens.home import HIGH, ROWS, WIDE, HomeScreen
from trainer.app.screens.summary import SummaryScreen, WarmedScreen
from trainer.drills import DRILLS
from trainer.history import TrainerError
from trainer.play import today
from trainer.play.first_look import LEVEL as FIRST
from trainer.play.game import Game
from trainer.play.today import minutes_of
from trainer.play.warmup import TOO_FEW, Warmup

ALL_SIZES = [*MOSTLY_SMALL, pytest.param((200, 60), marks=pytest.mark.slow)]


def at_home(game: Game) -> TrainerApp:
    return TrainerApp(game, game.begin(game.shelf.levels[0]))


@pytest.mark.parametrize("size", ALL_SIZES)
async def test_home_says_what_is_worth_doing_and_one_key_begins_it(game: Game, size: tuple[int, int]) -> None:
    app = at_home(game)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert f"A first look at how you see angles; {FIRST.shots} shots." in offered(app)
        said = shown(app)
        assert "5 minutes" in said
        for _, action, title, _ in ROWS:  # all of them at once, nothing to scroll for
            assert f"{USUAL.first(action)}  {title}" in said
        await pilot.press("enter")
        await pilot.pause()
        assert playing(app).played.level is FIRST


async def test_there_is_room_for_more_words_where_it_is_wide(game: Game) -> None:
    app = at_home(game)
    async with app.run_test(size=(140, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert all(about in offered(app) for *_, about in ROWS)
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        menu = app.screen.query_one(OptionList)
        assert menu.content_size.width < WIDE
        assert menu.size.height < HIGH
        assert "before a match" not in offered(app)


async def test_more_or_fewer_minutes_are_kept(game: Game) -> None:
    app = at_home(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape", "right", "right")
        await pilot.pause()
        assert "10 minutes" in shown(app)
        await pilot.press("left", "minus", "left")
        await pilot.pause()
        assert "3 minutes" in shown(app)
        assert minutes_of(game.history) == 3
        assert isinstance(app.screen, HomeScreen)


async def test_minutes_that_can_t_be_kept_are_said(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(key: str, value: str) -> None:
        raise TrainerError("the disk is full")

    monkeypatch.setattr(game.history, "put_setting", full)
    app = at_home(game)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await pilot.pause()
        await pilot.press("escape", "right")
        await pilot.pause()
        assert "the disk is full" in shown(app)


async def test_after_forty_calls_it_says_that_they_are_enough(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(today, "DOSE", 10)
    app = at_home(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for _ in range(10):
            await pilot.press("1", "enter")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        enough = "10 calls today are enough to learn from: more adds little."
        assert enough in shown(app)
        await pilot.press("escape")
        await pilot.pause()
        assert f"{enough} If you like, go on:" in offered(app)


# The warm-up


@pytest.mark.parametrize("size", ALL_SIZES)
async def test_a_warm_up_is_begun_at_home_and_ends_with_its_sentence(
    game: Game, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    monkeypatch.setattr("trainer.play.warmup.MOST_SHOTS", 3)  # no time passes in a test
    app = at_home(game)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press("escape", "f")
        await pilot.pause()
        assert isinstance(playing(app).played, Warmup)
        assert "Warm-up   shot 1   5 minutes to go" in text_of(app, "#title")
        for _ in range(3):
            await pilot.press("5", "enter", "enter")
            await pilot.pause()
        assert isinstance(app.screen, WarmedScreen)
        said = " ".join(shown(app).split())
        assert "Warmed up 3 shots in 0:0" in said
        assert TOO_FEW in said
        await pilot.press("r")
        await pilot.pause()
        assert playing(app).played.number == 1
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_home_is_left_for_the_table_from_the_end_of_a_warm_up(game: Game) -> None:
    played = game.begin(game.level("warmup"), shots=1)
    app = TrainerApp(game, played)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "shot 1 of 1" in text_of(app, "#title")
        await pilot.press("5", "enter", "enter")
        await pilot.pause()
        assert isinstance(app.screen, WarmedScreen)
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        await click_row(pilot, "Warm up")
        assert isinstance(playing(app).played, Warmup)


async def test_a_level_about_a_kind_is_played_to_its_end(game: Game) -> None:
    level = game.level("about-1/2-left", "band")
    app = TrainerApp(game, game.begin(level, shots=2, seed=4))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for _ in range(2):
            question = playing(app).question
            assert question.drill in DRILLS
            await pilot.press(str(question.best + 1), "enter")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert "1/2 to the left" in shown(app)
