"""A simulated player's history: when it is played, and what the game makes of it."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from trainer.history.attempt import Attempt
from trainer.history.clock import FixedClock, Moment, local_day
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.simulate.demo import TooFarBack, first_day, write_history
from trainer.simulate.players import Bump, Nature

UNTIL = "2026-04-02T09:00:00+01:00"
NATURE = Nature(noise=0.04, bumps=(Bump(-38.0, 0.08),))


def written(folder: Path, zone: str = "", **given: object) -> list[Attempt]:
    wanted = {"days": 3, "shots": 7, "seed": 1, "until": FixedClock(UNTIL, zone).now()} | given
    assert write_history(folder, open_shelf(), NATURE, **wanted) == wanted["days"] * wanted["shots"]
    with History.open(folder, FixedClock(UNTIL)) as history:
        return history.attempts()


def wall(attempt: Attempt) -> datetime:
    """The time on the wall where the player was."""
    utc = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=attempt.epoch_ms)
    return (utc + timedelta(seconds=attempt.offset_s)).replace(tzinfo=None)


def test_every_day_before_the_moment_has_its_calls_at_a_plausible_time(tmp_path: Path) -> None:
    attempts = written(tmp_path / "demo", days=4)
    days = [a.local_day for a in attempts]
    assert days == [f"2026-{day}" for day in ("03-29", "03-30", "03-31", "04-01") for _ in range(7)]
    for a in attempts:
        assert wall(a).date().isoformat() == a.local_day
        assert 7 <= wall(a).hour < 24
        assert a.seconds is not None
        assert 0.5 < a.seconds < 60
    assert len({wall(a).hour * 60 + wall(a).minute for a in attempts[::7]}) > 1
    gaps = [(b.epoch_ms - a.epoch_ms) / 1000 - (b.seconds or 0) for a, b in pairwise(attempts)]
    assert min(gaps) > 1  # the mark was looked at


def test_summer_time_begins_for_the_player_too(tmp_path: Path) -> None:
    attempts = written(tmp_path / "demo", "Europe/London", days=6, shots=2)
    offsets = {a.local_day: a.offset_s for a in attempts}
    # Directive 2000/84/EC, and the Summer Time Order 2002: the last Sunday of March, 1 h UTC.
    assert offsets == {
        f"2026-{day}": 0 if day < "03-29" else 3600
        for day in ("03-27", "03-28", "03-29", "03-30", "03-31", "04-01")
    }
    assert {a.zone for a in attempts} == {"Europe/London"}


def test_the_player_goes_up_the_path_with_free_practice_besides(tmp_path: Path) -> None:
    attempts = written(tmp_path / "demo", days=5, shots=14)
    with History.open(tmp_path / "demo", FixedClock(UNTIL)) as history:
        game = Game(history, open_shelf())
        levels = game.shelf.levels
        assert game.passed(levels[0])
        assert {a.level for a in attempts} >= {levels[0].name, levels[1].name, "free"}
    for set_id in {a.set_id for a in attempts}:
        numbers = [a.number for a in attempts if a.set_id == set_id]
        assert numbers == list(range(1, len(numbers) + 1))  # a set left open is gone on with


def test_one_level_alone_where_it_is_asked_for(tmp_path: Path) -> None:
    level = open_shelf().find("aim-fine")
    attempts = written(tmp_path / "demo", days=2, level=level)
    assert {(a.level, a.drill) for a in attempts} == {("aim-fine", "aim")}


def test_the_same_seed_makes_the_same_calls(tmp_path: Path) -> None:
    def made(name: str, seed: int) -> list[tuple[object, ...]]:
        attempts = written(tmp_path / name, days=2, seed=seed)
        return [(a.epoch_ms, a.cue_ball, a.key, a.value, a.seconds, a.level) for a in attempts]

    assert made("a", 1) == made("b", 1) != made("c", 2)


def test_the_player_answers_by_what_it_sees(tmp_path: Path) -> None:
    nature = Nature(noise=0.002, everywhere=0.125)
    level = open_shelf().find("slide-to-a-hair")  # where any error has an answer
    folder = tmp_path / "demo"
    until = FixedClock(UNTIL).now()
    write_history(folder, open_shelf(), nature, until=until, days=1, shots=12, seed=1, level=level)
    with History.open(folder, FixedClock(UNTIL)) as history:
        errors = [a.error for a in history.attempts()]
    assert sum(errors) / len(errors) == pytest.approx(0.125, abs=0.03)


def test_the_days_end_the_day_before_and_begin_after_1970() -> None:
    night = FixedClock("2026-03-02T03:00:00+00:00").now()  # still the first of March
    assert local_day(night) == "2026-03-01"
    assert first_day(night, 28).isoformat() == "2026-02-01"
    with pytest.raises(TooFarBack, match="40 days before 1970-02-01 begin before 1970"):
        first_day(Moment(31 * 86_400_000 + 40_000_000, 0), 40)
