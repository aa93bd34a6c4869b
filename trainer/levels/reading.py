"""Reading a level from TOML: a level, or every problem the file has, all at once."""

from collections.abc import Mapping
from fractions import Fraction

import numpy as np

from trainer.geometry.bands import bands
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.levels.toml_reader import FileError, Reader, parse, shown
from trainer.shots.draw import draw, even_offsets
from trainer.shots.level import (
    AMONG_OTHERS,
    ASKS,
    CUTS,
    EVEN,
    OPTIONS,
    PICK,
    ROLLS,
    SPEEDS,
    WITHOUT_INSET,
    Answers,
    Level,
    Pass,
    balls_of,
    narrowed,
    narrowed_each,
    options_limits,
    strokes_of,
    usual_cuts,
    views_of,
)
from trainer.shots.limits import CUT_LIMIT, SIDES, Limits, NoSuchShot
from trainer.shots.names import DRILLS, VIEWS

MOST_OTHERS, MOST_BALLS = 15, 5
CHECKED = 24  # shots drawn to see that a level has them
MOST_CHOICES = 9  # one key each, 1 to 9
STEPS = tuple(Fraction(1, n) for n in (2, 4, 8, 16, 32))
FINE_STEPS = STEPS[1:]  # four shots half a ball apart there are not
WITHINS = tuple(Fraction(1, n) for n in (8, 16, 32, 64))


class LevelError(FileError):
    """A level file that can't be used. ``problems`` holds one line a problem."""


KEYS: dict[str, tuple[str, ...]] = {
    "": (
        *("title", "teaches", "place", "drill", "table", "views", "line_to_pocket", "adaptive"),
        *("chapter", "inset", "whole_table"),
        *("answers", "shots", "set", "passed"),
    ),
    "answers": ("step", "bands", "choices", "within", "mirrored", "ask"),
    "shots": (
        *("cuts", "sides", "pockets", "cue_distance", "pocket_distance", "forgives"),
        *("speeds", "spins", "others", "balls"),
    ),
    "set": ("shots",),
    "passed": ("in_a_row", "right", "of"),
}
# The keys of [answers], and the drills that use each.
ASKED_BY: dict[str, tuple[str, ...]] = {
    "step": ("band", "aim", "same", "back", "leave"),
    "bands": ("band", "back", "leave"),
    "choices": ("aim",),
    "within": ("band",),
    "mirrored": ("same",),
    "ask": tuple(ASKS),
}


def read_level(
    text: str, name: str, where: str, tables: Mapping[str, Table] = TABLES, *, drawn: bool = True
) -> Level:
    """Read a level from TOML text.

    Parameters
    ----------
    text : str
        The file's content.
    name : str
        The level's name: the file's name without ``.toml``.
    where : str
        How messages name the file.
    tables : mapping of str to Table
        The tables that a level may name.
    drawn : bool
        Draw some of its shots, to see that there are any.

    Raises
    ------
    LevelError
        With every problem of the file: file, key, what is wrong, what is allowed.
    """
    reader = Reader(parse(text, where, LevelError), where, KEYS)
    level = _build(reader, name, tables)
    if level.passed and level.passed.right > level.passed.of:
        reader.say("passed.right", f"{level.passed.right} is more than passed.of", "at most passed.of")
    if not reader.problems:
        _check_whole(reader, level, drawn)
    if reader.problems:
        raise LevelError(reader.problems)
    return level


def _build(reader: Reader, name: str, tables: Mapping[str, Table]) -> Level:
    drill = reader.one_of("drill", DRILLS)
    table = tables[reader.one_of("table", tuple(tables), "snooker")]
    forgives = reader.fractions("shots.forgives", Fraction(1, 1024), Fraction(1))
    answers = _answers(reader, drill)
    pockets = reader.some_of("shots.pockets", POCKETS, POCKETS)
    return Level(
        name=name,
        title=reader.text("title", 48),
        teaches=reader.text("teaches", 160),
        drill=drill,
        chapter=reader.text("chapter", 48, ""),
        place=reader.whole("place", 1, 10000, 1000),
        views=reader.some_of("views", VIEWS, views_of(drill, answers.ask), in_order=False),
        line_to_pocket=reader.yes_no("line_to_pocket", False),
        inset=reader.yes_no("inset", True),
        whole_table=reader.yes_no("whole_table", True),
        adaptive=reader.yes_no("adaptive", drill not in EVEN),
        limits=Limits(
            table=table,
            cuts=reader.stretch("shots.cuts", 0.0, CUT_LIMIT, "degrees", usual_cuts(drill)),
            sides=reader.some_of("shots.sides", SIDES, SIDES),
            pockets=pockets,
            cue_distance=reader.stretch("shots.cue_distance", 0.0, 5000.0, "mm", (300.0, 1200.0)),
            pocket_distance=reader.stretch("shots.pocket_distance", 0.0, 5000.0, "mm", (200.0, 1200.0)),
            forgives=None if forgives is None else (float(forgives[0]), float(forgives[1])),
        ),
        answers=answers,
        strokes=strokes_of(
            drill,
            reader.some_of("shots.speeds", tuple(SPEEDS), ()),
            reader.some_of("shots.spins", tuple(ROLLS), ()),
        ),
        others=reader.whole("shots.others", 0, MOST_OTHERS, 0),
        balls=reader.whole("shots.balls", 1, MOST_BALLS, balls_of(drill)),
        shots=reader.whole("set.shots", 3, 200, 12),
        passed=Pass(
            in_a_row=reader.whole("passed.in_a_row", 1, 50, 5),
            right=reader.whole("passed.right", 1, 200, 10),
            of=reader.whole("passed.of", 1, 200, 12),
        ),
    )


def _answers(reader: Reader, drill: str) -> Answers:
    step = reader.fraction("answers.step", FINE_STEPS if drill == "same" else STEPS, Fraction(1, 8))
    names = tuple(band.name for band in bands(step))
    return Answers(
        step=step,
        named=reader.some_of("answers.bands", names, ()),
        choices=reader.whole("answers.choices", 3, MOST_CHOICES, 7),
        within=reader.fraction("answers.within", WITHINS, None),
        mirrored=reader.yes_no("answers.mirrored", True),
        ask=reader.one_of("answers.ask", ASKS[drill], ASKS[drill][0]) if drill in ASKS else "",
    )


def _check_whole(reader: Reader, level: Level, drawn: bool) -> None:
    """What no single key can tell: too many answers, a pass out of reach, limits without a shot."""
    for key, asked_by in ASKED_BY.items():
        if level.drill not in asked_by and reader.has(f"answers.{key}"):
            reader.say(f"answers.{key}", f"only for the drill {' or '.join(asked_by)}", "leave it out")
    for key, is_asked, among in (
        ("shots.others", level.others > 0, AMONG_OTHERS),
        ("shots.balls", level.balls > 1, (*AMONG_OTHERS, PICK)),
        ("inset", not level.inset, WITHOUT_INSET),
    ):
        if is_asked and level.drill not in among:
            reader.say(key, f"not for the drill {level.drill}", f"for {', '.join(among)}")
    if level.drill == PICK and level.balls < 2:
        reader.say("shots.balls", f"{level.balls} leaves nothing to pick", f"2 to {MOST_BALLS}")
    if level.drill in CUTS:
        (low, high), (least, most) = level.limits.cuts, CUTS[level.drill][1]
        if not least <= low <= high <= most or (level.drill in EVEN and low > least):
            begin = f"from {least:g}" if level.drill in EVEN else f"{least:g}"
            said, allowed = f"{low:g} to {high:g} degrees", f"{begin} to at most {most:g} degrees"
            reader.say("shots.cuts", said, f"{allowed} for the drill {level.drill}")
    if level.drill == "send" and level.line_to_pocket:
        reader.say("line_to_pocket", "no pocket is called in the drill send", "false, or leave it out")
    fit = views_of(level.drill, level.ask)
    if not set(level.views) <= set(fit):
        reader.say("views", f"the drill {level.drill} can't be seen so", ", ".join(fit))
    if level.drill == "band":
        asked = len(level.bands())
        if not 2 <= asked <= MOST_CHOICES:
            reader.say(
                "answers",
                f"step {shown(level.answers.step)} over these cuts makes {asked} answers",
                f"2 to {MOST_CHOICES}: take a coarser step, fewer cuts, or name the bands",
            )
    elif level.drill == "aim" and level.answers.choices * level.answers.step > Fraction(5, 2):
        reader.say(
            "answers.choices",
            f"{level.answers.choices} candidates a step of {shown(level.answers.step)} apart are "
            "wider than the ball and its surroundings",
            "choices x step up to 2 1/2 balls",
        )
    if (level.drill, level.ask) == ("leave", "place") and not narrowed(level).fullness:
        reader.say(
            "shots.cuts",
            f"no band of step {shown(level.answers.step)} that is asked for lies in these cuts",
            "cuts that hold the fullness of a band, as 30 degrees for 1/2",
        )
    if reader.problems or not drawn:
        return
    try:
        for limits in narrowed_each(level):
            _draw_all(limits)
    except NoSuchShot as error:
        reader.say("shots", str(error), "wider limits")
        return
    if level.drill != "same":
        return
    try:
        _draw_all(options_limits(level))
    except NoSuchShot as error:
        reach = shown((OPTIONS - 1) * level.answers.step)
        said = f"of the shots to compare with, up to {reach} ball thicker or thinner, {error}"
        reader.say("shots", said, "wider limits, or a finer answers.step")


def _draw_all(limits: Limits) -> None:
    """Draw shots over all that the limits ask for, the thickest and the thinnest among them.

    Any of these offsets may come up when the level is played.
    """
    rng = np.random.default_rng(0)
    ends = [end for stretch in limits.sines for end in stretch]
    signs = [1.0 if side == "left" else -1.0 for side in limits.sides]
    outer = [sign * end * limits.table.reach for end in ends for sign in signs]
    offsets = np.concatenate([even_offsets(rng, CHECKED, limits), outer])
    draw(rng, len(offsets), limits, offsets)
