"""Lines as text: what the modules csv and json of Python's own make of the same values."""

import csv
import io
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.history.attempt import Attempt, row_of, values_of
from trainer.history.clock import Moment, iso
from trainer.history.lines import ATTEMPTS, NOTES, Lines
from trainer.history.written import csv_head, csv_lines, json_objects

from .strategies import attempts

MADE = settings(max_examples=60, deadline=None, derandomize=True)
UNDONE = st.none() | st.tuples(st.integers(0, 2**40), st.integers(-86_399, 86_399))
NOTE = ("id", 1, 3600, "", "2026-03-01", "snooker", 0.5, "1/2", "left", "potted")


def flat(row: tuple[Any, ...], kind: Lines) -> list[Any]:
    """A row's values in order of a file's columns, one by one."""
    found = [row[0], iso(Moment(row[1], row[2])), *row[3 : len(kind.columns)]]
    if kind.undoable:
        found.append("" if row[-2] is None else iso(Moment(row[-2], row[-1])))
    return [bool(value) if i in kind.yes_no else value for i, value in enumerate(found)]


def by_csv(rows: list[tuple[Any, ...]], kind: Lines) -> str:
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(kind.names)
    for row in rows:
        cells = flat(row, kind)
        writer.writerow(str(c).lower() if isinstance(c, bool) else c for c in cells)
    return file.getvalue()


def by_json(rows: list[tuple[Any, ...]], kind: Lines) -> list[str]:
    objects = [dict(zip(kind.names, flat(row, kind), strict=True)) for row in rows]
    return [json.dumps(each, ensure_ascii=False, allow_nan=False) for each in objects]


@MADE
@given(st.lists(st.tuples(attempts, UNDONE), min_size=1, max_size=5))
def test_attempts_are_written_as_by_csv_and_json(made: list[tuple[Attempt, Any]]) -> None:
    rows = [(*row_of(values_of(attempt)), *(undone or (None, None))) for attempt, undone in made]
    assert csv_head(ATTEMPTS) + "".join(csv_lines(rows, ATTEMPTS)) == by_csv(rows, ATTEMPTS)
    assert list(json_objects(rows, ATTEMPTS)) == by_json(rows, ATTEMPTS)


@pytest.mark.parametrize("distance", ["far", 612.5, 'a "far", one'])
@pytest.mark.parametrize("place", [None, -0.0, 5e-324, 1e22, 0.1 + 0.2])
def test_a_column_may_hold_words_numbers_and_nothing(distance: object, place: object) -> None:
    rows = [
        (*NOTE, distance, place, place, None, 2.0, "", ""),
        (*NOTE, "near", 1.0, None, place, 100000000000000000.0, "top-left", "é, 'ß'"),
    ]
    assert csv_head(NOTES) + "".join(csv_lines(rows, NOTES)) == by_csv(rows, NOTES)
    assert list(json_objects(rows, NOTES)) == by_json(rows, NOTES)
