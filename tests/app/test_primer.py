"""The primer, played through: each page is tried, then ends in a call; it is left and taken up anywhere."""

import json
import math
from itertools import pairwise
from typing import Any

import pytest
from by_hand import offered, playing, shown

from trainer.app.app import TrainerApp
from trainer.app.screens.home import HomeScreen
from trainer.app.screens.summary import SummaryScreen
from trainer.drills import DRILLS
from trainer.play.game import Game
from trainer.play.primer import LEVEL, PAGES, Primer, way_of_trial
from trainer.play.scripted import play_lines


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
        if page.title.startswith("The cue ball takes up space"):  # at the contact point: half of the offset
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
