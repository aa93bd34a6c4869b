"""Damage of the file: one line says so, and a sound history takes its place; nothing is lost in silence."""

import os
import resource
import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from trainer.history import backup as backups
from trainer.history import upkeep
from trainer.history.attempt import ATTEMPTS
from trainer.history.errors import Damaged
from trainer.history.exchange import export, import_
from trainer.history.merge import Merged
from trainer.history.repair import recover
from trainer.history.store import FILE
from trainer.play.game import Game

from .damaging import LATER, SHELF, content, damage_of, fill, rows_of, spoilt
from .older import make_older
from .strategies import SetClock, open_history, plain
from .test_backups import names, on
from .test_notes import plain as plain_note

PAGE = 4096
LAST = "(SELECT max(id) FROM attempts)"


@pytest.fixture(scope="module")
def half_copied(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """300 calls, some taken back, two notes; and a copy that was made when there were half as many."""
    folder = tmp_path_factory.mktemp("half") / "data"
    fill(folder, 150)
    with open_history(folder, SetClock(on(60))) as history:
        history.append(plain(history))
        for _ in range(149):
            history.append(plain(history, set_id="later"))
        history.undo(history.attempts()[-3].id)
        history.append_note(plain_note())
        history.wait_for_check()
    assert len(names(folder)) == 1
    return folder


def recovered(half_copied: Path, folder: Path, raw: bytes) -> int | None:
    """Put other bytes in a history's place; how many of its rows are gone in the end, None where it wasn't
    found to be damaged. One line says what was done then, and the history is sound.
    """
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(half_copied, folder)
    want = rows_of(half_copied)
    (folder / FILE).write_bytes(raw)
    damage = damage_of(folder)
    if damage is None:
        assert rows_of(folder) == want
        return None
    assert str(damage).isprintable()
    said = recover(damage, LATER)
    assert said
    assert said.isprintable()
    assert "-damaged; the newest good copy, 2026-04-30-1-daily, is in its place" in said
    kept = rows_of(folder)
    assert all(row[-1] is None for row in kept - want)  # what took that call back can't be read any more
    gone = 300 - sum(len(row) == len(ATTEMPTS.whole) for row in kept)
    told = f"; {gone} call{'s' * (gone != 1)} can't be read any more" if gone else ""
    assert said.endswith(told) or said.endswith("; how many calls are gone can't be told")
    with open_history(folder) as history:
        history.append(plain(history))
    return len(want - kept)


SOME = pytest.mark.parametrize(
    "step", [23, pytest.param(5, marks=pytest.mark.slow), pytest.param(1, marks=pytest.mark.long)]
)


@SOME
def test_a_file_cut_at_every_4_kb(half_copied: Path, tmp_path: Path, step: int) -> None:
    raw = (half_copied / FILE).read_bytes()
    for end in range(0, len(raw), step * PAGE):
        lost = recovered(half_copied, tmp_path / "data", raw[:end])
        assert lost is not None
        assert lost <= 155  # what was added since the copy
    assert recovered(half_copied, tmp_path / "data", raw) is None


@SOME
def test_every_page_zeroed(half_copied: Path, tmp_path: Path, step: int) -> None:
    raw, found = (half_copied / FILE).read_bytes(), list[int]()
    for at in range(0, len(raw), step * PAGE):
        lost = recovered(half_copied, tmp_path / "data", raw[:at] + bytes(PAGE) + raw[at + PAGE :])
        found += [] if lost is None else [lost]
    assert (
        len(found) > 0.8 * len(raw) / PAGE / step
    )  # other pages hold what follows from the calls, or nothing
    assert max(found) <= 155
    assert sorted(found)[len(found) // 2] <= 16  # lines on a page: the others can still be read


def test_a_disk_without_room_ends_in_a_line(mine: Path) -> None:
    """As the system says it: no file may become larger."""
    want, size = rows_of(mine), (mine / FILE).stat().st_size
    done = subprocess.run(
        [sys.executable, "-m", "trainer", "play", "--lines", "--shots", "200", "--data", str(mine)],
        input="1\n" * 400,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size + 40_000, size + 40_000)),
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
    )
    told = done.stdout.count('"type": "mark"')
    assert done.returncode == 1
    assert len([line for line in done.stderr.splitlines() if "copy" not in line]) == 1
    assert "can't be read or written" in done.stderr
    assert told <= len(rows_of(mine) - want) <= told + 1


# Values that the trainer never writes


@pytest.mark.parametrize(
    "change",
    [
        "SET error = 9e999",
        "SET number = 'two'",
        "SET potted = 2",
        "SET local_day = '2026-02-31'",
        "SET choices = '[[1,'",
        "SET speed = 1.0",
        "SET id = 'mine'",
        "SET level = NULL",
    ],
)
def test_sqlite_itself_refuses_them(mine: Path, change: str) -> None:
    with pytest.raises(sqlite3.IntegrityError):
        spoilt(mine, f"UPDATE attempts {change} WHERE id = {LAST}")


def test_a_call_taken_back_is_one_that_is_there(mine: Path) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        spoilt(mine, "PRAGMA foreign_keys = ON", "DELETE FROM attempts")


@pytest.mark.parametrize("change", ["error = 1e300", "potted = 2", "level = 'x' || hex(zeroblob(200))"])
def test_the_check_finds_those_that_were_forced(mine: Path, change: str) -> None:
    spoilt(mine, "PRAGMA ignore_check_constraints = ON", f"UPDATE attempts SET {change} WHERE id = {LAST}")
    with open_history(mine) as history, pytest.raises(Damaged, match="CHECK constraint failed in attempts"):
        history.check()


def test_a_list_of_another_form_is_said_where_it_is_read(mine: Path) -> None:
    spoilt(mine, f"UPDATE attempts SET others = '[1]' WHERE id = {LAST}")
    with open_history(mine) as history, pytest.raises(Damaged, match="a value of attempts is none"):
        history.attempts()


def test_no_text_of_the_file_is_obeyed_by_a_terminal(mine: Path, tmp_path: Path) -> None:
    spoilt(mine, f"UPDATE attempts SET level = char(27) || '[2J' WHERE id = {LAST}")
    spoilt(mine, f"UPDATE attempts SET drill = CAST(x'61ff62' AS TEXT) WHERE id = {LAST}")
    with open_history(mine) as history:
        (*_, last) = history.attempts()
        assert (last.level, last.drill) == ("\ufffd[2J", "a\ufffdb")
        export(history, tmp_path / "a.csv")
    assert "\x1b" not in (tmp_path / "a.csv").read_text("utf-8")


def test_what_somebody_adds_to_the_file_is_theirs(mine: Path) -> None:
    want = content(mine, mine.parent / "out.json")
    spoilt(mine, "CREATE INDEX my_own ON attempts (level)", "CREATE TABLE mine (a)", "ANALYZE", "VACUUM")
    assert content(mine, mine.parent / "out.json") == want


def test_what_is_imported_is_exported_as_it_was(mine: Path, tmp_path: Path) -> None:
    with open_history(mine) as history:
        export(history, tmp_path / "a.json")
    with open_history(tmp_path / "other") as other:
        assert import_(other, tmp_path / "a.json") == Merged(36, 0, 4)
        other.check()
        export(other, tmp_path / "b.json")
    assert (tmp_path / "a.json").read_bytes() == (tmp_path / "b.json").read_bytes()


# Versions before


@pytest.mark.parametrize("version", range(1, 7))
def test_an_older_history_keeps_all_that_it_held(mine: Path, tmp_path: Path, version: int) -> None:
    want = rows_of(mine)
    make_older(mine, version)
    with open_history(mine) as history:
        assert history.get_setting("minutes") == "20"
        assert history.unfinished_set("quarters", "band")
        assert Game(history, SHELF).skill().tally.calls == len(history.attempts()) == history.count()
    if version < 4:  # there were no notes yet
        want = {row for row in want if len(row) == len(ATTEMPTS.whole)}
    if version < 3:  # and no call could be taken back
        want = {(*row[:-2], None, None) for row in want}
    assert rows_of(mine) == want
    assert [backup.why for backup in backups.backups(mine)] == [backups.MIGRATION]
    with backups.sound(backups.backups(mine)[0]) as old:
        assert old.execute("PRAGMA user_version").fetchone() == (version,)


def test_minus_zero_stays_what_it_is(mine: Path) -> None:
    with open_history(mine) as history:
        history.append(plain(history, cut_deg=-0.0, offset=-0.0))
    make_older(mine)
    with open_history(mine) as history:
        (*_, last) = history.attempts()
    assert repr((last.cut_deg, last.offset)) == "(-0.0, -0.0)"


# When the whole file is checked


@pytest.fixture
def checks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The thread of every check of a whole file."""
    found, made = list[str](), upkeep.check

    def noted(db: sqlite3.Connection, file: Path) -> None:
        found.append(threading.current_thread().name)
        made(db, file)

    monkeypatch.setattr(upkeep, "check", noted)
    return found


def test_once_a_day_beside_what_goes_on(mine: Path, checks: list[str]) -> None:
    for day in (50, 50, 51, 51):
        with open_history(mine, SetClock(on(day))) as history:
            history.wait_for_check()
    assert checks == ["history check"] * 2


@pytest.mark.parametrize(("most", "where"), [(10**9, "MainThread"), (0, "history check")])
def test_after_a_sudden_end(
    mine: Path, tmp_path: Path, checks: list[str], monkeypatch: pytest.MonkeyPatch, most: int, where: str
) -> None:
    with open_history(mine) as history:
        history.wait_for_check()
        history.append(plain(history))
        shutil.copytree(mine, tmp_path / "ended")
    checks.clear()
    monkeypatch.setattr(upkeep, "CHECKED_AT_ONCE", most)
    with open_history(tmp_path / "ended") as history:
        history.wait_for_check()
        assert history.ever() == 37
    assert checks == [where]


def test_what_is_found_beside_is_raised_by_what_is_asked_next(mine: Path) -> None:
    spoilt(mine, "PRAGMA ignore_check_constraints = ON", f"UPDATE attempts SET potted = 2 WHERE id = {LAST}")
    with open_history(mine, SetClock(on(50))) as history:
        history.wait_for_check()
        with pytest.raises(Damaged):
            history.count()
    with pytest.raises(Damaged):  # and at once at the next start, however short that is
        open_history(mine, SetClock(on(50)))
