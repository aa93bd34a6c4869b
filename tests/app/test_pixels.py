"""Pictures in true pixels on the screen: what is written, put together again by a terminal, is the canvas."""

import os
import re

import numpy as np
import pytest
from textual.drivers.headless_driver import HeadlessDriver

from tests.pictures.pixel_terminal import PixelTerminal
from trainer.app.app import TrainerApp
from trainer.app.screens.play import PlayScreen
from trainer.app.widgets import board as widget
from trainer.app.widgets.board import Board
from trainer.app.widgets.picture import Picture
from trainer.pictures import pixels
from trainer.pictures.asked import Answer
from trainer.pictures.colours import encode
from trainer.pictures.graphics import NUMERALS
from trainer.pictures.pixels import MOST_PIXELS, PixelPicture, cell_drawn
from trainer.pictures.projection import Viewport
from trainer.pictures.reduced import Reduced, rows
from trainer.play.game import Game
from trainer.settings.settings import Settings

SIZE, CELL = (100, 32), (8, 17)
GRAPHICS = Answer("kitty(0.41.1)", graphics=True, cell=CELL)
SIXEL = Answer("XTerm(379)", sixel=True, registers=256, cell=CELL)
NEITHER = Answer("VT100", cell=CELL)
WAYS = pytest.mark.parametrize("answer", [GRAPHICS, SIXEL], ids=["graphics", "sixel"])


class Recording(HeadlessDriver):
    """A driver of a terminal that keeps what it is sent."""

    is_headless = False

    def __init__(self, *args: object, **more: object) -> None:
        super().__init__(*args, **more)  # type: ignore[arg-type]
        self.sent: list[str] = []

    def write(self, data: str) -> None:
        self.sent.append(data)


def shown_by(game: Game, answer: Answer, monkeypatch: pytest.MonkeyPatch, **more: str) -> TrainerApp:
    """The game in a set, on a terminal that answers so; ``more`` variables of its."""
    monkeypatch.setattr(os, "environ", {"TERM": "xterm-256color", "COLORTERM": "truecolor"} | more)
    monkeypatch.setattr("trainer.pictures.terminal._asked_size", lambda: None)
    app = TrainerApp(game, game.begin(game.level("quarters", None), seed=4), answer=answer)
    app.driver_class = Recording
    return app


def sent(app: TrainerApp) -> str:
    """What was written since this was asked last."""
    assert isinstance(app._driver, Recording)
    found = "".join(app._driver.sent)
    app._driver.sent.clear()
    return found


def look(app: TrainerApp, terminal: PixelTerminal, answer: Answer) -> int:
    """How many pictures there are on the screen. Each is its canvas, but for what is written over it."""
    terminal.feed(sent(app))
    pictures = [picture for picture in app.screen.query(Picture) if picture.region]
    for picture in pictures:
        drawing, region = picture._drawing, picture.region
        assert drawing is not None
        viewport = Viewport((region.width, region.height), CELL[1] / CELL[0], CELL)
        wanted = encode(drawing(viewport).canvas.pixels, fine=True)
        pixels, shows = terminal.pixels(*region)
        differ = np.abs(wanted.astype(int) - pixels)[np.kron(shows, np.ones((CELL[1], CELL[0]), bool))]
        assert shows.mean() > 0.9
        # Sixels give colours in percent, and 256 of them a row of cells.
        assert differ.max() <= (0 if answer is GRAPHICS else 10)
        assert differ.mean() <= (0 if answer is GRAPHICS else 1.5)
    return len(pictures)


@WAYS
async def test_over_a_set_the_terminal_shows_the_canvas(
    game: Game, answer: Answer, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, terminal = shown_by(game, answer, monkeypatch), PixelTerminal(*SIZE, CELL, NUMERALS)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        looked_at = 0
        for key in ["v", *["1", "z", "space"] * 3, "v", "right", "d", "question_mark", "escape"]:
            await pilot.press(key)
            await pilot.pause(0.2 if key in "1zd" else 0.0)  # some frames of a film, or of a look around
            looked_at += look(app, terminal, answer)
        for size in ((80, 24), (120, 30)):
            await pilot.resize_terminal(*size)
            terminal.resize(*size)
            await pilot.pause()
            looked_at += look(app, terminal, answer)
        await pilot.press("escape", "p")  # home, and the chart of a bias
        await pilot.pause()
        looked_at += look(app, terminal, answer)
        assert looked_at > 40
    assert terminal.registers <= 256
    terminal.feed(sent(app))
    assert not terminal.images  # none is left behind


@WAYS
async def test_a_terminal_that_forgot_its_pictures_gets_them_again(
    game: Game, answer: Answer, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, terminal = shown_by(game, answer, monkeypatch), PixelTerminal(*SIZE, CELL, NUMERALS)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        await pilot.pause()
        assert look(app, terminal, answer) > 1
        terminal.images.clear()
        terminal.resize(*SIZE)
        app.app_resume_signal.publish(app)
        app.refresh()
        await pilot.pause()
        assert look(app, terminal, answer) > 1


async def test_a_terminal_without_pixels_gets_what_it_got_before(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = shown_by(game, NEITHER, monkeypatch)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        await pilot.pause()
        written = sent(app)
        for picture in filter(lambda picture: picture.region, app.screen.query(Picture)):
            assert isinstance(picture._shown, Reduced)
            assert rows(picture._shown)[3] in written
    assert not re.search("\x1b_|\x1bP|\x1b7", written)


@WAYS
async def test_a_screenshot_holds_cells(game: Game, answer: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    taken = []
    for said in (answer, NEITHER):
        app = shown_by(game, said, monkeypatch)
        async with app.run_test(size=SIZE, headless=False) as pilot:
            await pilot.pause()
            taken.append(re.sub(r"terminal-\d+", "", app.export_screenshot(simplify=True)))
    assert taken[0] == taken[1]
    assert "▄" in taken[0]


async def test_pictures_follow_the_settings_at_once(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    app, terminal = shown_by(game, GRAPHICS, monkeypatch), PixelTerminal(*SIZE, CELL, NUMERALS)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        await pilot.pause()
        assert look(app, terminal, GRAPHICS) > 1
        app.use_settings(Settings(pictures="cells"))
        await pilot.pause()
        terminal.feed(sent(app))
        assert not terminal.images
        app.use_settings(Settings(pictures="pixels"))
        await pilot.pause()
        assert look(app, terminal, GRAPHICS) > 1


async def test_on_a_slow_link_a_film_leaves_frames_out_and_then_is_in_cells(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, terminal = shown_by(game, GRAPHICS, monkeypatch), PixelTerminal(*SIZE, CELL, NUMERALS)
    on_its_way = 0
    monkeypatch.setattr(widget, "waiting", lambda _: on_its_way)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        await pilot.press("1")
        await pilot.pause()
        screen, board = app.screen, app.screen.query_one(Board)
        assert isinstance(screen, PlayScreen)
        assert screen.mark is not None
        board.roll(screen.mark, 0.01)  # it lasts
        await pilot.pause(2 / widget.FRAMES)
        shown = look(app, terminal, GRAPHICS)
        on_its_way = widget.AHEAD + 1
        await pilot.pause(3 / widget.FRAMES)
        sent(app)
        await pilot.pause(2 / widget.FRAMES)
        assert not sent(app)
        while not board.coarse:
            await pilot.pause(1 / widget.FRAMES)
        on_its_way = 0
        await pilot.pause(2 / widget.FRAMES)
        terminal.feed(sent(app))
        assert isinstance(board._shown, Reduced)
        board.stop()
        await pilot.pause()
        assert look(app, terminal, GRAPHICS) == shown


async def test_through_tmux_the_terminal_shows_the_canvas(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, terminal = shown_by(game, GRAPHICS, monkeypatch, TMUX="x"), PixelTerminal(*SIZE, CELL, NUMERALS)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        await pilot.press("1")
        await pilot.pause()
        written = sent(app)
        assert "\x1bPtmux;\x1b\x1b_G" in written
        assert not re.search("(?<!\x1b)\x1b_G", written)
        terminal.feed(written)
        assert look(app, terminal, GRAPHICS) > 1


async def test_an_answer_that_comes_late_is_no_call(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    app = shown_by(game, Answer(late=True), monkeypatch)
    async with app.run_test(size=SIZE) as pilot:
        for late in ("\x1b[?62;4;22c", "\x1b_Gi=4211;OK\x1b\\"):
            for character in late.replace("\x1b", "^"):
                app.simulate_key("circumflex_accent" if character == "^" else character)
            await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.mark is None
        await pilot.pause(0.3)
        await pilot.press("1")
        assert app.screen.mark is not None


async def test_what_was_typed_while_the_terminal_was_asked_counts(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = shown_by(game, Answer(typed="1"), monkeypatch)
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.mark is not None


@pytest.mark.parametrize("cell", [(8, 17), (20, 40), (1000, 1000), (9999, 3)])
@pytest.mark.parametrize("size", [(79, 35), (266, 140), (400, 150)])
def test_no_picture_has_more_pixels_than_a_large_screen(cell: tuple[int, int], size: tuple[int, int]) -> None:
    fits = cell[0] * cell[1] * size[0] * size[1] <= MOST_PIXELS
    found = cell_drawn(cell, size, True)
    assert cell_drawn(cell, size, False) == (cell if fits else None)
    if fits:
        assert found == cell
    elif found is not None:
        count = found[0] * found[1] * size[0] * size[1]
        assert MOST_PIXELS / 2 < count <= MOST_PIXELS
        assert found[0] / found[1] == pytest.approx(cell[0] / cell[1], rel=0.2)
    else:
        assert min(cell) < 10  # nothing is left of so flat a cell


@WAYS
async def test_a_picture_of_too_many_pixels_is_coarser_or_in_cells(
    game: Game, answer: Answer, monkeypatch: pytest.MonkeyPatch
) -> None:
    most = 60_000
    monkeypatch.setattr(pixels, "MOST_PIXELS", most)
    app = shown_by(game, answer, monkeypatch)
    async with app.run_test(size=SIZE, headless=False) as pilot:
        await pilot.pause()
        shown = app.screen.query_one(Board)._shown
        if answer is SIXEL:
            assert isinstance(shown, Reduced)
            return
        assert isinstance(shown, PixelPicture)
        assert most / 2 < shown.pixels.size / 3 <= most
        columns, down = shown.size
        assert f"s={shown.pixels.shape[1]},v={shown.pixels.shape[0]}" in (written := sent(app))
        assert f"c={columns},r={down}" in written
