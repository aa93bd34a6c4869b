"""The drill *same* on the screen, by keys and by mouse."""

import pytest
from by_hand import MOSTLY_SMALL, USUAL, begun, click_answer, playing, text_of

from trainer.app.app import TrainerApp
from trainer.app.screens.summary import SummaryScreen
from trainer.app.widgets.play import Options
from trainer.pictures.options import Place, places
from trainer.play.game import Game


def labels(app: TrainerApp) -> list[str]:
    """What stands above each of the small pictures."""
    widget = app.screen.query_one(Options)
    strips = widget.render_lines(widget.size.region)
    return [strips[p.top].text[p.left : p.left + p.columns].strip() for p in lying(app)]


def lying(app: TrainerApp) -> list[Place]:
    widget = app.screen.query_one(Options)
    return places(len(playing(app).question.options), widget.viewport)


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_keys_call_and_arrows_consider(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, "same-angle", size, shots=3, seed=3) as (app, pilot):
        screen = playing(app)
        assert "Which shot has the same angle?" in text_of(app, "#ask")
        assert len(text_of(app, "#ask")) <= size[0] - 2
        assert screen.query_one(Options).display
        assert not screen.query_one("#side").display
        assert labels(app) == ["1", "2", "3", "4"]
        await pilot.press("right", "right")
        assert labels(app) == ["1", "2 ◂", "3", "4"]
        assert screen.mark is None
        await pilot.press("enter")
        await pilot.pause()
        assert screen.mark is not None
        assert screen.mark.choice.key == "2"
        for option, choice, label in zip(
            screen.question.options, screen.question.choices, labels(app), strict=True
        ):
            assert label.startswith(f"{choice.key}  {option.truth.fullness:.2f}")
            assert ("the same" in label) == (choice == screen.question.choices[screen.question.best])
        await pilot.press("space")
        best = screen.question.choices[screen.question.best]
        wrong = next(c for c in screen.question.choices if c != best)
        await pilot.press(wrong.key)
        await pilot.pause()
        assert not game.attempts[-1].right
        said = labels(app)
        assert "✗ you said" in said[screen.question.choices.index(wrong)]
        assert "✓ the same" in said[screen.question.best]
        assert f"it is {best.key}" in text_of(app, "#ask")
        await pilot.press("space")
        await pilot.press("5", "9")  # no such shots
        assert screen.mark is None
        await pilot.press(screen.question.choices[screen.question.best].key)
        assert game.attempts[-1].right
        await pilot.press("space")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_a_click_on_a_small_picture_or_its_label_calls_it(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, "same-angle", size, shots=5, seed=4) as (app, pilot):
        screen = playing(app)
        for number in range(4):
            place = lying(app)[number]
            where = (
                (place.left + place.columns // 2, place.top + place.rows // 2),
                (place.left, place.top),
                (place.left + place.columns - 1, place.top + place.rows - 1),
                (place.left + 1, place.top + 1),
            )[number]
            await pilot.click("#options", offset=where)
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice.key == str(number + 1)
            assert len(game.attempts) == number + 1
            await pilot.click("#options", offset=(1, 2))  # goes on
            await pilot.pause()
            assert screen.mark is None
        gap = lying(app)[0].columns
        await pilot.click("#options", offset=(gap, 3))  # between two of them
        assert screen.mark is None
        await click_answer(pilot, 1)
        assert screen.mark is not None
        assert screen.mark.choice.key == "2"


async def test_another_drill_has_its_inset_and_table_as_before(game: Game) -> None:
    async with begun(game, "aim-eighths", seed=3) as (app, _):
        assert playing(app).query_one("#side").display
        assert not playing(app).query_one(Options).display


async def test_views_and_sizes_change_and_the_options_stay(game: Game) -> None:
    async with begun(game, "same-angle", USUAL, seed=3) as (app, pilot):
        for key in ("v", "a", "v", "v"):
            await pilot.press(key)
            assert labels(app) == ["1", "2", "3", "4"]
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert labels(app) == ["1", "2", "3", "4"]
        await pilot.resize_terminal(40, 10)
        await pilot.press("1")
        assert not game.attempts
