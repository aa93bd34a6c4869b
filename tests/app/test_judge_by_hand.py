"""The drill judge on the screen, by keys and by mouse, and over lines."""

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
    app = TrainerApp(game, game.begin(game.shelf.find("thick-or-thin"), shots=4, seed=1))
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        for number in range(1, 5):
            screen = app.screen
            assert isinstance(screen, PlayScreen)
            assert "What happens on this line?" in text_of(app, "#ask")
            assert screen.shown.line == screen.shown.ghost == screen.question.line is not None
            await pilot.press("9")  # not an answer here
            assert screen.mark is None
            await pilot.press(*(["right"] * number), "enter")  # thick, pots, thin, thin
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice.key == str(min(number, 3))
            assert ("✓" in text_of(app, "#ask")) == screen.mark.right
            await pilot.press("space")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert [a.call for a in game.attempts] == ["thick", "pots", "thin", "thin"]


async def test_a_set_by_mouse(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.shelf.find("thick-or-thin"), shots=3, seed=2))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        for index in range(3):
            screen = app.screen
            assert isinstance(screen, PlayScreen)
            await pilot.click("#aim", offset=(4, 4))  # the line is given: a click there calls nothing
            assert screen.mark is None
            y, x, _ = screen.query_one(Answers)._places(120)[index]
            await pilot.click("#answers", offset=(x + 1, y))
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice == screen.question.choices[index]
            assert "the line shown" in text_of(app, "#ask") or len(text_of(app, "#ask")) > 90
            await pilot.click("#shot")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)


def test_a_set_over_lines(game: Game) -> None:
    said: list[dict[str, object]] = []
    played = game.begin(free_practice("judge"), shots=3, seed=3)
    text = io.StringIO("thick\nfour\n2\n Thin \n")
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
    assert all("line" in m for m in said if m["type"] == "question")
    assert "allowed: 1 to 3" in str(said[3]["message"])
    assert [m["call"] for m in said if m["type"] == "mark"] == ["thick", "pots", "thin"]
    for asked, mark in ((said[0], said[1]), (said[4], said[5]), (said[6], said[7])):
        low, high = mark["truth"]["margin"]  # type: ignore[index]
        shown = asked["choices"][1]["value"]  # type: ignore[index]
        true = "thick" if shown > high else "thin" if shown < low else "pots"
        assert mark["right"] == (mark["call"] == true)
        assert mark["potted"] == (true == "pots")
