"""Moments, local days and zone names."""

import time
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.history.clock import (
    LAST_MS,
    FixedClock,
    Moment,
    SystemClock,
    iso,
    local_day,
    parse_iso,
    zone_name,
)


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    yield monkeypatch
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(("name", "offset"), [("Asia/Kathmandu", 20_700), ("Etc/GMT+5", -18_000), ("UTC", 0)])
def test_the_system_clock_knows_its_zone(zone: pytest.MonkeyPatch, name: str, offset: int) -> None:
    zone.setenv("TZ", name)
    time.tzset()
    before = time.time_ns() // 1_000_000
    moment = SystemClock().now()
    assert before <= moment.epoch_ms <= time.time_ns() // 1_000_000
    assert (moment.offset_s, moment.zone) == (offset, name)


@pytest.mark.parametrize(
    ("variable", "name"),
    [
        ("Europe/London", "Europe/London"),
        (":Europe/London", "Europe/London"),
        ("", "UTC"),
        ("CET-1CEST,M3.5.0,M10.5.0/3", ""),
        ("Nowhere/Land", ""),
        ("/etc/localtime", ""),
        ("Europe", ""),
        ("../etc", ""),
    ],
)
def test_zone_names_from_the_variable(monkeypatch: pytest.MonkeyPatch, variable: str, name: str) -> None:
    monkeypatch.setenv("TZ", variable)
    assert zone_name() == name


def test_zone_names_from_the_link(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("TZ", raising=False)
    link = tmp_path / "localtime"
    assert zone_name(link) == ""
    link.symlink_to(tmp_path / "zoneinfo" / "America" / "New_York")
    assert zone_name(link) == "America/New_York"
    link.unlink()
    link.write_bytes(b"TZif2")  # a copy of the rules tells no name
    assert zone_name(link) == ""


@pytest.mark.parametrize(
    ("text", "ms", "offset"),
    [
        ("1970-01-01T00:00:00+00:00", 0, 0),
        ("2026-03-01T12:00:00+01:00", 1_772_362_800_000, 3600),
        ("2026-03-01T11:00:00.007Z", 1_772_362_800_007, 0),
        ("2026-03-01 05:30-05:30", 1_772_362_800_000, -19_800),
    ],
)
def test_a_fixed_clock_stands_still(text: str, ms: int, offset: int) -> None:
    clock = FixedClock(text)
    assert clock.now() == clock.now() == Moment(ms, offset)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "is not a time"),
        ("now", "is not a time"),
        ("2026-02-30T10:00:00+00:00", "is not a time"),
        ("2026-03-01T12:00:00", "has no UTC offset"),
        ("2026-03-01", "has no UTC offset"),
        ("2026-03-01T12:00:00+24:00", "is not a time"),
        ("2026-03-01T12:00:00+01:00:00.5", "finer than a second"),
        ("2026-03-01T12:00:00.0001+01:00", "finer than a millisecond"),
        ("1969-12-31T23:59:59+00:00", "the years 1970 to 9998"),
        ("9999-12-31T23:59:59-23:00", "the years 1970 to 9998"),
        ("0001-01-01T00:00:00+23:00", "the years 1970 to 9998"),
        ("\x1b[31m\n" * 50, "is not a time"),
    ],
)
def test_a_bad_time_is_answered_in_one_line(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why) as caught:
        FixedClock(text)
    assert "allowed: " in str(caught.value)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 300


@settings(derandomize=True)
@given(st.integers(0, LAST_MS - 1), st.integers(-86_399, 86_399))
def test_iso_comes_back(ms: int, offset: int) -> None:
    assert parse_iso(iso(Moment(ms, offset))) == (ms, offset)


def test_iso_has_milliseconds_and_offset() -> None:
    assert iso(Moment(1_772_362_800_000, -19_800)) == "2026-03-01T05:30:00.000-05:30"


@pytest.mark.parametrize(
    ("text", "hour", "day"),
    [
        ("2026-03-01T03:59:59.999+01:00", 4, "2026-02-28"),
        ("2026-03-01T04:00:00+01:00", 4, "2026-03-01"),
        ("2028-03-01T00:30:00-09:00", 4, "2028-02-29"),
        ("2026-01-01T01:00:00+13:00", 4, "2025-12-31"),
        ("2026-03-01T00:00:00+01:00", 0, "2026-03-01"),
        ("2026-03-01T22:59:00+01:00", 23, "2026-02-28"),
        ("1970-01-01T00:00:00-01:00", 4, "1969-12-31"),
    ],
)
def test_a_day_begins_at_the_rollover_hour(text: str, hour: int, day: str) -> None:
    assert local_day(FixedClock(text).now(), hour) == day


@pytest.mark.parametrize("hour", [-1, 24])
def test_no_such_rollover_hour(hour: int) -> None:
    with pytest.raises(ValueError, match="allowed: 0 to 23"):
        local_day(Moment(0, 0), hour)


@pytest.mark.parametrize(
    ("name", "day", "hours"),
    [
        ("Europe/London", "2026-03-28", 23),  # the clock jumps in the night to the 29th
        ("Europe/London", "2026-10-24", 25),
        ("America/New_York", "2026-03-07", 23),
        ("America/New_York", "2026-10-31", 25),
        ("Australia/Lord_Howe", "2026-04-04", 24.5),  # half an hour of daylight saving
        ("Asia/Kathmandu", "2026-03-28", 24),
    ],
)
def test_days_of_daylight_saving_are_whole(name: str, day: str, hours: float) -> None:
    """From 04:00 to 04:00 by the clock on the wall, however long that is."""
    zone = ZoneInfo(name)
    start = datetime.fromisoformat(day + "T04:00:00").replace(tzinfo=zone)
    first = round(start.timestamp())
    counted: Counter[str] = Counter()
    for second in range(first - 7200, first + 30 * 3600, 900):
        offset = datetime.fromtimestamp(second, zone).utcoffset()
        assert isinstance(offset, timedelta)
        counted[local_day(Moment(second * 1000, round(offset.total_seconds())))] += 1
    assert counted[day] == hours * 4
    assert list(counted) == sorted(counted)
