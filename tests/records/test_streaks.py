"""Streaks of days and runs of calls, against calendars written by hand."""

import pytest

from trainer.records.streaks import best_run, run_now, streak_days


@pytest.mark.parametrize(
    ("days", "today", "streak"),
    [
        ("", "2026-03-01", 0),
        ("2026-03-01", "2026-03-01", 1),
        ("2026-02-28", "2026-03-01", 1),  # yesterday: today's practice may still come
        ("2026-02-27", "2026-03-01", 0),
        ("2026-02-27 2026-02-28 2026-03-01", "2026-03-01", 3),
        ("2028-02-28 2028-03-01", "2028-03-01", 1),  # 2028 has a 29 February
        ("2028-02-28 2028-02-29 2028-03-01", "2028-03-01", 3),
        ("2025-12-30 2025-12-31 2026-01-01", "2026-01-02", 3),
        ("2026-04-29 2026-04-30 2026-05-01", "2026-05-01", 3),
        ("2026-05-01 2026-04-30 2026-05-01", "2026-05-01", 2),  # any order, doubles
        ("2026-04-27 2026-04-29 2026-04-30", "2026-04-30", 2),
        ("2026-02-28 2026-03-01 2026-03-02", "2026-03-01", 3),  # flown west over the date line
        ("2026-03-02", "2026-03-01", 1),
        ("2026-03-05", "2026-03-01", 0),  # a clock that was wrong
    ],
)
def test_streak_days(days: str, today: str, streak: int) -> None:
    assert streak_days(days.split(), today) == streak


@pytest.mark.parametrize(
    ("calls", "best", "now"),
    [("", 0, 0), ("0", 0, 0), ("1", 1, 1), ("0110111", 3, 3), ("11110110", 4, 0), ("101", 1, 1)],
)
def test_runs(calls: str, best: int, now: int) -> None:
    rights = [call == "1" for call in calls]
    assert (best_run(rights), run_now(rights)) == (best, now)
