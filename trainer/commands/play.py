"""``trainer``, ``trainer play``, ``trainer warmup`` and ``trainer today``."""

import argparse
import json
import sys
import time
from dataclasses import asdict

from trainer.commands.opening import open_game
from trainer.commands.problems import UsageError
from trainer.commands.screen import show
from trainer.play.today import Plan, minutes_of, plan
from trainer.play.warmup import NAME


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
    with open_game(args) as game:
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
