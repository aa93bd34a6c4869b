"""Going back to a copy: what is said and kept, and that a sudden end leaves a whole history."""

import shutil
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from trainer.history import TrainerError, schema
from trainer.history import backup as backups
from trainer.history.attempt import Attempt
from trainer.history.errors import Damaged
from trainer.history.exchange import export, import_
from trainer.history.restore import Loss, restoring
from trainer.history.store import FILE, History

from .strategies import SetClock, open_history, plain
from .test_backups import _full, names, on
from .test_notes import plain as plain_note

TODAY = "2026-03-05"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three calls on the first day, one of them taken back, two on the second, with a copy between."""
    folder, clock = tmp_path / "data", SetClock()
    with open_history(folder, clock) as history:
        for _ in range(3):
            history.append(plain(history))
        clock.moment = on(1)
        history.append(plain(history, local_day="2026-03-02"))
        last = plain(history, local_day="2026-03-03")
        history.append(last)
        history.undo(history.attempts()[0].id)
        history.undo(last.id)
    assert names(folder) == ["2026-03-02-1-daily"]
    return folder


def held(folder: Path) -> tuple[list[Attempt], list[tuple[Any, ...]]]:
    """The attempts that count, and every row."""
    with open_history(folder) as history:
        history.check()
        return history.attempts(), [row for rows in history.rows() for row in rows]


def test_there_and_back(folder: Path) -> None:
    before = held(folder)
    with restoring(folder, "2026-03-02-1-daily") as ready:
        assert ready.loss == Loss(calls=2, since="2026-03-02", undone=1, gained=0)
        kept = ready.carry_out(TODAY)
    assert kept is not None
    assert kept.name == "2026-03-05-1-restore"
    assert len(held(folder)[0]) == 3
    with restoring(folder, kept.name + ".sqlite3") as ready:
        assert ready.loss == Loss(calls=0, since=None, undone=0, gained=2)
        assert ready.carry_out(TODAY) != kept
    assert held(folder) == before
    assert names(folder) == ["2026-03-02-1-daily", "2026-03-05-1-restore", "2026-03-05-2-restore"]
    with open_history(folder) as history:
        history.append(plain(history))


def test_the_notebook_goes_back_too(folder: Path) -> None:
    with open_history(folder) as history:
        history.append_note(plain_note())
    with restoring(folder, "2026-03-02-1-daily") as ready:
        assert ready.loss is not None
        assert (ready.loss.notes, ready.loss.notes_gained) == (1, 0)
        kept = ready.carry_out(TODAY)
    assert kept is not None
    with restoring(folder, kept.name) as ready:
        assert ready.loss is not None
        assert (ready.loss.notes, ready.loss.notes_gained) == (0, 1)
        ready.carry_out(TODAY)
    with open_history(folder) as history:
        assert len(history.notes()) == 1


def test_nothing_is_changed_before_it_is_carried_out(folder: Path) -> None:
    before = held(folder)
    with restoring(folder, "2026-03-02-1-daily"):
        pass
    assert held(folder) == before
    assert names(folder) == ["2026-03-02-1-daily"]


def test_without_a_history(folder: Path) -> None:
    (folder / FILE).unlink()
    with restoring(folder, "2026-03-02-1-daily") as ready:
        assert ready.loss == Loss(0, None, 0, 3)
        assert ready.carry_out(TODAY) is None
    assert len(held(folder)[0]) == 3


def test_not_while_another_has_it_open(folder: Path) -> None:
    with (
        open_history(folder) as history,
        pytest.raises(TrainerError, match="is open in another program; close the trainer there"),
        restoring(folder, "2026-03-02-1-daily"),
    ):
        pass
    with (
        open_history(folder) as history,
    ):
        assert history.count() == 3


def test_nobody_gets_at_it_meanwhile(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(schema, "BUSY_S", 0.05)
    with (
        restoring(folder, "2026-03-02-1-daily") as ready,
        pytest.raises(TrainerError, match="in use by another program"),
    ):
        open_history(folder)
    assert ready.loss is not None


def test_of_another_name(folder: Path) -> None:
    with pytest.raises(TrainerError, match="the newest is 2026-03-02-1-daily"), restoring(folder, "../x"):
        pass
    shutil.rmtree(folder / "backups")
    with pytest.raises(TrainerError, match="there is none yet"), restoring(folder, "2026-03-02-1-daily"):
        pass


@pytest.mark.parametrize("spoilt", ["damaged", "newer", "empty"])
def test_a_copy_that_cannot_be_used(folder: Path, spoilt: str) -> None:
    (backup,) = backups.backups(folder)
    before = held(folder)
    if spoilt == "damaged":
        data = bytearray(backup.file.read_bytes())
        data[8192:12288] = bytes(4096)
        backup.file.write_bytes(data)
    elif spoilt == "empty":
        backup.file.write_bytes(b"")
    else:
        db = sqlite3.connect(backup.file)
        db.execute("PRAGMA user_version = 99")
        db.close()
    answer = f"{backup.name}.*(damaged|newer|holds nothing)"
    with pytest.raises(TrainerError, match=answer), restoring(folder, backup.name):
        pass
    assert held(folder) == before


@pytest.mark.parametrize("how", ["text", "page", "half"])
@pytest.mark.parametrize("log", [False, True])
def test_a_damaged_history(folder: Path, how: str, log: bool) -> None:
    file = folder / FILE
    data = bytearray(file.read_bytes())
    data[4096:8192] = bytes(4096)
    spoilt = {"text": b"my shopping", "page": bytes(data), "half": bytes(data[: len(data) // 2])}[how]
    file.write_bytes(spoilt)
    if log:
        (folder / f"{FILE}-wal").write_bytes(b"no log of this history")
    with pytest.raises(TrainerError):
        open_history(folder)
    with restoring(folder, "2026-03-02-1-daily") as ready:
        assert ready.loss is None
        kept = ready.carry_out(TODAY)
    assert kept is not None
    assert kept.name == "2026-03-05-1-damaged"
    assert kept.file.read_bytes() == spoilt
    assert len(held(folder)[0]) == 3


def test_another_programs_file_is_left(folder: Path) -> None:
    (folder / FILE).unlink()
    db = sqlite3.connect(folder / FILE)
    db.execute("CREATE TABLE recipes (name)")
    db.close()
    with pytest.raises(TrainerError, match="another program's"), restoring(folder, "2026-03-02-1-daily"):
        pass


def test_a_full_disk(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = held(folder)
    monkeypatch.setattr("os.fsync", _full)
    answer = r"no copy of the history could be kept .*No space left"
    with pytest.raises(TrainerError, match=answer), restoring(folder, "2026-03-02-1-daily") as ready:
        ready.carry_out(TODAY)
    assert held(folder) == before


# Sudden ends


@contextmanager
def after_every_step(folder: Path, aside: Path) -> Iterator[list[Path]]:
    """Copies of a folder as a power failure would leave it between any two lines of the records' code."""
    found: list[Path] = []
    seen: set[tuple[tuple[str, bytes], ...]] = set()
    ours = str(Path(schema.__file__).parent)

    def look(frame: FrameType, event: str, arg: object) -> Any:
        if not frame.f_code.co_filename.startswith(ours):
            return None
        state = tuple(
            (str(p.relative_to(folder)), p.read_bytes())
            for p in sorted(folder.rglob("*"))
            if p.is_file() and not p.name.endswith("-shm")  # only an index in memory: gone with the power
        )
        if state not in seen:
            seen.add(state)
            copy = aside / str(len(found))
            for name, data in state:
                (copy / name).parent.mkdir(parents=True, exist_ok=True)
                (copy / name).write_bytes(data)
            found.append(copy)
        return look

    before = sys.gettrace()
    sys.settrace(look)
    try:
        yield found
    finally:
        sys.settrace(before)


def whole(copy: Path) -> list[tuple[Any, ...]]:
    """Every row of a history; each copy that has its name is whole too."""
    for backup in backups.backups(copy):
        if backup.why != backups.DAMAGED:
            with backups.sound(backup):
                pass
    return held(copy)[1]


def steps_of_restoring(folder: Path, tmp_path: Path) -> list[Path]:
    with (
        after_every_step(folder, tmp_path / "steps") as steps,
        restoring(folder, "2026-03-02-1-daily") as ready,
    ):
        ready.carry_out(TODAY)
    return steps


def test_restoring_may_end_anywhere(folder: Path, tmp_path: Path) -> None:
    _, before = held(folder)
    steps = steps_of_restoring(folder, tmp_path)
    _, after = held(folder)
    found = [whole(step) for step in steps]
    assert len(before) == 5
    assert len(after) == 3
    changed = found.index(after)
    assert found == [before] * changed + [after] * (len(found) - changed)
    assert changed > 2
    for step in steps[changed:]:  # what was there is kept by then
        assert "2026-03-05-1-restore" in names(step)


def test_restoring_over_a_damaged_one_may_end_anywhere(folder: Path, tmp_path: Path) -> None:
    (folder / FILE).write_text("my shopping")
    steps = steps_of_restoring(folder, tmp_path)
    _, after = held(folder)
    whole_ones = 0
    for step in steps:
        if (step / FILE).read_bytes() == b"my shopping":
            assert not whole_ones
        else:
            assert whole(step) == after
            assert "2026-03-05-1-damaged" in names(step)
            whole_ones += 1
    assert 0 < whole_ones < len(steps)


def test_playing_taking_back_and_importing_may_end_anywhere(folder: Path, tmp_path: Path) -> None:
    """What was told as kept is there, and of what is under way all or nothing."""
    clock = SetClock(on(9))
    with open_history(tmp_path / "other") as other:
        for _ in range(2):
            other.append(plain(other))
        export(other, tmp_path / "a.csv")
    with open_history(folder, clock) as history:
        states = [[row for rows in history.rows() for row in rows]]
        acts = (
            lambda: history.append(plain(history)),
            lambda: history.undo(history.attempts()[-1].id),
            lambda: import_(history, tmp_path / "a.csv"),
        )
        for number, act in enumerate(acts):
            with after_every_step(folder, tmp_path / f"steps{number}") as steps:
                act()
            states.append([row for rows in history.rows() for row in rows])
            found = [whole(step) for step in steps]
            changed = found.index(states[-1])
            assert found == [states[-2]] * changed + [states[-1]] * (len(found) - changed)
            assert changed
    assert [len(state) for state in states] == [5, 6, 6, 8]
    assert names(folder)[-2:] == ["2026-03-10-1-daily", "2026-03-10-2-import"]


def test_migrating_may_end_anywhere(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, before = held(folder)
    steps_more = (("CREATE TABLE newer (id)",), ("INSERT INTO newer VALUES (1)", "CREATE TABLE more (id)"))
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, *steps_more))
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 2)
    with after_every_step(folder, tmp_path / "steps") as steps:
        open_history(folder).close()
    versions = set()
    for step in steps:
        with sqlite3.connect(step / FILE) as db:
            version = schema.pragma(db, "user_version")
        db.close()
        versions.add(version)
        if version > schema.VERSION - 2:
            assert "2026-03-01-1-migration" in names(step)
        assert whole(step) == before
    assert versions == {schema.VERSION - 2, schema.VERSION - 1, schema.VERSION}


@pytest.mark.parametrize("locked", ["file", "folder"])
def test_a_history_that_cannot_be_written(folder: Path, locked: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """As the system tells it, since who runs the tests may be allowed to write anything."""
    before = held(folder)
    of = {"file": folder / FILE, "folder": folder}[locked]
    with monkeypatch.context() as patch:
        patch.setattr("os.access", lambda path, mode: path != of)
        with pytest.raises(TrainerError, match="can't be written"), restoring(folder, "2026-03-02-1-daily"):
            pass
    assert held(folder) == before


def test_records_say_what_is_damaged(folder: Path) -> None:
    (folder / FILE).write_text("my shopping")
    with pytest.raises(Damaged):
        History.open(folder, SetClock())
