"""The drill cushion at the screen, by keys and by mouse, and over lines."""

import io
import json

import pytest

from trainer.app.app import TrainerApp
from trainer.app.screens.play import PlayScreen
from trainer.app.widgets.picture import Picture
from trainer.drills import DRILLS
from trainer.game.game import Game
from trainer.game.lines import play_lines
from trainer.pictures.plan import plan_frame
from trainer.shots.along_cushion import along_cushion


async def test_by_keys(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.level("cushion-first"), shots=3, seed=4))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, PlayScreen)
        before = screen.considered
        await pilot.press("up", "right", "full_stop")
        assert screen.considered.value == pytest.approx(before.value + 1 / 8 + 1 / 64 + 1 / 512)
        await pilot.press("7")
        assert screen.considered.value == -2.0
        assert len(screen.shown.path) in (2, 3)
        await pilot.press("enter")
        assert screen.mark is not None
        assert game.attempts[-1].value == -2.0
        assert [call.low for call in game.skill("cushion").calls] == [game.attempts[-1].error]
        assert not game.calls  # nothing of the angle


async def test_by_mouse(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.level("cushion-first"), shots=3, seed=4))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, PlayScreen)
        assert screen.view == "plan"
        picture, question = screen.query_one("#shot", Picture), screen.question
        lie = along_cushion(question.shot)
        assert lie is not None
        room = picture.size.width * 2.0, picture.size.height * 4.0
        also = DRILLS["cushion"].in_view(question)
        view = plan_frame(question.shot, question.truth.target, room, also=also)
        x, y = view.at(lie.by.nose)
        cell = room[0] / picture.size.width
        await pilot.click(picture, offset=(int(x // cell), int(y // (2 * cell))))
        one = cell / view.scale / (2 * question.shot.table.balls.object_radius)  # ball widths a column
        assert screen.considered.value == pytest.approx(lie.place, abs=2 * one)
        assert screen.mark is None


def test_over_lines(game: Game) -> None:
    said: list[str] = []
    played = game.begin(game.level("cushion-or-straight"), shots=3, seed=4)
    play_lines(played, io.StringIO("1\nsideways\ncushion first\n2\n"), said.append, lambda: 0.0)
    objects = [json.loads(line) for line in said]
    kinds = [one["type"] for one in objects]
    assert kinds.count("mark") == 3
    assert kinds.count("problem") == 1
    assert all(one["potted"] for one in objects if one["type"] == "mark")
    place = game.begin(game.level("cushion-first"), shots=3, seed=4)
    said.clear()
    play_lines(place, io.StringIO("-2\n40\n-1.5\n-3\n"), said.append, lambda: 0.0)
    wrong = [json.loads(line) for line in said if '"problem"' in line]
    assert len(wrong) == 1
    assert "allowed: a number from" in wrong[0]["message"]
