"""The drill straight on the screen, by keys and by mouse, and over lines."""

import io
import json

import pytest
from textual.widgets import Static

from trainer.app.app import TrainerApp
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.summary import SummaryScreen
from trainer.app.widgets.answers import Answers
from trainer.game.game import Game
from trainer.game.lines import play_lines
from trainer.shots.level import free_practice


def text_of(app: TrainerApp, selector: str) -> str:
    return str(app.screen.query_one(selector, Static).content)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_set_by_keys(game: Game, size: tuple[int, int]) -> None:
    app = TrainerApp(game, game.begin(game.shelf.find("straight-or-not"), shots=4, seed=1))
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        for number in range(1, 5):
            screen = app.screen
            assert isinstance(screen, PlayScreen)
            assert "Is it straight?" in text_of(app, "#ask")
            assert screen.shown.line is screen.shown.ghost is None  # nothing tells where the centre is
            await pilot.press("9")  # not an answer here
            assert screen.mark is None
            await pilot.press(*(["right"] * number), "enter")  # left, straight, right, right
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice.key == str(min(number, 3))
            assert ("✓" in text_of(app, "#ask")) == screen.mark.right
            await pilot.press("space")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert [a.call for a in game.attempts] == ["cut left", "straight", "cut right", "cut right"]


async def test_a_set_by_mouse(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.shelf.find("straight-or-not"), shots=3, seed=2))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        for index in range(3):
            screen = app.screen
            assert isinstance(screen, PlayScreen)
            await pilot.click("#aim", offset=(4, 4))  # a click there calls nothing
            assert screen.mark is None
            y, x, _ = screen.query_one(Answers)._places(120)[index]
            await pilot.click("#answers", offset=(x + 1, y))
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice == screen.question.choices[index]
            assert "a full ball" in text_of(app, "#ask") or len(text_of(app, "#ask")) > 90
            await pilot.click("#shot")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)


def test_a_set_over_lines(game: Game) -> None:
    said: list[dict[str, object]] = []
    played = game.begin(free_practice("straight"), shots=3, seed=3)
    text = io.StringIO("cut left\nleft\n2\n CUT Right \n")
    play_lines(played, text, lambda line: said.append(json.loads(line)), lambda: 0.0)
    kinds = [m["type"] for m in said]
    assert kinds == [
        "question",
        "mark",
        "question",
        "problem",
        "question",
        "mark",
        "question",
        "mark",
        "summary",
    ]
    assert "allowed: 1 to 3" in str(said[3]["message"])
    assert [m["call"] for m in said if m["type"] == "mark"] == ["cut left", "straight", "cut right"]
    for mark in (said[1], said[5], said[7]):
        truth: dict[str, float] = mark["truth"]  # type: ignore[assignment]
        low, high = truth["margin"]  # type: ignore[misc]
        true = "straight" if low <= 1 <= high else "cut left" if truth["cut_deg"] > 0 else "cut right"
        assert mark["right"] == (mark["call"] == true)
        assert mark["potted"] == (true == "straight")
        assert abs(truth["cut_deg"]) <= 8
