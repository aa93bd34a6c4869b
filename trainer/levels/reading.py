"""Reading a level from TOML: a level, or every problem the file has, all at once."""

from collections.abc import Mapping
from fractions import Fraction

import numpy as np

from trainer.drills import DRILLS, EVERY
from trainer.drills.drill import Drill
from trainer.drills.question import MOST_BALLS, MOST_CHOICES, Answers
from trainer.geometry.aiming import ROLLS, SPEEDS
from trainer.geometry.fullness import SIDES, SIGNS, bands
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.levels.level import AGAIN, OTHER_STROKE, OTHER_VIEW, ROUTINE, Level, Pass
from trainer.levels.toml_reader import FileError, Reader, parse
from trainer.names import VIEWS
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import CUT_LIMIT, Limits, NoSuchShot

MOST_OTHERS = 15
CHECKED = 24  # shots drawn to see that a level has them
WITHINS = tuple(Fraction(1, n) for n in (8, 16, 32, 64))


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
    "set": ("shots", "again", "routine"),
    "passed": ("in_a_row", "right", "of"),
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
    FileError
        With every problem of the file: file, key, what is wrong, what is allowed.
    """
    reader = Reader(parse(text, where), where, KEYS)
    level = _build(reader, name, tables)
    if level.passed and level.passed.right > level.passed.of:
        reader.say("passed.right", f"{level.passed.right} is more than passed.of", "at most passed.of")
    if not reader.problems:
        _check_whole(reader, level, drawn)
    if reader.problems:
        raise FileError(reader.problems)
    return level


def _build(reader: Reader, name: str, tables: Mapping[str, Table]) -> Level:
    drill = DRILLS[reader.one_of("drill", tuple(DRILLS))]
    table = tables[reader.one_of("table", tuple(tables), "snooker")]
    forgives = reader.fractions("shots.forgives", Fraction(1, 1024), Fraction(1))
    answers = _answers(reader, drill)
    pockets = reader.some_of("shots.pockets", POCKETS, POCKETS)
    return Level(
        name=name,
        title=reader.text("title", 48),
        teaches=reader.text("teaches", 160),
        drill=drill.name,
        chapter=reader.text("chapter", 48, ""),
        place=reader.whole("place", 1, 10000, 1000),
        views=reader.some_of("views", VIEWS, drill.views, in_order=False),
        line_to_pocket=reader.yes_no("line_to_pocket", False),
        inset=reader.yes_no("inset", True),
        whole_table=reader.yes_no("whole_table", True),
        adaptive=reader.yes_no("adaptive", not drill.evenly),
        limits=Limits(
            table=table,
            cuts=reader.stretch("shots.cuts", 0.0, CUT_LIMIT, "degrees", drill.cuts),
            sides=reader.some_of("shots.sides", SIDES, SIDES),
            pockets=pockets,
            cue_distance=reader.stretch("shots.cue_distance", 0.0, 5000.0, "mm", (300.0, 1200.0)),
            pocket_distance=reader.stretch("shots.pocket_distance", 0.0, 5000.0, "mm", (200.0, 1200.0)),
            forgives=None if forgives is None else (float(forgives[0]), float(forgives[1])),
        ),
        answers=answers,
        strokes=drill.strokes_of(
            reader.some_of("shots.speeds", tuple(SPEEDS), ()),
            reader.some_of("shots.spins", tuple(ROLLS), ()),
        ),
        others=reader.whole("shots.others", 0, MOST_OTHERS, 0),
        balls=reader.whole("shots.balls", 1, MOST_BALLS, drill.balls),
        again=reader.one_of("set.again", AGAIN, ""),
        routine=reader.yes_no("set.routine", False),
        shots=reader.whole("set.shots", 3, 200, 12),
        passed=Pass(
            in_a_row=reader.whole("passed.in_a_row", 1, 50, 5),
            right=reader.whole("passed.right", 1, 200, 10),
            of=reader.whole("passed.of", 1, 200, 12),
        ),
    )


def _answers(reader: Reader, drill: Drill) -> Answers:
    step = reader.fraction("answers.step", drill.steps, Fraction(1, 8))
    names = tuple(band.name for band in bands(step))
    return Answers(
        step=step,
        named=reader.some_of("answers.bands", names, ()),
        choices=reader.whole("answers.choices", 3, MOST_CHOICES, 7),
        within=reader.fraction("answers.within", WITHINS, None),
        mirrored=reader.yes_no("answers.mirrored", True),
        ask=reader.one_of("answers.ask", drill.asks, drill.asks[0]) if drill.asks else "",
    )


def _check_whole(reader: Reader, level: Level, drawn: bool) -> None:
    """What no single key can tell: too many answers, a pass out of reach, limits without a shot."""
    _check_fit(reader, level, DRILLS[level.drill])
    for problem in DRILLS[level.drill].problems(level):
        reader.say(problem.key, problem.wrong, problem.allowed)
    if reader.problems or not drawn:
        return
    for needed in DRILLS[level.drill].needed(level):
        try:
            _draw_all(needed.limits)
        except NoSuchShot as error:
            reader.say("shots", f"{needed.whose}{error}", needed.allowed)
            return


def _check_fit(reader: Reader, level: Level, drill: Drill) -> None:
    """What the drill doesn't use, or can't ask of."""
    for key in KEYS["answers"]:
        if key not in drill.keys and reader.has(f"answers.{key}"):
            users = " or ".join(each.name for each in EVERY if key in each.keys)
            reader.say(f"answers.{key}", f"only for the drill {users}", "leave it out")
    for key, is_asked, fits in (
        ("shots.others", level.others > 0, lambda each: each.among_others),
        ("shots.balls", level.balls > 1, lambda each: each.among_others or each.balls > 1),
        ("inset", not level.inset, lambda each: not each.needs_inset),
    ):
        if is_asked and not fits(drill):
            users = ", ".join(each.name for each in EVERY if fits(each))
            reader.say(key, f"not for the drill {drill.name}", f"for {users}")
    if drill.most_cuts is not None:
        (low, high), (least, most) = level.limits.cuts, drill.most_cuts
        if not least <= low <= high <= most or (drill.evenly and low > least):
            begin = f"from {least:g}" if drill.evenly else f"{least:g}"
            said, allowed = f"{low:g} to {high:g} degrees", f"{begin} to at most {most:g} degrees"
            reader.say("shots.cuts", said, f"{allowed} for the drill {drill.name}")
    if level.line_to_pocket and not drill.calls_pocket:
        said = f"no pocket is called in the drill {drill.name}"
        reader.say("line_to_pocket", said, "false, or leave it out")
    _check_twice(reader, level, drill)
    if not set(level.views) <= set(drill.views):
        reader.say("views", f"the drill {drill.name} can't be seen so", ", ".join(drill.views))


def _check_twice(reader: Reader, level: Level, drill: Drill) -> None:
    """What is in the way of asking of a shot twice."""
    if level.again == OTHER_STROKE and len(level.strokes) < 2:
        reader.say("set.again", "there is no other stroke", "two speeds or spins, or leave it out")
    if level.again == OTHER_VIEW and len(level.views) != 2:
        reader.say("set.again", "there is no other view", "two views, or leave it out")
    if level.again and level.picks:
        reader.say("set.again", "not where a ball is picked first", "leave it out, or shots.balls")
    if level.routine:
        _check_routine(reader, level, drill)


def _check_routine(reader: Reader, level: Level, drill: Drill) -> None:
    """What is in the way of calling each shot standing, and then again down on it."""
    if not drill.looked_at_twice:
        users = ", ".join(each.name for each in EVERY if each.looked_at_twice)
        reader.say("set.routine", f"not for the drill {drill.name}", f"for {users}")
    elif level.again or level.picks:
        other = "set.again" if level.again else "shots.balls"
        reader.say("set.routine", f"not together with {other}", f"leave it out, or {other}")
    elif not level.takes_routine:
        reader.say("set.routine", "a shot is seen both ways", f"the views {' and '.join(ROUTINE)}")
    if level.shots % 2:
        said = f"{level.shots} calls leave one shot called once"
        reader.say("set.shots", said, "an even number with set.routine")


def _draw_all(limits: Limits) -> None:
    """Draw shots over all that the limits ask for, the thickest and the thinnest among them.

    Any of these offsets may come up when the level is played.
    """
    rng = np.random.default_rng(0)
    ends = [end for stretch in limits.sines for end in stretch]
    signs = [SIGNS[side] for side in limits.sides]
    outer = [sign * end * limits.table.reach for end in ends for sign in signs]
    offsets = np.concatenate([even_offsets(rng, CHECKED, limits), outer])
    draw(rng, len(offsets), limits, offsets)
