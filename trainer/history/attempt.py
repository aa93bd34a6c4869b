"""An attempt: one call with its shot, its truth and its time, enough to mark it again."""

import json
from dataclasses import dataclass
from typing import Any

from trainer.geometry.aiming import Stroke
from trainer.history.attempt_fields import FIELDS, NAMES
from trainer.history.fields import BadValue, Choice, Point, YesNo

# What the history holds of an attempt: the columns of an export, the time as two numbers.
COLUMNS = (NAMES[0], "epoch_ms", "offset_s", *NAMES[2:])
YES_NO = tuple(i for i, field in enumerate(FIELDS) if isinstance(field, YesNo))
CHOICES = NAMES.index("choices")
OTHERS = NAMES.index("others")
SPEED = NAMES.index("speed")


_compact = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


@dataclass(frozen=True)
class Attempt:
    """A mark with its time, level, view and response time, as it is stored.

    Lengths in mm, angles in degrees, ``offset``, ``called_offset``, ``margin_*``, ``error`` and
    ``answer_width`` (how far apart neighbouring answers were; 0 for a continuous drill) in ball
    widths. ``stroke`` is None where throw didn't count. ``choices`` are (key, name, value);
    ``key``, ``call`` and ``value`` are those of the call. ``right``: the best answer there was.
    ``seconds`` is the response time, None where it wasn't measured; ``others`` are the other balls that
    lay about.
    """

    id: str
    epoch_ms: int
    offset_s: int
    zone: str
    local_day: str
    set_id: str
    number: int
    of: int
    level: str
    drill: str
    view: str
    table: str
    cue_ball: Point
    object_ball: Point
    pocket: str
    stroke: Stroke | None
    cut_deg: float
    offset: float
    fullness: float
    throw_deg: float
    margin_low: float
    margin_high: float
    target: Point
    touching: Point
    choices: tuple[Choice, ...]
    answer_width: float
    key: str
    call: str
    value: float
    called_offset: float
    error: float
    potted: bool
    right: bool
    miss_mm: float
    seconds: float | None
    others: tuple[Point, ...] = ()


def values_of(attempt: Attempt) -> list[Any]:
    """The values of an attempt in the order of ``FIELDS``."""
    a, s = attempt, attempt.stroke
    return [
        *(a.id, (a.epoch_ms, a.offset_s), a.zone, a.local_day, a.set_id, a.number, a.of),
        *(a.level, a.drill, a.view, a.table, *a.cue_ball, *a.object_ball, a.pocket),
        *((None, None, None) if s is None else (s.speed, s.roll, s.side_spin)),
        *(a.cut_deg, a.offset, a.fullness, a.throw_deg, a.margin_low, a.margin_high),
        *(*a.target, *a.touching, a.choices, a.answer_width, a.key, a.call, a.value),
        *(a.called_offset, a.error, a.potted, a.right, a.miss_mm, a.seconds, a.others),
    ]


def check_stroke(values: list[Any]) -> None:
    """A stroke is whole or not there at all.

    Raises
    ------
    BadValue
        If only a part of it is there.
    """
    missing = values[SPEED : SPEED + 3].count(None)
    if missing not in (0, 3):
        raise BadValue("is a part of a stroke; allowed: speed, roll and side_spin, or none of them")


def row_of(values: list[Any]) -> tuple[Any, ...]:
    """Checked values in the order of ``FIELDS`` as the history holds them, in order of ``COLUMNS``."""
    stored = list(values)
    stored[CHOICES], stored[OTHERS] = compact(values[CHOICES]), compact(values[OTHERS])
    for i in YES_NO:
        stored[i] = int(values[i])
    stored[1:2] = values[1]
    return tuple(stored)


def compact(values: tuple[Choice, ...] | tuple[Point, ...]) -> str:
    """Choices or places as compact JSON."""
    return _compact(values) if values else "[]"


def attempt_of(row: tuple[Any, ...]) -> Attempt:
    """The attempt that a row in order of ``COLUMNS`` holds."""
    r = row
    choices = tuple((key, name, value) for key, name, value in json.loads(r[30]))
    stroke = None if r[17] is None else Stroke(*r[17:20])
    fields: list[Any] = [
        *(*r[:12], (r[12], r[13]), (r[14], r[15]), r[16], stroke),
        *(*r[20:26], (r[26], r[27]), (r[28], r[29]), choices),
        *(*r[31:37], bool(r[37]), bool(r[38]), *r[39:41]),
        tuple((x, y) for x, y in json.loads(r[41])),
    ]
    return Attempt(*fields)
