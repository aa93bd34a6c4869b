"""What of a terminal's events is meant: keys that somebody presses, and the newest of what passes."""

import pytest
from textual import events
from textual.message import Message

from trainer.app.app import LARGEST, TrainerApp
from trainer.app.screens.play import PlayScreen
from trainer.app.terminal_input import IN_S, MOST_PRESSED, MOST_WAITING, Presses, Waiting
from trainer.app.textual_driver import OUTDATED, Parser
from trainer.app.textual_private import pressed
from trainer.app.widgets.board import Board
from trainer.app.widgets.picture import Picture
from trainer.pictures.asked import Answer
from trainer.play.game import Game


def keys(text: str, at: float, apart: float = 0.0) -> list[Message]:
    """The keys of a text, so far apart."""
    found: list[Message] = [events.Key(character, character) for character in text]
    for i, key in enumerate(found):
        key.time = at + i * apart
    return found


def moved(x: int, button: int = 0) -> events.MouseMove:
    return events.MouseMove(None, x, 5, 1, 0, button, False, False, False, x, 5)


def texts(found: list[Message]) -> list[str]:
    return [event.text if isinstance(event, events.Paste) else type(event).__name__ for event in found]


def test_more_keys_at_once_than_anybody_presses_are_a_paste() -> None:
    many = "1" * MOST_PRESSED
    assert texts(Presses().meant(keys(many, 0.0))) == ["Key"] * MOST_PRESSED
    assert texts(Presses().meant(keys(many + "2", 0.0))) == [many + "2"]


def test_keys_one_by_one_but_too_fast_are_a_paste_from_where_that_is_sure() -> None:
    presses = Presses()
    found = [presses.meant([key]) for key in keys("7" * 40, 0.0, 0.005)]
    assert [texts(one) for one in found] == [["Key"]] * MOST_PRESSED + [["7"]] * (40 - MOST_PRESSED)
    assert texts(presses.meant(keys("8", 0.2 + IN_S))) == ["Key"]


def test_a_key_that_is_held_is_no_paste() -> None:
    presses = Presses()
    assert all(presses.meant([key]) == [key] for key in keys("l" * 200, 0.0, 1 / 50))


def test_with_a_paste_clicks_go_and_what_the_terminal_says_stays() -> None:
    click = events.MouseDown(None, 1, 1, 0, 0, 1, False, False, False)
    focus, size = events.AppFocus(), events.Resize.from_dimensions((80, 24), None)
    found = Presses().meant([*keys("x" * (MOST_PRESSED + 1), 5.0), click, focus, size, moved(3)])
    assert texts(found) == ["AppFocus", "Resize", "MouseMove", "x" * (MOST_PRESSED + 1)]


def test_of_moves_that_wait_the_last_counts() -> None:
    waiting, click = Waiting(), events.MouseDown(None, 1, 1, 0, 0, 1, False, False, False)
    for event in (moved(1), moved(2), click, moved(3), moved(4)):
        waiting.add(event)
    found = waiting.take()
    assert [getattr(event, "x", None) for event in found] == [2, 1, 4]
    assert waiting.take() == []


def test_no_more_waits_than_a_player_has_in_mind() -> None:
    waiting, up = Waiting(), events.MouseUp(None, 1, 1, 0, 0, 1, False, False, False)
    for key in keys("1" * 1000, 0.0):
        waiting.add(key)
    waiting.add(up)  # or a drag would never end
    found = waiting.take()
    assert len(found) == MOST_WAITING + 1
    assert found[-1] is up


@pytest.mark.parametrize(
    ("came", "left"),
    [
        (b"\x1b[<35;1;1M\x1b[<35;2;1M\x1b[<35;3;1M", b"\x1b[<35;3;1M"),
        (b"\x1b[<35;1;1M\x1b[<32;2;1M", b"\x1b[<35;1;1M\x1b[<32;2;1M"),  # another button
        (b"\x1b[<0;1;1M\x1b[<0;1;1M", b"\x1b[<0;1;1M\x1b[<0;1;1M"),  # presses
        (b"\x1b[<64;1;1M\x1b[<64;1;1M", b"\x1b[<64;1;1M\x1b[<64;1;1M"),  # the wheel
    ],
)
def test_a_move_that_another_follows_is_left_out(came: bytes, left: bytes) -> None:
    assert OUTDATED.sub(b"", came) == left


@pytest.mark.parametrize(
    "text", ["\x1b[55296u", "\x1b[1114112u", f"\x1b[{'9' * 20}u", "\x1b[97;1:1u", "\ud800"]
)
def test_what_is_no_key_is_none_and_the_next_one_is(text: str) -> None:
    found = Parser().read(text + "3", lambda: False)
    assert [event.key for event in found if isinstance(event, events.Key)] == ["3"]


def test_a_text_that_nobody_wants_any_more_isn_t_read() -> None:
    assert Parser().read("3" * 100_000, lambda: True) == []


# On the screen


def in_set(game: Game, answer: Answer | None = None) -> TrainerApp:
    return TrainerApp(game, game.begin(game.level("eighths", None), seed=4), answer=answer or Answer())


async def test_keys_from_before_a_mark_neither_skip_it_nor_call(game: Game) -> None:
    app = in_set(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(1.0)
        screen = app.screen
        assert isinstance(screen, PlayScreen)
        for key in keys("3 3 1 2uw", screen._seen_from):  # all at once, when the question was there
            app.post_message(key)
        await pilot.pause(0.1)
        mark = screen.mark
        assert mark is not None
        for key in keys("123456789" * 11, screen._seen_from - 0.01):
            app.post_message(key)
        await pilot.pause(0.1)
        assert screen.mark is mark
        assert screen.played.number == 2
        await pilot.press("space")
        assert screen.mark is None
        for key in keys("123456789" * 11, screen._seen_from - 0.01):
            app.post_message(key)
        await pilot.pause(0.1)
        assert screen.mark is None
        assert app.game.history.count() == 1
        await pilot.press("1")
        assert screen.mark is not None


async def test_whoever_wants_to_leave_needn_t_wait_for_the_screen(game: Game) -> None:
    app = in_set(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, PlayScreen)
        key = events.Key("escape", None)
        key.time = screen._seen_from - 5
        app.post_message(key)
        await pilot.pause()
        assert app.screen is not screen


async def test_while_keys_wait_nothing_is_drawn(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []
    plain = Board._draw

    def counted(self: Picture, size: tuple[int, int]):
        drawn.append("")
        return plain(self, size)

    app = in_set(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        monkeypatch.setattr(Board, "_draw", counted)
        for _ in range(10):
            await pilot.press("right")
        await pilot.pause()
        one_by_one = len(drawn)
        drawn.clear()
        for _ in range(10):
            app.post_message(events.Key("left", None))
        assert pressed(app)
        await pilot.pause()
        assert not pressed(app)
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.scene.considered is app.screen.question.choices[0]
    assert one_by_one >= 8
    assert 1 <= len(drawn) <= 3


async def test_where_the_queues_aren_t_known_no_key_waits() -> None:
    assert not pressed(object())  # type: ignore[arg-type]


async def test_a_paste_is_no_keys_but_in_a_list_it_is_sought(game: Game) -> None:
    app = in_set(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.post_message(events.Paste("123456789"))
        await pilot.pause()
        assert isinstance(app.screen, PlayScreen)
        assert app.screen.mark is None
        await pilot.press("ctrl+p")
        await pilot.pause()
        app.post_message(events.Paste("help"))
        await pilot.pause()
        assert app.screen.query_one("#wanted").value == "help"


@pytest.mark.parametrize("typed", ["1" * (MOST_PRESSED + 1), "11"])
async def test_a_paste_while_the_terminal_was_asked_is_no_keys(game: Game, typed: str) -> None:
    app = in_set(game, Answer(typed=typed))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.3)
        assert app.game.history.count() == (1 if len(typed) == 2 else 0)


@pytest.mark.parametrize("size", [(3000, 1000), (9999, 9999), (4000, 40), (120, 4000)])
async def test_no_more_is_drawn_in_than_any_screen_has(game: Game, size: tuple[int, int]) -> None:
    app, largest = in_set(game), (min(size[0], LARGEST[0]), min(size[1], LARGEST[1]))
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        assert app.size == app.screen.size == largest
        await pilot.resize_terminal(120, 40)
        assert app.screen.size == (120, 40)
        await pilot.resize_terminal(*size)
        await pilot.pause(0.1)
        assert app.size == app.screen.size == largest
        app.post_message(events.Resize.from_dimensions(size, (size[0] * 10, size[1] * 17)))
        await pilot.pause(0.1)
        assert app.pixel_cell == (10, 17)
        assert app.screen.size == largest
