"""The list of actions: everything that a key does, found by its name."""

import pytest
from by_hand import shown
from textual.widgets import Input

from trainer.app.app import TrainerApp
from trainer.app.keys import USUAL, Rows
from trainer.app.screens.help import ActionsScreen, HelpScreen
from trainer.app.screens.home import ROWS, HomeScreen
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.weeks import WeeksScreen
from trainer.play.game import Game


@pytest.fixture
def practised(game: Game) -> Game:
    """A player who comes home at a start."""
    played = game.begin(game.level("eighths", None), shots=3)
    played.call(played.question().choices[0])
    return game


async def test_an_action_is_found_by_a_part_of_its_name_and_done(practised: Game) -> None:
    app = TrainerApp(practised)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p")
        await pilot.pause()
        assert isinstance(app.screen, ActionsScreen)
        said = shown(app)
        assert "Today's practice" in said
        await pilot.press(*"week", "enter")
        await pilot.pause()
        assert isinstance(app.screen, WeeksScreen)


async def test_every_row_of_home_is_in_the_list(practised: Game) -> None:
    app = TrainerApp(practised)
    async with app.run_test(size=(80, 60)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p")
        await pilot.pause()
        for _, action, title, _ in ROWS:
            (line,) = (line for line in shown(app).splitlines() if line.strip().endswith(f" {title}"))
            assert line.split()[0] == USUAL.first(action)


async def test_keys_move_and_leave(practised: Game) -> None:
    app = TrainerApp(practised)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p", "pagedown")
        await pilot.pause()
        rows = app.screen.query_one(Rows)
        last = rows.highlighted
        assert last
        await pilot.press("down", "down", "up", "pageup")
        await pilot.pause()
        assert rows.highlighted in (0, 1)
        await pilot.press("x", "y", "z", "down", "enter")
        await pilot.pause()
        assert isinstance(app.screen, ActionsScreen)  # nothing is called that
        assert "Nothing is called so." in shown(app)
        app.screen.query_one(Input).value = ""
        await pilot.pause()
        assert app.screen.query_one(Rows).highlighted == 0
        await pilot.press("escape", "escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_a_click_calls_an_answer_once(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p", *"call 1")
        await pilot.pause()
        await pilot.click("#actions", offset=(5, 0), times=2)
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.scene.mark is not None
        assert game.history.count() == 1


async def test_a_picture_of_the_screen_is_kept_in_the_data_folder(practised: Game) -> None:
    app = TrainerApp(practised)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await pilot.pause()
        for _ in range(2):
            await pilot.press("ctrl+p", *"keep a picture", "enter")
            await pilot.pause()
            assert isinstance(app.screen, HomeScreen)
        assert "Kept as a picture" in shown(app)
        files = list(app.data_folder.glob("screen-*.svg"))
        assert files
        assert files[0].read_text(encoding="utf-8").startswith("<svg")


async def test_the_colours_of_the_screen_are_chosen(practised: Game) -> None:
    app = TrainerApp(practised)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p", *"colours nord", "enter")
        await pilot.pause()
        assert app.theme == "nord"


async def test_what_shows_through_from_below_is_not_closed(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("escape")
        app.theme = "ansi-dark"  # its ground is the terminal's own
        await pilot.pause()
        await pilot.press("ctrl+p")
        await pilot.pause()
        actions = app.screen
        assert isinstance(actions, ActionsScreen)
        app.action_help()
        await pilot.pause()
        for late in (actions.action_take, actions.action_take, actions.action_close):
            late()
            await pilot.pause()
            assert isinstance(app.screen, HelpScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen is actions
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
