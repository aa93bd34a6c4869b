"""``trainer`` and ``trainer play``."""

import argparse
import sys
import time

from trainer.commands.opening import open_game
from trainer.commands.problems import UsageError
from trainer.commands.screen import show


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
    from trainer.play.lines import play_lines

    def write(line: str) -> None:
        sys.stdout.write(line + "\n")
        sys.stdout.flush()

    with open_game(args) as game:
        level = game.level(args.level, args.drill)
        played = game.begin(level, args.shots, args.seed)
        play_lines(played, sys.stdin, write, time.monotonic, plain=args.plain)
    return 0
