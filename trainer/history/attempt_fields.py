"""The fields of an attempt, in the order of an export, and what each may hold."""

from trainer.geometry.tables import POCKETS
from trainer.history.fields import (
    Choices,
    Day,
    Field,
    Number,
    OneOf,
    Pattern,
    Places,
    Text,
    Time,
    Undone,
    Whole,
    YesNo,
)
from trainer.history.ids import PATTERN

MM = 100_000.0  # no table is a hundred metres long
WIDTHS = 100.0  # ball widths
ANY = 1e9

# What an attempt holds, in order. Attempts may gain values later, at the end; none ever goes.
FIELDS: tuple[Field, ...] = (
    Pattern("id", PATTERN, "a UUID of version 7 in lower case"),
    Time("time"),
    Text("zone", empty=True),
    Day("local_day"),
    Text("set_id"),
    Whole("number", 1, 1_000_000),
    Whole("of", 0, 1_000_000),
    Text("level", empty=True),
    Text("drill"),
    Text("view"),
    Text("table"),
    Number("cue_ball_x", -MM, MM),
    Number("cue_ball_y", -MM, MM),
    Number("object_ball_x", -MM, MM),
    Number("object_ball_y", -MM, MM),
    OneOf("pocket", POCKETS),
    Number("speed", 0, 100, optional=True),
    Number("roll", -10, 10, optional=True),
    Number("side_spin", -10, 10, optional=True),
    Number("cut_deg", -90, 90),
    Number("offset", -WIDTHS, WIDTHS),
    Number("fullness", 0, 1),
    Number("throw_deg", -90, 90),
    Number("margin_low", -WIDTHS, WIDTHS),
    Number("margin_high", -WIDTHS, WIDTHS),
    Number("target_x", -MM, MM),
    Number("target_y", -MM, MM),
    Number("touching_x", -MM, MM),
    Number("touching_y", -MM, MM),
    Choices("choices"),
    Number("answer_width", 0, WIDTHS),
    Text("key", empty=True),
    Text("call"),
    Number("value", -ANY, ANY),
    Number("called_offset", -WIDTHS, WIDTHS),
    Number("error", -ANY, ANY),
    YesNo("potted"),
    YesNo("right"),
    Number("miss_mm", 0, ANY),
    Number("seconds", 0, ANY, optional=True),
    Places("others", MM),
)
NAMES = tuple(field.name for field in FIELDS)
# The columns of an export: those of an attempt, and last what a line added later says of it.
EXPORTED: tuple[Field, ...] = (*FIELDS, Undone("undone"))
