"""A note of the table notebook: one shot of real play, and whether it was potted or missed thick or thin."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from trainer.geometry.tables import POCKETS
from trainer.history.attempt_fields import MM
from trainer.history.fields import BadValue, Day, Field, Number, OneOf, Pattern, Point, Text, Time
from trainer.history.ids import PATTERN

POTTED, THICK, THIN = RESULTS = ("potted", "thick", "thin")
UNDONE = "undone"  # what a line says that takes another back
DISTANCES = ("near", "middle", "far")


@dataclass(frozen=True)
class Distance(Field):
    """How far the object ball was from the pocket: a word, or mm where it was laid on a plan."""

    @property
    def allowed(self) -> str:
        return f"{', '.join(DISTANCES)}, or mm from 1 to {MM:g}"

    def check(self, value: Any) -> str | float:
        if isinstance(value, str) and value in DISTANCES:
            return value
        if isinstance(value, bool) or not isinstance(value, int | float) or not 1 <= value <= MM:
            raise self.bad(value)
        return float(value)

    def from_text(self, text: str) -> str | float:
        try:
            return self.check(text if text in DISTANCES else float(text))
        except ValueError:  # BadValue is one
            raise self.bad(text) from None


# The columns of an export of notes, in order. Files may gain columns later, at the end; none ever goes.
NOTE_FIELDS: tuple[Field, ...] = (
    Pattern("id", PATTERN, "a UUID of version 7 in lower case"),
    Time("time"),
    Text("zone", empty=True),
    Day("local_day"),
    Text("table"),
    Number("fullness", 0, 1),
    Text("called"),
    OneOf("side", ("left", "right")),
    OneOf("result", (*RESULTS, UNDONE)),
    Distance("distance"),
    Number("cue_ball_x", -MM, MM, optional=True),
    Number("cue_ball_y", -MM, MM, optional=True),
    Number("object_ball_x", -MM, MM, optional=True),
    Number("object_ball_y", -MM, MM, optional=True),
    Pattern("pocket", re.compile("|".join((*POCKETS, ""))), f"{', '.join(POCKETS)}, or nothing"),
    Pattern(
        "undoes", re.compile(f"(?:{PATTERN.pattern})?"), "the id of a note that is taken back, or nothing"
    ),
)
NOTE_NAMES = tuple(field.name for field in NOTE_FIELDS)
_PLACES = slice(NOTE_NAMES.index("cue_ball_x"), NOTE_NAMES.index("pocket") + 1)
_RESULT, _UNDOES = NOTE_NAMES.index("result"), NOTE_NAMES.index("undoes")


@dataclass(frozen=True)
class Note:
    """A shot as it went at the table.

    ``fullness`` is what the pot needed, ``called`` the name it was given by (a band, or a number), ``side``
    where the object ball had to go. ``result`` is one of ``RESULTS``; ``distance`` is how far the object ball
    was from the pocket: one of ``DISTANCES``, or mm. ``cue_ball``, ``object_ball`` (mm) and ``pocket`` are
    there where the balls were laid on a plan, else None and ''. A line that takes a note back has the result
    ``UNDONE`` and ``undoes``, the note's id; all else in it is as in that note.
    """

    id: str
    epoch_ms: int
    offset_s: int
    zone: str
    local_day: str
    table: str
    fullness: float
    called: str
    side: str
    result: str
    distance: str | float
    cue_ball: Point | None = None
    object_ball: Point | None = None
    pocket: str = ""
    undoes: str = ""

    @property
    def missed(self) -> bool:
        """Whether it was missed, thick or thin."""
        return self.result in (THICK, THIN)


def standing(lines: Sequence[Note]) -> list[Note]:
    """The notes that haven't been taken back, in their order."""
    gone = {line.undoes for line in lines if line.undoes}
    return [line for line in lines if not line.undoes and line.id not in gone]


def note_values(note: Note) -> list[Any]:
    """The values of a note in the order of ``NOTE_FIELDS``."""
    n, nowhere = note, (None, None)
    return [
        *(n.id, (n.epoch_ms, n.offset_s), n.zone, n.local_day, n.table, n.fullness, n.called, n.side),
        *(n.result, n.distance, *(n.cue_ball or nowhere), *(n.object_ball or nowhere), n.pocket, n.undoes),
    ]


def check_places(values: list[Any]) -> None:
    """Both balls and the pocket are there, or none of them.

    Raises
    ------
    BadValue
        If only a part of them is there.
    """
    if len({value in (None, "") for value in values[_PLACES]}) > 1:
        raise BadValue("is a part of a position; allowed: both balls' places and the pocket, or none of them")


def check_undoes(values: list[Any]) -> None:
    """What takes a note back names it, and nothing else names one.

    Raises
    ------
    BadValue
        If the result and the id don't go together, or a line takes itself back.
    """
    if (values[_RESULT] == UNDONE) != bool(values[_UNDOES]):
        raise BadValue(f"goes with the result {UNDONE}; allowed: both, or neither of them")
    if values[_UNDOES] == values[0]:
        raise BadValue("is the line's own id; allowed: that of a note before")


def note_row(values: list[Any]) -> tuple[Any, ...]:
    """Checked values in the order of ``NOTE_FIELDS`` as the history holds them, the time as two numbers."""
    stored = list(values)
    stored[1:2] = values[1]
    return tuple(stored)


def note_of(row: tuple[Any, ...]) -> Note:
    """The note that a row of the history holds."""
    places = [None if row[i] is None else (row[i], row[i + 1]) for i in (11, 13)]
    return Note(*row[:11], *places, *row[15:])
