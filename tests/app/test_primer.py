"""The primer, played through: each page is tried, then ends in a call; it is left and taken up anywhere."""

import json
import math
import textwrap
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from by_hand import offered, playing, shown

from trainer.app.app import TrainerApp
from trainer.app.scene import first_scene
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.summary import SummaryScreen
from trainer.drills import DRILLS
from trainer.pictures.marks import Label
from trainer.play.game import Game
from trainer.play.primer import LEVEL, PAGES, Primer, told_of_trial, way_of_trial
from trainer.play.scripted import play_lines
from trainer.shots.style import USUAL


def primer(game: Game, seed: int = 3) -> Primer:
    played = game.begin(game.level("primer"), seed=seed)
    assert isinstance(played, Primer)
    return played


@pytest.mark.parametrize("size", [(80, 24), pytest.param((120, 40), marks=pytest.mark.slow)])
async def test_the_whole_primer_is_played_by_keys(game: Game, size: tuple[int, int]) -> None:
    app = TrainerApp(game, primer(game))
    async with app.run_test(size=size) as pilot:
        app.animation_level = "none"
        await pilot.pause()
        for number, page in enumerate(PAGES, 1):
            screen = playing(app)
            said = " ".join(shown(app).split())
            assert f"page {number} of {len(PAGES)}" in said
            assert page.title in said
            assert page.says in said  # all of it, with the picture below
            assert screen.query_one("#shot").size.height >= 8
            assert screen.scene.trial
            still = shown(app)
            await pilot.press("7", "left")
            assert shown(app) != still
            assert not game.attempts[number - 1 :]  # trying is no call
            await pilot.press("enter")
            assert not screen.scene.trial
            question = screen.question
            said = " ".join(shown(app).split())
            assert question.prompt in said
            assert page.then in said
            assert page.says not in said
            best = DRILLS[question.drill].best(question)
            if question.dial is None:
                await pilot.press(best.key)
            else:
                screen._consider(best)
                await pilot.press("enter")
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.right
            assert len(game.attempts) == number
            await pilot.press("enter")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
    assert [a.drill for a in game.attempts] == [page.drill for page in PAGES]
    assert {a.level for a in game.attempts} == {"primer"}


async def test_it_is_left_and_taken_up_again_where_it_was(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("escape", "b")
        await pilot.pause()
        first = playing(app).question.shot
        await pilot.press("5", "escape")
        assert isinstance(app.screen, HomeScreen)
        await pilot.press("b")
        await pilot.pause()
        assert playing(app).question.shot == first
        await pilot.press("enter", "1", "enter", "escape")
        await pilot.press("b")
        await pilot.pause()
        assert "page 2 of 9" in shown(app)
        await pilot.press("escape")
        assert "From the beginning: go on at page 2 of 9, 8 to go." in offered(app)


def test_each_page_shows_what_it_says(game: Game) -> None:
    played = primer(game)
    for page in PAGES:
        trial = played.trial()
        dial, truth = trial.dial, trial.truth
        assert dial is not None
        assert math.degrees(truth.cut) == pytest.approx(page.tried, abs=1e-6)
        at_first = way_of_trial(trial, dial.at(dial.start))
        assert at_first[0] == trial.shot.object_ball
        slide, mark = DRILLS["slide"], dial.at(truth.offset)
        assert slide.error(trial, mark.value) == pytest.approx(0, abs=1e-12)
        if page.contact:  # at the contact point: half of the offset
            assert slide.error(trial, dial.start) == pytest.approx(abs(truth.offset) / 2)
        played.go_on()
        question = played.question()
        assert question.drill == page.drill
        played.call(DRILLS[page.drill].best(question))
    half = next(page for page in PAGES if page.title == "Half ball")
    assert 1 - math.sin(math.radians(half.tried)) == pytest.approx(0.5)
    # Common practice: 3/4, half and quarter ball turn the ball by about 14, 30 and 49 degrees.
    turns = [math.degrees(math.asin(1 - fullness)) for fullness in (1, 0.75, 0.5, 0.25, 0)]
    assert [round(b) - round(a) for a, b in pairwise(turns)] == [14, 16, 19, 41]


# Where each page's line is at first: what the page says of it holds from there.
AT_FIRST = {
    "Fullness": "straight on",
    "The cue ball takes up space": "thick",
    "Where the centre goes": "straight on",
    "Half ball": "straight on",
    "Beyond the edge": "thick",
    "Sides": "wrong side",
    "What a quarter of a ball is worth": "thick",
    "How fine a shot is": "thick",
    "Throw": "thick",
}


@pytest.mark.parametrize("seeds", [8, pytest.param(100, marks=pytest.mark.long)])
def test_no_page_opens_on_a_line_that_pots(game: Game, seeds: int) -> None:
    for seed in range(seeds):
        played = primer(game, seed)
        for page in PAGES:
            trial = played.trial()
            assert trial.dial is not None
            mark = DRILLS["slide"].mark(trial, trial.dial.at(trial.dial.start))
            assert not mark.potted
            assert mark.met is not None  # and the ball is hit: there is a way to look at
            expected = AT_FIRST[page.title]
            side = mark.offset * trial.truth.offset
            assert (abs(mark.offset) < 1e-9) == (expected == "straight on")
            assert (side < -1e-9) == (expected == "wrong side")
            assert (0 < mark.offset / trial.truth.offset < 1) == (expected == "thick")
            said = told_of_trial(trial, trial.dial.at(trial.dial.start), USUAL)
            assert ("straight on" in said) == (expected == "straight on")
            assert " wide" in said
            assert "it pots" in told_of_trial(trial, trial.dial.at(trial.truth.offset), USUAL)
            played.go_on()
            played.call(DRILLS[page.drill].best(played.question()))


def test_throw_opens_where_it_would_pot_without_throw(game: Game) -> None:
    played = primer(game)
    while played.page.title != "Throw":
        played.go_on()
        played.call(DRILLS[played.page.drill].best(played.question()))
    trial = played.trial()
    assert trial.dial is not None
    assert trial.shot.stroke is not None
    without = replace(trial, shot=replace(trial.shot, stroke=None))
    mark = DRILLS["slide"].mark(without, trial.dial.at(trial.dial.start))
    assert mark.potted
    assert mark.miss_mm == pytest.approx(0, abs=1e-6)


def test_a_line_that_is_tried_says_where_it_runs_what_it_covers_and_how_it_turns_the_ball(game: Game) -> None:
    trial = primer(game).trial()
    assert trial.dial is not None
    cases = {
        0.25: "0.25 right of centre covers 0.75, turns it by 14°: ",
        -0.5: "0.50 left of centre covers 0.50, ",
    }
    cases |= {
        0.0: "the centre covers 1.00, sends it straight on: ",
        -1.1: "1.10 left of centre misses the ball",
    }
    for offset, said in cases.items():
        assert told_of_trial(trial, trial.dial.at(offset), USUAL).startswith(said)


def test_the_spot_to_touch_is_marked_where_a_page_speaks_of_it(game: Game) -> None:
    played = primer(game)
    for page in PAGES:
        for view in ("down", "plan"):
            scene = first_scene(played, view)
            labels = [mark for mark in scene.marks if isinstance(mark, Label)]
            assert [label.text for label in labels] == ["x"] * page.contact
        if page.contact:
            assert " x" in page.says
            assert " x" in page.then
            ball, radius = complex(*scene.shot.object_ball), scene.shot.table.balls.object_radius
            # Straight behind the ball, seen from the pocket.
            way = complex(*scene.question.truth.target) - ball
            assert complex(*labels[0].at) == pytest.approx(ball - radius * way / abs(way), abs=1e-6)
        played.go_on()
        asked = [mark for mark in first_scene(played, "down").marks if isinstance(mark, Label)]
        assert len(asked) == page.contact
        played.call(DRILLS[page.drill].best(played.question()))


def test_every_page_leaves_room_for_the_picture() -> None:
    for page in PAGES:
        for text in (page.says, page.then):
            assert len(textwrap.wrap(f"{page.title}. {text}", 78)) <= 3


def test_the_primer_over_lines_is_its_calls(game: Game) -> None:
    said: list[dict[str, Any]] = []
    played = primer(game)

    class Right:
        def readline(self, most: int = -1) -> str:
            question = played.question()
            best = DRILLS[question.drill].best(question)
            return f"{best.key or repr(best.value)}\n"

    play_lines(played, Right(), lambda line: said.append(json.loads(line)), lambda: 0.0)  # type: ignore[arg-type]
    assert said[-1] == {
        "type": "summary",
        "shots": 9,
        "right": 9,
        "potted": said[-1]["potted"],
        "best_run": 9,
    }
    assert LEVEL.shots == len(PAGES) == 9


def test_other_drills_than_its_own_are_refused(game: Game) -> None:
    with pytest.raises(LookupError, match="leave --drill out"):
        game.level("primer", "band")
