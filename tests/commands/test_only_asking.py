"""Commands that only ask: they make nothing, and do with a history that can't be written."""

import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.history.older import make_older
from tests.history.test_folder import guest
from trainer.history import schema, upkeep
from trainer.history.store import FILE

Run = Callable[..., tuple[int, str, str]]
ASKING = (
    *("report", "report --json", "levels", "tables", "today", "players", "backups"),
    *("shot --seed 3", "keys", "terminal", "notebook --list", "notebook --json", "export {}/out.csv"),
)
IN_VAIN = ("undo --yes", "import {}/none.csv", "play nosuch --lines", "notebook --undo")
OF_A_HISTORY = ("report", "levels", "today", "notebook", "export")


@pytest.mark.parametrize("command", [*ASKING, *IN_VAIN])
def test_nothing_is_made(run: Run, tmp_path: Path, command: str) -> None:
    out = tmp_path / "out"
    out.mkdir()
    run(*command.format(out).split(), "--data", str(tmp_path / "data"))
    assert not (tmp_path / "data").exists()
    (tmp_path / "empty").mkdir()
    run(*command.format(out).split(), "--data", str(tmp_path / "empty"))
    assert list((tmp_path / "empty").iterdir()) == []


READ = [each for each in ASKING if each.split()[0] in OF_A_HISTORY]


@pytest.mark.parametrize("command", READ)
def test_a_folder_that_may_not_be_written(run: Run, small: Path, tmp_path: Path, command: str) -> None:
    tmp_path.chmod(0o755)
    data, out = shutil.copytree(small, tmp_path / "data"), tmp_path / "out"
    out.mkdir()
    out.chmod(0o777)
    args = (*command.format(out).split(), "--data", str(data))
    want = run(*args)
    before = {file.name: file.read_bytes() for file in data.iterdir()}
    for parent in [*tmp_path.parents][:3]:
        os.chmod(parent, 0o755)
    with guest(data, 0o555):
        code, said, err = run(*args)
    assert (code, said) == want[:2]
    assert f"{FILE} can't be written: Permission denied; allow writing to it" in err
    assert {file.name: file.read_bytes() for file in data.iterdir()} == before


def test_a_card_of_a_history_that_may_not_be_written_has_no_number(
    run: Run, small: Path, tmp_path: Path
) -> None:
    tmp_path.chmod(0o755)
    data = shutil.copytree(small, tmp_path / "data")
    for parent in [*tmp_path.parents][:3]:
        os.chmod(parent, 0o755)
    args = ("card", "--seed", "3", "--json", "--data", str(data))
    with guest(data, 0o555):
        code, said, err = run(*args)
    assert code == 0
    assert "the card has no number, since it can't be kept: " in err
    made = json.loads(run(*args)[1])
    assert made["number"] == 1
    assert json.loads(said) == made | {"number": None}


def test_a_disk_without_a_byte(
    run: Run, small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = shutil.copytree(small, tmp_path / "data")
    want = run("report", "--data", str(data))[1]

    def full(file: Path, *_: object) -> None:
        error = sqlite3.OperationalError("disk I/O error")
        error.sqlite_errorcode = sqlite3.SQLITE_IOERR  # as SQLite says that there is no room for its index
        raise schema.explain(file, error)

    monkeypatch.setattr(schema, "why_unwritable", lambda folder: schema.NO_ROOM)
    monkeypatch.setattr(upkeep, "connect", full)
    code, out, err = run("report", "--data", str(data))
    assert (code, out) == (0, want)
    assert "can't be written: No space left on device; the disk is full" in err
    code, out, err = run("undo", "--yes", "--data", str(data))
    assert code == 1
    assert "the disk is full" in err


def test_an_older_version_that_can_not_be_written(run: Run, small: Path, tmp_path: Path) -> None:
    """It is brought up to this version in memory alone."""
    data = shutil.copytree(small, tmp_path / "data")
    want = run("report", "--data", str(data))[1]
    make_older(data)
    tmp_path.chmod(0o755)
    for parent in [*tmp_path.parents][:3]:
        os.chmod(parent, 0o755)
    before = (data / FILE).read_bytes()
    with guest(data, 0o555):
        code, said, _ = run("report", "--data", str(data))
    assert (code, said) == (0, want)
    assert (data / FILE).read_bytes() == before
