"""Views and looking around, by keys and by mouse."""

import pytest
from textual import events

from trainer.app.app import TrainerApp
from trainer.app.screens.play import DRAG_ACROSS, DRAG_DOWN, GLIDE_S, PlayScreen
from trainer.app.widgets.picture import Picture
from trainer.game.game import Game

ARRIVED_S = GLIDE_S + 0.15


def playing(app: TrainerApp) -> PlayScreen:
    assert isinstance(app.screen, PlayScreen)
    return app.screen


def looks(app: TrainerApp) -> tuple[float, float, float]:
    screen = playing(app)
    return screen.turn_by, screen.back_by, screen.up_by


def started(game: Game, level: str = "eighths") -> TrainerApp:
    return TrainerApp(game, game.begin(game.level(level, None), seed=4))


async def test_v_goes_through_the_levels_views_and_the_attempt_keeps_the_one_seen(game: Game) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        seen = []
        for _ in range(4):
            seen.append(playing(app).view)
            await pilot.press("v")
        assert seen == ["down", "standing", "plan", "down"]
        await pilot.press("3")
        await pilot.pause()
        assert game.records.attempts()[-1].view == "standing"
        assert playing(app).mark is not None
        await pilot.press("v")  # the mark stays, seen another way
        assert playing(app).mark is not None
        assert playing(app).view == "plan"
        await pilot.press("space")
        assert playing(app).mark is None
        assert playing(app).view == "plan"


@pytest.mark.parametrize(
    ("key", "moved"),
    [
        ("a", (-1, 0, 0)),
        ("shift+right", (1, 0, 0)),
        ("w", (0, -1, 0)),
        ("shift+down", (0, 1, 0)),
        ("r", (0, 0, 1)),
        ("pagedown", (0, 0, -1)),
    ],
)
async def test_a_key_looks_around_smoothly_and_x_looks_straight_again(
    game: Game, key: str, moved: tuple[float, float, float]
) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        before = playing(app).query_one("#shot", Picture).render_line(9).text
        await pilot.press(key)
        await pilot.pause(ARRIVED_S)
        assert looks(app) == moved
        await pilot.press(key, key)  # quick presses add up
        await pilot.pause(ARRIVED_S)
        assert looks(app) == tuple(3 * m for m in moved)
        assert playing(app).query_one("#shot", Picture).render_line(9).text != before
        await pilot.press("x")
        await pilot.pause(ARRIVED_S)
        assert looks(app) == (0, 0, 0)
        assert playing(app).query_one("#shot", Picture).render_line(9).text == before


async def test_looking_is_over_with_the_next_shot_and_stays_for_the_mark(game: Game) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("d", "d")
        await pilot.pause(ARRIVED_S)
        await pilot.press("2")
        assert playing(app).mark is not None
        assert looks(app) == (2, 0, 0)
        await pilot.press("d")
        await pilot.pause(ARRIVED_S)
        assert playing(app).mark is not None
        assert looks(app) == (3, 0, 0)
        await pilot.press("space")
        assert playing(app).mark is None
        assert looks(app) == (0, 0, 0)


async def test_in_the_plan_there_is_nothing_to_look_around(game: Game) -> None:
    app = started(game, "first-look")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert playing(app).view == "plan"
        await pilot.press("a", "r", "w")
        await pilot.pause(ARRIVED_S)
        assert looks(app) == (0, 0, 0)
        await pilot.press("1")
        await pilot.press("a")  # any key goes on
        assert playing(app).mark is None


async def test_the_wheel_steps_and_a_drag_turns_but_is_no_click(game: Game) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        picture = playing(app).query_one("#shot", Picture)
        picture.post_message(
            events.MouseScrollDown(picture, 5, 5, 0, 1, 0, False, False, False, screen_x=5, screen_y=5)
        )
        await pilot.pause(ARRIVED_S)
        assert looks(app) == (0, 1, 0)
        await pilot.mouse_down(picture, offset=(10, 10))
        await pilot.hover(picture, offset=(16, 13))
        await pilot.mouse_up(picture, offset=(16, 13))
        await pilot.pause()
        turn, back, up = looks(app)
        assert (turn, back, up) == (-6 / DRAG_ACROSS, 1, 3 / DRAG_DOWN)
        await pilot.press("2")
        await pilot.mouse_down(picture, offset=(10, 10))
        await pilot.hover(picture, offset=(20, 10))
        await pilot.mouse_up(picture, offset=(20, 10))
        await pilot.pause()
        assert playing(app).mark is not None
        await pilot.click(picture, offset=(20, 10))
        await pilot.pause()
        assert playing(app).mark is None
