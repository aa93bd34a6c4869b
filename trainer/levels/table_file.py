"""Reading a player's own table from TOML: a table, or every problem the file has, all at once.

Whatever a file leaves out is as on the built-in table that ``like`` names: the marks on the cloth in
proportion to the table's size, the cue ball in proportion to the object ball, and a ball of another
size as heavy as the same stuff makes it.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from importlib.resources.abc import Traversable
from types import MappingProxyType

import numpy as np

from trainer.geometry.aiming import Stroke
from trainer.geometry.jaws import HELPS
from trainer.geometry.pockets import straight_widths
from trainer.geometry.tables import POCKETS, TABLES, Balls, Jaw, Table
from trainer.geometry.throw import SPINS
from trainer.levels.toml_reader import FileError, Reader, parse, read_text
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, NoSuchShot

# What is taken for a table at all; wider than anything that is built. Lengths in mm.
LENGTHS, WIDTHS = (1200.0, 4200.0), (600.0, 2200.0)
BALL, MASS = (30.0, 75.0), (40.0, 300.0)
MOUTH = (40.0, 250.0)
DEPTH, ROUNDING = (0.0, 100.0), (0.0, 150.0)
FACINGS = {"corner": (115.0, 160.0), "middle": (75.0, 125.0)}  # degrees
SPEED = (0.05, 15.0)  # m/s
MOST_SPOTS = 12
DRAWN = 24  # shots drawn to see that the table has any
NEAR = (100.0, 800.0)  # mm: distances that every table has room for, at any size that is allowed


_POCKET = ("mouth_mm", "mouth_in", "facing", "depth_mm", "depth_in", "rounding_mm", "rounding_in")
KEYS: dict[str, tuple[str, ...]] = {
    "": ("title", "like", "replaces", "size", "balls", "marks", "corner", "middle", "pockets", "stroke"),
    "size": ("length_mm", "length_in", "width_mm", "width_in"),
    "balls": ("cue_mm", "cue_in", "object_mm", "object_in", "cue_g", "object_g"),
    "marks": ("baulk_mm", "baulk_in", "d_radius_mm", "d_radius_in", "spots_mm"),
    "corner": _POCKET,
    "middle": _POCKET,
    "pockets": ("jaw_help",),
    "stroke": ("throw", "speed", "spin", "side_spin"),
}


def read_table_file(file: Traversable) -> Table:
    """Read one table file; FileError holds every problem, an unreadable file among them."""
    name, where, text = read_text(file, "table")
    return read_table(text, name, where)


def read_table(text: str, name: str, where: str) -> Table:
    """Read a table from TOML text.

    Parameters
    ----------
    text : str
        The file's content.
    name : str
        The table's name: the file's name without ``.toml``. A built-in table's name needs
        ``replaces = true`` in the file, and takes that table's place for every level.
    where : str
        How messages name the file.

    Raises
    ------
    FileError
        With every problem of the file: file, key, what is wrong, what is allowed.
    """
    reader = Reader(parse(text, where), where, KEYS)
    replaces = reader.yes_no("replaces", False)
    if (name in TABLES) != replaces:
        reader.say(
            "replaces",
            f"{name} is {'the name of a built-in table' if name in TABLES else 'no built-in table'}",
            f"true for a file named after one of {', '.join(TABLES)}, which then takes its place; "
            "false for any other name",
        )
    table = _build(reader, name)
    if not reader.problems:
        _check_whole(reader, table)
    if reader.problems:
        raise FileError(reader.problems)
    return table


def _build(reader: Reader, name: str) -> Table:
    like = TABLES[reader.one_of("like", tuple(TABLES), name if name in TABLES else "snooker")]
    title = reader.text("title", 48)
    length = reader.length("size.length", *LENGTHS, like.length)
    width = reader.length("size.width", *WIDTHS, like.width)
    along, across = length / like.length, width / like.width
    return Table(
        name=name,
        title=title,
        length=length,
        width=width,
        balls=_balls(reader, like.balls),
        corner=reader.length("corner.mouth", *MOUTH, like.corner),
        middle=reader.length("middle.mouth", *MOUTH, like.middle),
        corner_jaw=_jaw(reader, "corner", like.corner_jaw),
        middle_jaw=_jaw(reader, "middle", like.middle_jaw),
        baulk=reader.length("marks.baulk", 0.0, length, like.baulk * along),
        d_radius=reader.length("marks.d_radius", 0.0, width / 2, like.d_radius * across),
        spots=reader.points(
            "marks.spots_mm",
            (length, width),
            tuple((x * along, y * across) for x, y in like.spots),
            MOST_SPOTS,
        ),
        stroke=_stroke(reader),
        help=reader.one_of("pockets.jaw_help", HELPS, like.help),
        diamonds=like.diamonds,
    )


def _balls(reader: Reader, like: Balls) -> Balls:
    obj = reader.length("balls.object", *BALL, 2 * like.object_radius) / 2
    scale = obj / like.object_radius
    cue = reader.length("balls.cue", *BALL, 2 * like.cue_radius * scale) / 2
    # A mass that isn't given follows the size, and stays within what is allowed.
    object_mass = reader.number("balls.object_g", *MASS, "grams", like.object_mass * scale**3)
    cue_mass = object_mass * like.cue_mass / like.object_mass * (cue / obj / _ratio(like)) ** 3
    return Balls(cue, obj, reader.number("balls.cue_g", *MASS, "grams", cue_mass), object_mass)


def _ratio(balls: Balls) -> float:
    return balls.cue_radius / balls.object_radius


def _jaw(reader: Reader, pocket: str, like: Jaw) -> Jaw:
    return Jaw(
        facing=reader.number(f"{pocket}.facing", *FACINGS[pocket], "degrees", like.facing),
        depth=reader.length(f"{pocket}.depth", *DEPTH, like.depth),
        rounding=reader.length(f"{pocket}.rounding", *ROUNDING, like.rounding),
    )


def _stroke(reader: Reader) -> Stroke | None:
    """How the player means to play; None where throw isn't counted."""
    has_speed = reader.has("stroke.speed")
    counted = reader.yes_no("stroke.throw", has_speed)
    if counted and not has_speed:
        reader.say("stroke.speed", "missing", f"m/s from {SPEED[0]:g} to {SPEED[1]:g}: throw depends on it")
    if not has_speed and not reader.has("stroke.throw"):
        for key in ("spin", "side_spin"):
            if reader.has(f"stroke.{key}"):
                reader.say(f"stroke.{key}", "given without a speed", "with stroke.speed beside it")
    spin = reader.one_of("stroke.spin", SPINS, "roll")
    stroke = Stroke(
        speed=reader.number("stroke.speed", *SPEED, "m/s", 1.0),
        roll=float(SPINS.index(spin)),
        side_spin=reader.number("stroke.side_spin", -1.0, 1.0, "the most side spin", 0.0),
    )
    return stroke if counted else None


def _check_whole(reader: Reader, table: Table) -> None:
    """What no single key can tell: parts that don't fit together, a table without a shot."""
    for check in (_check_sizes, _check_widths, _check_shots):
        check(reader, table)
        if reader.problems:
            return


def _check_sizes(reader: Reader, table: Table) -> None:
    """Whether cushions, balls and marks fit together."""
    wide = table.ball_width
    if table.width > table.length:
        reader.say(
            "size", f"{table.width:g} mm wide, {table.length:g} mm long", "a length of at least the width"
        )
    bigger, smaller = sorted((table.balls.cue_radius, table.balls.object_radius), reverse=True)
    if bigger > 1.5 * smaller:
        reader.say("balls", f"one is {bigger / smaller:.2f} times as wide as the other", "up to 1.5 times")
    # What the pockets take off each cushion, roundings included; some cushion must be left.
    corner = table.corner / math.sqrt(2.0) + _rounded_off(table.corner_jaw)
    middle = table.middle / 2 + _rounded_off(table.middle_jaw)
    for side, taken, room in (
        ("long cushions", corner + middle, table.length / 2),
        ("short cushions", 2 * corner, table.width),
    ):
        if taken + wide > room:
            reader.say(
                "corner",
                f"the pockets take {taken:.0f} of {room:.0f} mm of the {side}",
                "mouths and roundings that leave at least a ball's width",
            )
    if table.d_radius > table.baulk:
        reader.say(
            "marks.d_radius", f"the D of {table.d_radius:g} mm reaches past the baulk cushion", "up to baulk"
        )


def _check_widths(reader: Reader, table: Table) -> None:
    """Whether a ball drops into each pocket."""
    wide, clear = table.ball_width, straight_widths(table)
    for pocket in ("corner", "middle"):
        left = float(min(r for r, name in zip(clear, POCKETS, strict=True) if _kind(name) == pocket))
        if left <= 0:
            reader.say(
                pocket,
                f"a ball of {wide:g} mm is {-left:.1f} mm too wide to drop cleanly",
                "a wider mouth, less depth, or a facing that closes less",
            )


def _check_shots(reader: Reader, table: Table) -> None:
    """Whether there is a shot into each pocket, with the table's stroke too."""
    for name in POCKETS:
        wrong = _no_shot(replace(table, stroke=None), name)
        if wrong:
            reader.say(_kind(name), wrong, "a pocket that a ball can be potted into")
            return
    wrong = _no_shot(table, *POCKETS)
    if wrong:
        reader.say("stroke", wrong, "a stroke that every cut up to 60 degrees can be potted with")


def _no_shot(table: Table, *pockets: str) -> str | None:
    """Why there is no shot into these pockets; None where there are some."""
    limits = Limits(table, (0.0, 60.0), pockets=pockets, cue_distance=NEAR, pocket_distance=NEAR)
    try:
        draw(np.random.default_rng(0), DRAWN, limits)
    except NoSuchShot as error:
        return str(error)
    return None


def _kind(pocket: str) -> str:
    return "middle" if pocket.startswith("middle") else "corner"


def _rounded_off(jaw: Jaw) -> float:
    """How much of the cushion beside a mouth the rounding takes, mm."""
    return jaw.rounding / math.tan(math.radians(jaw.facing) / 2)


def with_own(own: Mapping[str, Table]) -> Mapping[str, Table]:
    """The built-in tables with a player's own beside them, or in their place; it can't be changed."""
    return MappingProxyType({**TABLES, **own})
