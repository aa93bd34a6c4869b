"""What screens show besides their words, where there is room for it, and what keys say that do nothing."""

from pathlib import Path

import pytest
from by_hand import MOSTLY_SMALL, SMALL, begun, playing, shown, text_of

from trainer.app.app import TrainerApp
from trainer.app.screens.base import FULL_SCALE, WIDE, interval
from trainer.app.screens.play import PlayScreen
from trainer.app.screens.summary import CallsPicture, SummaryScreen
from trainer.app.widgets.board import Board
from trainer.app.widgets.picture import Picture
from trainer.cli import main
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.pictures.inset import Hit, painted_inset
from trainer.pictures.painted import in_cells
from trainer.play.game import Game
from trainer.play.primer import LEVEL as PRIMER
from trainer.play.set_in_play import SetInPlay, sample_of

LARGE = (200, 60)
NOW = "2026-03-11T18:30:00+00:00"


@pytest.fixture(scope="module")
def thick_at_half(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A history of one who surely sees one angle too full."""
    folder = tmp_path_factory.mktemp("thick") / "data"
    words = "--days 6 --shots 30 --seed 3 --bump +0.15 --now 2026-03-11T09:00:00+00:00"
    assert main(("simulate", "--into", str(folder), *words.split())) == 0
    return folder


# Interval


@pytest.mark.parametrize("half", [4, 10, 40])
def test_an_interval_is_drawn_to_scale(half: int) -> None:
    line = interval(-FULL_SCALE / 2, 0.0, FULL_SCALE, half)
    assert len(line) == 2 * half + 1
    assert line.index("●") == half
    assert line.index("─") == half - half / 2
    assert line.endswith("─")
    assert interval(0.08, 0.09, 0.1, half)[half] == "│"
    assert interval(1.0, 2.0, 3.0, half).index("●") == 2 * half


# The end of a set


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_a_set_ends_with_its_calls_and_what_is_next(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, "eighths", size, shots=4) as (app, pilot):
        for _ in range(4):
            await pilot.press("3", "space")
        assert isinstance(app.screen, SummaryScreen)
        chart = app.screen.query_one(CallsPicture)
        assert chart.size.width == size[0]
        assert chart.size.height >= 8
        said = shown(app)
        assert said.splitlines()[0].startswith(" Eighths   ")
        assert "enter  " in said
        assert "on green it goes in." in said
        await pilot.press("space")  # a key too many is no step on
        assert isinstance(app.screen, SummaryScreen)
        await pilot.press("c")
        copied = app.clipboard.splitlines()
        assert copied[0] == "Eighths, 2026-03-01"
        assert len(copied[1]) == 4


def all_but_one(played: SetInPlay, right: bool) -> SetInPlay:
    """The set before its last shot, all calls right, or the first answer and the last in turn."""
    while played.number < played.of:
        question = played.question()
        played.call(question.choices[question.best if right else -(played.number % 2)])
    return played


async def test_a_level_that_wasn_t_passed_comes_once_more(game: Game) -> None:
    app = TrainerApp(game, all_but_one(game.begin(game.level("first-look")), right=False))
    async with app.run_test(size=SMALL) as pilot:
        await pilot.pause()
        await pilot.press("1", "space")
        assert "enter  Once more: Full, half or quarter; 10 shots." in shown(app)


async def test_enter_is_in_the_row_where_it_calls(game: Game) -> None:
    async with begun(game, "eighths", SMALL) as (app, pilot):
        await pilot.pause(0.1)
        assert "enter Call" not in shown(app)
        await pilot.press("enter")
        assert "A number calls it; ← → show them first, then enter calls." in shown(app)
        await pilot.press("right")
        await pilot.pause(0.1)
        assert "enter Call" in shown(app)
        await pilot.press("enter")
        assert playing(app).mark is not None


async def test_after_a_poor_set_the_beginning_is_a_key_away(game: Game) -> None:
    async with begun(game, "eighths", SMALL, shots=3) as (app, pilot):
        while isinstance(app.screen, PlayScreen):
            question = playing(app).question
            wrong = next(c for c in question.choices if c != question.choices[question.best])
            await pilot.press(wrong.key, "space")
        assert "b shows it from the beginning" in shown(app)
        await pilot.press("b")
        assert playing(app).played.level is PRIMER


async def test_what_was_taken_back_is_said(game: Game) -> None:
    async with begun(game, "eighths", SMALL, shots=3) as (app, pilot):
        await pilot.press("3", "u", "3", "space", "3", "space")
        assert isinstance(app.screen, SummaryScreen)
        assert "1 call taken back." in shown(app)


async def test_a_level_is_said_to_be_passed_once(game: Game) -> None:
    for said in ("Level passed with this set.", "You passed this level before."):
        app = TrainerApp(game, all_but_one(game.begin(game.level("first-look")), right=True))
        async with app.run_test(size=SMALL) as pilot:
            await pilot.pause()
            question = playing(app).question
            await pilot.press(question.choices[question.best].key, "space")
            assert said in shown(app)


# Keys


async def test_a_key_that_means_nothing_says_so(game: Game) -> None:
    async with begun(game, "quarters", SMALL) as (app, pilot):
        for key, name in (("k", "k"), ("9", "9"), ("f5", "f5"), ("u", "u")):
            await pilot.press(key)
            assert f"{name} does nothing here." in shown(app)
        await pilot.press("right")
        assert "does nothing" not in shown(app)
        await pilot.press("1")
        assert playing(app).mark is not None


async def test_why_goes_back_and_says_so(game: Game) -> None:
    async with begun(game, "eighths", SMALL) as (app, pilot):
        await pilot.press("3")
        await pilot.pause(0.1)
        assert "y Why?" in shown(app)
        assert "blue: your call" in shown(app)
        await pilot.press("y", "y")
        await pilot.pause(0.1)
        assert "y Next  ← Back" in shown(app)
        assert "2 of 7" in text_of(app, "#told")
        assert "blue" not in text_of(app, "#ask")  # nothing is blue yet
        await pilot.press("left")
        assert "1 of 7" in text_of(app, "#told")
        await pilot.press("left", "left")  # one too many: the mark stays
        assert playing(app).scene.step is None
        assert playing(app).mark is not None
        await pilot.press(*"yyyyyyy")
        await pilot.pause(0.1)
        assert "y Close" in shown(app)
        await pilot.press("y")
        assert playing(app).scene.step is None


@pytest.mark.parametrize(
    "level",
    [
        "slide-the-line",
        "inside-edge",
        "warmup",
        *(pytest.param(n, marks=pytest.mark.slow) for n in ("throw-slow", "quarters-laid")),
    ],
)
async def test_a_number_that_nobody_set_is_no_call(game: Game, level: str) -> None:
    app = TrainerApp(game, game.begin(game.level(level)))
    async with app.run_test(size=SMALL) as pilot:
        await pilot.pause()
        await pilot.press("enter")
        assert playing(app).mark is None
        assert "Move it first." in shown(app)
        await pilot.press("right", "enter")
        assert playing(app).mark is not None
        await pilot.press("space", "enter")  # nor at the next shot
        assert playing(app).mark is None


# Where there is room


async def test_levels_show_a_shot_of_the_one_under_the_cursor(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(WIDE, 40)) as pilot:
        await pilot.press("escape", "v")
        sample = app.screen.query_one("#sample", Board)
        assert sample.display
        first = sample.scene
        await pilot.press("down", "down")
        await pilot.pause()
        assert sample.scene is not None
        assert sample.scene != first
        assert sample.scene.question == sample_of(game.level("quarters"))
        await pilot.resize_terminal(WIDE - 1, 40)
        await pilot.pause()
        assert not sample.display


async def test_the_notebook_draws_the_hit_that_is_noted(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=LARGE) as pilot:
        await pilot.press("escape", "m")
        hit = app.screen.query_one("#hit", Picture)

        def shows(true: float | None) -> bool:
            drawn = in_cells(hit._drawing(hit.viewport))  # type: ignore[misc]
            return bool(drawn == in_cells(painted_inset(Hit(1.0, true=true), hit.viewport)))

        assert shows(None)
        await pilot.press("5")
        assert shows(None)
        await pilot.press("r")
        assert shows(-0.5)
        await pilot.press("t")  # noted: it stays
        assert shows(-0.5)
        await pilot.press("3")
        assert shows(None)
        await pilot.press("l")
        assert shows(0.25)


async def test_home_shows_how_the_worst_shot_is_seen(thick_at_half: Path) -> None:
    with History.open(thick_at_half, FixedClock(NOW)) as history:
        app = TrainerApp(Game(history, open_shelf()))
        async with app.run_test(size=SMALL) as pilot:
            await pilot.pause()
            assert "dashed: as you see it" in shown(app)
            drawing = app.screen.query_one("#emblem", Picture)._drawing
            (hit,) = drawing.args  # type: ignore[union-attr]
            assert 0 < hit.called / hit.true < 1  # thick: nearer to full, and to the same side


@pytest.mark.parametrize("size", [SMALL, LARGE, pytest.param((120, 40), marks=pytest.mark.slow)])
async def test_weeks_and_progress_use_their_room(thick_at_half: Path, size: tuple[int, int]) -> None:
    with History.open(thick_at_half, FixedClock(NOW)) as history:
        app = TrainerApp(Game(history, open_shelf()))
        async with app.run_test(size=size) as pilot:
            await pilot.press("p")
            await pilot.pause()
            head = next(line for line in shown(app).splitlines() if "thick  calls" in line)
            width = head.index("thick") + len("thick") - head.index("thin")
            assert width == 21 + 2 * ((size[0] - 80) // 4)
            await pilot.press("escape", "w")
            await pilot.pause()
            lines = shown(app).splitlines()
            assert any("●" in line for line in lines) == (size[0] >= WIDE)
            assert all(len(line) == size[0] for line in lines)
            if size[0] >= WIDE:
                (head,) = [line for line in lines if "scatter" in line]
                middle = (head.rindex("thin ") + head.rindex("thick") + len("thick") - 1) / 2
                rows = [line.rindex("●") for line in lines if "●" in line]
                assert max(rows) > middle  # thick
