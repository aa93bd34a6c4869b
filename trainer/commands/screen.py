"""Opening the game on the screen."""

import argparse
import asyncio
import os
import select
import signal
import sys
from contextlib import suppress
from typing import TYPE_CHECKING

from trainer.commands.opening import open_game, own_colours, own_glyphs, player_of, settings_of
from trainer.commands.problems import CommandError

if TYPE_CHECKING:
    from trainer.app.app import TrainerApp

# Signals that end a program. Without a handler they would leave the terminal in the game's mode.
ENDINGS = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGINT") if hasattr(signal, name)]
SERVED = "TEXTUAL_DRIVER"  # set where another program is the terminal: a browser, over trainer serve
LOOKED_S = 2  # between looks whether a server is still there
PATIENCE_S = 3  # to leave in good order; a terminal that is gone may take nothing any more


def show(
    args: argparse.Namespace,
    wanted: argparse.Namespace | None = None,
    *,
    table: bool = False,
    instead: str = "trainer play --lines",
) -> int:
    """Open the game: at home, with the set that is wanted, or at the table notebook.

    ``instead`` is what does the same without a terminal.

    Raises
    ------
    CommandError
        If there is no terminal.
    Damaged
        If the history turned out to be, while the game was on the screen.
    """
    if not (SERVED in os.environ or (sys.stdin.isatty() and sys.stdout.isatty())):
        raise CommandError("the game needs a terminal for input and output; for scripts there is: " + instead)
    settings, problems = settings_of(args)
    glyphs, colours = own_glyphs(os.environ, settings), own_colours(os.environ, settings)
    from trainer.app.app import TrainerApp

    with open_game(args) as game:
        start = None
        if wanted is not None:
            level = game.level(wanted.level, wanted.drill)
            start = game.begin(level, wanted.shots, wanted.seed)
        app = TrainerApp(
            game,
            start,
            glyphs=glyphs.value,
            colours=colours.value,
            cell_aspect=settings.cell_shape,
            said_aspect=args.cell_shape,
            problems=problems,
            player=player_of(args),
            table=table,
            recovered=args.recovered,
            settings=settings,
        )
        asyncio.run(_run(app))
        if app.fault is not None:
            raise app.fault
    if app.return_code == 1:
        raise CommandError("the terminal can't be read any more; your calls are kept")
    return app.return_code or 0


async def _run(app: "TrainerApp") -> None:
    """Run the app; whoever ends it from outside gets the terminal back as it was."""
    loop = asyncio.get_running_loop()
    for number in ENDINGS:
        with suppress(NotImplementedError):  # on Windows
            loop.add_signal_handler(number, _end, app, number)
    server = asyncio.create_task(_leave_with(app)) if SERVED in os.environ else None
    await app.run_async()
    if server is not None:
        server.cancel()
    if hasattr(signal, "alarm"):
        signal.alarm(0)


async def _leave_with(app: "TrainerApp") -> None:
    """Leave where the server is gone that was the terminal, however it went."""
    if hasattr(select, "poll"):
        gone = select.poll()
        gone.register(sys.stdin.fileno(), 0)  # nothing is read; it tells when the other end is closed
        while not gone.poll(0):
            await asyncio.sleep(LOOKED_S)
        app.exit()


def _end(app: "TrainerApp", number: int) -> None:
    """Leave because of a signal, with the code that a shell gives it; die of it where that takes too long."""
    signal.alarm(PATIENCE_S)
    app.exit(return_code=128 + number)
