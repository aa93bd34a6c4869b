"""A player's calendar worked out from all attempts at once, with nothing kept of it."""

from collections.abc import Sequence
from datetime import date

from trainer.history.attempt import Attempt
from trainer.history.streaks import best_run, streak
from trainer.report.weeks import Calendar, monday_of, week_of


def calendar(attempts: Sequence[Attempt], today: str) -> Calendar:
    """The calendar of attempts, in the order they were made, by their frozen local days."""
    of: dict[date, list[Attempt]] = {}
    for attempt in attempts:
        of.setdefault(monday_of(date.fromisoformat(attempt.local_day)), []).append(attempt)
    return Calendar(
        today=today,
        first=min((a.local_day for a in attempts), default=today),
        streak=streak({a.local_day for a in attempts}, today),
        weeks=tuple(week_of(monday, of[monday]) for monday in sorted(of)),
        best_run_of_pots=best_run([a.potted for a in attempts]),
    )
