"""The page of all settings: what the table of settings says is there, changed, kept, left."""

import re
from pathlib import Path

import pytest
import textual.constants
from by_hand import click_row, shown
from textual.pilot import Pilot

from trainer.app.app import TrainerApp
from trainer.app.keys import Rows
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.settings import SettingsScreen
from trainer.app.screens.summary import SummaryScreen
from trainer.app.screens.terminal import TerminalScreen
from trainer.history.fields import OneOf
from trainer.pictures.terminal import Depth
from trainer.play.game import Game
from trainer.settings.settings import FILE, SETTINGS, Settings, read_settings, save_settings


async def opened(app: TrainerApp, pilot: Pilot[None]) -> SettingsScreen:
    await pilot.pause()
    app.show_home()
    app.show_page("settings")
    await pilot.pause()
    assert isinstance(app.screen, SettingsScreen)
    return app.screen


def at(key: str) -> int:
    return next(i for i, setting in enumerate(SETTINGS) if setting.key == key)


@pytest.mark.parametrize("size", [(80, 24), pytest.param((200, 60), marks=pytest.mark.slow)])
async def test_every_setting_has_a_row_and_its_words(game: Game, size: tuple[int, int]) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        for setting in SETTINGS:
            said = " ".join(shown(app).split())
            assert f"{setting.title} ◂ {setting.usual} ▸" in said
            assert setting.about in said  # of the one under the cursor
            assert f"{setting.key} in {FILE}" in said
            await pilot.press("down")
            await pilot.pause()


async def test_each_setting_goes_through_its_values_and_back(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        page = await opened(app, pilot)
        for setting in SETTINGS:
            seen = []
            for _ in range(4):
                await pilot.press("right")
                seen.append(getattr(page.own, setting.key))
            assert all(setting.field.check(value) == value for value in seen)
            if isinstance(setting.field, OneOf):
                assert seen == [*setting.field.words, *4 * setting.field.words[-1:]][:4]
            else:
                assert len(set(seen)) == 4
            assert "not kept yet" in shown(app)
            await pilot.press("left")
            assert getattr(page.own, setting.key) == (seen[2] if seen[2] != seen[3] else seen[0]) or (
                isinstance(setting.field, OneOf) and len(setting.field.words) > 2
            )
            await pilot.press("a", "down")
            assert getattr(page.own, setting.key) is None
        assert page.own == Settings()


async def test_what_is_kept_is_in_the_file_with_the_players_comments_and_holds_at_once(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("TRAINER_GLYPHS", "TRAINER_COLOURS"):
        monkeypatch.delenv(name, raising=False)
    folder = game.history.file.parent
    folder.mkdir(exist_ok=True)
    (folder / FILE).write_text('# mine\nhand = "right"  # so\n\n[keys]\nwhy = "f2"\n')
    app = TrainerApp(game, settings=read_settings(folder)[0])
    async with app.run_test(size=(80, 24)) as pilot:
        page = await opened(app, pilot)
        rows = page.query_one(Rows)
        rows.highlighted = at("hand")
        await pilot.press("left", "left")
        rows.highlighted = at("colours")
        await pilot.press("right", "right", "right")
        rows.highlighted = at("rollover_hour")
        await pilot.press("right", "right")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        wanted = Settings(colours="16", rollover_hour=5, hand="both", keys={"why": ("f2",)})
        assert read_settings(folder) == (wanted, ())
        text = (folder / FILE).read_text()
        assert text.startswith('# mine\nhand = "both"  # so\n')
        assert text.endswith('[keys]\nwhy = "f2"\n')
        assert app.colours == Depth.FEW
        assert app.keys.of["leave_set"] == ("escape",)
        assert game.history.rollover_hour == 5


async def test_leaving_changes_nothing(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        await pilot.press("right", "down", "right", "escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert not (game.history.file.parent / FILE).exists()
        assert app.settings == Settings()


async def test_a_click_on_a_row_takes_its_next_value_and_begins_again_at_the_end(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        page = await opened(app, pilot)
        hands = []
        for _ in range(4):
            await click_row(pilot, "Hand on the keys")
            hands.append(page.own.hand)
        assert hands == ["both", "left", "right", None]


async def test_the_two_pages_lead_to_each_other_and_escape_leaves_both(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await opened(app, pilot)
        for there in (TerminalScreen, SettingsScreen, TerminalScreen):
            await pilot.press("t")
            await pilot.pause()
            assert isinstance(app.screen, there)
        await pilot.press("right", "t")  # nothing that is chosen is lost on the way
        await pilot.pause()
        assert isinstance(app.screen, TerminalScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_a_hand_that_own_keys_do_not_go_with_is_said(game: Game) -> None:
    folder: Path = game.history.file.parent
    own = {"why": ("r",), "stand_up": ("f2",)}
    save_settings(folder, Settings(keys=own))
    app = TrainerApp(game, settings=read_settings(folder)[0])
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        page = await opened(app, pilot)
        page.query_one(Rows).highlighted = at("hand")
        await pilot.press("right", "right", "enter")
        await pilot.pause()
        assert app.screen is page
        assert "keys.why: r is replay too" in " ".join(shown(app).split())


async def test_motion_reduced_shows_the_end_at_once_and_full_rolls(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(textual.constants, "TEXTUAL_ANIMATIONS", "full")
    for motion, rolls in (("reduced", False), ("full", True), (None, True)):
        app = TrainerApp(game, game.begin(game.level("eighths", None)), settings=Settings(motion=motion))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await pilot.press("1")
            screen = app.screen
            assert isinstance(screen, PlayScreen)
            assert (screen.board.film is not None) == rolls
            screen.board.stop()
            app.use_settings(Settings(motion="reduced"))
            assert app.animation_level == "none"
            app.use_settings(Settings())
            assert app.animation_level == "full"


@pytest.mark.parametrize("bell", [None, "off", "on"])
async def test_the_bell_rings_at_the_end_of_a_set_where_it_is_wanted(
    game: Game, bell: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: list[int] = []
    monkeypatch.setattr(TrainerApp, "bell", lambda app: rung.append(1))
    played = game.begin(game.level("eighths", None), shots=2)
    app = TrainerApp(game, played, settings=Settings(bell=bell, motion="reduced"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("1", "space")
        await pilot.pause()
        assert not rung
        await pilot.press("1", "space")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert len(rung) == (bell == "on")


async def test_marks_are_said_in_the_players_units_and_numbers(game: Game) -> None:
    said = []
    for settings in (Settings(), Settings(units="imperial", numbers="hundredths")):
        played = game.begin(game.level("aim-eighths", None), shots=1, seed=4)
        app = TrainerApp(game, played, settings=settings)
        async with app.run_test(size=(120, 40)) as pilot:
            await pilot.pause()
            await pilot.press("1")
            await pilot.pause()
            screen = app.screen
            assert isinstance(screen, PlayScreen)
            screen.board.stop()
            await pilot.press("y")
            await pilot.pause()
            said.append(shown(app))
    assert re.search(r"\d mm to the middle of the pocket", said[0])
    assert re.search(r"\d/\d+ ball (thick|thin)", said[0])
    assert re.search(r"\d in to the middle of the pocket", said[1])
    assert re.search(r"0\.\d\d ball (thick|thin)", said[1])
