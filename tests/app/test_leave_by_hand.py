"""The drill leave on the screen, by keys and by mouse, and over lines."""

import math
from dataclasses import replace

import pytest
from by_hand import MOSTLY_SMALL, begun, drawn, numbers, over_lines, playing, text_of

from trainer.app.screens.summary import SummaryScreen
from trainer.app.widgets.board import Board
from trainer.pictures import colours
from trainer.pictures.marks import Label, Meaning, Spot, balls_of
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport, draw
from trainer.pictures.views import nearest
from trainer.play.game import Game

LEVEL = "where-to-leave-it"


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_a_set_by_keys(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, LEVEL, size, shots=4, seed=2) as (app, pilot):
        for number in range(4):
            screen = playing(app)
            assert screen.scene.view == "plan"
            assert "From which place is the pot" in text_of(app, "#ask")
            assert set(numbers(screen)) == set("12345")
            before = drawn(screen)
            await pilot.press("right", "right")
            assert screen.scene.considered == screen.question.choices[1]
            assert screen.scene.shot.cue_ball == screen.question.places[1]
            assert drawn(screen) != before  # the cue ball lies there now
            best = screen.question.best
            called = best if number % 2 else (best + 1) % 5
            await pilot.press(str(called + 1))
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.right == (called == best)
            assert screen.mark.question.shot.cue_ball == screen.question.places[called]
            y, x = numbers(screen)[str(best + 1)]
            after = drawn(screen)
            assert math.dist(after.paper[y, x].tolist(), colours.AMBER) < 8
            if called != best:
                y, x = numbers(screen)[str(called + 1)]
                assert math.dist(after.paper[y, x].tolist(), colours.CHALK) < 8
            await pilot.press("enter")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert len(game.attempts) == game.skill().tally.calls == 4


async def test_a_set_by_mouse(game: Game) -> None:
    async with begun(game, LEVEL, shots=5, seed=7) as (app, pilot):
        for number in range(5):
            screen = playing(app)
            size = screen.query_one(Board).size
            at = numbers(screen)
            far = next(
                (x, y)
                for x in range(size.width)
                for y in range(size.height)
                if all(math.hypot(x - b, 2 * (y - a)) > 6 for a, b in at.values())
            )
            await pilot.click("#shot", offset=far)  # nowhere near a place: nothing is called
            await pilot.pause()
            assert screen.mark is None
            y, x = at[str(number + 1)]
            await pilot.click("#shot", offset=(x, y))
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice.key == str(number + 1)
            await pilot.click("#shot")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)


def test_the_picture_before_the_call_is_the_same_whichever_place_is_right(game: Game) -> None:
    """Neither the crop nor a cue ball tells it."""
    question = game.begin(game.shelf.find(LEVEL), shots=3, seed=4).question()
    shot, target, places = question.shot, question.truth.target, question.places
    spots = [Spot(place, Meaning.CHOICE) for place in places]
    numbers = [Label(place, str(i), Meaning.CHOICE) for i, place in enumerate(places, 1)]
    laid = [replace(shot, cue_ball=place) for place in places]
    for whole in (False, True):
        plans = [Plan(one, target, Viewport((56, 19)), whole=whole, places=places) for one in laid]
        pictures = [
            draw(plan, [*spots, *balls_of(plan.shot, cue_ball=False), *([] if whole else numbers)])
            for plan in plans
        ]
        assert all(picture == pictures[0] for picture in pictures)
    assert question.wanted is not None
    assert question.wanted >= 0
    assert nearest(Plan(shot, target, Viewport((56, 19))), (), (5, 5)) is None


def test_over_lines_nothing_tells_which_place_it_is(game: Game) -> None:
    said = over_lines(game.begin(game.level(None, "leave"), shots=3, seed=1), "9\nhalf\n1\nplace 5\n\n3\n")
    kinds = [line["type"] for line in said]
    assert kinds.count("problem") == 3
    assert kinds.count("mark") == 3
    for line in said:
        if line["type"] == "question":
            assert [set(choice) for choice in line["choices"]] == [{"key", "name", "value", "place"}] * 5
            assert [choice["value"] for choice in line["choices"]] == [1, 2, 3, 4, 5]
            assert line["shot"]["cue_ball"] == line["choices"][0]["place"]  # whichever is right
        if line["type"] == "problem":
            assert "allowed: 1 to 5" in line["message"]
        if line["type"] == "mark":
            assert len(line["cue_ball"]) == 2
    assert said[-1]["shots"] == 3
