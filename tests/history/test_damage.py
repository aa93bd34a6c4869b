"""Damage is found where it is read, said, and undone from the newest good copy; never read in silence."""

import json
import random
import re
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import pytest

from trainer.history import TrainerError, backups, opened, schema
from trainer.history.clock import FixedClock
from trainer.history.errors import Damaged
from trainer.history.lines import ATTEMPTS, NOTES
from trainer.history.merging import Merged
from trainer.history.opened import FILE
from trainer.history.recovery import recover
from trainer.history.seal import line_check
from trainer.history.store import History
from trainer.history.transfer import export, import_

from .damaging import content, fill, flip, inputs
from .strategies import SetClock, open_history, plain
from .test_backups import names, on
from .test_notes import plain as plain_note

SINCE = 155  # lines that were added after the copy; the others are in that
A_PAGE = 16  # lines on a page, and more
LATER = FixedClock("2026-04-22T12:00:00+00:00")


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("small") / "data"
    fill(folder, 36, digest=False)
    return folder


@pytest.fixture
def mine(small: Path, tmp_path: Path) -> Path:
    """A history of this test's own."""
    shutil.copytree(small, tmp_path / "data")
    return tmp_path / "data"


def flips(folder: Path, many: int, seed: int) -> list[tuple[int, int]]:
    rng, size = random.Random(seed), (folder / FILE).stat().st_size
    return [(rng.randrange(size), 1 << rng.randrange(8)) for _ in range(many)]


def test_a_check_that_never_changes() -> None:
    """Worked out once: were it another one some day, every history would be called damaged."""
    assert line_check(("é😀\x7f", 1, None, -0.0, 2.5, 2**40)) == 0x66BDF17C
    assert line_check((1,)) != line_check((1.0,)) != line_check(("1",))
    assert line_check((0.0,)) != line_check((-0.0,))


@pytest.mark.parametrize(("read", "many"), [(inputs, 60), (content, 8)])
def test_flipped_bytes(mine: Path, read: Callable[[Path, Path], list[object]], many: int) -> None:
    told = flip(mine, flips(mine, many, many), read)
    assert told.other == []
    assert told.same + told.damaged == many
    assert told.damaged > 3


def test_every_byte_of_the_header(mine: Path) -> None:
    told = flip(mine, [(place, 0x41) for place in range(16, 100)], inputs)
    assert told.other == []
    assert told.damaged > 30


@pytest.mark.slow
def test_more_flipped_bytes(mine: Path) -> None:
    told = flip(mine, flips(mine, 1500, 3), inputs)
    assert told.other == []


@pytest.mark.long
def test_every_byte(mine: Path) -> None:
    rng, size = random.Random(1), (mine / FILE).stat().st_size
    told = flip(mine, [(place, rng.randrange(1, 256)) for place in range(size)], inputs)
    assert told.other == []
    assert told.same + told.damaged == size


@pytest.mark.long
def test_flipped_bytes_of_a_large_history(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    fill(folder, 20_000, a_day=100)
    assert (folder / FILE).stat().st_size > 2 * schema.CHECKED_BYTES
    told = flip(folder, flips(folder, 2000, 4), inputs)
    assert told.other == []


# What SQLite finds nothing wrong with


def spoilt(folder: Path, *statements: str) -> None:
    with closing(sqlite3.connect(folder / FILE, isolation_level=None)) as db:
        for statement in statements:
            db.execute(statement)


LAST = "(SELECT max(id) FROM attempts)"
WRONG = [
    (f"UPDATE attempts SET error = error + 0.001 WHERE id = {LAST}", "a line of attempts isn't"),
    (f"UPDATE attempts SET drill = 'bend' WHERE id = {LAST}", "a line of attempts isn't"),
    (f'UPDATE attempts SET "check" = NULL WHERE id = {LAST}', "a line of attempts isn't"),
    (f"DELETE FROM attempts WHERE id = {LAST}", "of attempts 35 lines are left of 36"),
    ("DELETE FROM undone", "of undone 0 lines are left of 4"),
    ("UPDATE undone SET epoch_ms = epoch_ms + 1", "a line of undone isn't"),
    ("UPDATE notes SET fullness = 0.125", "a line of notes isn't"),
    ("UPDATE settings SET value = '30'", "a line of settings isn't"),
    ("UPDATE totals SET n = n + 1 WHERE name = 'notes'", "the number of notes isn't"),
    ("DELETE FROM totals WHERE name = 'undone'", "the number of undone isn't"),
    ("DROP TRIGGER added_to_attempts", "its tables aren't as they were made"),
    ("PRAGMA application_id = 0", "its beginning isn't as it was written"),
    ("PRAGMA user_version = 5", "its beginning isn't as it was written"),
]


@pytest.mark.parametrize(("statement", "answer"), WRONG)
def test_found_by_what_is_read(mine: Path, statement: str, answer: str) -> None:
    spoilt(mine, statement)
    with pytest.raises(Damaged, match=answer):
        content(mine, mine.parent / "out.json")
    with pytest.raises(Damaged):
        inputs(mine, mine)


@pytest.mark.parametrize(
    ("name", "other"), [(b"(name TEXT", b"(namf TEXT"), (b", n INTEGER", b", o INTEGER")]
)
def test_a_column_of_another_name(mine: Path, name: bytes, other: bytes) -> None:
    raw = (mine / FILE).read_bytes()
    assert name in raw
    (mine / FILE).write_bytes(raw.replace(name, other))
    with pytest.raises(Damaged, match="its tables aren't as they were made"):
        inputs(mine, mine)


def test_found_in_a_set(mine: Path) -> None:
    spoilt(mine, "UPDATE sets SET seed = seed + 1")
    with open_history(mine) as history, pytest.raises(Damaged, match="a line of sets"):
        history.unfinished_set("quarters", "band")


def test_an_import_into_a_damaged_one_is_no_clash(mine: Path, tmp_path: Path) -> None:
    with open_history(mine) as history:
        export(history, tmp_path / "a.csv")
    spoilt(mine, f"UPDATE attempts SET error = 0.5 WHERE id = {LAST}")
    with open_history(mine) as history, pytest.raises(Damaged, match="a line of attempts"):
        import_(history, tmp_path / "a.csv")


def test_what_is_added_by_any_way_is_sealed(mine: Path, tmp_path: Path) -> None:
    with open_history(mine) as history:
        export(history, tmp_path / "a.json")
        played = history.start_set("thin", "aim", 1, 2)
        history.finish_set(played.id)
        history.put_setting("minutes", "5")
        history.put_setting("minutes", "6")
        history.check()
    with open_history(tmp_path / "other") as other:
        assert import_(other, tmp_path / "a.json") == Merged(36, 0, 4)
        other.check()
        export(other, tmp_path / "b.json")
    assert (tmp_path / "a.json").read_bytes() == (tmp_path / "b.json").read_bytes()


def test_what_somebody_adds_to_the_file_is_theirs(mine: Path) -> None:
    want = content(mine, mine.parent / "out.json")
    spoilt(mine, "CREATE INDEX my_own ON attempts (level)", "CREATE TABLE mine (a)", "ANALYZE", "VACUUM")
    assert content(mine, mine.parent / "out.json") == want


# Going on from a copy


@pytest.fixture
def copied(mine: Path) -> Path:
    """With copies: an older one that is good, a newer one that isn't, and two calls since."""
    clock = SetClock(on(50))
    with open_history(mine, clock) as history:
        for day in (50, 51, 51):
            clock.moment = on(day)
            history.append(plain(history))
    newer = backups.backups(mine)[-1].file
    with closing(sqlite3.connect(newer, isolation_level=None)) as db:
        db.execute(f"UPDATE attempts SET error = 0.5 WHERE id = {LAST}")
    return mine


def found(folder: Path) -> Damaged:
    with pytest.raises(Damaged) as caught:
        content(folder, folder.parent / "out.json")
    return caught.value


def empty(folder: Path) -> None:
    (folder / FILE).write_bytes(b"")


def half(folder: Path) -> None:
    data = (folder / FILE).read_bytes()
    (folder / FILE).write_bytes(data[: len(data) // 2])


def no_database(folder: Path) -> None:
    (folder / FILE).write_bytes(b"my shopping" * 999)


def a_line(folder: Path) -> None:
    spoilt(folder, f"UPDATE attempts SET error = 0.5 WHERE id = {LAST}")


@pytest.mark.parametrize(
    ("spoil", "saved", "lost"),
    [
        (
            a_line,
            ", with 2 calls made since that could still be read: 34 c",
            "; 1 call can't be read any more",
        ),
        (empty, ": 32 c", ""),
        (half, ": 32 c", ""),
        (no_database, ": 32 c", ""),
    ],
)
def test_the_newest_good_copy_takes_its_place(
    copied: Path, spoil: Callable[[Path], None], saved: str, lost: str
) -> None:
    older, _ = names(copied)
    spoil(copied)
    before = (copied / FILE).read_bytes()
    said = recover(found(copied), LATER)
    assert said is not None
    assert said.isprintable()
    assert (
        f"is set aside as 2026-04-22-1-damaged; the newest good copy, {older}, is in its place{saved}" in said
    )
    assert re.search(rf"calls until 2026-03-\d\d 12:00{lost}$", said)
    assert (copied / "backups" / "2026-04-22-1-damaged.sqlite3").read_bytes() == before
    with open_history(copied) as history:
        history.check()
        assert history.count() == (34 if lost else 32)
        history.append(plain(history))
    assert "import" not in "".join(names(copied))


@pytest.fixture(scope="module")
def half_copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """300 calls, some taken back, two notes; and a copy that was made when there were fewer."""
    folder = tmp_path_factory.mktemp("half") / "data"
    fill(folder, 150)
    with open_history(folder, SetClock(on(60))) as history:
        history.append(plain(history))
        for _ in range(149):
            history.append(plain(history, **{"set_id": "later"}))
        history.undo(history.attempts()[-3].id)
        history.append_note(plain_note())
    assert len(names(folder)) == 1
    return folder


def all_lines(folder: Path) -> set[tuple[object, ...]]:
    with open_history(folder) as history:
        return {row for kind in (ATTEMPTS, NOTES) for rows in history.rows(kind=kind) for row in rows}


def damage_of(folder: Path) -> Damaged | None:
    """What is found wrong; not where, which would hold the file."""
    try:
        all_lines(folder)
        with open_history(folder) as history:
            history.check()
    except Damaged as error:
        return Damaged(str(error), error.file, error.why)
    return None


@pytest.mark.parametrize("part", [0, *(pytest.param(part, marks=pytest.mark.slow) for part in range(1, 8))])
def test_what_is_whole_in_a_damaged_one_is_kept(half_copied: Path, tmp_path: Path, part: int) -> None:
    want, rng, lost = all_lines(half_copied), random.Random(part), list[int]()
    for k in range(12):
        folder = tmp_path / f"{k}"
        shutil.copytree(half_copied, folder)
        raw = bytearray((folder / FILE).read_bytes())
        place = rng.randrange(len(raw))
        raw[place : place + 64] = rng.randbytes(len(raw[place : place + 64]))
        (folder / FILE).write_bytes(raw)
        damage = damage_of(folder)
        if damage is None:
            continue
        assert recover(damage, LATER)
        kept = all_lines(folder)
        assert all(row[-1] is None for row in kept - want)  # what took that call back can't be read any more
        lost.append(len(want - kept))
    assert len(lost) > 2
    assert max(lost) <= SINCE
    assert sorted(lost)[len(lost) // 2] <= A_PAGE


def test_what_stands_only_in_the_log_is_kept(copied: Path, tmp_path: Path) -> None:
    """As a sudden end leaves it: the last calls are in the log beside a file that is damaged."""
    with open_history(copied, SetClock(on(53))) as history:
        history._db.execute("PRAGMA wal_autocheckpoint = 0")
        for _ in range(3):
            history.append(plain(history))
        shutil.copytree(copied, tmp_path / "ended")
    ended = tmp_path / "ended"
    assert (ended / f"{FILE}-wal").stat().st_size
    with open_history(copied) as history:
        want, first = history.ever(), history.attempts()[0].id
    raw = (ended / FILE).read_bytes()
    (ended / FILE).write_bytes(raw.replace(first.encode(), first[:-1].encode() + b"~"))
    said = recover(found(ended), LATER)
    assert said is not None
    with open_history(ended) as history:
        assert history.ever() == want  # the first of all is in the copy


def test_not_while_another_has_it_open(copied: Path) -> None:
    a_line(copied)
    error = found(copied)
    with open_history(copied), pytest.raises(TrainerError, match="is open in another program"):
        recover(error, LATER)
    assert len(names(copied)) == 2


def test_another_has_been_quicker(copied: Path) -> None:
    a_line(copied)
    error = found(copied)
    assert recover(error, LATER)
    assert recover(error, LATER) == ""
    assert len(names(copied)) == 3


def test_without_a_good_copy_all_is_left(mine: Path) -> None:
    a_line(mine)
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
        assert go.wait(10)
        made(db, file)

    monkeypatch.setattr(opened, "COPIED_AT_ONCE", 0)
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
        assert slow_copy.begun.wait(10)  # before that it would make the folder anew
        shutil.rmtree(mine / "backups")
        slow_copy.go.set()
        history.wait_for_copy()
        assert "no copy of the history could be kept" in history.backup_problem
        assert history.count() == 33


def test_whether_to_copy_is_decided_without_reading_all(mine: Path) -> None:
    """The counts and the last ids are all that is looked at."""
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
        assert not [plan for plan in plans if plan.startswith("SCAN attempts") and "USING" in plan]
        history.append(plain(history))
        backups.keep(history._db, mine, "2026-04-21", backups.DAILY)
    assert names(mine) == ["2026-04-20-1-daily", "2026-04-21-1-daily"]


def test_a_damaged_file_set_aside_is_no_copy(copied: Path) -> None:
    a_line(copied)
    recover(found(copied), LATER)
    with open_history(copied, SetClock(on(52))) as history:
        history.append(plain(history))
        history.put_setting("minutes", "10")
    assert json.dumps(names(copied)).count("2026-04-22") == 1
