"""Streaks of days and runs of calls.

The rule, as it is told to players: **days in a row with practice; one day missed in any seven is
forgiven: it isn't counted, and doesn't end the streak.**
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

RULE = (
    "Days in a row with practice. One day missed in any seven is forgiven: it isn't counted, and doesn't "
    "end the streak."
)
WEEK = 7  # of so many days in a row one may be missed


@dataclass(frozen=True)
class Streak:
    """A streak as it stands.

    ``days`` counts its days with practice; ``forgiven`` are the missed days in it, in order.
    ``tomorrow`` is how many days it has tomorrow if there is no (more) practice today.
    """

    days: int = 0
    forgiven: tuple[str, ...] = ()
    tomorrow: int = 0


def streak(days: Iterable[str], today: str) -> Streak:
    """The streak on a day.

    It is the longest stretch of days up to today in which any seven days in a row hold at most one
    missed one: where two are missed within seven days, days count from after the first of them. Today
    isn't over, so it isn't missed yet. Days later than today, after a flight west over the date line,
    count where they join on.

    Parameters
    ----------
    days : iterable of str
        Local days with practice, ``YYYY-MM-DD``, in any order; doubles count once.
    today : str
        The local day it is.
    """
    played, now = {_number(day) for day in days}, _number(today)
    found, forgiven = _back_from(played, now)
    return Streak(found, tuple(map(_text, forgiven)), _back_from(played, now + 1)[0])


def _back_from(played: set[int], now: int) -> tuple[int, list[int]]:
    """How many days with practice the streak on a day has, and which missed ones are forgiven."""
    day = now
    while day + 1 in played:
        day += 1
    count, forgiven, missed = 0, list[int](), list[int]()
    first = min(played, default=now + 1)
    while day >= first:
        if day in played:
            count += 1
            forgiven = list(missed)  # one is forgiven once there is practice before it
        elif day != now:
            if missed and missed[-1] - day < WEEK:
                break
            missed.append(day)
        day -= 1
    return count, forgiven[::-1]


def streak_days(days: Iterable[str], today: str) -> int:
    """How many days with practice the streak on a day has."""
    return streak(days, today).days


def _number(day: str) -> int:
    return date.fromisoformat(day).toordinal()


def _text(number: int) -> str:
    return date.fromordinal(number).isoformat()


def best_run(rights: Sequence[bool]) -> int:
    """The longest run of True."""
    best = run = 0
    for right in rights:
        run = run + 1 if right else 0
        best = max(best, run)
    return best


def run_now(rights: Sequence[bool]) -> int:
    """The run of True at the end."""
    run = 0
    for right in reversed(rights):
        if not right:
            break
        run += 1
    return run
