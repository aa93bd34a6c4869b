"""Views and looking around, by keys and by mouse."""

from dataclasses import replace

import pytest
import textual.constants
from by_hand import playing
from textual import events

from trainer.app.app import TrainerApp
from trainer.app.widgets.board import DRAG_ACROSS, DRAG_DOWN, GLIDE_S
from trainer.app.widgets.picture import Picture
from trainer.play.game import Game
from trainer.settings.settings import Settings

ARRIVED_S = GLIDE_S + 0.15


@pytest.fixture
def moving(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(textual.constants, "TEXTUAL_ANIMATIONS", "full")


def looks(app: TrainerApp) -> tuple[float, float, float]:
    looked = playing(app).board.looked
    return looked.turn, looked.back, looked.up


def started(game: Game, level: str = "eighths") -> TrainerApp:
    return TrainerApp(game, game.begin(game.level(level, None), seed=4))


async def test_v_goes_through_the_levels_views_and_the_attempt_keeps_the_one_seen(game: Game) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        seen = []
        for _ in range(4):
            seen.append(playing(app).scene.view)
            await pilot.press("v")
        assert seen == ["down", "standing", "plan", "down"]
        await pilot.press("3")
        await pilot.pause()
        assert game.history.attempts()[-1].view == "standing"
        assert playing(app).mark is not None
        await pilot.press("v")  # the mark stays, seen another way
        assert playing(app).mark is not None
        assert playing(app).scene.view == "plan"
        await pilot.press("space")
        assert playing(app).mark is None
        assert playing(app).scene.view == "plan"


async def test_the_view_that_was_chosen_holds_in_the_next_set_too(game: Game) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("v")
        app.show_set(game.begin(game.level("quarters"), seed=1))
        await pilot.pause()
        assert playing(app).scene.view == "standing"
        app.show_set(game.begin(game.level("down-only"), seed=1))  # it has no other
        await pilot.pause()
        assert playing(app).scene.view == "down"
        app.show_set(game.begin(game.level("eighths"), seed=1))
        await pilot.pause()
        assert playing(app).scene.view == "standing"


async def test_the_view_of_the_settings_comes_first_where_a_level_has_it(game: Game) -> None:
    played = game.begin(game.level("eighths"), seed=4)
    app = TrainerApp(game, played, settings=Settings(view="plan"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert playing(app).scene.view == "plan"
        app.use_settings(replace(app.settings, view="standing"))
        app.show_set(game.begin(game.level("quarters"), seed=1))
        await pilot.pause()
        assert playing(app).scene.view == "standing"


async def test_what_one_practises_is_shown_down_on_the_shot(game: Game) -> None:
    for level in (game.level(None, "aim"), game.level("about-3/8-right"), game.level(None, "judge")):
        app = TrainerApp(game, game.begin(level, seed=4))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            assert playing(app).scene.view == "down"


async def test_a_shot_that_comes_again_is_shown_in_the_other_view_and_in_no_third(game: Game) -> None:
    played = game.begin(game.level("standing-or-down"), shots=6, seed=4)
    app = TrainerApp(game, played)
    async with app.run_test(size=(80, 24)) as pilot:
        seen = []
        for _ in range(6):
            await pilot.pause()
            seen.append(playing(app).scene.view)
            await pilot.press("v")  # there is no other
            assert playing(app).scene.view == seen[-1]
            await pilot.press("right", "enter", "space")
        assert set(zip(seen[:3], seen[3:], strict=True)) == {("down", "standing"), ("standing", "down")}
    assert [attempt.view for attempt in game.history.attempts()] == seen


@pytest.mark.parametrize(
    ("key", "moved"),
    [
        ("a", (-1, 0, 0)),
        ("shift+down", (0, 1, 0)),
        ("r", (0, 0, 1)),
        *[
            pytest.param(key, moved, marks=pytest.mark.slow)
            for key, moved in (
                ("shift+right", (1, 0, 0)),
                ("w", (0, -1, 0)),
                ("pagedown", (0, 0, -1)),
            )
        ],
    ],
)
async def test_a_key_looks_around_smoothly_and_x_looks_straight_again(
    game: Game, moving: None, key: str, moved: tuple[float, float, float]
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


async def test_a_look_under_way_ends_with_the_shot(game: Game, moving: None) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("2", "space")  # a call, and the end of its film
        screen = playing(app)
        assert screen.mark is not None
        screen.action_look("turn", 1)  # as by its key, which would wait until it is there
        screen.action_go_on()
        assert screen.mark is None
        await pilot.pause(ARRIVED_S)
        assert looks(app) == (0, 0, 0)


async def test_in_the_plan_there_is_nothing_to_look_around(game: Game) -> None:
    app = started(game, "first-look")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert playing(app).scene.view == "plan"
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


async def test_after_a_call_the_balls_roll_and_any_key_skips_to_the_mark(game: Game, moving: None) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        still = picture_of(app)
        await pilot.press("3")
        screen = playing(app)
        assert screen.mark is not None  # said and kept at once, while the balls roll
        assert len(game.history.attempts()) == 1
        film = screen.board.film
        assert film is not None
        film.began, film.pace = film.began - 6, 0.05  # 0.3 s of it, and no busy machine comes to its end
        await pilot.pause(0.1)
        rolling = picture_of(app)
        assert rolling != still
        await pilot.press("space")
        assert screen.board.film is None
        assert screen.mark is not None
        await pilot.pause()
        shown = picture_of(app)
        assert shown != rolling
        await pilot.press("z")  # once more, slowly
        await pilot.pause()
        assert screen.board.film is not None
        assert screen.board.film.pace < 1
        await pilot.press("space", "space")
        assert screen.mark is None
        assert screen.board.film is None
        assert screen.board._frames is None  # no timer runs while nothing moves


async def test_a_film_ends_by_itself_in_under_two_seconds(game: Game, moving: None) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("3")
        screen = playing(app)
        assert screen.board.film is not None
        assert screen.board.film.seconds < 2
        screen.board.film.began -= screen.board.film.seconds  # as if the time had passed
        await pilot.pause(0.2)
        assert screen.board.film is None
        assert screen.mark is not None
        assert screen.board._frames is None


async def test_where_no_motion_is_wanted_the_end_is_shown_at_once(game: Game) -> None:
    app = started(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("3")
        assert playing(app).mark is not None
        assert playing(app).board.film is None
        await pilot.press("z")  # any key goes on
        assert playing(app).mark is None


def picture_of(app: TrainerApp) -> list[str]:
    picture = playing(app).query_one("#shot", Picture)
    return ["".join(f"{s.text}{s.style}" for s in picture.render_line(y)) for y in range(picture.size.height)]
