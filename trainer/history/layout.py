"""The layouts of practice cards, as they were made: what the ticks of a card are held against."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Annotated, Any

from trainer.geometry.tables import POCKETS
from trainer.history.fields import Day, Number, OneOf, Text, Whole
from trainer.history.record import ID, MM, Parts, Point, Record, Time

MOST_CARDS, MOST_LAYOUTS = 1_000_000, 100
UNITS = ("mm", "in")


def _place(name: str) -> Parts:
    return Parts(tuple(Number(-MM, MM, name=f"{name}_{axis}") for axis in "xy"))


@dataclass(frozen=True)
class KeptLayout:
    """One layout of a card.

    ``card`` is the card's number, ``nth`` the layout's place on it, from 1. ``kind`` is its kind of shot
    (``3/8 right``), ``unit`` what the card's round numbers are in; places are in mm. ``speed`` (m/s),
    ``roll`` and ``side_spin`` are how it is to be played.

    The order is that of an export.
    """

    id: Annotated[str, ID]
    epoch_ms: Annotated[int, Time(name="time")]
    offset_s: int
    zone: Annotated[str, Text(empty=True)]
    local_day: Annotated[str, Day()]
    card: Annotated[int, Whole(1, MOST_CARDS)]
    nth: Annotated[int, Whole(1, MOST_LAYOUTS)]
    kind: Annotated[str, Text()]
    table: Annotated[str, Text()]
    unit: Annotated[str, OneOf(UNITS)]
    cue_ball: Annotated[Point, _place("cue_ball")]
    object_ball: Annotated[Point, _place("object_ball")]
    pocket: Annotated[str, OneOf(POCKETS)]
    speed: Annotated[float, Number(0, 100)]
    roll: Annotated[float, Number(-10, 10)]
    side_spin: Annotated[float, Number(-10, 10)]

    @property
    def lies(self) -> tuple[Any, ...]:
        """All that makes it the same layout on another card."""
        return self.kind, self.table, self.cue_ball, self.object_ball, self.pocket


LAYOUTS = Record(KeptLayout, "layouts", "a layout")


def cards_of(layouts: Sequence[KeptLayout]) -> list[list[KeptLayout]]:
    """The cards that these are of, each its layouts in order; oldest first.

    Two machines may have given the same number; the cards are two then.
    """
    found = []
    for _, group in groupby(layouts, key=lambda one: (one.card, one.epoch_ms)):
        found.append(sorted(group, key=lambda one: one.nth))
    return found
