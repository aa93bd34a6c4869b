"""Copies of the history: when they are made, how long they stay, and that they are whole."""

import os
import sqlite3
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.history import TrainerError, schema
from trainer.history import backup as backups
from trainer.history.backup import Backup, to_keep
from trainer.history.clock import Moment
from trainer.history.exchange import export, import_
from trainer.history.store import History

from .older import older
from .strategies import NOON, PLAIN, SetClock, open_history, plain

DAY_MS = 86_400_000


def on(day: int) -> Moment:
    """Noon, so many days after the first of March."""
    return Moment(NOON.epoch_ms + day * DAY_MS, NOON.offset_s, NOON.zone)


def names(folder: Path) -> list[str]:
    return [backup.name for backup in backups.backups(folder)]


@pytest.fixture
def clock() -> SetClock:
    return SetClock()


@pytest.fixture
def history(tmp_path: Path, clock: SetClock) -> Iterator[History]:
    with open_history(tmp_path / "data", clock) as history:
        yield history


def test_one_a_day_before_the_first_write(history: History, clock: SetClock, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    for day, calls in enumerate((2, 3, 1)):
        clock.moment = on(day)
        for _ in range(calls):
            history.append(plain(history))
    assert names(folder) == ["2026-03-02-1-daily", "2026-03-03-1-daily"]
    assert [backups.contents(b).calls for b in backups.backups(folder)] == [2, 5]
    assert backups.contents(backups.backups(folder)[0]).last == on(0)
    assert sorted(p.suffix for p in (folder / "backups").iterdir()) == [".sqlite3"] * 2


def test_two_that_are_open_at_once_make_one(history: History, clock: SetClock, tmp_path: Path) -> None:
    history.append(plain(history))
    clock.moment = on(1)
    with open_history(tmp_path / "data", clock) as other:
        for one in (history, other, history):
            one.append(plain(one))
    assert names(tmp_path / "data") == ["2026-03-02-1-daily"]


def test_none_where_nothing_was_added(history: History, clock: SetClock, tmp_path: Path) -> None:
    history.append(plain(history))
    clock.moment = on(1)
    with pytest.raises(TrainerError):
        history.undo("none")
    for day in range(2, 9):
        clock.moment = on(day)
        with pytest.raises(TrainerError):
            history.undo("none")
    assert names(tmp_path / "data") == ["2026-03-02-1-daily"]
    history.put_setting("player", "left")
    clock.moment = on(9)
    history.put_setting("player", "right")
    assert names(tmp_path / "data") == ["2026-03-02-1-daily", "2026-03-10-1-daily"]


def test_one_before_an_import(history: History, clock: SetClock, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    with open_history(tmp_path / "other") as other:
        other.append(plain(other))
        export(other, tmp_path / "a.csv")
    import_(history, tmp_path / "a.csv")
    assert names(folder) == []  # there was nothing to keep
    for _ in range(3):
        import_(history, tmp_path / "a.csv")  # the first of them follows something new
    assert names(folder) == ["2026-03-01-1-import"]
    (kept,) = backups.backups(folder)
    assert backups.contents(kept).calls == 1
    (tmp_path / "bad.csv").write_text("id\n")
    history.append(plain(history))
    with pytest.raises(TrainerError):
        import_(history, tmp_path / "bad.csv")
    assert names(folder) == ["2026-03-01-1-import"]


def test_one_before_a_migration(tmp_path: Path) -> None:
    with older(tmp_path, 1) as db:
        db.execute("INSERT INTO sets VALUES (?, 0, 0, '', '', 'band', 0, 12, 0)", (PLAIN.id,))
    open_history(tmp_path).close()
    open_history(tmp_path).close()
    assert names(tmp_path) == ["2026-03-01-1-migration"]
    (kept,) = backups.backups(tmp_path)
    with backups.opened(kept.file) as old:
        assert schema.pragma(old, "user_version") == 1
    assert backups.contents(kept).calls == 0


def test_no_migration_without_its_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_history(tmp_path) as history:
        history.append(plain(history))
    before = (tmp_path / "history.sqlite3").read_bytes()
    (tmp_path / "backups").write_text("in the way")
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, ("CREATE TABLE newer (id)",)))
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 1)
    with pytest.raises(TrainerError, match=r"no copy of the history could be kept in .*backups: File exists"):
        open_history(tmp_path)
    assert (tmp_path / "history.sqlite3").read_bytes() == before


def _full(handle: int) -> None:
    raise OSError(28, "No space left on device")


def test_a_full_disk_stops_an_import_but_not_a_call(
    history: History, clock: SetClock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.append(plain(history))
    export(history, tmp_path / "a.csv")
    history.append(plain(history))
    clock.moment = on(1)
    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", _full)
        with pytest.raises(
            TrainerError, match=r"no copy .* could be kept in .*: No space left on device; make"
        ):
            import_(history, tmp_path / "a.csv")
        history.append(plain(history))
    assert "No space left on device" in history.backup_problem
    assert history.count() == 3
    assert os.listdir(tmp_path / "data" / "backups") == []


def test_a_full_disk_as_sqlite_says_it(
    history: History, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.append(plain(history))
    opened = sqlite3.connect

    def small(*args: object, **more: object) -> sqlite3.Connection:
        db: sqlite3.Connection = opened(*args, **more)  # type: ignore[call-overload]
        db.execute("PRAGMA max_page_count = 3")
        return db

    monkeypatch.setattr(sqlite3, "connect", small)
    with pytest.raises(TrainerError, match=r"no copy .* could be kept in .*: .*full; make room"):
        backups.keep(history._db, tmp_path / "data", "2026-03-01", backups.IMPORT)
    assert os.listdir(tmp_path / "data" / "backups") == []


def test_names_that_are_none_of_ours_are_left_alone(history: History, tmp_path: Path) -> None:
    place = tmp_path / "data" / "backups"
    place.mkdir(parents=True)
    strange = (
        "2026-02-30-1-daily.sqlite3",
        "2026-03-01-1-mine.sqlite3",
        "a.sqlite3",
        "2020-01-01-1-daily.db",
    )
    for name in strange:
        (place / name).write_text("mine")
    (place / "2020-01-01-1-daily.sqlite3").symlink_to(place / "a.sqlite3")
    history.append(plain(history))
    backups.keep(history._db, tmp_path / "data", "2026-03-01", backups.IMPORT)
    assert names(tmp_path / "data") == ["2026-03-01-1-import"]
    assert {p.name for p in place.iterdir()} >= {*strange, "2020-01-01-1-daily.sqlite3"}


def test_what_a_sudden_end_left_goes_after_an_hour(history: History, tmp_path: Path) -> None:
    place = tmp_path / "data" / "backups"
    place.mkdir(parents=True)
    old, fresh = place / ".0123.part", place / ".4567.part"
    for part in (old, fresh):
        part.write_text("half")
    history.append(plain(history))
    made = old.stat().st_mtime
    os.utime(old, (made - 7200, made - 7200))
    backups.keep(history._db, tmp_path / "data", "2026-03-01", backups.IMPORT)
    assert (old.exists(), fresh.exists()) == (False, True)


# Thinning


def made(*days: str) -> list[Backup]:
    return [Backup(day, 1, "daily", Path(day)) for day in days]


def test_thinned_by_hand() -> None:
    """The calendar of 2026: the 1st of March was a Sunday, the 4th of May a Monday."""
    today = "2026-06-30"
    stays = {
        *("2026-06-30", "2026-06-24"),  # within 7 days
        *("2026-06-23", "2026-06-21", "2026-05-03", "2026-04-29"),  # the last of their weeks
        *("2026-04-28", "2026-03-31", "2025-12-31"),  # the last of their months
    }
    goes = {"2026-06-22", "2026-06-15", "2026-04-27", "2026-03-01", "2025-12-01"}
    assert {b.day for b in to_keep(made(*stays, *goes), today)} == stays - {"2026-04-29"}


def test_a_damaged_one_takes_no_place() -> None:
    sound, damaged = (
        Backup("2025-01-01", 1, "daily", Path("a")),
        Backup("2025-01-02", 1, "damaged", Path("b")),
    )
    assert to_keep([sound, damaged], "2026-01-01") == {sound, damaged}


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sets(st.integers(0, 500), min_size=1, max_size=80), st.integers(0, 60))
def test_thinned_day_by_day(days: set[int], later: int) -> None:
    """As copies come: never further back than a week, then a month, from what a player may want."""
    first = date(2025, 1, 1)
    found: set[Backup] = set()
    for day in sorted(days):
        today = (first + timedelta(day)).isoformat()
        found = to_keep([*found, *made(today)], today)
    today_is = max(days) + later
    found = to_keep(sorted(found), (first + timedelta(today_is)).isoformat())
    ages = sorted(today_is - (date.fromisoformat(b.day) - first).days for b in found)
    assert {today_is - day for day in days if today_is - day < 7} == {age for age in ages if age < 7}
    assert sum(7 <= age < 63 for age in ages) <= 9  # eight weeks touch nine by the calendar
    assert sum(age >= 63 for age in ages) <= 18
    for day in days:
        age = today_is - day
        reach = 7 if age < 63 else 31
        assert any(-31 <= age - kept <= reach for kept in ages), (age, ages)
    assert to_keep(sorted(found), (first + timedelta(today_is)).isoformat()) == found
