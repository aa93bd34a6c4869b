"""Streaks of days and runs of calls."""

from collections.abc import Sequence
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)


def streak_days(days: Sequence[str], today: str) -> int:
    """How many local days in a row have practice, up to today or, before today's, yesterday.

    Days later than today, after a flight west over the date line, count where they join on.

    Parameters
    ----------
    days : sequence of str
        Local days with practice, ``YYYY-MM-DD``, in any order; doubles count once.
    today : str
        The local day it is.
    """
    played = {date.fromisoformat(day) for day in days}
    day = date.fromisoformat(today)
    while day + ONE_DAY in played:
        day += ONE_DAY
    if day not in played:
        day -= ONE_DAY
    count = 0
    while day in played:
        count += 1
        day -= ONE_DAY
    return count


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
