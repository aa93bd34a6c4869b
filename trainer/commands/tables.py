"""``trainer tables``."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from trainer.commands.opening import style_of, tables_of
from trainer.drills import words
from trainer.geometry.tables import INCH, TABLES, Jaw, Table
from trainer.levels.table_file import read_table_file, with_own
from trainer.levels.toml_reader import FileError
from trainer.shots.style import Style


def tables(args: argparse.Namespace) -> int:
    """List the tables, or check a table file."""
    if args.check is not None:
        return _check(Path(args.check))
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
    return {
        "mouth_mm": mouth,
        "facing_deg": jaw.facing,
        "depth_mm": jaw.depth,
        "rounding_mm": jaw.rounding,
    }


def _words(table: Table, style: Style) -> list[str]:
    cue, ball = 2 * table.balls.cue_radius, table.ball_width
    unit = "in" if style.imperial else "mm"

    def said(mm: float) -> str:
        return f"{mm / INCH:.2f}" if unit == "in" else _mm(mm)

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


def _mm(size: float) -> str:
    return f"{round(size, 2):g}"


def _check(file: Path) -> int:
    try:
        table = read_table_file(file)
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 1
    print(f"{table.name}: a good table, {table.title!r}")
    return 0
