"""The drill cushion at the screen, by keys and by mouse, and over lines."""

import pytest
from by_hand import USUAL, begun, over_lines, playing

from trainer.app.widgets.board import Board
from trainer.drills import DRILLS
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport
from trainer.play.calls import call_of
from trainer.play.game import Game
from trainer.shots.along_cushion import along_cushion


async def test_by_keys(game: Game) -> None:
    async with begun(game, "cushion-first", shots=3, seed=4) as (app, pilot):
        screen = playing(app)
        before = screen.scene.considered
        assert before is not None
        await pilot.press("up", "right", "full_stop")
        assert screen.scene.considered is not None
        assert screen.scene.considered.value == pytest.approx(before.value + 1 / 8 + 1 / 64 + 1 / 512)
        await pilot.press("7")
        assert screen.scene.considered.value == -2.0
        assert len(screen.scene.shown.path) in (2, 3)
        await pilot.press("enter")
        assert screen.mark is not None
        assert game.attempts[-1].value == -2.0
        assert call_of(game.attempts[-1]).low == game.attempts[-1].error
        assert game.skill("cushion").tally.calls == 1
        assert not game.skill().tally.calls  # nothing of the angle


async def test_by_mouse(game: Game) -> None:
    async with begun(game, "cushion-first", USUAL, shots=3, seed=4) as (app, pilot):
        screen = playing(app)
        assert screen.scene.view == "plan"
        board, question = screen.query_one(Board), screen.question
        lie = along_cushion(question.shot)
        assert lie is not None
        viewport, also = Viewport((board.size.width, board.size.height)), DRILLS["cushion"].in_view(question)
        view = Plan(question.shot, question.truth.target, viewport, also=also).frame
        cell = viewport.room[0] / board.size.width
        await pilot.click(board, offset=viewport.cell_at(view.at(lie.by.nose)))
        one = cell / view.scale / (2 * question.shot.table.balls.object_radius)  # ball widths a column
        assert screen.scene.considered is not None
        assert screen.scene.considered.value == pytest.approx(lie.place, abs=2 * one)
        assert screen.mark is None


def test_over_lines(game: Game) -> None:
    level = game.level("cushion-or-straight")
    said = over_lines(game.begin(level, shots=3, seed=4), "1\nsideways\ncushion first\n2\n")
    kinds = [one["type"] for one in said]
    assert kinds.count("mark") == 3
    assert kinds.count("problem") == 1
    assert all(one["potted"] for one in said if one["type"] == "mark")
    said = over_lines(game.begin(game.level("cushion-first"), shots=3, seed=4), "-2\n40\n-1.5\n-3\n")
    wrong = [one for one in said if one["type"] == "problem"]
    assert len(wrong) == 1
    assert "allowed: a number from" in wrong[0]["message"]
