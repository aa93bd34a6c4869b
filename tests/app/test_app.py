"""The game on the screen, played by keys and by mouse through Textual's pilot."""

import json
import math
import random
import shlex
from pathlib import Path

import pytest
from by_hand import SIZES, click_row, offered, playing, shown, text_of, told
from textual.widgets import OptionList, Static

from trainer.app.app import TrainerApp
from trainer.app.screens.help import HelpScreen
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.levels import LevelsScreen
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.progress import ProgressScreen
from trainer.app.screens.summary import SummaryScreen
from trainer.app.widgets.picture import Picture
from trainer.app.widgets.play import Answers
from trainer.cli import main
from trainer.drills import DRILLS
from trainer.history import TrainerError
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.pictures.inset import Hit, inset_view
from trainer.play.game import Game


@pytest.mark.parametrize("size", [SIZES[0], pytest.param(SIZES[1], marks=pytest.mark.slow)])
async def test_a_new_player_plays_a_whole_set_by_keys_alone(game: Game, size: tuple[int, int]) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        for number in range(1, 11):
            screen = playing(app)
            assert screen.mark is None
            assert f"shot {number} of 10" in text_of(app, "#title")
            assert "How full must the hit be?" in shown(app)
            best = screen.question.best + 1
            await pilot.press(str(best if number % 3 else best % len(screen.question.choices) + 1))
            await pilot.pause()
            assert screen.mark is not None
            assert len(game.attempts) == number
            said = shown(app)
            assert ("Fullness: how much of the object ball" in " ".join(said.split())) == (number == 1)
            assert ("✓" in said) == screen.mark.right
            await pilot.press("space" if number % 2 else "enter")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        said = shown(app)
        assert "7 right, " in said
        assert "Too few calls to say more." in said
        assert "Why shots go thick: slide a line until it pots; 1 page" in " ".join(said.split())
        await pilot.press("enter")
        await pilot.pause()
        assert playing(app).played.number == 1


async def test_a_whole_set_is_played_by_mouse(game: Game) -> None:
    level = game.shelf.find("aim-eighths")
    app = TrainerApp(game, game.begin(level, shots=3, seed=1))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        for number in range(1, 4):
            screen = playing(app)
            wanted = screen.question.choices[screen.question.best]
            if number % 2:  # on the picture
                viewport = screen.query_one("#aim", Picture).viewport
                hit = Hit(1.0, [c.value for c in screen.question.choices])
                columns = inset_view(hit, viewport).columns
                await pilot.click("#aim", offset=(columns[screen.question.best], viewport.size[1] // 2))
            else:  # in the row of answers
                y, x, _ = screen.query_one(Answers)._places(120)[screen.question.best]
                await pilot.click("#answers", offset=(x + 1, y))
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice == wanted
            assert screen.mark.potted
            await pilot.click("#shot" if number % 3 else "#ask")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert len(game.attempts) == 3


async def test_arrows_consider_an_answer_and_enter_calls_it(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.shelf.find("aim-coarse")))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        screen = playing(app)
        await pilot.press("enter")  # nothing is considered yet, so nothing is called
        assert screen.mark is None
        plain = shown(app)
        await pilot.press("right", "right", "right", "left")
        assert screen.scene.considered == screen.question.choices[1]
        assert shown(app) != plain
        assert screen.question.choices[1].name in shown(app)
        await pilot.press("enter")
        assert screen.mark is not None
        assert screen.mark.choice == screen.question.choices[1]
        await pilot.press("left")  # any key goes on, the arrows too
        assert screen.mark is None
        await pilot.press("left")
        assert screen.scene.considered == screen.question.choices[-1]


async def test_the_call_is_on_disk_when_the_mark_is_on_the_screen(game: Game, tmp_path: Path) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("2")
        with History.open(tmp_path / "data", FixedClock("2026-03-01T12:00:00+00:00")) as other:
            (kept,) = other.attempts()
        assert kept.key == "2"
        assert kept.seconds is not None
        assert 0 < kept.seconds < 60


async def test_a_call_that_can_not_be_kept_is_said_and_can_be_made_again(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: object) -> None:
        raise TrainerError("the disk is full")

    monkeypatch.setattr(game.history, "append", full)
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await pilot.pause()
        await pilot.press("1")
        await pilot.pause()
        assert playing(app).mark is None
        assert "the disk is full" in shown(app)
        monkeypatch.undo()
        await pilot.press("1")
        assert playing(app).mark is not None
        assert len(game.attempts) == 1


async def test_a_first_set_that_can_t_be_begun_leaves_a_new_player_at_home(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise TrainerError("the disk is full")

    monkeypatch.setattr(game.history, "start_set", full)
    app = TrainerApp(game)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert await told(app, pilot, "the disk is full")
        monkeypatch.undo()
        app.clear_notifications()
        await pilot.press("enter")
        await pilot.pause()
        assert playing(app).played.number == 1


async def test_leaving_goes_home_and_going_on_comes_back_to_the_same_shot(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("1", "enter", "2", "enter")
        question = playing(app).question
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert "go on at shot 3 of 10, 8 to go." in offered(app)
        await pilot.press("enter")
        await pilot.pause()
        assert playing(app).question == question
        assert "shot 3 of 10" in text_of(app, "#title")


async def test_every_screen_is_reached_by_keys_and_left_by_escape(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        for key, screen in (("v", LevelsScreen), ("p", ProgressScreen), ("n", PlayScreen), ("a", PlayScreen)):
            await pilot.press(key)
            await pilot.pause()
            assert isinstance(app.screen, screen)
            await pilot.press("question_mark")
            await pilot.pause()
            assert isinstance(app.screen, HelpScreen)
            await pilot.press("escape")
            await pilot.pause()
            assert isinstance(app.screen, screen)
            await pilot.press("escape")
            await pilot.pause()
            assert isinstance(app.screen, HomeScreen)
        await pilot.press("q")
    assert app.return_code == 0


async def test_the_menu_works_by_mouse_and_by_arrows(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        await pilot.press(*["down"] * 4, "enter")
        await pilot.pause()
        assert isinstance(app.screen, LevelsScreen)
        await pilot.press("down", "down", "enter")
        await pilot.pause()
        assert playing(app).played.level == game.shelf.levels[2]
        await pilot.press("escape")
        await pilot.pause()
        await click_row(pilot, "Progress")
        assert isinstance(app.screen, ProgressScreen)


async def test_a_level_is_played_by_a_click(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape", "v")
        await pilot.pause()
        await pilot.click("#levels", offset=(5, 6))  # below two headings and a row
        await pilot.pause()
        assert playing(app).played.level == game.shelf.levels[3]


@pytest.mark.parametrize("step", [6, pytest.param(1, marks=pytest.mark.slow)])
async def test_every_drill_is_there_for_free_practice(game: Game, step: int) -> None:
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for k, drill in list(enumerate(DRILLS))[::step]:
            await pilot.press("escape", "v")
            await pilot.pause()
            rows = app.screen.query_one(OptionList)
            rows.highlighted = rows.get_option_index(str(len(game.shelf.levels) + 2 + k))
            await pilot.press("enter")
            await pilot.pause()
            assert (playing(app).played.level.name, playing(app).question.drill) == ("free", drill)


async def test_help_says_the_keys_that_are_active(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(120, 50)) as pilot:
        await pilot.pause()
        await pilot.press("f1")
        await pilot.pause()
        said = shown(app)
        words = ("Call", "Consider the next answer", "Home", "Every action", "touching position")
        for text in ("1-3", "← h", "esc", *words):
            assert text in said
        assert "Scroll" not in said
        assert "Go on" not in said  # only after a call
        await pilot.press("escape", "1", "question_mark")
        await pilot.pause()
        assert "Go on" in shown(app)


@pytest.mark.parametrize(
    "level",
    [
        *(pytest.param(name, marks=pytest.mark.slow) for name in ("eighths", "aim-fine")),
        *(pytest.param(name, marks=pytest.mark.long) for name in ("first-look", "any-pocket")),
    ],
)
async def test_any_size_from_tiny_to_huge_and_back_at_any_moment(game: Game, level: str) -> None:
    app = TrainerApp(game, game.begin(game.shelf.find(level)))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for size in [
            (300, 80),
            (10, 3),
            (80, 24),
            (1, 1),
            (200, 60),
            (81, 25),
            (79, 24),
            (80, 23),
            (120, 40),
        ]:
            await pilot.resize_terminal(*size)
            await pilot.pause()
            said = shown(app)
            small = size[0] < 80 or size[1] < 24
            if small and size[0] >= 50 and size[1] >= 3:
                assert "a little more room" in said
            if not small:
                assert "in a row" in said
                await pilot.press("1")
                await pilot.pause()
                assert "forgives" in shown(app)
                await pilot.press("space")
                await pilot.pause()


@pytest.mark.parametrize(
    ("size", "step"),
    [
        ((80, 24), 7),
        pytest.param((80, 24), 1, marks=pytest.mark.slow),
        pytest.param((120, 40), 3, marks=pytest.mark.slow),
        pytest.param((120, 40), 1, marks=pytest.mark.long),
        pytest.param((200, 60), 1, marks=pytest.mark.long),
    ],
)
async def test_nothing_that_must_be_read_is_cut_off(game: Game, size: tuple[int, int], step: int) -> None:
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    async with app.run_test(size=size) as pilot:
        for level in game.shelf.levels[::step]:
            await app.switch_screen(PlayScreen(game.begin(level, shots=3, seed=2)))
            await pilot.pause()
            answers = app.screen.query_one(Answers)
            places = answers._places(answers.size.width)
            assert all(x + length <= answers.size.width for _, x, length in places)
            assert places[-1][0] < answers.size.height
            for again in (False,) if size[0] == 80 else (False, True):
                if again:
                    await pilot.press("space")
                    await pilot.pause()
                choices = playing(app).question.choices
                await pilot.press(*([str(len(choices))] if choices else ["1", "enter"]))
                await pilot.pause()
                if level.routine:  # called standing; down on it the line is trusted
                    assert playing(app).mark is None
                    await pilot.press("enter")
                    await pilot.pause()
                assert playing(app).mark is not None
                told = app.screen.query_one("#told", Static)
                words = " ".join(str(told.content).split())
                flat = " ".join(shown(app).split())
                assert words in flat, (level.name, words)
                assert "Home" in flat


async def test_no_call_is_made_blind_where_there_is_no_room_to_see_the_shot(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("1")
        await pilot.resize_terminal(70, 20)
        await pilot.pause()
        await pilot.press("x", "1", "enter", "right", "2", "space", "3")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert playing(app).mark is not None
        assert len(game.attempts) == 1
        await pilot.press("enter", "2")
        assert len(game.attempts) == 2


async def test_an_own_level_with_a_fault_is_named_on_the_list_of_levels(
    history: History, tmp_path: Path
) -> None:
    folder = tmp_path / "levels"
    folder.mkdir()
    (folder / "bad.toml").write_text('title = "[bold]x"\n')
    game = Game(history, open_shelf(folder))
    app = TrainerApp(game, game.begin(game.shelf.levels[0]))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        await pilot.press("escape", "v")
        await pilot.pause()
        assert "teaches: missing" in shown(app)
        rows = app.screen.query_one(OptionList).options
        assert sum(not row.disabled for row in rows) == len(game.shelf.levels) + len(DRILLS) + 2


@pytest.mark.slow
async def test_random_keys_break_nothing(game: Game) -> None:
    keys = [*"0123456789xqhlagnvpr?", "left", "right", "up", "down", "enter", "escape", "space", "tab", "f1"]
    keys.remove("q")
    chance = random.Random(1)
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for _ in range(40):
            await pilot.press(chance.choice(keys))
        await pilot.pause()
        assert "Help" in shown(app) or "Back" in shown(app)


@pytest.mark.parametrize("level", ["eighths", "throw-any", "among-others"])
async def test_the_shot_is_copied_as_the_command_that_works_it_out(
    game: Game, level: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    app = TrainerApp(game, game.begin(game.level(level), seed=5))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("c")
        await pilot.pause()
        copied, truth = app.clipboard, playing(app).question.truth
        assert playing(app).mark is None
    program, *words = shlex.split(copied)
    assert program == "trainer"
    assert main([*words, "--json", "--data", str(tmp_path / "other")]) == 0
    found = json.loads(capsys.readouterr().out)["truth"]
    assert found["cut_deg"] == pytest.approx(math.degrees(truth.cut), abs=1e-9)
    assert found["fullness"] == pytest.approx(truth.fullness, abs=1e-9)
