"""One simulated player's weeks at the real game, kept on disk, to look at."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta, timezone, tzinfo
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo

import numpy as np

from trainer.history.clock import DAY_S, EPOCH, FIRST_MS, ROLLOVER_HOUR, Moment, local_day
from trainer.history.store import History
from trainer.levels.level import Level, free_practice
from trainer.levels.shelf import Shelf
from trainer.play.game import Game
from trainer.play.set_in_play import SetInPlay
from trainer.settings.settings import Settings, save_settings
from trainer.simulate.players import Nature, Player
from trainer.simulate.simulation import answer

T = TypeVar("T")

# When and how fast somebody plays: made up, so that a history looks like one.
HOUR, HOUR_SD, EARLIEST, LATEST = 18.5, 1.5, 7.0, 21.5  # of the day
THINKS, THINKS_SD = 4.2, 0.4  # seconds to a call (median), and the spread of their logarithm
LEAST_S, MOST_S = 0.8, 40.0
LOOKS_S = (1.5, 5.0)  # seconds that the mark is looked at
BETWEEN_S = (10.0, 60.0)  # seconds between two sets


@dataclass(frozen=True)
class Diary:
    """What a player's days are like, by their numbers from 1.

    ``rests`` are days without practice. The others hold from a day on: the zone that the player is in
    (before the first one that of the moment the days end at), the hour at which a day begins, and the
    hour at which practice begins (24 and more: so long after midnight; before the first one in the evening).
    """

    rests: frozenset[int] = frozenset()
    zones: Mapping[int, str] = field(default_factory=dict)
    rollovers: Mapping[int, int] = field(default_factory=dict)
    hours: Mapping[int, float] = field(default_factory=dict)

    @property
    def last(self) -> int:
        """The last day that it says anything of."""
        return max([*self.rests, *self.zones, *self.rollovers, *self.hours, 0])


def _on(day: int, values: Mapping[int, T], before: T) -> T:
    """The value that holds on a day."""
    begun = [first for first in values if first <= day]
    return values[max(begun)] if begun else before


class TooFarBack(ValueError):
    """The days would begin before the history can; the message is one line."""


class DayClock:
    """A clock that is set from day to day, and goes on by itself only when it is told to."""

    def __init__(self, until: Moment) -> None:
        self._offset, self._zone = timedelta(seconds=until.offset_s), until.zone
        self._moment = until

    def now(self) -> Moment:
        """The moment it is."""
        return self._moment

    def travel(self, zone: str) -> None:
        """Go to another zone, where that is its name; '' stays."""
        self._zone = zone or self._zone

    def set(self, day: date, hour: float) -> None:
        """Set it to a time of day, by the wall clocks of its zone."""
        local = datetime.combine(day, time()) + timedelta(milliseconds=round(hour * 3_600_000))
        # An hour that summer time leaves out is an hour later by the clock on the wall.
        self._be(local.replace(tzinfo=self._rules) - EPOCH)

    def wait(self, seconds: float) -> None:
        """Let time pass; summer time may begin meanwhile."""
        self._be(timedelta(milliseconds=self._moment.epoch_ms + round(1000 * seconds)))

    @property
    def _rules(self) -> tzinfo:
        return ZoneInfo(self._zone) if self._zone else timezone(self._offset)

    def _be(self, since: timedelta) -> None:
        """Be so long after 1970 in UTC."""
        offset = (EPOCH + since).astimezone(self._rules).utcoffset() or timedelta()
        ms = since // timedelta(milliseconds=1)
        self._moment = Moment(ms, round(offset.total_seconds()), self._zone)


def first_day(until: Moment, days: int) -> date:
    """The first of so many days that end the day before a moment.

    Raises
    ------
    TooFarBack
        If it lies before the history can begin.
    """
    today = date.fromisoformat(local_day(until))
    if until.epoch_ms - (days + 2) * DAY_S * 1000 < FIRST_MS:
        raise TooFarBack(f"{days} days before {today} begin before 1970")
    return today - timedelta(days=days)


def write_history(
    folder: Path,
    shelf: Shelf,
    nature: Nature,
    *,
    until: Moment,
    days: int,
    shots: int,
    seed: int,
    level: Level | None = None,
    diary: Diary = Diary(),
    progress: Callable[[int], object] = lambda calls: None,
) -> int:
    """Let a player play the game on each of the days before a moment, and keep every call in a folder.

    Parameters
    ----------
    folder : Path
        A data folder without a history.
    shelf : Shelf
    nature : Nature
    until : Moment
        The last day played is the one before this moment's; its zone is the player's.
    days, shots, seed : int
        Days in a row, calls a day; the same seed makes the same calls (ids are new each time).
    level : Level, optional
        What is played; None: each day a set on the path of levels, the rest free practice.
    diary : Diary, optional
        On which days, where and when; None of it is needed. Where it changes the hour at which a day
        begins, the folder's settings say so at the end.
    progress : callable, optional
        Is told how many calls more are on disk.

    Returns
    -------
    int
        How many calls were made.

    Raises
    ------
    TooFarBack
        If the first day would lie before the history can begin.
    TrainerError
        If it can't be written.
    """
    rng = np.random.default_rng([seed, 3])
    player, clock = Player(nature, np.random.default_rng([seed, 2])), DayClock(until)
    first = first_day(until, days)
    with History.open(folder, clock) as history:
        game, played_days = Game(history, shelf), 0
        for day in range(days):
            if day:
                player.sleep()
            usual = float(np.clip(rng.normal(HOUR, HOUR_SD), EARLIEST, LATEST))
            if day + 1 in diary.rests:
                continue
            played_days += 1
            history.rollover_hour = _on(day + 1, diary.rollovers, ROLLOVER_HOUR)
            clock.travel(_on(day + 1, diary.zones, ""))
            clock.set(first + timedelta(days=day), _on(day + 1, diary.hours, usual))
            left, wanted = shots, level or game.next_level()
            while left:
                played = _begin(game, wanted, rng)
                left -= _play(played, player, clock, rng, left, progress)
                clock.wait(rng.uniform(*BETWEEN_S))
                wanted = level or free_practice("aim", shelf.tables)
    if diary.rollovers:
        save_settings(folder, Settings(rollover_hour=_on(days, diary.rollovers, ROLLOVER_HOUR)))
    return played_days * shots


def _begin(game: Game, level: Level, rng: np.random.Generator) -> SetInPlay:
    """The set of this level that was left open, or a new one whose seed follows from the player's."""
    if game.unfinished(level) is not None:
        return game.begin(level)
    return game.begin(level, level.shots, int(rng.integers(1 << 32)))


def _play(
    played: SetInPlay,
    player: Player,
    clock: DayClock,
    rng: np.random.Generator,
    most: int,
    progress: Callable[[int], object],
) -> int:
    """Play a set to its end, or as many shots of it; how many it was."""
    player.begin_set()
    made = 0
    while made < most and not played.done:
        question = played.question()
        chosen = answer(question, player)
        seconds = float(np.clip(rng.lognormal(np.log(THINKS), THINKS_SD), LEAST_S, MOST_S))
        clock.wait(seconds)
        played.call(chosen, round(seconds, 3))
        clock.wait(rng.uniform(*LOOKS_S))
        progress(1)
        made += 1
    return made
