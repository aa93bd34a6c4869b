"""Taking a call back on the screen, and whose screen it is."""

import pytest
from by_hand import MOSTLY_SMALL, SIZES, begun, playing, shown, text_of, told

from trainer.app.app import TrainerApp
from trainer.app.screens.summary import SummaryScreen
from trainer.history import TrainerError
from trainer.play.game import Game


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_after_a_mark_u_takes_the_call_back(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, "eighths", size, shots=3, notifications=True) as (app, pilot):
        await pilot.press("u")  # before the call there is nothing to take back
        assert playing(app).mark is None
        await pilot.press("1")
        await pilot.pause()
        assert "u Undo" in shown(app)
        asked = playing(app).question
        await pilot.press("u")
        await pilot.pause()
        assert playing(app).mark is None
        assert playing(app).question != asked
        assert "shot 2 of 3" in text_of(app, "#title")
        assert "Taken back: your last call counts for nothing." in shown(app)
        assert "u Undo" not in shown(app)
        assert game.attempts == []
        await pilot.press("right")
        assert "Taken back" not in shown(app)
        await pilot.press("1", "space", "1", "u")
        assert await told(app, pilot, "Taken back")
        assert isinstance(app.screen, SummaryScreen)
        assert "of 1 right" in shown(app)
        assert [a.number for a in game.history.attempts()] == [2]


async def test_while_the_balls_roll(game: Game) -> None:
    async with begun(game, "eighths", shots=3) as (app, pilot):
        app.animation_level = "full"
        await pilot.press("1")
        assert playing(app).board.film is not None
        assert "u Undo  space Go on  esc Home  ? Help" in shown(app)
        await pilot.press("u")
        await pilot.pause()
        assert playing(app).mark is None
        assert playing(app).board.film is None
        assert "shot 2 of 3" in text_of(app, "#title")


async def test_where_it_cannot_be_written_it_is_said(game: Game, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: str) -> bool:
        raise TrainerError("the disk is full")

    async with begun(game, "eighths", shots=3, notifications=True) as (app, pilot):
        await pilot.press("1")
        monkeypatch.setattr(game.history, "undo", full)
        await pilot.press("u")
        await pilot.pause()
        assert playing(app).mark is not None
        assert await told(app, pilot, "could not be taken")
        assert len(game.attempts) == 1


@pytest.mark.parametrize("name", [None, "Anna-Lena B.", "W" * 40])
async def test_home_says_whose_it_is(game: Game, name: str | None) -> None:
    played = game.begin(game.shelf.levels[0])
    played.call(played.question().choices[0])
    app = TrainerApp(game, player=name)
    async with app.run_test(size=SIZES[0]) as pilot:
        await pilot.pause()
        assert text_of(app, "#name") == "See the angle of the pot" + (f"   {name}" if name else "")
        if name is not None:
            assert name[:20] in shown(app)
