"""An attempt: one call with its shot, its truth and its time, enough to mark it again."""

import json
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, ClassVar

from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import POCKETS
from trainer.history.fields import (
    FORBIDDEN,
    LONGEST,
    BadValue,
    Day,
    Field,
    Number,
    OneOf,
    Text,
    Whole,
    YesNo,
    is_number,
)
from trainer.history.record import ID, MM, Parts, Point, Record, Time, all_or_none

WIDTHS = 100.0  # ball widths
ANY = 1e9

MOST_CHOICES = 200
MOST_BALLS = 40

Choice = tuple[str, str, float]

_compact = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


@dataclass(frozen=True)
class Listed(Field):
    """A short list, as compact JSON in SQLite and in files."""

    def sql(self) -> str:
        return self._column("TEXT", "json_valid({0}) AND json_type({0}) = 'array'")

    def from_text(self, text: str) -> Any:
        try:
            return self.check(json.loads(text))
        except (ValueError, RecursionError) as error:
            raise error if isinstance(error, BadValue) else self.bad(text) from None

    def from_json(self, value: Any) -> Any:
        if not isinstance(value, str):
            raise self.bad(value)
        return self.from_text(value)

    def stored(self, value: tuple[Any, ...]) -> str:
        return _compact(value) if value else "[]"


@lru_cache(maxsize=256)  # a level offers the same answers again and again
def _choices(stored: str) -> tuple[Choice, ...]:
    return tuple((key, name, value) for key, name, value in json.loads(stored))


@dataclass(frozen=True)
class Choices(Listed):
    """The answers that were offered: key, name and value each."""

    def loaded(self, stored: str) -> tuple[Choice, ...]:
        return _choices(stored)

    @property
    def allowed(self) -> str:
        return (
            f"JSON: a list of at most {MOST_CHOICES} of [key, name, value], "
            "two short texts and a finite number"
        )

    def check(self, value: Any) -> tuple[Choice, ...]:
        if not isinstance(value, tuple | list) or len(value) > MOST_CHOICES:
            raise self.bad(value)
        return tuple(self._one(choice, value) for choice in value)

    def _one(self, choice: Any, value: Any) -> Choice:
        if not isinstance(choice, tuple | list) or len(choice) != 3:
            raise self.bad(value)
        key, name, number = choice
        if not isinstance(key, str) or not isinstance(name, str) or not is_number(number):
            raise self.bad(value)
        try:
            number = float(number)
        except OverflowError:
            raise self.bad(value) from None
        if len(key) > LONGEST or len(name) > LONGEST or FORBIDDEN.search(key + name):
            raise self.bad(value)
        if not math.isfinite(number):
            raise self.bad(value)
        return key, name, number


@dataclass(frozen=True)
class Places(Listed):
    """Places of balls on the table, mm. A file from before there were any has none."""

    default: ClassVar[str | None] = "[]"

    def loaded(self, stored: str) -> tuple[Point, ...]:
        return () if stored == "[]" else tuple((x, y) for x, y in json.loads(stored))

    @property
    def allowed(self) -> str:
        return f"JSON: a list of at most {MOST_BALLS} of [x, y], mm within {MM:g}"

    def check(self, value: Any) -> tuple[Point, ...]:
        if not isinstance(value, tuple | list) or len(value) > MOST_BALLS:
            raise self.bad(value)
        return tuple(self._one(place, value) for place in value)

    def _one(self, place: Any, value: Any) -> Point:
        if not isinstance(place, tuple | list) or len(place) != 2:
            raise self.bad(value)
        for mm in place:
            if not is_number(mm) or not abs(mm) <= MM:
                raise self.bad(value)
        return float(place[0]), float(place[1])


STROKE = ("speed", "roll", "side_spin")
_STROKE = (
    Number(0, 100, optional=True, name="speed"),
    Number(-10, 10, optional=True, name="roll"),
    Number(-10, 10, optional=True, name="side_spin"),
)


def _place(name: str) -> Parts:
    return Parts((Number(-MM, MM, name=f"{name}_x"), Number(-MM, MM, name=f"{name}_y")))


@dataclass(frozen=True)
class Attempt:
    """A mark with its time, level, view and response time, as it is stored.

    Lengths in mm, angles in degrees, ``offset``, ``called_offset``, ``margin_*``, ``error`` and
    ``answer_width`` (how far apart neighbouring answers were; 0 for a continuous drill) in ball
    widths. ``stroke`` is None where throw didn't count. ``choices`` are (key, name, value);
    ``key``, ``call`` and ``value`` are those of the call. ``right``: the best answer there was.
    ``seconds`` is the response time, None where it wasn't measured; ``others`` are the other balls that
    lay about.

    The order is that of an export. An attempt may gain values later, at the end; none ever goes.
    """

    id: Annotated[str, ID]
    epoch_ms: Annotated[int, Time(name="time")]
    offset_s: int
    zone: Annotated[str, Text(empty=True)]
    local_day: Annotated[str, Day()]
    set_id: Annotated[str, Text()]
    number: Annotated[int, Whole(1, 1_000_000)]
    of: Annotated[int, Whole(0, 1_000_000)]
    level: Annotated[str, Text(empty=True)]
    drill: Annotated[str, Text()]
    view: Annotated[str, Text()]
    table: Annotated[str, Text()]
    cue_ball: Annotated[Point, _place("cue_ball")]
    object_ball: Annotated[Point, _place("object_ball")]
    pocket: Annotated[str, OneOf(POCKETS)]
    stroke: Annotated[Stroke | None, Parts(_STROKE, Stroke, STROKE)]
    cut_deg: Annotated[float, Number(-90, 90)]
    offset: Annotated[float, Number(-WIDTHS, WIDTHS)]
    fullness: Annotated[float, Number(0, 1)]
    throw_deg: Annotated[float, Number(-90, 90)]
    margin_low: Annotated[float, Number(-WIDTHS, WIDTHS)]
    margin_high: Annotated[float, Number(-WIDTHS, WIDTHS)]
    target: Annotated[Point, _place("target")]
    touching: Annotated[Point, _place("touching")]
    choices: Annotated[tuple[Choice, ...], Choices()]
    answer_width: Annotated[float, Number(0, WIDTHS)]
    key: Annotated[str, Text(empty=True)]
    call: Annotated[str, Text()]
    value: Annotated[float, Number(-ANY, ANY)]
    called_offset: Annotated[float, Number(-WIDTHS, WIDTHS)]
    error: Annotated[float, Number(-ANY, ANY)]
    potted: Annotated[bool, YesNo()]
    right: Annotated[bool, YesNo()]
    miss_mm: Annotated[float, Number(0, ANY)]
    seconds: Annotated[float | None, Number(0, ANY, optional=True)]
    others: Annotated[tuple[Point, ...], Places()] = ()


ATTEMPTS = Record(
    Attempt,
    "attempts",
    "an attempt",
    [all_or_none(STROKE, "is a part of a stroke; allowed: speed, roll and side_spin, or none of them")],
    undoable=True,
)


@dataclass(frozen=True)
class TakenBack:
    """That a call was taken back: it stays, and counts for nothing. Several machines may have said so."""

    id: Annotated[str, ID]
    attempt_id: Annotated[str, ID]
    epoch_ms: Annotated[int, Time(name="time")]
    offset_s: int
    zone: Annotated[str, Text(empty=True)]
    local_day: Annotated[str, Day()]


UNDONE = Record(TakenBack, "undone", "a call taken back", references={"attempt_id": ATTEMPTS.table})
