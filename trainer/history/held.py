"""Calls, notes and cards that a newer version's history couldn't take, held beside it until the next start.

They stand in a file as in an export, so a version that knows more columns takes them in as it does those.
"""

import json
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from trainer.history.attempt import ATTEMPTS
from trainer.history.errors import TrainerError, shown
from trainer.history.fields import BadValue
from trainer.history.files import keep_text
from trainer.history.layout import LAYOUTS
from trainer.history.note import NOTES
from trainer.history.record import Record, Row

FILE = "history.held.json"
KINDS: dict[str, Record[Any]] = {kind.table: kind for kind in (ATTEMPTS, LAYOUTS, NOTES)}
SAME = ("set_id", "number")  # a call made again, since the first try ended in an error, takes its place


def hold(folder: Path, kind: Record[Any], row: Row) -> None:
    """Hold a row in order of the kind's ``columns``; it is on disk when this returns.

    Raises
    ------
    TrainerError
        If it can't be written.
    """
    held = _read(folder)
    nowhere = (None,) * (len(kind.whole) - len(kind.columns))
    one = dict(zip(kind.names, kind.exported((*row, *nowhere)), strict=True))
    others = held.setdefault(kind.table, [])
    if kind is ATTEMPTS:
        others[:] = [each for each in others if any(each.get(name) != one[name] for name in SAME)]
    others.append(one)
    keep_text(folder / FILE, json.dumps(held, ensure_ascii=False))


def rows(folder: Path) -> Iterator[tuple[Record[Any], list[tuple[int, Row]]]]:
    """What is held: checked rows of each kind, each with its place.

    Raises
    ------
    TrainerError
        If a value isn't allowed.
    """
    for table, held in _read(folder).items():
        kind = KINDS[table]
        try:
            yield kind, [(place, _row(kind, one)) for place, one in enumerate(held, 1)]
        except (BadValue, LookupError, TypeError) as error:
            raise _spoilt(folder, error) from None


def let_go(folder: Path) -> None:
    """Take the file away, once all of it is in the history."""
    with suppress(OSError):  # it is taken in once more then, which adds nothing
        (folder / FILE).unlink(missing_ok=True)


def _row(kind: Record[Any], one: dict[str, Any]) -> Row:
    whole = {**kind.defaults, **one}
    values = [field.from_json(whole[field.name]) for field in kind.fields]
    kind.check_rules(values)
    return kind.row_of(values)


def _read(folder: Path) -> dict[str, list[dict[str, Any]]]:
    try:
        text = (folder / FILE).read_text("utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise _spoilt(folder, error) from None
    try:
        found = {table: list(held) for table, held in json.loads(text).items()}
    except (ValueError, TypeError, AttributeError, RecursionError) as error:
        raise _spoilt(folder, error) from None
    if not set(found) <= set(KINDS):
        raise _spoilt(folder, ValueError("another table"))
    return found


def _spoilt(folder: Path, error: Exception) -> TrainerError:
    why = " ".join(str(error).split())
    return TrainerError(f"{shown(folder / FILE)} can't be taken into the history: {why}; move it away")
