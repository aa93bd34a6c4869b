"""A note of the table notebook: one shot of real play, and whether it was potted or missed thick or thin."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from trainer.geometry.tables import POCKETS
from trainer.history.fields import Day, Field, Number, OneOf, Pattern, Text
from trainer.history.ids import PATTERN
from trainer.history.record import ID, MM, Parts, Point, Record, Rule, Time, all_or_none

POTTED, THICK, THIN = RESULTS = ("potted", "thick", "thin")
UNDONE = "undone"  # what a line says that takes another back
DISTANCES = ("near", "middle", "far")
PACES = ("slow", "medium", "fast")


@dataclass(frozen=True)
class Distance(Field):
    """How far the object ball was from the pocket: a word, or mm where it was laid on a plan."""

    @property
    def allowed(self) -> str:
        return f"{', '.join(DISTANCES)}, or mm from 1 to {MM:g}"

    def sql(self) -> str:
        words = ", ".join(f"'{word}'" for word in DISTANCES)
        return self._column(
            "ANY", f"{{0}} IN ({words}) OR (typeof({{0}}) = 'real' AND {{0}} BETWEEN 1 AND {MM!r})"
        )

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


class Pace(OneOf):
    """How hard it was played, where that is known. A file from before it was asked says nothing of it."""

    default: ClassVar[str | None] = ""

    @property
    def allowed(self) -> str:
        return f"{', '.join(PACES)}, or nothing"


class OfLayout(Pattern):
    """The id of the card's layout that was played. A file from before cards were kept has none."""

    default: ClassVar[str | None] = ""


def _place(name: str) -> Parts:
    where = (Number(-MM, MM, optional=True, name=f"{name}_{axis}") for axis in "xy")
    return Parts(tuple(where))


@dataclass(frozen=True)
class Note:
    """A shot as it went at the table.

    ``fullness`` is what the pot needed, ``called`` the name it was given by (a band, or a number), ``side``
    where the object ball had to go. ``result`` is one of ``RESULTS``; ``distance`` is how far the object ball
    was from the pocket: one of ``DISTANCES``, or mm. ``cue_ball``, ``object_ball`` (mm) and ``pocket`` are
    there where the balls were laid on a plan, else None and ''. ``pace`` is one of ``PACES``, '' where it
    isn't known; ``layout`` is the id of the layout that it was a try at, '' where it was none of a card. A
    line that takes a note back has the result ``UNDONE`` and ``undoes``, the id of that note; all else in it
    is as in that note.

    The order is that of an export. A note may gain values later, at the end; none ever goes.
    """

    id: Annotated[str, ID]
    epoch_ms: Annotated[int, Time(name="time")]
    offset_s: int
    zone: Annotated[str, Text(empty=True)]
    local_day: Annotated[str, Day()]
    table: Annotated[str, Text()]
    fullness: Annotated[float, Number(0, 1)]
    called: Annotated[str, Text()]
    side: Annotated[str, OneOf(("left", "right"))]
    result: Annotated[str, OneOf((*RESULTS, UNDONE))]
    distance: Annotated[str | float, Distance()]
    cue_ball: Annotated[Point | None, _place("cue_ball")] = None
    object_ball: Annotated[Point | None, _place("object_ball")] = None
    pocket: Annotated[
        str, Pattern(re.compile("|".join((*POCKETS, ""))), f"{', '.join(POCKETS)}, or nothing")
    ] = ""
    undoes: Annotated[
        str,
        Pattern(re.compile(f"(?:{PATTERN.pattern})?"), "the id of a note that is taken back, or nothing"),
    ] = ""
    pace: Annotated[str, Pace(("", *PACES))] = ""
    layout: Annotated[
        str, OfLayout(re.compile(f"(?:{PATTERN.pattern})?"), "the id of a layout of a card, or nothing")
    ] = ""

    @property
    def missed(self) -> bool:
        """Whether it was missed, thick or thin."""
        return self.result in (THICK, THIN)


def standing(lines: Sequence[Note]) -> list[Note]:
    """The notes that haven't been taken back, in their order."""
    gone = {line.undoes for line in lines if line.undoes}
    return [line for line in lines if not line.undoes and line.id not in gone]


NOTES = Record(
    Note,
    "notes",
    "a note",
    [
        all_or_none(
            ("cue_ball_x", "cue_ball_y", "object_ball_x", "object_ball_y", "pocket"),
            "is a part of a position; allowed: both balls' places and the pocket, or none of them",
        ),
        Rule(
            ("undoes", "result"),
            lambda undoes, result: (result == UNDONE) == bool(undoes),
            f"goes with the result {UNDONE}; allowed: both, or neither of them",
            f"(result = '{UNDONE}') = (undoes <> '')",
        ),
        Rule(
            ("undoes", "id"),
            lambda undoes, own: undoes != own,
            "is the line's own id; allowed: that of a note before",
            "undoes <> id",
        ),
    ],
)
