"""``trainer levels`` and ``trainer tables``."""

import argparse
import json
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import Any

from trainer import __version__
from trainer.commands.console import confirmed
from trainer.commands.opening import folder_of, open_game, own_level, style_of, tables_of
from trainer.drills import words
from trainer.geometry.tables import INCH, TABLES, Jaw, Table
from trainer.history import TrainerError
from trainer.history.files import keep_text
from trainer.levels.chances import chance_of, key_of
from trainer.levels.level import CHAPTERS, Level
from trainer.levels.shelf import built_in, read_file
from trainer.levels.table_file import read_table_file, with_own
from trainer.levels.toml_reader import FileError, read_text
from trainer.play.game import Game
from trainer.shots.style import Style
from trainer.shots.tolerance import NOISE

CHANCES = "chances"  # what the history keeps those of the player's own levels under


def levels(args: argparse.Namespace) -> int:
    """List the levels, check a level file, or take one in."""
    if args.check is not None:
        return _check(Path(args.check), partial(_level, args), "level")
    if args.add is not None:
        return _add(args, Path(args.add))
    with open_game(args, asks=True) as game:
        rows = [(level, game.passed(level)) for level in game.shelf.levels]
        problems, chances = game.shelf.problems, _chances(game)
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
                "chance": round(chances[level.name], 4),
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
            said = f"{level.title}: {round(100 * chances[level.name])} of 100"
            print(f"{'passed' if passed else '      '}  {level.name:<{wide}}  {said}")
            print(f"{'':{wide + 10}}{level.teaches}")
    for problem in problems:
        print(f"trainer: {problem}", file=sys.stderr)
    return 0


def _chances(game: Game) -> dict[str, float]:
    """How likely the usual player pots, by the levels' names.

    What was worked out of the player's own levels is kept in the history, as long as there are these levels.
    """
    history, levels = game.history, game.shelf.levels
    found = json.loads((history.get_snapshot(CHANCES) or ("", "{}"))[1])
    before: dict[str, float] = found.get("chances", {}) if found.get("version") == __version__ else {}
    kept = dict(before)
    chances = {level.name: chance_of(level, kept) for level in levels}
    if kept != before:
        there = {key: kept[key] for key in map(key_of, levels) if key in kept}
        with suppress(TrainerError):  # they can be had again
            history.put_snapshot(CHANCES, "", json.dumps({"version": __version__, "chances": there}))
    return chances


def _level(args: argparse.Namespace, file: Path) -> Level:
    """A level file, read with the player's own tables."""
    return read_file(file, with_own(tables_of(args)[0]))


def _add(args: argparse.Namespace, file: Path) -> int:
    """Copy a level file that somebody sent to the player's own levels."""
    try:
        level = _level(args, file)
        _, _, text = read_text(file, "level")
    except FileError as error:
        return _faulty(error)
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


def tables(args: argparse.Namespace) -> int:
    """List the tables, or check a table file."""
    if args.check is not None:
        return _check(Path(args.check), read_table_file, "table")
    own, problems = tables_of(args)
    every, style = with_own(own), style_of(args)
    if args.json:
        found = [{**table_object(table), "own": name in own} for name, table in every.items()]
        print(json.dumps({"tables": found, "problems": list(problems)}, ensure_ascii=False))
        return 0
    wide = max(len(name) for name in every)
    for name, table in every.items():
        own_one = "  (your own, in place of the built-in one)" if name in TABLES else "  (your own)"
        print(f"{name:<{wide}}  {table.title}{own_one if name in own else ''}")
        for line in _words(table, style):
            print(f"{'':{wide}}  {line}")
    for problem in problems:
        print(f"trainer: {problem}", file=sys.stderr)
    return 0


def table_object(table: Table) -> dict[str, Any]:
    """The JSON object of a table: mm, grams, degrees, m/s."""
    balls, stroke = table.balls, table.stroke
    return {
        "name": table.name,
        "title": table.title,
        "length_mm": table.length,
        "width_mm": table.width,
        "cue_ball_mm": 2 * balls.cue_radius,
        "object_ball_mm": 2 * balls.object_radius,
        "cue_ball_g": balls.cue_mass,
        "object_ball_g": balls.object_mass,
        "corner": _pocket(table.corner, table.corner_jaw),
        "middle": _pocket(table.middle, table.middle_jaw),
        "jaw_help": table.help,
        "baulk_mm": table.baulk,
        "d_radius_mm": table.d_radius,
        "spots_mm": [list(spot) for spot in table.spots],
        "diamonds": table.diamonds,
        "stroke": None
        if stroke is None
        else {"speed_m_s": stroke.speed, "roll": stroke.roll, "side_spin": stroke.side_spin},
    }


def _pocket(mouth: float, jaw: Jaw) -> dict[str, float]:
    return {"mouth_mm": mouth, "facing_deg": jaw.facing, "depth_mm": jaw.depth, "rounding_mm": jaw.rounding}


def _words(table: Table, style: Style) -> list[str]:
    cue, ball = 2 * table.balls.cue_radius, table.ball_width
    unit = "in" if style.imperial else "mm"

    def said(mm: float) -> str:
        return f"{mm / INCH:.2f}" if style.imperial else f"{round(mm, 2):g}"

    balls = f"balls {said(ball)} {unit}"
    if cue != ball:
        balls = f"object ball {said(ball)}, cue ball {said(cue)} {unit}"
    lines = [
        f"{said(table.length)} x {said(table.width)} {unit}, {balls}, "
        f"pockets {said(table.corner)} and {said(table.middle)} {unit}"
    ]
    if table.stroke is not None:
        lines.append(f"throw counted: {words.stroke(table.stroke)}")
    if table.help != "none":
        lines.append(f"a pot may touch {'the near jaw' if table.help == 'near' else 'both jaws'}")
    return lines


def _check(file: Path, read: Callable[[Path], Level | Table], what: str) -> int:
    """Say that a file is good, or every problem in it."""
    try:
        found = read(file)
    except FileError as error:
        return _faulty(error)
    print(f"{found.name}: a good {what}, {found.title!r}")
    return 0


def _faulty(error: FileError) -> int:
    for problem in error.problems:
        print(problem, file=sys.stderr)
    return 1
