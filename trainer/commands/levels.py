"""``trainer levels``."""

import argparse
import json
import sys
from itertools import groupby
from pathlib import Path

from trainer.commands.console import confirmed
from trainer.commands.opening import folder_of, open_game, own_level, tables_of
from trainer.history.files import keep_text
from trainer.levels.level import CHAPTERS, Level, level_chance
from trainer.levels.shelf import built_in, read_file
from trainer.levels.table_file import with_own
from trainer.levels.toml_reader import FileError, read_text
from trainer.shots.tolerance import NOISE


def levels(args: argparse.Namespace) -> int:
    """List the levels, check a level file, or take one in."""
    if args.check is not None:
        return _check(args, Path(args.check))
    if args.add is not None:
        return _add(args, Path(args.add))
    with open_game(args) as game:
        rows = [(level, game.passed(level)) for level in game.shelf.levels]
        problems = game.shelf.problems
    if args.json:
        found = [
            {
                "name": level.name,
                "title": level.title,
                "teaches": level.teaches,
                "chapter": level.chapter,
                "drill": level.drill,
                "table": level.limits.table.name,
                "views": list(level.views),
                "shots": level.shots,
                "adaptive": level.adaptive,
                "passed": passed,
                "chance": round(level_chance(level), 4),
                "noise": NOISE,
            }
            for level, passed in rows
        ]
        print(json.dumps({"levels": found, "problems": list(problems)}, ensure_ascii=False))
        return 0
    wide = max(len(level.name) for level, _ in rows)
    print(f"90 of 100: so many pot for a player who is off by about 1/{round(1 / NOISE)} ball.\n")
    for k, (chapter, some) in enumerate(groupby(rows, key=lambda row: row[0].chapter)):
        aim = CHAPTERS.get(chapter, "")
        print("\n" * (k > 0) + (chapter or "Others") + (f": {aim}" if aim else ""))
        for level, passed in some:
            said = f"{level.title}: {_difficulty(level)}"
            print(f"{'passed' if passed else '      '}  {level.name:<{wide}}  {said}")
            print(f"{'':{wide + 10}}{level.teaches}")
    for problem in problems:
        print(f"trainer: {problem}", file=sys.stderr)
    return 0


def _difficulty(level: Level) -> str:
    return f"{round(100 * level_chance(level))} of 100"


def _add(args: argparse.Namespace, file: Path) -> int:
    """Copy a level file that somebody sent to the player's own levels."""
    try:
        level = read_file(file, with_own(tables_of(args)[0]))
        _, _, text = read_text(file, "level")
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 1
    target = own_level(folder_of(args), level.name)
    if target.exists():
        question = f"You have a level of your own called {level.name}; replace it?"
    elif (built_in() / target.name).is_file():
        question = f"{level.name} is a built-in level; let this one take its place?"
    else:
        question = ""
    if question and not confirmed(question, args.yes):
        print("Left as it is.")
        return 1
    keep_text(target, text)
    print(f"{level.name}: {level.title!r} is one of your levels now; trainer play {level.name}")
    return 0


def _check(args: argparse.Namespace, file: Path) -> int:
    try:
        level = read_file(file, with_own(tables_of(args)[0]))
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 1
    print(f"{level.name}: a good level, {level.title!r}")
    return 0
