"""``trainer``, ``trainer play``, ``trainer warmup`` and ``trainer today``: on the screen, or over lines."""

import argparse
import asyncio
import json
import os
import select
import sys
import time
from contextlib import AbstractContextManager, nullcontext, suppress
from dataclasses import asdict, replace
from functools import partial
from typing import TYPE_CHECKING

from trainer.commands.console import CommandError, UsageError
from trainer.commands.ending import ENDINGS, Ending
from trainer.commands.opening import open_game, own_colours, own_glyphs, player_of, settings_of
from trainer.pictures.asked import Answer, Question, asked
from trainer.pictures.sixel import REGISTERS
from trainer.play.today import Plan, minutes_of, plan
from trainer.play.warmup import NAME
from trainer.settings.settings import Settings


def app(args: argparse.Namespace) -> int:
    """Open the game on the screen."""
    return show(args)


def play(args: argparse.Namespace, instead: str = "trainer play --lines") -> int:
    """Play a set, on the screen or over lines; ``instead`` is what does so without a terminal."""
    if args.plain and not args.lines:
        raise UsageError("--plain needs --lines")
    if args.lines:
        return _lines(args)
    return show(args, args, instead=instead)


def _lines(args: argparse.Namespace) -> int:
    from trainer.play.scripted import play_lines

    def write(line: str) -> None:
        sys.stdout.write(line + "\n")
        sys.stdout.flush()

    with open_game(args) as game:
        level = game.level(args.level, args.drill)
        played = game.begin(level, args.shots, args.seed)
        play_lines(played, sys.stdin, write, time.monotonic, plain=args.plain)
    return 0


def today(args: argparse.Namespace) -> int:
    """Say what is worth doing now, and why."""
    with open_game(args, asks=True) as game:
        found = plan(game, args.minutes or minutes_of(game.history))
        new = not game.history.has_calls()
    if args.json:
        print(json.dumps(_object(found), ensure_ascii=False))
        return 0
    if found.enough:
        print(f"{found.enough} If you like, go on:")
    for number, part in enumerate(found.parts, 1):
        print(f"{f'{number}. ' if len(found.parts) > 1 else ''}{part.line}.")
    # A new player's game begins at once.
    print(f"{found.takes} To play it: trainer{'' if new else ', then g'}.")
    return 0


def _object(found: Plan) -> dict[str, object]:
    parts = [
        {"level": part.level.name, "drill": part.level.drill, "shots": part.shots, "why": part.says}
        for part in found.parts
    ]
    return {**asdict(found), "parts": parts, "enough": bool(found.enough)}


def warmup(args: argparse.Namespace) -> int:
    """Warm up before a match."""
    args.level, args.drill = NAME, None
    return play(args, "trainer warmup --lines")


if TYPE_CHECKING:
    from trainer.app.app import TrainerApp

SERVED = "TEXTUAL_DRIVER"  # set where another program is the terminal: a browser, over trainer serve
LOOKED_S = 2  # between looks whether a server is still there


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
    glyphs, colours = own_glyphs(settings), own_colours(settings)
    listening = nullcontext() if SERVED in os.environ else Ending.heard()
    with listening as ending, _asking(settings) as question, open_game(args) as game:
        from trainer.app.app import TrainerApp

        start = None
        if wanted is not None:
            level = game.level(wanted.level, wanted.drill)
            game.routine = settings.routine == "on"  # over lines a set is the same whatever is set
            start = game.begin(level, wanted.shots, wanted.seed)
        app = TrainerApp(
            game,
            start,
            glyphs=glyphs.value,
            colours=colours.value,
            answer=_answer(question, args),
            problems=problems,
            player=player_of(args),
            table=table,
            recovered=args.recovered,
            settings=settings,
        )
        asyncio.run(_run(app, ending))
        if app.fault is not None:
            raise app.fault
    if app.return_code == 1:
        raise CommandError("the terminal can't be read any more; your calls are kept")
    return app.return_code or 0


def _asking(settings: Settings) -> AbstractContextManager[Question]:
    """Ask the terminal how it shows pictures, unless they are to be in cells, or it is a browser."""
    wanted = settings.pictures != "cells" and SERVED not in os.environ
    return asked(os.environ if wanted else {})


def _answer(question: Question, args: argparse.Namespace) -> Answer:
    """What the terminal answers; of a browser its page has said it to the server."""
    if args.cell_pixels is None:
        return replace(question.answer(), aspect=args.cell_shape)
    said = Answer("xterm.js", sixel=True, registers=REGISTERS)
    return replace(said, aspect=args.cell_shape, cell=args.cell_pixels)


async def _run(app: "TrainerApp", ending: Ending | None) -> None:
    """Run the app; whoever ends it from outside gets the terminal back as it was."""
    loop = asyncio.get_running_loop()

    def leave(code: int) -> None:
        loop.call_soon_threadsafe(partial(app.exit, return_code=code))

    if ending is not None:
        with ending.on_the_screen(leave):
            await app.run_async()
        return
    for number in ENDINGS:
        with suppress(NotImplementedError):  # on Windows
            loop.add_signal_handler(number, leave, 128 + number)
    server = asyncio.create_task(_leave_with(app))
    await app.run_async()
    server.cancel()


async def _leave_with(app: "TrainerApp") -> None:
    """Leave where the server is gone that was the terminal, however it went."""
    if hasattr(select, "poll"):
        gone = select.poll()
        gone.register(sys.stdin.fileno(), 0)  # nothing is read; it tells when the other end is closed
        while not gone.poll(0):
            await asyncio.sleep(LOOKED_S)
        app.exit()
