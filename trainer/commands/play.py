"""``trainer`` and ``trainer play``."""

import argparse
import os
import sys
import time

from trainer.commands.opening import open_game, own_colours, own_glyphs, player_of, settings_of
from trainer.commands.problems import CommandError
from trainer.game.lines import play_lines


def app(args: argparse.Namespace) -> int:
    """Open the game on the screen."""
    return _screen(args, None)


def play(args: argparse.Namespace) -> int:
    """Play a set, on the screen or over lines."""
    if args.lines:
        return _lines(args)
    return _screen(args, args)


def _lines(args: argparse.Namespace) -> int:
    def write(line: str) -> None:
        sys.stdout.write(line + "\n")
        sys.stdout.flush()

    with open_game(args) as game:
        level = game.level(args.level, args.drill)
        played = game.begin(level, args.shots, args.seed)
        play_lines(played, sys.stdin, write, time.monotonic)
    return 0


def _screen(args: argparse.Namespace, wanted: argparse.Namespace | None) -> int:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise CommandError(
            "the game needs a terminal for input and output; for scripts there is: trainer play --lines"
        )
    settings, problems = settings_of(args)
    glyphs, colours = own_glyphs(os.environ, settings), own_colours(os.environ, settings)
    from trainer.app.app import TrainerApp

    with open_game(args) as game:
        start = None
        if wanted is not None:
            level = game.level(wanted.level, wanted.drill)
            start = game.begin(level, wanted.shots, wanted.seed)
        TrainerApp(
            game,
            start,
            glyphs=glyphs.value,
            colours=colours.value,
            cell_aspect=settings.cell_shape,
            problems=problems,
            player=player_of(args),
        ).run()
    return 0
