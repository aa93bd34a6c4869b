"""Days and weeks: what was played on each, how right and how quick, and how thick or thin it was seen."""

import json
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import astuple, dataclass
from datetime import date, timedelta
from statistics import median
from typing import Any

from trainer.drills import ANGLE
from trainer.geometry.fullness import band_of
from trainer.history import TrainerError
from trainer.history.attempt import Attempt
from trainer.history.queries import Day
from trainer.history.streaks import Streak, best_run, streak
from trainer.learner.call import Call
from trainer.learner.censored import fit_normal, without_outliers
from trainer.play.calls import skill_of, told_by
from trainer.play.game import Game
from trainer.play.pair import without_seconds

WEEK = 7
FEWEST = 30  # calls in a week that tell how full a shot was seen, from which bias and scatter are given
LEAST_WEEKS = 6  # a calendar shows at least
NAME = "weeks"  # what the history keeps them under


@dataclass(frozen=True)
class WeekBias:
    """The mean error of a week's calls in balls: bias (+ thick), its 95 % interval, and scatter."""

    bias: float
    low: float
    high: float
    noise: float


@dataclass(frozen=True)
class Week:
    """A week from Monday to Sunday.

    ``name`` is that of ISO 8601, as ``2026-W09``; ``days`` are its days with practice. ``seconds`` is
    the median response time, None where none was measured; ``seen`` is None where too few calls tell of
    how full a shot was seen, and ``missing`` says how many more it takes.
    """

    name: str
    monday: str
    days: tuple[Day, ...]
    calls: int
    right: int
    potted: int
    best_run_of_pots: int
    seconds: float | None
    seen: WeekBias | None
    missing: int

    @property
    def share_right(self) -> float | None:
        """The part of the calls that were right; None without calls."""
        return self.right / self.calls if self.calls else None

    def on(self, place: int) -> tuple[str, Day | None]:
        """A day of the week, from 0 for Monday, and what was played on it."""
        day = (date.fromisoformat(self.monday) + timedelta(days=place)).isoformat()
        return day, next((each for each in self.days if each.day == day), None)


@dataclass(frozen=True)
class Calendar:
    """The weeks with practice, in order, the streak as it stands, and the longest run of pots.

    ``first`` is the first day with practice, today where there is none.
    """

    today: str
    first: str
    streak: Streak
    weeks: tuple[Week, ...]
    best_run_of_pots: int

    @property
    def long(self) -> int:
        """How many weeks there are from the first with practice to this one, or to a later one."""
        known = [date.fromisoformat(week.monday) for week in self.weeks]
        ends = [*known, *(monday_of(date.fromisoformat(day)) for day in (self.first, self.today))]
        return (max(ends) - min(ends)).days // WEEK + 1

    def last(self, weeks: int) -> tuple[Week, ...]:
        """So many weeks in a row up to this one, or to a later one with practice; some may be empty."""
        known = {date.fromisoformat(week.monday): week for week in self.weeks}
        end = max([*known, monday_of(date.fromisoformat(self.today))])
        mondays = [end - timedelta(days=WEEK * back) for back in reversed(range(weeks))]
        return tuple(known.get(monday) or week_of(monday, ()) for monday in mondays)


def calendar_of(game: Game, last: int | None = None) -> Calendar:
    """A player's calendar: of all weeks, or only of so many up to this one, or to a later one with practice.

    The figures of a week that is over are worked out once, and kept in the history. Those of years take
    seconds: whoever shows a few weeks asks for these.
    """
    today = game.history.today
    days_played, best = game.history.day_counts()
    of: dict[date, list[Day]] = {}
    for each in days_played:
        of.setdefault(monday_of(date.fromisoformat(each.day)), []).append(each)
    now = max(of, default=None)
    end = max([*of, monday_of(date.fromisoformat(today))])
    begin = date.min if last is None else end - timedelta(days=WEEK * (last - 1))
    found = game.history.get_snapshot(NAME)
    kept = json.loads(found[1] if found else "{}")
    weeks, made = list[Week](), False
    for monday, days in sorted((monday, days) for monday, days in of.items() if monday >= begin):
        week = _kept_week(monday, tuple(days), kept.get(monday.isoformat()))
        if week is None:
            week = week_of(monday, list(game.history.attempts_of_days(days[0].day, days[-1].day)))
            if monday != now:
                kept[monday.isoformat()], made = _figures(week), True
        weeks.append(week)
    if made and now is not None:
        with suppress(TrainerError):  # they can be had again
            last_id = game.history.last_id_before(now.isoformat())
            game.history.put_snapshot(NAME, last_id, json.dumps(kept, separators=(",", ":")))
    first = days_played[0].day if days_played else today
    return Calendar(today, first, streak((each.day for each in days_played), today), tuple(weeks), best)


def _figures(week: Week) -> list[Any]:
    """What is kept of a week: what its days don't say, and what tells whether its calls have changed."""
    seen = None if week.seen is None else astuple(week.seen)
    counts = [week.calls, week.right, week.potted]
    return [counts, week.best_run_of_pots, week.seconds, seen, week.missing]


def _kept_week(monday: date, days: tuple[Day, ...], figures: list[Any] | None) -> Week | None:
    """The week with these days, from what was kept of it; None if there was nothing, or other days."""
    calls, right, potted = sum(d.calls for d in days), sum(d.right for d in days), sum(d.potted for d in days)
    if figures is None or figures[0] != [calls, right, potted]:
        return None
    _, best_run_of_pots, seconds, seen, missing = figures
    told = None if seen is None else WeekBias(*seen)
    name, first = _name(monday), monday.isoformat()
    return Week(name, first, days, calls, right, potted, best_run_of_pots, seconds, told, missing)


def _name(monday: date) -> str:
    year, number, _ = monday.isocalendar()
    return f"{year}-W{number:02}"


def monday_of(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def week_of(monday: date, attempts: Sequence[Attempt]) -> Week:
    """The week that begins with a Monday, from its attempts in the order they were made."""
    of: dict[str, list[Attempt]] = {}
    for attempt in attempts:
        of.setdefault(attempt.local_day, []).append(attempt)
    seconds = [a.seconds for a in attempts if a.seconds is not None]
    told = _telling(attempts)
    return Week(
        name=_name(monday),
        monday=monday.isoformat(),
        days=tuple(_day(day, of[day]) for day in sorted(of)),
        calls=len(attempts),
        right=sum(a.right for a in attempts),
        potted=sum(a.potted for a in attempts),
        best_run_of_pots=best_run([a.potted for a in attempts]),
        seconds=median(seconds) if seconds else None,
        seen=_seen(told) if len(told) >= FEWEST else None,
        missing=max(FEWEST - len(told), 0),
    )


def _day(day: str, attempts: Sequence[Attempt]) -> Day:
    rights, pots = [a.right for a in attempts], [a.potted for a in attempts]
    return Day(day, len(attempts), sum(rights), sum(pots), best_run(rights), best_run(pots))


def _telling(attempts: Iterable[Attempt]) -> list[Call]:
    """The calls that tell how full a shot was seen."""
    calls = [told_by(a) for a in without_seconds(attempts) if skill_of(a.drill) == ANGLE]
    return [c for c in calls if c.tells]


def _seen(calls: Sequence[Call]) -> WeekBias:
    """Bias of a week's calls, and scatter about each kind's own mean: a fault isn't noise."""
    mine = without_outliers(calls)
    kinds = [(band_of(c.fullness).name, c.sine >= 0) for c in mine]
    places = {kind: place for place, kind in enumerate(dict.fromkeys(kinds))}
    found = fit_normal(mine, [places[kind] for kind in kinds])
    half = 1.96 * found.error
    return WeekBias(found.mean, found.mean - half, found.mean + half, found.sd)
