"""``trainer shot``."""

import argparse
import json
import math
import os
import secrets
import shutil
import sys
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from trainer.commands.console import UsageError
from trainer.commands.opening import own_glyphs, settings_of, shelf_of, style_of, table_of, takes_shapes
from trainer.drills import words
from trainer.geometry.aiming import Stroke
from trainer.levels.level import narrowed, with_a_stroke
from trainer.pictures import MOST_SIZE, terminal
from trainer.pictures.marks import Line, Mark, Meaning, balls_of, truth_marks
from trainer.pictures.projection import Viewport
from trainer.pictures.projection import draw as draw_picture
from trainer.pictures.reduced import ansi
from trainer.pictures.terminal import Depth, chosen_colours, chosen_shape
from trainer.pictures.views import projection_of
from trainer.play.named_levels import level_named
from trainer.settings.settings import Settings
from trainer.shots.along_cushion import by_cushion
from trainer.shots.check import checked
from trainer.shots.describe import at_speeds, cue_ball_ways, outlook_object, place, shot_object
from trainer.shots.draw import draw
from trainer.shots.obstacles import laid_about, unpottable
from trainer.shots.shot import Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth, truth_of

GIVEN = ("table", "cue_ball", "object_ball", "pocket", "speed", "spin", "side_spin")
NEEDED = ("cue_ball", "object_ball", "pocket")
LETTERS = str.maketrans("░▒▓█", ".:%#")  # for what fills areas where there are neither shapes nor colours
DRAWN = ("seed", "level", "drill")


def shot(args: argparse.Namespace) -> int:
    """Draw a shot, or work out the one given; print it as JSON, as a picture, or in words."""
    if args.json and args.view:
        raise UsageError("--json and --view: give one of them")
    for option in ("size", "glyphs", "colours"):
        if getattr(args, option) is not None and not args.view:
            raise UsageError(f"--{option} needs --view")
    given = [name for name in GIVEN if getattr(args, name) is not None]
    drawn = [name for name in DRAWN if getattr(args, name) is not None]
    if given and drawn:
        raise UsageError(
            f"--{_dashed(given[0])} and --{_dashed(drawn[0])}: a shot is either laid down or drawn"
        )
    seed: int | None = None
    style = style_of(args)
    name: str | None = None
    if given:
        found = _laid_down(args)
        truth = checked(found, style)
    else:
        seed = secrets.randbits(32) if args.seed is None else args.seed
        level = level_named(shelf_of(args), args.level, args.drill)
        name = level.name
        rng = np.random.default_rng(seed)
        found = draw(rng, 1, with_a_stroke(level, narrowed(level), rng))[0]
        truth = truth_of(found)
        found = laid_about(rng, found, truth, level.others)
        if level.balls > 1:
            found = replace(found, others=(*found.others, *unpottable(rng, found, truth, level.balls - 1)))
    if args.json:
        said = shot_object(found, truth, seed=seed, level=name)
        print(json.dumps({**said, **outlook_object(found, truth)} if given else said))
    elif args.view:
        # The player's choices for the terminal hold only for what is printed on one.
        settings = settings_of(args)[0] if _to_terminal() else Settings()
        known = _to_terminal() or os.environ.get(terminal.GLYPHS_VARIABLE)
        size = args.size or _terminal_size()
        glyphs = args.glyphs or (own_glyphs(settings).value if known or not takes_shapes() else "quadrants")
        known_shape = terminal.asked_aspect() if _to_terminal() else None
        shape = chosen_shape(settings.cell_shape, known_shape).value
        projection = projection_of(args.view, found, truth.target, Viewport(size, shape))
        marks = [*(_solved(found, truth) if given else ()), *balls_of(found)]
        cells = draw_picture(projection, marks, glyphs)
        picture = ansi(cells, _colours(settings) if args.colours is None else args.colours)
        print(picture if takes_shapes() else picture.translate(LETTERS))
    else:
        print("\n".join([*_words(found, truth, style, seed), *(_more(found, truth, style) if given else ())]))
    return 0


def _solved(shot: Shot, truth: Truth) -> list[Mark]:
    """What is laid over a shot that is worked out: what pots, and where the cue ball goes then."""
    pots = truth_marks(shot, truth.target, (shot.cue_ball, truth.touching))
    after = Line(cue_ball_ways(shot, truth)[-1].points, Meaning.AFTER)
    return [pots["way"], pots["aim"], after, pots["touching"]]


def _colours(settings: Settings) -> Depth:
    """How many colours the terminal is known to show; all of them where the picture goes elsewhere."""
    said = os.environ.get("NO_COLOR") or os.environ.get("TRAINER_COLOURS")
    try:
        return chosen_colours(os.environ, settings.colours).value if said or _to_terminal() else Depth.TRUE
    except ValueError as error:
        raise UsageError(str(error)) from None


def _to_terminal() -> bool:
    """Whether the picture is printed on a terminal."""
    return sys.stdout.isatty()


def _terminal_size() -> tuple[int, int]:
    """The terminal's size, or 80 x 24 where there is none, within what can be drawn."""
    columns, rows = shutil.get_terminal_size()
    return min(max(columns, 1), MOST_SIZE[0]), min(max(rows, 1), MOST_SIZE[1])


def _laid_down(args: argparse.Namespace) -> Shot:
    missing = [f"--{_dashed(name)}" for name in NEEDED if getattr(args, name) is None]
    if missing:
        raise UsageError(f"a shot to work out also needs {', '.join(missing)}")
    table = table_of(args, "snooker" if args.table is None else args.table)
    stroke = table.stroke
    if args.speed is not None:
        roll = 0.0 if args.spin == "stun" else 1.0
        stroke = Stroke(args.speed, roll, args.side_spin or 0.0)
    elif args.spin is not None or args.side_spin is not None:
        raise UsageError("--spin and --side-spin need --speed: throw depends on it")
    return Shot(table, args.cue_ball, args.object_ball, args.pocket, stroke)


def _dashed(name: str) -> str:
    return name.replace("_", "-")


def _words(shot: Shot, truth: Truth, style: Style, seed: int | None) -> Iterator[str]:
    table = shot.table
    yield f"{table.title}: object ball to the {shot.pocket} pocket" + (
        f", seed {seed}" if seed is not None else ""
    )
    yield f"  cue ball     {place(table, shot.cue_ball, style)}"
    yield f"  object ball  {place(table, shot.object_ball, style)}"
    yield f"  cut          {math.degrees(abs(truth.cut)):.1f} degrees to the {truth.side}"
    yield f"  fullness     {truth.fullness:.3f}, nearest {truth.band}"
    yield f"  aim          {_aim(truth)} of the object ball's centre"
    yield f"  forgives     {_forgives(truth, style)}"
    if shot.stroke is not None:
        yield f"  throw        {math.degrees(truth.throw):.2f} degrees, counted in the aim"


def _aim(truth: Truth) -> str:
    side = "right" if truth.offset > 0 else "left"
    return f"{abs(truth.offset):.3f} ball to the {side}"


def _forgives(truth: Truth, style: Style) -> str:
    thin, thick = truth.fullness - truth.margin[0], truth.margin[1] - truth.fullness
    return f"{style.one_over(thick)} ball thick, {style.one_over(thin)} ball thin"


def _more(shot: Shot, truth: Truth, style: Style) -> Iterator[str]:
    """What is said of a shot that somebody laid down, beyond how it is aimed."""
    ideal = truth_of(replace(shot, stroke=None)).fullness
    for one in at_speeds(shot):
        what = f"  played       {words.stroke(one.stroke)}:"
        if one.truth is None:
            yield f"{what} no hit pots it"
        else:
            thrown = math.degrees(one.truth.throw)
            aim = style.ball_part(one.truth.fullness - ideal)
            way = "thinner" if one.truth.fullness < ideal else "thicker"
            turned = f"{abs(thrown):.1f} degrees{words.other_way(thrown)}"
            yield f"{what} thrown {turned}, aim {aim} {way} than without throw"
            yield f"{'':15}so aim {_aim(one.truth)}; forgives {_forgives(one.truth, style)}"
    for path in cue_ball_ways(shot, truth):
        turn = math.degrees(path.turns)
        side = "left" if turn > 0 else "right"
        where = place(shot.table, path.end, style)
        ends = f"comes to rest {where}"
        if path.in_pocket:
            ends = "into a pocket"
        elif path.cushion:
            ends = f"to the {path.cushion} cushion, {where}"
        yield f"  cue ball     {path.spin}, {path.speed:.1f} m/s: {abs(turn):.0f} degrees {side}, {ends}"
    cushion = by_cushion(shot)
    if cushion is not None:
        wide, direct = math.degrees(cushion.wide), math.degrees(cushion.direct_wide)
        better = "no reason to choose"
        if cushion.is_better:
            better = "the cushion is the better way"
        elif cushion.is_worse:
            better = "straight at the ball is the better way"
        yield (
            f"  by cushion   meet the {cushion.cushion} cushion {place(shot.table, cushion.nose, style)}: "
            f"{wide:.2f} degrees of aim pot, {direct:.2f} straight at the ball; {better}"
        )
