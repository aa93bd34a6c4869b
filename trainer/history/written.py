"""Lines of the history as text: exactly what the modules csv and json would write of them, but sooner.

Most of it is spent on the shortest text of each number. So a batch is turned column by column into what
stands in a file, and every line is then one template filled in.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from json.encoder import encode_basestring
from math import isfinite
from typing import Any

from trainer.history.clock import iso_of
from trainer.history.lines import Lines
from trainer.history.seal import Row

TO_QUOTE = re.compile('[,"\r\n]')
PLAIN = {int, float}  # whose ``str`` is what stands in either kind of file
TEXT = {str}

Column = Sequence[Any]


def csv_head(kind: Lines) -> str:
    """The first line: the names of the columns."""
    return ",".join(kind.names) + "\n"


def csv_lines(rows: Sequence[Row], kind: Lines) -> Iterator[str]:
    """Stored rows as lines of CSV, nothing where there is no value."""
    template = ",".join(["%s"] * len(kind.names)) + "\n"
    return _filled(template, rows, kind, _in_csv)


def json_objects(rows: Sequence[Row], kind: Lines) -> Iterator[str]:
    """Stored rows as JSON objects."""
    template = "{" + ", ".join(f'"{name}": %s' for name in kind.names) + "}"
    return _filled(template, rows, kind, _in_json)


def _filled(
    template: str, rows: Sequence[Row], kind: Lines, texts: Callable[[Column], Column]
) -> Iterator[str]:
    """The template filled in with each row, the values made to texts."""
    columns = _columns(rows, kind)
    for i in kind.yes_no:
        columns[i] = ["true" if value else "false" for value in columns[i]]
    for i, column in enumerate(columns):
        if i in kind.yes_no:
            continue
        whole = PLAIN.issuperset(map(type, column))
        numbers = column if whole else [value for value in column if value.__class__ is float]
        if not isfinite(sum(numbers)) and not all(map(isfinite, numbers)):
            raise ValueError("infinity and what is no number were never kept")
        if not whole:
            columns[i] = texts(column)
    return map(template.__mod__, zip(*columns, strict=True))


def _columns(rows: Sequence[Row], kind: Lines) -> list[Column]:
    """The columns of a file: those of the rows, in order of the kind's ``whole``, with times as text."""
    columns: list[Column] = list(zip(*rows, strict=True))
    flat = [columns[0], _times(*columns[1:3]), *columns[3 : len(kind.columns)]]
    return [*flat, _times(*columns[-2:])] if kind.undoable else flat


def _times(ms: Sequence[int | None], offset_s: Sequence[int]) -> list[str]:
    return ["" if t is None else iso_of(t, s) for t, s in zip(ms, offset_s, strict=True)]


def _in_csv(column: Column) -> Column:
    """Values of a column as cells of CSV."""
    if TEXT.issuperset(map(type, column)) and not TO_QUOTE.search("".join(column)):
        return column
    return [_cell(value) for value in column]


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if value.__class__ is str and TO_QUOTE.search(value):
        return '"' + value.replace('"', '""') + '"'
    return value


def _in_json(column: Column) -> list[Any]:
    """Values of a column as values of JSON."""
    return [
        encode_basestring(value) if value.__class__ is str else "null" if value is None else value
        for value in column
    ]
