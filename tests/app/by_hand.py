"""What tests that play by hand share: a set on the screen, what it says, a set over lines."""

import io
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList, Static
from textual.widgets._footer import FooterKey

from trainer.app.app import TrainerApp
from trainer.app.screens.play import PlayScreen
from trainer.app.widgets.board import Board
from trainer.app.widgets.play import Answers
from trainer.pictures.cells import Cells
from trainer.pictures.painted import in_cells
from trainer.play.game import Game
from trainer.play.scripted import play_lines
from trainer.play.set_in_play import SetInPlay

SMALL, USUAL = (80, 24), (120, 40)
SIZES = [SMALL, USUAL]
MOSTLY_SMALL = [SMALL, pytest.param(USUAL, marks=pytest.mark.slow)]


@asynccontextmanager
async def begun(
    game: Game,
    level: str | None,
    size: tuple[int, int] = SMALL,
    *,
    drill: str | None = None,
    shots: int | None = None,
    seed: int = 1,
    notifications: bool = False,
) -> AsyncIterator[tuple[TrainerApp, Pilot[None]]]:
    """A set on the screen, its first question asked; without a level free practice of a drill."""
    app = TrainerApp(game, game.begin(game.level(level, drill), shots=shots, seed=seed))
    async with app.run_test(size=size, notifications=notifications) as pilot:
        await pilot.pause()
        yield app, pilot


def playing(app: TrainerApp) -> PlayScreen:
    """The set's screen."""
    assert isinstance(app.screen, PlayScreen)
    return app.screen


def text_of(app: TrainerApp, selector: str) -> str:
    """What one part of the screen says."""
    return str(app.screen.query_one(selector, Static).content)


def offered(app: TrainerApp) -> str:
    """The rows of the menu on the screen as one line of text."""
    rows = app.screen.query_one(OptionList).options
    return " ".join(" ".join(str(row.prompt) for row in rows).split())


async def click_row(pilot: Pilot[None], text: str) -> None:
    """Click the first line of the screen that holds this text."""
    app = pilot.app
    assert isinstance(app, TrainerApp)
    at = next(y for y, line in enumerate(shown(app).split("\n")) if text in line)
    await pilot.click(offset=(10, at))
    await pilot.pause()


def shown(app: TrainerApp) -> str:
    """The whole screen as text."""
    width, height = app.size
    lines = app.screen._compositor.render_strips()
    assert len(lines) == height
    assert all(strip.cell_length == width for strip in lines)
    return "\n".join(strip.text for strip in lines)


def numbers(screen: PlayScreen) -> dict[str, tuple[int, int]]:
    """Where the large picture has its numbers: row and column of each."""
    cells = drawn(screen)
    rows, cols = cells.glyphs.shape
    return {
        str(cells.glyphs[y, x]): (y, x)
        for y in range(rows)
        for x in range(cols)
        if cells.glyphs[y, x].isdigit()
    }


def drawn(screen: PlayScreen) -> Cells:
    board = screen.query_one(Board)
    draw = board.drawing(screen.scene)
    return in_cells(draw(board.viewport))


async def told(app: TrainerApp, pilot: Pilot[None], words: str) -> bool:
    """Whether a note says so; it comes onto the screen a moment later."""
    for _ in range(20):
        await pilot.pause()
        if words in " ".join(shown(app).split()):
            return True
    return False


async def click_answer(pilot: Pilot[None], index: int) -> None:
    """Click an answer in the row of them."""
    answers = pilot.app.screen.query_one(Answers)
    y, x, _ = answers._places(answers.size.width)[index]
    await pilot.click("#answers", offset=(x + 1, y))
    await pilot.pause()


def over_lines(played: SetInPlay, lines: str) -> list[dict[str, Any]]:
    """What a set says to some lines of answers."""
    said: list[dict[str, Any]] = []
    play_lines(played, io.StringIO(lines), lambda line: said.append(json.loads(line)), lambda: 0.0)
    return said


async def click_key(pilot: Pilot[None], word: str) -> None:
    """Click a key in the row of keys."""
    app = pilot.app
    await pilot.pause(0.1)
    (key,) = [each for each in app.screen.query(FooterKey) if each.description == word]
    await pilot.click(key)
    await pilot.pause()
