"""What is left of a file or of its log is damage; SQLite takes it for the whole."""

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.history.repair import recover
from trainer.history.store import FILE

from .damaging import LATER, damage_of, rows_of
from .strategies import SetClock, open_history, plain
from .test_backups import on

PAGE, FRAME = 4096, 4096 + 24


@pytest.fixture
def ended(mine: Path, tmp_path: Path) -> Path:
    """As a sudden end leaves it: a copy of 36 calls, and five more, some of them only in the log."""
    with open_history(mine, SetClock(on(50))) as history:
        history.append(plain(history))
        history.wait_for_check()
        history._db.execute("PRAGMA wal_checkpoint").fetchone()
        for _ in range(4):
            history.append(plain(history))
        return shutil.copytree(mine, tmp_path / "ended")


def shortened(file: Path, by: int) -> None:
    file.write_bytes(file.read_bytes()[:-by])


def test_a_sudden_end_alone_is_no_damage(ended: Path) -> None:
    assert len(rows_of(ended)) == 36 + 5 + 2


@pytest.mark.parametrize("by", [1, 100, FRAME - 1, FRAME, 2 * FRAME, 4 * FRAME])
def test_a_cut_log(ended: Path, by: int) -> None:
    shortened(ended / f"{FILE}-wal", by)
    damage = damage_of(ended)
    assert damage is not None
    assert "the end of its log is gone" in str(damage)
    said = recover(damage, LATER)
    assert said is not None
    assert "was damaged (the end of its log is gone)" in said
    assert len(rows_of(ended)) >= 36 + 2


@pytest.mark.parametrize("left", [0, 1, 31, 32])
def test_next_to_nothing_of_the_log(ended: Path, left: int) -> None:
    log = ended / f"{FILE}-wal"
    log.write_bytes(log.read_bytes()[:left])
    assert damage_of(ended) is not None


def test_no_log(ended: Path) -> None:
    (ended / f"{FILE}-wal").unlink()
    assert damage_of(ended) is not None


def test_a_log_that_was_taken_over_may_go(ended: Path) -> None:
    """As when the last program ends between taking the log over and taking it away."""
    with sqlite3.connect(ended / FILE) as db:
        db.execute("PRAGMA wal_checkpoint").fetchone()
        aside = shutil.copytree(ended, ended.parent / "aside")
    db.close()
    (aside / f"{FILE}-wal").unlink()
    assert len(rows_of(aside)) == 36 + 5 + 2


@pytest.mark.parametrize("by", [1, 100, PAGE - 1, PAGE, 3 * PAGE])
def test_a_file_shorter_than_it_says(mine: Path, by: int) -> None:
    with open_history(mine, SetClock(on(50))) as history:
        history.append(plain(history))
    shortened(mine / FILE, by)
    damage = damage_of(mine)
    assert damage is not None
    assert damage.why == "it is shorter than it says"
    assert "was damaged" in (recover(damage, LATER) or "")
    assert len(rows_of(mine)) >= 36


@pytest.mark.parametrize(
    "remains", [lambda raw: raw[:1], lambda raw: raw[:16], lambda raw: raw[:99], lambda raw: b"x"]
)
@pytest.mark.parametrize("copied", [True, False])
def test_a_few_bytes_are_no_new_history(mine: Path, remains: Callable[[bytes], bytes], copied: bool) -> None:
    if copied:
        with open_history(mine, SetClock(on(50))) as history:
            history.append(plain(history))
    left = remains((mine / FILE).read_bytes())
    (mine / FILE).write_bytes(left)
    damage = damage_of(mine)
    assert damage is not None
    said = recover(damage, LATER)
    assert (said is not None) == copied
    if copied:
        assert len(rows_of(mine)) == 36 + 2
    else:
        assert (mine / FILE).read_bytes() == left
