"""One clock for everything: moments with their UTC offset, zone, and local day."""

import os
import time
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from functools import lru_cache
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo

ROLLOVER_HOUR = 4  # a session that runs past midnight belongs to the day it began on
FIRST_MS = 0
LAST_MS = 253_370_764_800_000  # the year 9999 begins: the last year that ISO 8601 dates can name
DAY_S = 24 * 60 * 60
EXAMPLE = "2026-03-01T18:30:00+01:00"
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
BARE_EPOCH = EPOCH.replace(tzinfo=None)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Moment:
    """A moment as a player lived it: ms since 1970 in UTC, UTC offset in seconds, zone name or ''."""

    epoch_ms: int
    offset_s: int
    zone: str = ""


def short_date(day: str) -> str:
    """``" 2 Mar"``."""
    when = date.fromisoformat(day)
    return f"{when.day:>2} {MONTHS[when.month - 1]}"


class Clock(Protocol):
    """Anything that tells the time."""

    def now(self) -> Moment:
        """The moment it is."""
        ...


class SystemClock:
    """The machine's clock and time zone."""

    def now(self) -> Moment:
        """The moment it is, with the zone's name where the machine tells it."""
        ms = time.time_ns() // 1_000_000
        return Moment(ms, time.localtime(ms // 1000).tm_gmtoff, zone_name())


class FixedClock:
    """A clock that stands still.

    Parameters
    ----------
    iso_text : str
        An ISO 8601 time with its UTC offset.
    zone : str, optional
        The name of its zone.

    Raises
    ------
    ValueError
        If it is anything else; the message is one line.
    """

    def __init__(self, iso_text: str, zone: str = ""):
        try:
            self.moment = Moment(*parse_iso(iso_text), zone)
        except ValueError as error:
            raise ValueError(f"{iso_text[:40]!r} {error}") from None

    def now(self) -> Moment:
        """The moment it was given."""
        return self.moment


def parse_iso(text: str) -> tuple[int, int]:
    """Milliseconds since 1970 and UTC offset in seconds of an ISO 8601 time.

    Raises
    ------
    ValueError
        The message says what is wrong and what is allowed, to be put after the text itself.
    """
    allowed = f"allowed: an ISO 8601 time with its UTC offset, as {EXAMPLE}"
    try:
        when = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(f"is not a time; {allowed}") from None
    offset = when.utcoffset()
    if offset is None:
        raise ValueError(f"has no UTC offset; {allowed}")
    if offset.microseconds:
        raise ValueError(f"has an offset finer than a second; {allowed}")
    if when.microsecond % 1000:
        raise ValueError(f"is finer than a millisecond; {allowed}")
    # The difference of two aware times is exact; a float timestamp would not be.
    ms = (when - EPOCH) // timedelta(milliseconds=1)
    if not FIRST_MS <= ms < LAST_MS:
        raise ValueError("is out of range; allowed: the years 1970 to 9998")
    return ms, round(offset.total_seconds())


def iso(moment: Moment) -> str:
    """ISO 8601 with milliseconds and UTC offset; :func:`parse_iso` gives the same moment back."""
    return iso_of(moment.epoch_ms, moment.offset_s)


def iso_of(epoch_ms: int, offset_s: int) -> str:
    """The same of a moment's two numbers."""
    local = BARE_EPOCH + timedelta(0, offset_s, 0, epoch_ms)
    return local.isoformat("T", "milliseconds") + _offset(offset_s)


@lru_cache(maxsize=256)
def _offset(seconds: int) -> str:
    """A UTC offset as ISO 8601 writes it."""
    zone = timezone(timedelta(seconds=seconds))
    return EPOCH.replace(tzinfo=zone).isoformat().removeprefix(BARE_EPOCH.isoformat())


def local_day(moment: Moment, rollover_hour: int = ROLLOVER_HOUR) -> str:
    """The day a moment counts for, ``YYYY-MM-DD``.

    Before ``rollover_hour`` (0 to 23) by the clock on the wall it is still the day before.
    """
    if not 0 <= rollover_hour <= 23:
        raise ValueError(f"a rollover hour of {rollover_hour} is not allowed; allowed: 0 to 23")
    when = _local(moment)
    day = when.date()
    return (day - timedelta(days=1) if when.hour < rollover_hour else day).isoformat()


def _local(moment: Moment) -> datetime:
    utc = EPOCH + timedelta(milliseconds=moment.epoch_ms)
    return utc.astimezone(timezone(timedelta(seconds=moment.offset_s)))


def zone_name(link: Path = Path("/etc/localtime")) -> str:
    """The name of this machine's time zone, as ``Europe/London``, or '' where it doesn't tell.

    ``TZ`` comes first, then where ``/etc/localtime`` leads: the way the C library finds the rules.
    """
    given = os.environ.get("TZ")
    if given is not None:
        name = given.removeprefix(":") or "UTC"  # POSIX: an empty TZ means UTC
    else:
        _, found, name = os.path.realpath(link).partition("zoneinfo/")
        if not found:
            return ""
    try:
        # A path, or a rule like CET-1CEST, is no name.
        return ZoneInfo(name).key
    except (KeyError, ValueError, OSError):
        return ""
