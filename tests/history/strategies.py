"""Attempts of every kind, for hypothesis, and one plain one."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import POCKETS
from trainer.history.attempt import ANY, MM, WIDTHS, Attempt
from trainer.history.clock import Clock, Moment, local_day
from trainer.history.fields import FORBIDDEN, LONGEST
from trainer.history.ids import Ids
from trainer.history.store import History

NOON = Moment(1_772_362_800_000, 3600, "Europe/Paris")  # 2026-03-01T12:00:00+01:00


IN_2000, IN_2100 = 946_857_600_000, 4_133_851_200_000  # the third of January of each


class SetClock:
    """A clock that is set by hand."""

    def __init__(self, moment: Moment = NOON):
        self.moment = moment

    def now(self) -> Moment:
        return self.moment


def open_history(folder: Path, clock: Clock | None = None) -> History:
    return History.open(folder, clock or SetClock())


PLAIN = Attempt(
    id=Ids().new(NOON.epoch_ms),
    epoch_ms=NOON.epoch_ms,
    offset_s=NOON.offset_s,
    zone=NOON.zone,
    local_day=local_day(NOON),
    set_id="a set",
    number=1,
    of=12,
    level="quarters",
    drill="band",
    view="plan",
    table="snooker",
    cue_ball=(1000.25, 800.5),
    object_ball=(2000.1, 900.7),
    pocket="top-left",
    stroke=None,
    cut_deg=30.1,
    offset=0.5015,
    fullness=0.4985,
    throw_deg=0.0,
    margin_low=0.45,
    margin_high=0.55,
    target=(3569.0, 1778.0),
    touching=(1950.0, 880.0),
    choices=(("1", "full", 1.0), ("2", "1/2", 0.5)),
    answer_width=0.5,
    key="2",
    call="1/2",
    value=0.5,
    called_offset=0.5,
    error=0.0015,
    potted=True,
    right=True,
    miss_mm=1.25,
    seconds=3.5,
)


def plain(history: History, **changes: Any) -> Attempt:
    """The plain attempt with a new id of these records."""
    return replace(PLAIN, **{"id": history.new_id(history.clock.now())} | changes)


def _number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high) | st.sampled_from([-0.0, float(low), float(high)])


_letters = st.characters(exclude_categories=["Cs"]).filter(lambda c: not FORBIDDEN.search(c))


def _text(least: int = 0) -> st.SearchStrategy[str]:
    return st.text(_letters, min_size=least, max_size=12) | st.just("é" * LONGEST)


_mm = _number(-MM, MM)
_widths = _number(-WIDTHS, WIDTHS)
_on_table = st.tuples(st.floats(30, 1900), st.floats(30, 900))  # on every table that has a name
_point = st.tuples(_mm, _mm)
_stroke = st.none() | st.builds(Stroke, _number(0, 100), _number(-10, 10), _number(-10, 10))


def _as_kept(attempt: Attempt, later_ms: int, days: int, choice: int) -> Attempt:
    """What the trainer sees to: an id of that time or a later one, a day near it, one of the choices."""
    day = local_day(Moment(attempt.epoch_ms, attempt.offset_s), 0)
    key, call, value = (
        attempt.choices[choice % len(attempt.choices)]
        if attempt.choices
        else ("", attempt.call, attempt.value)
    )
    return replace(
        attempt,
        id=Ids().new(attempt.epoch_ms + later_ms),
        local_day=str(date.fromisoformat(day) + timedelta(days)),
        **{"key": key, "call": call, "value": value},
    )


_made = st.builds(
    Attempt,
    id=st.just(""),
    epoch_ms=st.integers(IN_2000, IN_2100),
    offset_s=st.integers(-86_399, 86_399),
    zone=_text(),
    local_day=st.just(""),
    set_id=_text(1),
    number=st.integers(1, 10**6),
    of=st.integers(0, 10**6),
    level=_text(),
    drill=st.sampled_from(("band", "aim")),
    view=_text(1),
    table=st.just("snooker") | _text(1),
    cue_ball=_on_table,
    object_ball=_on_table,
    pocket=st.sampled_from(POCKETS),
    stroke=_stroke,
    cut_deg=_number(-90, 90),
    offset=_widths,
    fullness=_number(0, 1),
    throw_deg=_number(-90, 90),
    margin_low=_widths,
    margin_high=_widths,
    target=_point,
    touching=_point,
    choices=st.lists(st.tuples(_text(), _text(1), st.floats(-ANY, ANY)), max_size=9).map(tuple),
    answer_width=_number(0, WIDTHS),
    key=_text(),
    call=_text(1),
    value=_number(-ANY, ANY),
    called_offset=_widths,
    error=_number(-ANY, ANY),
    potted=st.booleans(),
    right=st.booleans(),
    miss_mm=_number(0, ANY),
    seconds=st.none() | _number(0, ANY),
)
attempts = st.builds(_as_kept, _made, st.integers(0, 10**11), st.integers(-1, 1), st.integers(0, 9))
