"""A damaged history goes on from the newest good copy; and when that day's copy is made."""

import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest

from trainer.history import TrainerError, upkeep
from trainer.history import backup as backups
from trainer.history.errors import Damaged
from trainer.history.repair import recover
from trainer.history.store import FILE, History

from .damaging import LATER, damage_of, spoilt
from .strategies import SetClock, open_history, plain
from .test_backups import names, on


@pytest.fixture
def copied(mine: Path) -> Path:
    """With copies: an older one that is good, a newer one that isn't, and two calls since."""
    clock = SetClock(on(50))
    with open_history(mine, clock) as history:
        for day in (50, 51, 51):
            clock.moment = on(day)
            history.append(plain(history))
    half(backups.backups(mine)[-1].file)
    return mine


def found(folder: Path) -> Damaged:
    damage = damage_of(folder)
    assert damage is not None
    return damage


def empty(file: Path) -> None:
    file.write_bytes(b"")


def half(file: Path) -> None:
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])


def no_database(file: Path) -> None:
    file.write_bytes(b"my shopping" * 999)


def a_line(file: Path) -> None:
    """The oldest line: the others can still be read."""
    oldest = "UPDATE attempts SET potted = 2 WHERE id = (SELECT min(id) FROM attempts)"
    spoilt(file.parent, "PRAGMA ignore_check_constraints = ON", oldest)


@pytest.mark.parametrize(
    ("spoil", "saved"),
    [
        (a_line, ", with 3 calls made since that could still be read: 35 c"),
        (empty, ": 32 c"),
        (no_database, ": 32 c"),
    ],
)
def test_the_newest_good_copy_takes_its_place(
    copied: Path, spoil: Callable[[Path], None], saved: str
) -> None:
    older, _ = names(copied)
    spoil(copied / FILE)
    before = (copied / FILE).read_bytes()
    said = recover(found(copied), LATER)
    assert said is not None
    assert said.isprintable()
    assert (
        f"is set aside as 2026-04-22-1-damaged; the newest good copy, {older}, is in its place{saved}" in said
    )
    assert (copied / "backups" / "2026-04-22-1-damaged.sqlite3").read_bytes() == before
    with open_history(copied) as history:
        history.check()
        assert history.count() == (32 if ": 32" in saved else 35)
        history.append(plain(history))
    assert "import" not in "".join(names(copied))


def test_what_stands_only_in_the_log_is_kept(copied: Path, tmp_path: Path) -> None:
    """As a sudden end leaves it: the last calls are in the log beside a file that is damaged."""
    a_line(copied / FILE)
    with open_history(copied, SetClock(on(53))) as history:
        history.wait_for_check()
        history._damage = None
        history._db.execute("PRAGMA wal_autocheckpoint = 0")
        for _ in range(3):
            history.append(plain(history))
        shutil.copytree(copied, tmp_path / "ended")
        want = history.ever()
    ended = tmp_path / "ended"
    assert (ended / f"{FILE}-wal").stat().st_size
    assert recover(found(ended), LATER)
    with open_history(ended) as history:
        assert history.ever() == want  # the one that can't be used is in the copy


def test_not_while_another_has_it_open(copied: Path) -> None:
    a_line(copied / FILE)
    error = found(copied)
    with closing(sqlite3.connect(copied / FILE)) as other:
        other.execute("SELECT count(*) FROM attempts").fetchone()
        with pytest.raises(TrainerError, match="is open in another program"):
            recover(error, LATER)
    assert len(names(copied)) == 2


def test_another_has_been_quicker(copied: Path) -> None:
    a_line(copied / FILE)
    error = found(copied)
    assert recover(error, LATER)
    assert recover(error, LATER) == ""
    assert len(names(copied)) == 3


def test_without_a_good_copy_all_is_left(mine: Path) -> None:
    a_line(mine / FILE)
    before = (mine / FILE).read_bytes()
    assert recover(found(mine), LATER) is None
    assert (mine / FILE).read_bytes() == before


# The day's copy


@dataclass(frozen=True)
class SlowCopy:
    """When a copy has begun, and when it may be made."""

    begun: threading.Event
    go: threading.Event


@pytest.fixture
def slow_copy(mine: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SlowCopy]:
    """A large history, whose copy isn't whole before somebody says so."""
    begun, go, made = threading.Event(), threading.Event(), backups._copy

    def slow(db: sqlite3.Connection, file: Path) -> None:
        begun.set()
        assert go.wait(60)
        made(db, file)

    monkeypatch.setattr(upkeep, "COPIED_AT_ONCE", 0)
    monkeypatch.setattr(backups, "_copy", slow)
    yield SlowCopy(begun, go)
    go.set()


def test_no_call_waits_for_a_large_copy(mine: Path, slow_copy: SlowCopy) -> None:
    with History.open(mine, SetClock(on(50))) as history:
        for _ in range(3):
            history.append(plain(history))
        assert history.count() == 35
        assert names(mine) == []
        slow_copy.go.set()
    (kept,) = backups.backups(mine)
    assert backups.contents(kept).calls == 32  # as it was before the first of them
    with backups.sound(kept):
        pass


def test_a_large_copy_that_fails_is_told(mine: Path, slow_copy: SlowCopy) -> None:
    (mine / "backups").mkdir()
    with History.open(mine, SetClock(on(50))) as history:
        history.append(plain(history))
        assert slow_copy.begun.wait(60)  # before that it would make the folder anew
        shutil.rmtree(mine / "backups")
        slow_copy.go.set()
        history.wait_for_copy()
        assert "no copy of the history could be kept" in history.backup_problem
        assert history.count() == 33


def test_whether_to_copy_is_decided_without_reading_all(mine: Path) -> None:
    """The counts and the last ids are all that is looked at: an index, not the calls themselves."""
    with History.open(mine, SetClock(on(50))) as history:
        backups.keep(history._db, mine, "2026-04-20", backups.DAILY)
        texts: list[str] = []
        history._db.set_trace_callback(texts.append)
        backups.keep(history._db, mine, "2026-04-21", backups.DAILY)
        assert names(mine) == ["2026-04-20-1-daily"]
        plans = [
            row[-1]
            for text in texts
            if text.startswith("SELECT") and "attempts" in text and "EXISTS" not in text
            for row in history._db.execute(f"EXPLAIN QUERY PLAN {text}").fetchall()
        ]
        history._db.set_trace_callback(None)
        assert plans
        assert not [plan for plan in plans if plan.startswith("SCAN attempts") and "COVERING" not in plan]
        history.append(plain(history))
        backups.keep(history._db, mine, "2026-04-21", backups.DAILY)
    assert names(mine) == ["2026-04-20-1-daily", "2026-04-21-1-daily"]


def test_a_damaged_file_set_aside_is_no_copy(copied: Path) -> None:
    a_line(copied / FILE)
    recover(found(copied), LATER)
    with open_history(copied, SetClock(on(52))) as history:
        history.append(plain(history))
        history.put_setting("minutes", "10")
    assert str(names(copied)).count("2026-04-22") == 1
