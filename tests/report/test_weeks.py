"""Weeks and streaks against a calendar written by hand: six weeks, three zones, summer time, a new rollover.

The zones' rules come from the standard library's zoneinfo: the system's, or the package tzdata.
"""

import statistics
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import groupby
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from calendar_at_once import calendar

from trainer.history.attempt import Attempt
from trainer.history.clock import FixedClock, local_day
from trainer.history.store import History
from trainer.history.streaks import Streak, streak
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.report.report import report
from trainer.report.weeks import FEWEST, calendar_of
from trainer.report.wording import calendar_rows, figures, runs_words, streak_words
from trainer.settings.settings import read_settings
from trainer.shots.style import USUAL
from trainer.simulate.demo import Diary, write_history
from trainer.simulate.players import Nature

SHOTS = 2
# Day 1 is Monday, 9 March 2026. London goes over to summer time on 29 March (day 21), when a player in
# New York has been on it since 8 March; from day 31 on it is Tokyo, which has none.
DIARY = Diary(
    rests=frozenset({4, 12, 19, 33, 34}),
    zones={1: "Europe/London", 22: "America/New_York", 31: "Asia/Tokyo"},
    rollovers={38: 0},
    # Half past one in the night after: still the day before, until a day begins at midnight.
    hours={1: 18.5, 20: 25.5, 22: 18.5, 37: 25.5, 40: 18.5},
)
UNTIL = "2026-04-20T09:00:00+00:00"
TODAY = "2026-04-20"
# By hand, Monday to Sunday: calls of each day. On day 38 and 39 practice is at half past one of the day
# after, and a day begins at midnight by then: nothing on the 15th, and on the 17th those of day 39 and 40.
BY_HAND = {
    "2026-03-09": (2, 2, 2, 0, 2, 2, 2),
    "2026-03-16": (2, 2, 2, 2, 0, 2, 2),
    "2026-03-23": (2, 2, 2, 2, 0, 2, 2),
    "2026-03-30": (2, 2, 2, 2, 2, 2, 2),
    "2026-04-06": (2, 2, 2, 2, 0, 0, 2),
    "2026-04-13": (2, 2, 0, 2, 4, 2, 2),
}
# The streak that each day of these weeks ends with, with a pencil: two misses are eight days apart, then
# seven, so that both are forgiven; of those in a row, 10 and 11 April, the second ends it once it is over.
STREAKS = (
    *(1, 2, 3, 3, 4, 5, 6),
    *(7, 8, 9, 10, 10, 11, 12),
    *(13, 14, 15, 16, 16, 17, 18),
    *(19, 20, 21, 22, 23, 24, 25),
    *(26, 27, 28, 29, 29, 29, 1),
    *(2, 3, 3, 4, 5, 6, 7),
)
OFFSETS = {"Europe/London": {0, 3600}, "America/New_York": {-4 * 3600}, "Asia/Tokyo": {9 * 3600}}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where, shelf = tmp_path_factory.mktemp("weeks") / "data", open_shelf()
    level = shelf.find("eighths")
    write_history(
        where,
        shelf,
        Nature(),
        until=FixedClock(UNTIL, "UTC").now(),
        days=42,
        shots=SHOTS,
        seed=3,
        level=level,
        diary=DIARY,
    )
    return where


def opened(folder: Path, now: str = UNTIL) -> list[Attempt]:
    with History.open(folder, FixedClock(now)) as history:
        return history.attempts()


def by_hand() -> dict[str, int]:
    first = datetime(2026, 3, 9)
    counts = [count for week in BY_HAND.values() for count in week]
    return {(first + timedelta(days=i)).date().isoformat(): n for i, n in enumerate(counts) if n}


def test_the_days_are_those_of_the_hand_written_calendar(folder: Path) -> None:
    attempts = opened(folder)
    assert Counter(a.local_day for a in attempts) == by_hand()
    for week in calendar(attempts, TODAY).weeks:
        counts = tuple(0 if day is None else day.calls for _, day in map(week.on, range(7)))
        assert counts == BY_HAND[week.monday]
        assert (
            week.name
            == f"2026-W{10 + (datetime.fromisoformat(week.monday) - datetime(2026, 3, 2)).days // 7}"
        )


def test_the_streak_of_every_day_is_that_of_the_hand_written_calendar(folder: Path) -> None:
    days = sorted({a.local_day for a in opened(folder)})
    first = datetime(2026, 3, 9)
    for i, wanted in enumerate(STREAKS):
        today = (first + timedelta(days=i)).date().isoformat()
        found = streak([day for day in days if day <= today], today)
        assert found.days == wanted, today
        assert (found.tomorrow == 0) == (today == "2026-04-11")


def test_offsets_are_those_of_the_zones_rules(folder: Path) -> None:
    attempts = opened(folder)
    assert [zone for zone, _ in groupby(a.zone for a in attempts)] == list(OFFSETS)
    for zone, offsets in OFFSETS.items():
        mine = [a for a in attempts if a.zone == zone]
        assert {a.offset_s for a in mine} == offsets
        for a in mine:
            when = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=a.epoch_ms)
            offset = when.astimezone(ZoneInfo(zone)).utcoffset()
            assert offset == timedelta(seconds=a.offset_s)
    # Half past one on 29 March is left out in London: it is half past two by the clock on the wall.
    night = [a for a in attempts if a.local_day == "2026-03-28"]
    assert {a.offset_s for a in night} == {3600}


@pytest.mark.parametrize("hour", [0, 4, 23])
@pytest.mark.parametrize("now", [UNTIL, "2026-04-20T18:00:00+09:00", "2027-11-01T00:30:00-05:00"])
def test_nothing_that_is_set_afterwards_changes_a_past_day(folder: Path, hour: int, now: str) -> None:
    with History.open(folder, FixedClock(now, "Asia/Tokyo"), hour) as history:
        game = Game(history, open_shelf())
        assert Counter(a.local_day for a in game.attempts) == by_hand()
        assert game.history.today == local_day(FixedClock(now).now(), hour)
        weeks = report(game)["weeks"]
    assert {day["day"]: day["calls"] for week in weeks for day in week["days"]} == by_hand()


def test_the_hour_that_was_changed_stands_in_the_settings_and_holds_for_new_calls(
    folder: Path, tmp_path: Path
) -> None:
    settings, problems = read_settings(folder)
    assert (settings.rollover_hour, settings.day_begins, problems) == (0, 0, ())
    night = "2026-05-01T01:30:00+01:00"
    for hour, day in ((4, "2026-04-30"), (0, "2026-05-01"), (1, "2026-05-01"), (2, "2026-04-30")):
        with History.open(tmp_path / str(hour), FixedClock(night), hour) as history:
            game = Game(history, open_shelf())
            played = game.begin(game.level("eighths"), shots=1, seed=1)
            played.call(played.question().choices[0])
            assert [a.local_day for a in history.attempts()] == [day]


def test_of_the_last_weeks_only_their_calls_are_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with History.open(folder, FixedClock(UNTIL)) as history:
        game, read = Game(history, open_shelf()), list[str]()
        wanted = calendar(history.attempts(), history.today)
        days = history.attempts_of_days
        monkeypatch.setattr(history, "attempts_of_days", lambda *of: read.extend(of) or days(*of))
        found = calendar_of(game, 2)
        assert min(read) >= wanted.last(2)[0].monday
        assert (found.last(2), found.long) == (wanted.last(2), wanted.long)
        assert calendar_rows(found, 2, USUAL) == calendar_rows(wanted, 2, USUAL)
        assert runs_words(found, 0) == runs_words(wanted, 0)
        assert calendar_of(game) == wanted  # what was kept of two weeks doesn't stand for all


# Figures of a week


def test_a_weeks_figures_are_those_of_plain_loops(folder: Path) -> None:
    attempts = opened(folder)
    for week in calendar(attempts, TODAY).weeks:
        mine = [a for a in attempts if week.monday <= a.local_day <= week.on(6)[0]]
        assert week.calls == len(mine)
        assert week.right == sum(a.right for a in mine)
        assert week.seconds == statistics.median(a.seconds for a in mine)
        runs = [len(list(run)) for potted, run in groupby(a.potted for a in mine) if potted]
        assert week.best_run_of_pots == max(runs, default=0)
        assert week.seen is None
        assert 0 < week.missing <= FEWEST


def test_a_week_of_enough_calls_says_how_thick_and_how_scattered(folder: Path) -> None:
    one = opened(folder)[0]
    many = [
        replace(one, id=str(i), choices=(), drill="slide", error=0.05 + 0.02 * (-1) ** i) for i in range(60)
    ]
    (week,) = calendar(many, one.local_day).weeks
    assert week.seen is not None
    assert week.seen.bias == pytest.approx(0.05)
    assert week.seen.noise == pytest.approx(0.02, rel=0.05)
    assert week.seen.high - week.seen.low == pytest.approx(2 * 1.96 * week.seen.noise / 60**0.5, rel=0.01)
    (few,) = calendar(many[: FEWEST - 4], one.local_day).weeks
    assert (few.seen, few.missing) == (None, 4)
    assert figures(few, USUAL)[3:] == ("4 to go", "")


def test_an_empty_history_has_an_empty_calendar(game: Game) -> None:
    found = calendar_of(game)
    assert (found.weeks, found.streak, found.long) == ((), Streak(), 1)
    rows = calendar_rows(found, 6, USUAL)
    assert len(rows) == 6
    assert [cell.text for row in rows for cell in row.cells if cell.text] == ["now"]
    assert report(game)["weeks"] == []


def test_cells_say_what_was_played_missed_and_forgiven(folder: Path) -> None:
    rows = calendar_rows(calendar(opened(folder), "2026-04-20"), 7, USUAL)
    assert [row.label for row in rows] == [
        "9 Mar".rjust(6),
        "16 Mar",
        "23 Mar",
        "30 Mar",
        " 6 Apr",
        "13 Apr",
        "20 Apr",
    ]
    assert [cell.text for cell in rows[0].cells] == ["2", "2", "2", "·", "2", "2", "2"]
    assert [cell.text for cell in rows[5].cells] == ["2", "2", "~", "2", "4", "2", "2"]
    assert [cell.text for cell in rows[6].cells] == ["now", "", "", "", "", "", ""]


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Streak(0), "Practise today, and days in a row begin to count."),
        (Streak(3, (), 3), "3 days in a row."),
        (Streak(9, ("2026-03-01",), 9), "9 days in a row, 1 missed day forgiven."),
        (Streak(3, (), 0), "3 days in a row. Practise today to keep it."),
        (
            Streak(9, ("2026-03-01",), 4),
            "9 days in a row, 1 missed day forgiven. Practise today to keep it, or it goes on from 4.",
        ),
    ],
)
def test_the_streak_in_words(found: Streak, said: str) -> None:
    assert streak_words(found) == said
