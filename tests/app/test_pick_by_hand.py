"""Balls to pick from, other balls about, and levels with less beside the shot, by keys and by mouse."""

import pytest
from by_hand import MOSTLY_SMALL, begun, drawn, numbers, over_lines, playing, shown, text_of

from trainer.app.screens.summary import SummaryScreen
from trainer.app.widgets.board import Board
from trainer.names import VIEWS
from trainer.pictures.marks import Label, Meaning
from trainer.play.game import Game

LEVEL = "which-one-goes"


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_by_keys_first_the_ball_then_how_full_it_is(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, LEVEL, size, shots=4, seed=3) as (app, pilot):
        for pair in range(2):
            screen = playing(app)
            assert screen.question.drill == "pick"
            assert "Which ball goes into the pocket?" in text_of(app, "#ask")
            await pilot.pause()
            assert "1-3" in shown(app)
            assert not screen.query_one("#aim").display
            assert screen.query_one("#table").display
            before, best = drawn(screen), screen.question.best
            await pilot.press("right")
            assert drawn(screen) != before
            await pilot.press(str(best + 1 if pair else (best + 1) % 3 + 1))
            assert text_of(app, "#ask").startswith("✓" if pair else "✗")
            called = [mark.meaning for mark in screen.scene.marks if isinstance(mark, Label)]
            assert len(called) == 3
            assert called[best] is Meaning.POT
            assert (Meaning.CALL in called) == (pair == 0)
            await pilot.press("y")
            assert "1 of 7" in text_of(app, "#told")
            pot = screen.question.shot
            while screen.mark is not None:
                await pilot.press("space")
            assert (screen.question.drill, screen.question.shot) == ("band", pot)
            assert len(pot.others) == 2
            assert screen.query_one("#aim").display
            await pilot.press("1")
            while screen.mark is not None and not screen.played.done:
                await pilot.press("space")
        while app.screen is screen:  # once more where the balls still roll
            await pilot.press("space")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert [a.drill for a in game.attempts] == ["pick", "band"] * 2
        assert game.attempts[0].others == game.attempts[1].others != ()
        assert game.skill().tally.calls == 2  # a pick tells nothing of seeing angles


@pytest.mark.parametrize("view", VIEWS)
async def test_by_mouse_a_click_on_a_ball_calls_it(game: Game, view: str) -> None:
    async with begun(game, None, (120, 40), drill="pick", shots=3, seed=5) as (app, pilot):
        screen = playing(app)
        while screen.scene.view != view:
            await pilot.press("v")
        for _ in range(3):
            seen, question = numbers(screen), screen.question
            wanted = next(key for key in ("3", "2", "1") if key in seen)
            row, column = seen[wanted]
            await pilot.click("#shot", offset=(column, row))
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice == question.choices[int(wanted) - 1]
            while screen.mark is not None and not screen.played.done:
                await pilot.press("space")


async def test_a_call_does_not_turn_the_picture(game: Game) -> None:
    async with begun(game, None, (120, 40), drill="pick", shots=5, seed=2) as (app, pilot):
        screen = playing(app)
        for _ in range(5):
            before, posed = numbers(screen), screen.scene.shot
            await pilot.press(str((screen.question.best + 1) % 3 + 1))
            screen.query_one(Board).stop()
            assert screen.scene.shot == posed
            after = numbers(screen)
            for key in before.keys() & after.keys():  # the pin moves a little, and what must be seen with it
                assert abs(before[key][0] - after[key][0]) <= 1
                assert abs(before[key][1] - after[key][1]) <= 2
            while screen.mark is not None and not screen.played.done:
                await pilot.press("space")


async def test_the_set_goes_on_with_the_second_question_of_a_shot(game: Game) -> None:
    played = game.begin(game.level(LEVEL), seed=4)
    first = played.question()
    played.call(first.choices[0])
    second = played.question()
    again = game.unfinished(game.level(LEVEL))
    assert again is not None
    assert again.done == 1
    assert Game(game.history, game.shelf).begin(game.level(LEVEL)).question() == second


def test_over_lines_the_balls_are_told_and_not_which_goes(game: Game) -> None:
    said = over_lines(game.begin(game.level(LEVEL), shots=2, seed=3), "2\nball 9\n1\n")
    question = said[0]
    assert [c["value"] for c in question["choices"]] == [1, 2, 3]
    assert all(len(c["place"]) == 2 for c in question["choices"])
    assert len(question["shot"]["others"]) == 2
    assert [line["type"] for line in said[:4]] == ["question", "mark", "question", "problem"]
    assert "'ball 9' is not an answer here" in said[3]["message"]
    assert said[-1]["type"] == "summary"


async def test_a_level_without_the_small_pictures_gives_their_room_to_the_shot(game: Game) -> None:
    async with begun(game, "standing-only", (120, 40), seed=2) as (app, pilot):
        screen = playing(app)
        assert not screen.query_one("#side").display
        assert screen.query_one(Board).size.width >= 116
        await pilot.press("3")
        assert screen.mark is not None
        assert not screen.query_one("#side").display


async def test_a_line_is_slid_by_a_click_on_the_cloth(game: Game) -> None:
    async with begun(game, "as-in-a-frame", (120, 40), seed=2) as (app, pilot):
        screen = playing(app)
        assert not screen.query_one("#table").display
        board, before = screen.query_one(Board), screen.scene.considered
        await pilot.click("#shot", offset=(board.size.width // 3, board.size.height // 2))
        await pilot.pause()
        assert screen.mark is None
        assert screen.scene.considered != before


@pytest.mark.parametrize("name", ["among-others", "as-in-a-frame", "down-only"])
async def test_other_balls_are_on_the_screen(game: Game, name: str) -> None:
    async with begun(game, name, (120, 40), seed=2) as (app, _):
        screen = playing(app)
        scene = screen.scene
        assert len(scene.shot.others) >= 5
        cells = drawn(screen)
        violet = (cells.paper[..., 2] > cells.paper[..., 1] + 60) & (cells.paper[..., 2] > 120)
        assert violet.sum() >= 3
