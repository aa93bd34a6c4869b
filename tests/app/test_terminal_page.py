"""The page where a player chooses by eye how pictures come out: keys, mouse, keeping and leaving."""

import re
from pathlib import Path

import pytest
from by_hand import click_key, click_row
from textual import events
from textual.geometry import Size
from textual.pilot import Pilot
from textual.widgets import Static

from trainer.app.app import TrainerApp
from trainer.app.screens.help import HelpScreen
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.terminal import TerminalScreen
from trainer.app.widgets.picture import Picture
from trainer.pictures import GLYPH_SETS
from trainer.pictures.terminal import Depth, samples
from trainer.play.game import Game
from trainer.settings.settings import FILE, Settings, read_settings, save_settings

SIZES = [
    (80, 24),
    pytest.param((120, 40), marks=pytest.mark.slow),
    pytest.param((200, 60), marks=pytest.mark.long),
]


@pytest.fixture(autouse=True)
def _known_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("TMUX", "STY", "WT_SESSION", "VTE_VERSION", "KITTY_WINDOW_ID", "TERM_PROGRAM"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


async def opened(app: TrainerApp, pilot: Pilot[None]) -> None:
    """Through home to the page."""
    await pilot.pause()
    await pilot.press("escape", "t")
    await pilot.pause()
    page(app)


def page(app: TrainerApp) -> TerminalScreen:
    assert isinstance(app.screen, TerminalScreen)
    return app.screen


def shown(app: TrainerApp) -> str:
    return "\n".join(strip.text for strip in app.screen._compositor.render_strips())


def drawn(app: TrainerApp) -> tuple[str, Depth, float]:
    return app.glyphs, app.colours, app.cell_aspect


def rows_of_ball(app: TrainerApp) -> int:
    """How many rows the ball reaches over."""
    picture = page(app).query_one("#ball", Picture)
    strips = [picture.render_line(y) for y in range(picture.size.height)]
    return sum(len({segment.style for segment in strip}) > 1 for strip in strips)


@pytest.mark.parametrize("size", SIZES)
async def test_all_is_chosen_by_keys_kept_and_used_from_the_next_start_on(
    game: Game, data: Path, size: tuple[int, int]
) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        assert drawn(app) == ("quadrants", Depth.MANY, 2.0)
        high = rows_of_ball(app)
        await pilot.press(*["right"] * 12)
        assert app.cell_aspect == 2.24
        assert rows_of_ball(app) < high or size[0] > 80  # lower, or as high and wider
        await pilot.press(*["left"] * 5, "down", "c", "c", "up", "up")
        assert drawn(app) == ("halves", Depth.NONE, 2.14)
        await pilot.press("4", "c")
        assert drawn(app) == ("sextants", Depth.TRUE, 2.14)
        assert not (data / FILE).exists()
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert drawn(app) == ("sextants", Depth.TRUE, 2.14)
    assert read_settings(data) == (Settings("sextants", "true", 2.14), ())


@pytest.mark.parametrize("size", SIZES)
async def test_all_is_chosen_by_mouse(game: Game, data: Path, size: tuple[int, int]) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        await click_row(pilot, "Settings")
        await click_key(pilot, "Your terminal")
        wider, number = len("Is the ball round?  ") + 8, len("Is the ball round?  ") + 4
        await pilot.click("#shape", offset=(wider, 0))
        await pilot.click("#shape", offset=(wider, 0))
        await pilot.click("#shape", offset=(number, 0))  # nothing
        await pilot.click("#shape", offset=(wider - 7, 0))
        assert app.cell_aspect == 2.02
        for i, glyphs in enumerate(GLYPH_SETS):
            for x in (1, 20, 41):
                await pilot.click("#glyphs", offset=(x, 1 + 2 * i + x % 2))
                assert app.glyphs == glyphs
        at = page(app).query_one("#colours", Static).render_line(0).text
        for name, colours in (
            ("16", Depth.FEW),
            ("true", Depth.TRUE),
            ("none", Depth.NONE),
            ("256", Depth.MANY),
        ):
            await pilot.click("#colours", offset=(at.index(name) + 1, 0))
            assert app.colours == colours
        ball = page(app).query_one("#ball", Picture)
        for event in (events.MouseScrollDown, events.MouseScrollDown, events.MouseScrollUp):
            ball.post_message(event(ball, 5, 5, 0, 1, 0, False, False, False, screen_x=5, screen_y=5))
        await pilot.pause()
        assert app.cell_aspect == 2.04
        keep = shown(app).splitlines()[-1].index("enter")
        await pilot.click(offset=(keep + 1, size[1] - 1))
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
    assert read_settings(data) == (Settings("slanted", "256", 2.04), ())


@pytest.mark.parametrize("key", ["escape", "q"])
async def test_leaving_keeps_nothing_and_draws_as_before(game: Game, data: Path, key: str) -> None:
    app = TrainerApp(game, glyphs="halves", colours=Depth.FEW, settings=Settings(cell_shape=1.84))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        before = shown(app)
        await pilot.press("t", "left", "5", "c")
        await pilot.pause()
        page(app)
        await pilot.press(key)
        await pilot.pause()
        assert drawn(app) == ("halves", Depth.FEW, 1.84)
        assert shown(app) == before
    assert not (data / FILE).exists()


async def test_what_is_kept_shows_in_the_pictures_that_lie_under_the_page(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert "▀" in shown(app) or "▄" in shown(app)
        await pilot.press("t", "1", "enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert not set("▀▄▌▐▘▝▖▗") & set(shown(app))


async def test_a_says_as_the_terminal_is_known_and_keeping_that_empties_the_file(
    game: Game, data: Path
) -> None:
    save_settings(data, Settings("plain", "16", 1.5))
    app = TrainerApp(game, glyphs="plain", colours=Depth.FEW, settings=Settings(cell_shape=1.5))
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert shown(app).count("your settings") == 3
        assert "not kept yet" not in shown(app)
        await pilot.press("a")
        await pilot.pause()
        assert drawn(app) == ("quadrants", Depth.MANY, 2.0)
        said = shown(app)
        assert "usual: the terminal doesn't say" in said
        assert "usual: nearly every terminal draws them" in said
        assert "known of this terminal" in said
        assert "not kept yet" in said
        size = Size(80, 24)
        app.post_message(events.Resize(size, size, size, Size(800, 408)))
        await pilot.pause()
        assert "as the terminal says" in shown(app)
        assert " 1.70 " in shown(app)
        await pilot.press("right")
        assert app.cell_aspect == 1.72
        app.post_message(events.Resize(size, size, size, Size(800, 480)))
        await pilot.pause()
        assert app.cell_aspect == 1.72  # what was set by hand stays
        assert "your choice" in shown(app)
        await pilot.press("a", "enter")
        await pilot.pause()
        assert app.cell_aspect == 2.0
    assert read_settings(data) == (Settings(), ())


async def test_a_variable_goes_before_and_that_is_said(
    game: Game, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRAINER_GLYPHS", "halves")
    monkeypatch.setenv("TRAINER_COLOURS", "16")
    save_settings(data, Settings("slanted", "256"))
    app = TrainerApp(game, glyphs="halves", colours=Depth.FEW)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert "set by TRAINER_GLYPHS, which goes first" in shown(app)
        assert "set by TRAINER_COLOURS, which goes first" in shown(app)
        assert page(app).query_one("#glyphs").region.height == 12
        assert page(app).query_one("#colours").region.height == 2
        await pilot.press("up", "c", "5", "right")
        await pilot.click("#glyphs", offset=(4, 1))
        assert drawn(app) == ("halves", Depth.FEW, 2.02)
        await pilot.press("enter")
        await pilot.pause()
    assert read_settings(data) == (Settings("slanted", "256", 2.02), ())


@pytest.mark.slow
async def test_the_ends_of_what_is_allowed(game: Game, data: Path) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        await pilot.press(*["left"] * 40, *["up"] * 5)
        assert drawn(app)[::2] == ("plain", 1.3)
        await pilot.press("left", *["down"] * 7)
        assert drawn(app)[::2] == ("slanted", 1.3)
        await pilot.press(*["right"] * 97)
        assert app.cell_aspect == 3.2
        await pilot.press("enter")
        await pilot.pause()
    assert read_settings(data) == (Settings("slanted", None, 3.2), ())


@pytest.mark.parametrize("size", SIZES)
async def test_all_that_must_be_read_is_there_at_every_size(game: Game, size: tuple[int, int]) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        await pilot.press("right", "c")
        await pilot.pause()
        said = shown(app)
        for line in samples():
            assert line in said
        for words in ("Is the ball round?", "2.02", "256", "none", "Keep", "Leave", "Automatic", "Help"):
            assert words in said
        assert said.count("your choice") == 2
        choices = page(app).query_one("#choices")
        last = page(app).query_one("#colours")
        assert last.region.bottom <= choices.region.bottom
        heights = {"standing": 1, "shape": 3, "glyphs": 12, "colours": 2}
        for press in ((), ("a",), ("left", "1", "c")):  # no words are too long for their line
            await pilot.press(*press)
            await pilot.pause()
            for name, height in heights.items():
                assert page(app).query_one(f"#{name}").region.height == height
        assert page(app).query_one("#ball").size.width >= 35


async def test_a_faulty_file_is_told_at_the_start_used_as_far_as_it_goes_and_set_aside(
    game: Game, data: Path
) -> None:
    text = "glyphs = 'halvs'\ncolour = 256\ncell_shape = 2.4\n"
    data.mkdir(exist_ok=True)
    (data / FILE).write_text(text)
    settings, problems = read_settings(data)
    app = TrainerApp(game, settings=settings, problems=problems)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        said = " ".join(re.sub("[^ -~]", " ", shown(app)).split())
        assert "did you mean colours?" in said
        assert app.cell_aspect == 2.4
        app.clear_notifications()
        await opened(app, pilot)
        said = " ".join(shown(app).split())
        assert "settings.toml has mistakes" in said
        assert "'halvs'" in said
        await pilot.press("2", "enter")
        await pilot.pause()
        assert f"{FILE}.old-1" in shown(app)
    assert (data / f"{FILE}.old-1").read_text() == text
    assert read_settings(data) == (Settings("halves", None, 2.4), ())


async def test_what_can_not_be_kept_is_said_and_the_page_stays(game: Game, data: Path) -> None:
    data.mkdir(exist_ok=True)
    (data / FILE).symlink_to(data / "elsewhere.toml")
    (data / "elsewhere.toml").write_text("")
    app = TrainerApp(game)
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await opened(app, pilot)
        await pilot.press("1", "enter")
        await pilot.pause()
        page(app)
        assert "Not kept:" in shown(app)
        assert "is a link" in shown(app)
    assert (data / "elsewhere.toml").read_text() == ""


async def test_the_list_of_actions_has_the_page_and_a_shot_waits_under_it(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        play = app.screen
        assert isinstance(play, PlayScreen)
        await pilot.press("ctrl+p")
        await pilot.press(*"your term")
        await pilot.pause(0.3)
        await pilot.press("enter")
        await pilot.pause()
        page(app)
        app.show_page("terminal")  # once is enough
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen is play


async def test_help_says_the_keys_of_the_page(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(120, 50)) as pilot:
        await opened(app, pilot)
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(app.screen, HelpScreen)
        said = shown(app)
        for text in ("as wide as it is high", "← →", "↑ ↓", "1-5", "Colours", "Keep", "TRAINER_GLYPHS"):
            assert text in said
        await pilot.press("escape")
        await pilot.pause()
        page(app)


async def test_nothing_is_chosen_blind_where_there_is_no_room(game: Game, data: Path) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        await pilot.resize_terminal(70, 20)
        await pilot.pause()
        await pilot.press("left", "1", "c", "enter")
        assert drawn(app) == ("quadrants", Depth.MANY, 2.0)
        assert not (data / FILE).exists()
