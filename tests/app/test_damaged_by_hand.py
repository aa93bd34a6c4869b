"""A damaged history, as the player at the screen learns of it."""

import asyncio
import sqlite3

from trainer.app.app import TrainerApp
from trainer.history.errors import Damaged
from trainer.play.game import Game


async def test_what_was_done_is_told(game: Game) -> None:
    app = TrainerApp(game, recovered="history.sqlite3 was damaged [1]; the newest good copy is in its place")
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        (told,) = app._notifications
        assert (told.title, told.severity) == ("History", "warning")
        assert "the newest good copy" in told.message
    assert app.fault is None


async def test_damage_found_on_the_way_ends_the_game_in_a_line(game: Game) -> None:
    played = game.begin(game.next_level())
    played.call(played.question().choices[0])
    app = TrainerApp(game)
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        with sqlite3.connect(game.history.file) as db:
            db.execute("UPDATE attempts SET others = '[1]'")
        db.close()
        app.call_next(game.history.attempts)
        while app.fault is None:
            await asyncio.sleep(0.01)
    assert isinstance(app.fault, Damaged)
    assert str(app.fault).startswith(str(game.history.file))
