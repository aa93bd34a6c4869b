"""What a history holds that the trainer never wrote: looked for when something in it couldn't be used.

Reading trusts the history, since each value was checked before it was kept. One that was changed by hand
may still open; then this says which value it is.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from trainer.history.errors import TrainerError, quoted, shown
from trainer.history.fields import BadValue, Choices, Day, Field, Pattern, Places, Text, Time, Whole, YesNo
from trainer.history.ids import PATTERN
from trainer.history.lines import ATTEMPTS, NOTES, Lines

_ID, _TIME = Pattern("id", PATTERN, "a UUID of version 7 in lower case"), Time("time")
# Tables that are no kind of line: what each row is called, and its fields.
_OTHERS: tuple[tuple[str, str, tuple[Field, ...]], ...] = (
    (
        "sets",
        "a set",
        (
            *(_ID, _TIME, Text("zone", empty=True), Text("level", empty=True), Text("drill")),
            *(Whole("seed", -(2**63), 2**63 - 1), Whole("shots", 0, 1_000_000), YesNo("finished")),
        ),
    ),
    (
        "undone",
        "a call taken back",
        (_ID, Pattern("attempt_id", PATTERN, _ID.form), _TIME, Text("zone", empty=True), Day("local_day")),
    ),
    ("settings", "a setting", (Text("key"), Text("value", empty=True))),
)


def audit(file: Path) -> None:
    """Look at every value of a history.

    Raises
    ------
    TrainerError
        If one isn't allowed: in which line of which kind, and what is allowed.
    """
    try:
        uri = f"{file.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True)) as db:
            db.text_factory = lambda raw: raw.decode(errors="surrogateescape")
            found = next(_problems(db), None)
    except sqlite3.Error as error:
        found = " ".join(str(error).split())
    if found is not None:
        raise TrainerError(
            f"{shown(file)} was changed by something else than the trainer: {found}; put that right, or go "
            "back to a copy: trainer backups lists them"
        )


def _problems(db: sqlite3.Connection) -> Iterator[str]:
    for kind in (ATTEMPTS, NOTES):
        for row in db.execute(kind.every):
            yield from _of_row(kind.one, kind.fields, _as_fields(row, kind))
    for table, one, fields in _OTHERS:
        names = [part for f in fields for part in (("epoch_ms", "offset_s") if f is _TIME else (f.name,))]
        for row in db.execute(f"SELECT {', '.join(names)} FROM {table}"):
            values: list[Any] = list(row)
            if _TIME in fields:
                at = fields.index(_TIME)
                values[at : at + 2] = [(values[at], values[at + 1])]
            yield from _of_row(one, fields, values)
    totals = db.execute("SELECT n FROM totals WHERE name = 'attempts'").fetchall()
    if totals != db.execute("SELECT count(*) FROM attempts").fetchall():
        yield "its number of attempts isn't that of its attempts"


def _as_fields(row: tuple[Any, ...], kind: Lines) -> list[Any]:
    """A row in order of a kind's ``whole`` as its fields see it."""
    values = [row[0], (row[1], row[2]), *row[3 : len(kind.columns)]]
    if kind.undoable:
        values.append(None if row[-2] is None else (row[-2], row[-1]))
    return values


def _of_row(one: str, fields: Iterable[Field], values: list[Any]) -> Iterator[str]:
    for field, value in zip(fields, values, strict=True):
        try:
            if isinstance(field, YesNo):
                if value not in (0, 1):
                    raise field.bad(value)
            elif isinstance(field, Choices | Places):
                field.from_json(value)
            else:
                field.check(value)
        except BadValue as error:
            yield f"{one}, id {quoted(values[0])}, {field.name}: {error}"
