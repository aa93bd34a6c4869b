"""Keys of the player's own, one hand alone, the mouse alone: all of them reach everything."""

from collections.abc import Sequence
from importlib import import_module
from pkgutil import iter_modules

import pytest
from by_hand import SMALL, begun, click_key, playing, shown
from hypothesis import given
from hypothesis import strategies as st
from textual.binding import Binding, BindingsMap
from textual.widget import Widget
from textual.widgets._footer import FooterKey

import trainer.app.screens
from trainer.app.app import TrainerApp
from trainer.app.keys import Page, PlayerKeys, Rows, said
from trainer.app.screens.base import TrainerScreen
from trainer.app.screens.card import CardScreen
from trainer.app.screens.help import ActionsScreen, HelpScreen
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.levels import LevelsScreen
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.progress import ProgressScreen
from trainer.app.screens.settings import SettingsPage, SettingsScreen
from trainer.app.screens.summary import SummaryScreen, WarmedScreen
from trainer.app.screens.table import TableScreen
from trainer.app.screens.terminal import TerminalScreen
from trainer.app.screens.weeks import WeeksScreen
from trainer.app.widgets.play import Answers
from trainer.play.game import Game
from trainer.settings.keys import ACTIONS, NAMED, Where, keys_of, read_keys
from trainer.settings.settings import Settings

# Each screen, and the widget in it that takes keys.
SHOWS: dict[type[TrainerScreen], tuple[Sequence[Where], type[Widget] | None]] = {
    PlayScreen: ((Where.QUESTION, Where.MARK), None),
    HomeScreen: ((Where.HOME,), Rows),
    LevelsScreen: ((Where.LEVELS,), Rows),
    ProgressScreen: ((Where.PAGE,), Page),
    WeeksScreen: ((Where.PAGE,), Page),
    HelpScreen: ((Where.PAGE,), Page),
    SummaryScreen: ((Where.SUMMARY,), Page),
    WarmedScreen: ((Where.WARMED,), None),
    TableScreen: ((Where.TABLE,), Page),
    CardScreen: ((Where.TABLE,), None),
    TerminalScreen: ((Where.SETTINGS,), None),
    SettingsScreen: ((Where.SETTINGS,), Rows),
    ActionsScreen: ((Where.FIND,), None),
}


def bindings(owner: type) -> list[Binding]:
    found = list(owner.__dict__["BINDINGS"])
    assert all(isinstance(each, Binding) for each in found)
    return found


def test_every_screen_is_looked_at() -> None:
    modules = [
        import_module(m.name) for m in iter_modules(trainer.app.screens.__path__, "trainer.app.screens.")
    ]
    screens = {
        value
        for module in modules
        for value in vars(module).values()
        if isinstance(value, type) and issubclass(value, TrainerScreen)
    }
    assert screens - {TrainerScreen, SettingsPage} == set(SHOWS)


@pytest.mark.parametrize("screen", SHOWS, ids=lambda screen: screen.__name__)
def test_every_binding_is_a_named_action_where_it_means_something(screen: type[TrainerScreen]) -> None:
    where, widget = SHOWS[screen]
    for owner in (screen, TrainerApp, *([widget] if widget else [])):
        for binding in bindings(owner):
            action = NAMED[str(binding.id)]
            assert binding.key == ",".join(action.usual)
            if owner is not TrainerApp:
                assert set(where) & action.where, (owner, action.name)


def test_every_action_is_bound_on_the_screens_that_it_names() -> None:
    for where in Where:
        owners = [TrainerApp]
        for screen, (shows, widget) in SHOWS.items():
            if where in shows:
                owners += [screen, *([widget] if widget else [])]
        bound = {binding.id for owner in owners for binding in bindings(owner)}
        named = {action.name for action in ACTIONS if where in action.where}
        assert named <= bound, (where, named - bound)


def all_bound(screen: type[TrainerScreen], keymap: dict[str, str]) -> dict[str, list[str]]:
    """The actions of each key of a screen, as Textual makes them out of a keymap."""
    found = BindingsMap(bindings(screen))
    found.apply_keymap(keymap)
    return {
        key: sorted({each.action for each in those}) for key, those in found.key_to_bindings.items() if those
    }


@given(
    hand=st.sampled_from([None, "left", "right"]),
    own=st.dictionaries(
        st.sampled_from([action.name for action in ACTIONS if Where.FIND not in action.where]),
        st.sampled_from([*"avhlxyzq1", "left", "enter", "f2", "a f3", "v y"]),
        max_size=5,
    ),
)
def test_the_keymap_gives_each_action_its_keys_and_no_other(hand: str | None, own: dict[str, str]) -> None:
    keys = PlayerKeys(keys_of(hand, read_keys(own, hand)[0]))
    for screen in SHOWS:
        wanted: dict[str, set[str]] = {}
        for binding in bindings(screen):
            for key in keys.of[str(binding.id)]:
                wanted.setdefault(key, set()).add(binding.action)
        assert all_bound(screen, keys.keymap) == {key: sorted(those) for key, those in wanted.items()}


async def keyed(game: Game, hand: str | None, own: dict[str, tuple[str, ...]]) -> TrainerApp:
    played = game.begin(game.level("eighths", None), shots=3, seed=1)
    return TrainerApp(game, played, settings=Settings(hand=hand, keys=own))


async def test_own_keys_do_what_they_should_and_everything_says_them(game: Game) -> None:
    app = await keyed(game, None, {"why": ("f2", "k"), "next_view": ("tab",), "answer_1": ("b",)})
    async with app.run_test(size=SMALL) as pilot:
        await pilot.pause()
        screen = playing(app)
        view = screen.scene.view
        await pilot.press("v")
        assert screen.scene.view == view
        await pilot.press("tab")
        assert screen.scene.view != view
        await pilot.pause(0.1)
        row = shown(app).splitlines()[-1]
        assert "tab View" in row
        assert "b2345" in row
        await pilot.press("1")
        assert screen.mark is None
        await pilot.press("question_mark")
        await pilot.pause()
        assert "tab  See the shot another way" in shown(app)
        await pilot.press("escape", "ctrl+p", *"another way")
        await pilot.pause()
        assert "tab  See the shot another way" in shown(app)
        await pilot.press("escape", "b")
        await pilot.pause()
        assert screen.mark is not None
        screen.board.stop()
        await pilot.press("f2")
        assert screen.scene.explained == 1
        await pilot.press("k")
        assert screen.scene.explained == 2
        await pilot.pause(0.1)
        assert "f2 Next  " in shown(app).splitlines()[-1]
        await pilot.press("y")  # says nothing any more, so it goes on
        await pilot.pause()
        assert screen.mark is None


WALKS = {
    "left": [
        *("d", "d", "a", "A", "W", "x", "v"),  # answers one by one, looking round, another view
        "space",  # called
    ],
    "right": ["right", "right", "left", "shift+left", "pageup", "h", "p", "enter"],
}


@pytest.mark.parametrize("hand", ["left", pytest.param("right", marks=pytest.mark.slow)])
async def test_one_hand_plays_a_set_and_goes_everywhere(game: Game, hand: str) -> None:
    app = await keyed(game, hand, {})
    keys = app.keys.of

    async def press(*names: str) -> None:
        for name in names:
            await pilot.press(keys[name][0])
            await pilot.pause()

    async with app.run_test(size=SMALL) as pilot:
        await pilot.pause()
        await pilot.press(*WALKS[hand])
        await pilot.pause()
        assert playing(app).mark is not None
        await press("why", "replay", "go_on", "go_on", "answer_2", "take_back", "answer_3")
        while isinstance(app.screen, PlayScreen):
            await press(*(["answer_3"] if playing(app).mark is None else ["go_on"]))
        assert isinstance(app.screen, SummaryScreen)
        assert game.history.count() == 2  # and one taken back
        await press("back")
        for name, there in (
            ("levels", LevelsScreen),
            ("progress", ProgressScreen),
            ("weeks", WeeksScreen),
            ("table_notebook", TableScreen),
            ("settings", SettingsScreen),
        ):
            assert isinstance(app.screen, HomeScreen)
            line = next(line for line in shown(app).splitlines() if NAMED[name].about in line)
            assert line.split()[0] == said(keys[name][0])
            await press(name)
            assert isinstance(app.screen, there)
            await press("down", "help")
            assert isinstance(app.screen, HelpScreen)
            await press("back", "back")
        await press("levels", "down", "up", "choose")
        assert isinstance(app.screen, PlayScreen)
        await press("every_action", "find_next", "find_before", "find_close", "leave_set", "today")
        assert isinstance(app.screen, PlayScreen)


async def test_a_note_from_the_table_is_three_keys_of_the_left_hand(game: Game) -> None:
    app = await keyed(game, "left", {})
    async with app.run_test(size=SMALL) as pilot:
        app.show_page("table")
        await pilot.pause()
        assert "A note is three keys, as 5 a x." in shown(app)
        await pilot.press("5", "a", "x")
        await pilot.pause()
        assert "Noted: " in shown(app)


async def test_answers_stand_beside_the_keys_that_call_them(game: Game) -> None:
    async with begun(game, "eighths") as (app, pilot):
        usual = str(app.screen.query_one(Answers).render())
        app.use_settings(Settings(hand="right"))
        playing(app)._show(playing(app).scene)
        await pilot.pause()
        right = str(app.screen.query_one(Answers).render())
        assert usual.startswith(" 1 ")
        assert right.startswith(" u ")
        assert usual.split()[1] == right.split()[1]
        app.use_settings(Settings())
        await pilot.press("1")
        assert playing(app).mark is not None


async def test_the_mouse_alone_plays_a_set_and_goes_everywhere(game: Game) -> None:
    async with begun(game, "eighths", shots=1) as (app, pilot):
        await pilot.click("#answers", offset=(2, 0))
        await pilot.pause()
        assert playing(app).mark is not None
        playing(app).board.stop()
        await click_key(pilot, "Why?")
        assert playing(app).scene.explained == 1
        await pilot.click("#shot")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        await click_key(pilot, "Home")
        for text, there in (
            ("Levels", LevelsScreen),
            ("Progress", ProgressScreen),
            ("Weeks", WeeksScreen),
            ("Table notebook", TableScreen),
            ("Settings", SettingsScreen),
        ):
            assert isinstance(app.screen, HomeScreen)
            lines = shown(app).splitlines()
            await pilot.click(offset=(8, next(y for y, line in enumerate(lines) if text in line)))
            await pilot.pause()
            assert isinstance(app.screen, there)
            await click_key(pilot, "Help")
            assert isinstance(app.screen, HelpScreen)
            await click_key(pilot, "Every action")
            assert isinstance(app.screen, ActionsScreen)
            await click_key(pilot, "Back")
            (key,) = [e for e in app.screen.query(FooterKey) if e.description in ("Home", "Back", "Leave")]
            await click_key(pilot, key.description)
