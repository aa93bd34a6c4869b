"""Streaks of days and runs of calls, against calendars written by hand."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.history.streaks import Streak, best_run, run_now, streak, streak_days


@pytest.mark.parametrize(
    ("days", "today", "streak"),
    [
        ("", "2026-03-01", 0),
        ("2026-03-01", "2026-03-01", 1),
        ("2026-02-28", "2026-03-01", 1),  # yesterday: today's practice may still come
        ("2026-02-27", "2026-03-01", 1),  # the 28th is forgiven
        ("2026-02-26", "2026-03-01", 0),  # two days missed
        ("2026-02-27 2026-02-28 2026-03-01", "2026-03-01", 3),
        ("2028-02-28 2028-03-01", "2028-03-01", 2),  # 2028 has a 29 February
        ("2028-02-28 2028-02-29 2028-03-01", "2028-03-01", 3),
        ("2025-12-30 2025-12-31 2026-01-01", "2026-01-02", 3),
        ("2026-04-29 2026-04-30 2026-05-01", "2026-05-01", 3),
        ("2026-05-01 2026-04-30 2026-05-01", "2026-05-01", 2),  # any order, doubles
        ("2026-04-27 2026-04-29 2026-04-30", "2026-04-30", 3),
        ("2026-04-26 2026-04-29 2026-04-30", "2026-04-30", 2),
        ("2026-02-28 2026-03-01 2026-03-02", "2026-03-01", 3),  # flown west over the date line
        ("2026-03-02", "2026-03-01", 1),
        ("2026-03-05", "2026-03-01", 0),  # a clock that was wrong
    ],
)
def test_streak_days(days: str, today: str, streak: int) -> None:
    assert streak_days(days.split(), today) == streak


# Days in a row that end today: # practice, . none. By hand, with a pencil, from the rule.
@pytest.mark.parametrize(
    ("days", "count", "forgiven", "tomorrow"),
    [
        ("#######", 7, "#######", 7),
        ("###.###", 6, "###~###", 6),
        ("###.##.", 5, "###~##.", 2),  # today may still be played; if not, two are missed within seven
        ("##.#####.#", 6, "##.#####~#", 6),  # six days apart: the first is where it begins
        ("##.######.#", 9, "##~######~#", 9),  # seven days apart: both forgiven
        ("#.#.#", 2, "#.#~#", 2),
        ("##..##", 2, "##..##", 2),
        ("####.", 4, "####.", 4),  # today isn't missed yet, and tomorrow it would be forgiven
        ("###..", 3, "###~.", 0),  # yesterday is forgiven, today wouldn't be
        ("##...", 0, "##...", 0),
        (".....", 0, ".....", 0),
        ("....#", 1, "....#", 1),
        ("#.######.######.######", 19, "#~######~######~######", 19),
    ],
)
def test_what_is_forgiven(days: str, count: int, forgiven: str, tomorrow: int) -> None:
    last = date(2026, 3, 10)
    dates = [(last - timedelta(days=back)).isoformat() for back in reversed(range(len(days)))]
    found = streak([d for d, sign in zip(dates, days, strict=True) if sign == "#"], last.isoformat())
    marked = tuple(d for d, sign in zip(dates, forgiven, strict=True) if sign == "~")
    assert found == Streak(count, marked, tomorrow)


def slowly(played: set[int], today: int) -> int:
    """The rule as it is told, tried with every first day: any seven days hold at most one missed one."""
    last = today
    while last + 1 in played:
        last += 1
    best = 0
    for first in range(last - 60, last + 1):
        days = range(first, last + 1)
        missed = [day for day in days if day not in played and day != today]
        if all(abs(one - other) > 6 for one, other in combinations(missed, 2)):
            best = max(best, sum(day in played for day in days))
    return best


@given(st.sets(st.integers(0, 40)), st.integers(0, 40))
def test_the_streak_is_what_the_rule_says(days: set[int], today: int) -> None:
    first = date(2027, 12, 20).toordinal()  # over a new year and a 29 February
    names = [date.fromordinal(first + day).isoformat() for day in days]
    found = streak(names, date.fromordinal(first + today).isoformat())
    assert found.days == slowly(days, today)
    assert found.tomorrow == slowly(days, today + 1)
    assert set(found.forgiven).isdisjoint(names)
    more = streak(
        [*names, date.fromordinal(first + today).isoformat()], date.fromordinal(first + today).isoformat()
    )
    assert more.days >= found.days  # practice never costs days


def test_the_first_and_the_last_day_there_are() -> None:
    assert streak(["0001-01-01"], "0001-01-01").days == 1
    assert streak(["9999-12-30", "9999-12-29"], "9999-12-30").days == 2


@pytest.mark.parametrize(
    ("calls", "best", "now"),
    [("", 0, 0), ("0", 0, 0), ("1", 1, 1), ("0110111", 3, 3), ("11110110", 4, 0), ("101", 1, 1)],
)
def test_runs(calls: str, best: int, now: int) -> None:
    rights = [call == "1" for call in calls]
    assert (best_run(rights), run_now(rights)) == (best, now)
