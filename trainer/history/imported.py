"""What a line of an import must be besides allowed: one that the trainer could have written.

Times and days go together, ids are ours, balls lie on the table, and the answer is one of its drill's.
"""

from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import date
from functools import lru_cache
from operator import itemgetter
from typing import Any

from trainer.drills import DRILLS, Asked, Choice
from trainer.drills.judge import POTS, THICK, THIN
from trainer.drills.straight import WAYS
from trainer.geometry.tables import TABLES, Table
from trainer.history.attempt import ATTEMPTS
from trainer.history.clock import DAY_S
from trainer.history.errors import quoted
from trainer.history.record import Record
from trainer.levels.table_file import LENGTHS

FIRST_DAY, LAST_DAY = "2000-01-01", "2100-12-31"
FIRST, LAST = date.fromisoformat(FIRST_DAY).toordinal(), date.fromisoformat(LAST_DAY).toordinal()
EPOCH = date(1970, 1, 1).toordinal()
ONLY = {"straight": tuple(WAYS), "judge": (THICK, POTS, THIN)}  # of drills whose answers are always these
DAY_MS = DAY_S * 1000
LAST_MS = (LAST + 1 - EPOCH) * DAY_MS
GIVE = 1.0  # mm that a ball may be in a cushion, by rounding

Wrong = tuple[str, str]  # the column, and what is wrong with it
Check = Callable[[Sequence[Any]], Iterator[Wrong]]


def check_of(kind: Record[Any], own_tables: Collection[str] = ()) -> Check:
    """What says of the values of a kind's fields, each allowed by itself, what the trainer never writes.

    Parameters
    ----------
    kind : Record
        What the lines are.
    own_tables : strings
        The names of tables whose size isn't the built-in one's.
    """
    known = {name: table for name, table in TABLES.items() if name not in own_tables}
    places = tuple(zip(*(_places(kind, name) for name in ("cue_ball", "object_ball")), strict=True))
    line, answer = _picks(kind, "id", "time", "local_day", "table"), _answer(kind)
    others = kind.names.index("others") if kind is ATTEMPTS else None

    def wrong(values: Sequence[Any]) -> Iterator[Wrong]:
        own, (ms, offset_s), day, table = line(values)
        yield from _when(own, ms, offset_s, day)
        for columns in places:
            for column, at, axis, which in columns:
                if values[at] is not None and not _inside(values[at], axis, which, known.get(table)):
                    yield column, _off(values[at], table)
        for place in values[others] if others is not None else ():
            if not all(_inside(mm, axis, 1, known.get(table)) for axis, mm in enumerate(place)):
                yield "others", _off(list(place), table)
        yield from answer(values)

    return wrong


def _picks(kind: Record[Any], *names: str) -> Callable[[Sequence[Any]], Any]:
    return itemgetter(*map(kind.names.index, names))


def _places(kind: Record[Any], name: str) -> list[tuple[str, int, int, int]]:
    """The columns of a ball's place: name, index, axis, and which of the balls it is."""
    columns = (f"{name}_x", f"{name}_y")
    return [(c, kind.names.index(c), axis, name == "object_ball") for axis, c in enumerate(columns)]


def _inside(mm: float, axis: int, which: int, table: Table | None) -> bool:
    """Whether a ball's centre is on a table along one axis; one that isn't known here may be large."""
    if table is None:
        return 0 <= mm <= max(LENGTHS)
    least = (table.balls.cue_radius, table.balls.object_radius)[which] - GIVE
    return bool(least <= mm <= table.size[axis] - least)


def _off(value: object, table: str) -> str:
    return f"{quoted(value)} is off the table; allowed: a place on the table {quoted(table)}, mm"


def _when(own: str, ms: int, offset_s: int, day: str) -> Iterator[Wrong]:
    """The time, the day that it counts for, and the id, which holds the time that it was given out at."""
    here = (ms + 1000 * offset_s) // DAY_MS + EPOCH
    if not FIRST <= here <= LAST:
        yield "time", f"is out of range; allowed: the days {FIRST_DAY} to {LAST_DAY}"
    number = _ordinal(day)
    if not FIRST <= number <= LAST:
        yield "local_day", f"{quoted(day)} is out of range; allowed: {FIRST_DAY} to {LAST_DAY}"
    elif abs(number - here) > 1:
        near = f"{date.fromordinal(here)}" if FIRST <= here <= LAST else "that of the time"
        yield (
            "local_day",
            f"{quoted(day)} is over a day from its time; allowed: {near}, or a day beside it",
        )
    given_out = int(own[:8] + own[9:13], 16)
    if not ms <= given_out < LAST_MS:
        yield (
            "id",
            f"{quoted(own)} is none that the trainer gave out at that time; allowed: one whose first 48 bits "
            f"are the line's time or later, until {LAST_DAY}",
        )


@lru_cache(maxsize=4096)
def _ordinal(day: str) -> int:
    return date.fromisoformat(day).toordinal()


def _answer(kind: Record[Any]) -> Check:
    """What says that the answer is none of the line's drill."""
    if kind is not ATTEMPTS:
        return lambda values: iter(())
    pick = _picks(kind, "drill", "choices", "key", "call", "value")

    def wrong(values: Sequence[Any]) -> Iterator[Wrong]:
        drill, choices, key, call, value = pick(values)
        if drill not in DRILLS:
            yield "drill", f"{quoted(drill)} is no drill; allowed: {', '.join(DRILLS)}"
        elif choices and (key, call, value) not in choices:
            yield (
                "call",
                f"{quoted(call)} is none of the choices; allowed: one of them, with key and value",
            )
        elif not _fits(drill, choices, key, call, value if choices else 0.0):
            yield "call", f"{quoted(call)} is no answer of the drill {drill}; allowed: one that it offers"

    return wrong


@lru_cache(maxsize=4096)
def _fits(drill: str, choices: tuple[tuple[str, str, float], ...], key: str, call: str, value: float) -> bool:
    """Whether the learner can be told of an answer."""
    if drill in ONLY and call not in ONLY[drill]:
        return False
    asked = Asked(tuple((name, number) for _, name, number in choices), 30.0, 0.5, (0.45, 0.55))
    try:
        DRILLS[drill].told(asked, Choice(key, call, value), 0.0, 0.5, False)
    except (LookupError, ValueError, TypeError, ArithmeticError):
        return False
    return True
