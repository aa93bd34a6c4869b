"""The kinds of line that the history holds, as export, import and merging see them."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from trainer.history.attempt import check_stroke, row_of
from trainer.history.attempt_fields import EXPORTED
from trainer.history.fields import Field, YesNo
from trainer.history.note import NOTE_FIELDS, check_places, check_undoes, note_row

# Which line takes a call back. What it says is read from the line itself: an index isn't sealed.
FIRST = (
    "(SELECT {} FROM undone WHERE id = (SELECT id FROM undone WHERE attempt_id = {}.id "
    "ORDER BY epoch_ms, offset_s LIMIT 1))"
)
UNDONE = "SELECT attempt_id FROM undone NOT INDEXED"


def names_of(columns: Iterable[str], of: str = "") -> str:
    """Columns for SQL; quoted, since some are words of SQL."""
    return ", ".join(f'{of}"{column}"' for column in columns)


@dataclass(frozen=True)
class Lines:
    """One kind of line: its table in the history, what one is called, its fields and how they hang together.

    The first two fields are the id and the time; the history holds the time as two numbers. ``together`` are
    checks of several values at once, each with the column that is named when it fails. ``row_of`` turns
    checked values into what the history holds. Of a kind that is ``undoable`` the last field is when it was
    taken back, which the history holds in lines of their own.
    """

    table: str
    one: str
    fields: tuple[Field, ...]
    together: tuple[tuple[str, Callable[[list[Any]], None]], ...]
    row_of: Callable[[list[Any]], tuple[Any, ...]]
    undoable: bool = False

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The columns of a file, in order."""
        return tuple(field.name for field in self.fields)

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """The columns of the history."""
        return (self.names[0], "epoch_ms", "offset_s", *self.names[2 : -1 if self.undoable else None])

    @cached_property
    def whole(self) -> tuple[str, ...]:
        """What is known of a line: the columns, and when it was taken back, None where it wasn't."""
        return (*self.columns, "undone_ms", "undone_s") if self.undoable else self.columns

    @cached_property
    def every(self) -> str:
        """SQL for every line in order: the columns, its check value, and for what is ``undoable`` also the
        rest of ``whole`` and, found in another way, whether it was taken back.
        """
        undone = [FIRST.format(part, self.table) for part in ("epoch_ms", "offset_s")]
        more = [*undone, f"id IN ({UNDONE})"] if self.undoable else []
        columns = names_of((*self.columns, "check"), f"{self.table}.")
        return f"SELECT {', '.join([columns, *more])} FROM {self.table} ORDER BY 1"

    @cached_property
    def yes_no(self) -> tuple[int, ...]:
        """Which of the values are true or false; the history holds them as 1 and 0."""
        return tuple(i for i, field in enumerate(self.fields) if isinstance(field, YesNo))

    @cached_property
    def defaults(self) -> dict[str, str]:
        """What is taken where a file from an older version lacks a column."""
        return {field.name: field.default for field in self.fields if field.default is not None}


def _whole_attempt(values: list[Any]) -> tuple[Any, ...]:
    return (*row_of(values[:-1]), *(values[-1] or (None, None)))


ATTEMPTS = Lines(
    "attempts", "an attempt", EXPORTED, (("speed", check_stroke),), _whole_attempt, undoable=True
)
NOTES = Lines(
    "notes", "a note", NOTE_FIELDS, (("cue_ball_x", check_places), ("undoes", check_undoes)), note_row
)
