"""Each drill that asks a number, by keys alone and by mouse alone; and every key at every moment."""

import random

import pytest
from by_hand import SMALL, USUAL, begun, playing, shown

from trainer.app.app import TrainerApp
from trainer.app.widgets.picture import Picture
from trainer.drills import DRILLS
from trainer.pictures.inset import Hit, inset_view
from trainer.play.game import Game

NUMBERS = ("slide", "edge", "throw", "back", "send")


async def steer(pilot: object, app: TrainerApp, wanted: float) -> None:
    """Bring the number to within a hair of what is wanted: a jump, then coarse, fine and hair's steps."""
    screen = playing(app)
    dial = screen.question.dial
    assert dial is not None
    nearest = min(range(9), key=lambda k: abs(dial.jumps[k] - wanted))
    await pilot.press(str(nearest + 1))  # type: ignore[attr-defined]
    for step, (less, more) in zip(
        dial.steps, (("down", "up"), ("left", "right"), ("comma", "full_stop")), strict=True
    ):
        assert screen.scene.considered is not None
        count = round((wanted - screen.scene.considered.value) / step)
        for _ in range(abs(count)):
            await pilot.press(more if count > 0 else less)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("name", "size", "count"),
    [
        *((name, SMALL, 1) for name in NUMBERS),
        *(pytest.param(name, USUAL, 2, marks=pytest.mark.slow) for name in NUMBERS),
    ],
)
async def test_a_number_is_set_and_called_by_keys(
    game: Game, name: str, size: tuple[int, int], count: int
) -> None:
    async with begun(game, None, size, drill=name, shots=2, seed=5) as (app, pilot):
        for number in range(1, count + 1):
            screen = playing(app)
            drill, question = DRILLS[name], screen.question
            assert question.prompt in shown(app)
            assert question.dial is not None
            start = screen.scene.considered
            assert start is not None
            assert start.value == question.dial.start
            await steer(pilot, app, drill.best(question).value)
            await pilot.press("enter")
            await pilot.pause()
            assert screen.mark is not None
            assert len(game.attempts) == number
            assert abs(screen.mark.error) < 0.01
            assert screen.mark.right
            assert "✓" in shown(app)
            await pilot.press("enter")
            await pilot.pause()


@pytest.mark.parametrize("name", NUMBERS)
async def test_a_number_is_set_and_called_by_mouse(game: Game, name: str) -> None:
    async with begun(game, None, USUAL, drill=name, shots=1, seed=8) as (app, pilot):
        screen = playing(app)
        question, picture = screen.question, screen.query_one("#aim", Picture)
        dial = question.dial
        assert dial is not None
        view = inset_view(Hit(question.shot.table.reach), picture.viewport)
        column, row = picture.size.width // 3, picture.size.height // 2
        await pilot.click("#aim", offset=(column, row))
        await pilot.pause()
        assert screen.scene.considered is not None
        pointed = view.offset(column)
        if name == "back":
            pointed = dial.low + (pointed + 1) / 2 * (dial.high - dial.low)
        assert screen.scene.considered.value == pytest.approx(min(max(pointed, dial.low), dial.high))
        assert screen.mark is None  # a number is called for itself, so that a slip can be mended
        before = screen.scene.considered.value
        await pilot.click("#aim", offset=(column + 3, row))
        assert screen.scene.considered.value > before
        await pilot.click("#answers", offset=(2, 0))
        await pilot.pause()
        assert screen.mark is not None
        assert screen.mark.choice.value > before


@pytest.mark.slow
@pytest.mark.parametrize("name", DRILLS)
async def test_any_key_at_any_moment_leaves_a_screen_and_every_call_kept(game: Game, name: str) -> None:
    keys = [*"123456789xzvadwsrf-/", "comma", "full_stop", "enter", "space", "tab"]
    keys += ["left", "right", "up", "down"]
    rng = random.Random(name)
    async with begun(game, None, drill=name, shots=60, seed=2) as (app, pilot):
        for _ in range(12):
            await pilot.press(rng.choice(keys))
        await pilot.pause()
        screen = playing(app)
        assert screen.played.number == len(game.attempts) + 1
        assert screen.question.prompt in shown(app) or screen.mark is not None


async def test_why_draws_the_construction_step_by_step_and_then_the_mark_again(game: Game) -> None:
    async with begun(game, None, drill="slide", shots=2, seed=5) as (app, pilot):
        await pilot.press("y")  # nothing to explain yet
        assert playing(app).mark is None
        await pilot.press("3", "enter")
        await pilot.pause()
        marked, seen = shown(app), set[str]()
        for step in range(1, 8):
            await pilot.press("y")
            await pilot.pause()
            assert f"{step} of 7" in shown(app)
            seen.add(shown(app))
        assert len(seen) == 7
        await pilot.press("y")
        await pilot.pause()
        assert shown(app) == marked
        await pilot.press("y", "space")  # any other key goes on
        assert playing(app).mark is None
        assert "2 of 2" in shown(app)
