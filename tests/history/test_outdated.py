"""A program that is left open while a newer version changes the history."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from trainer.history import TrainerError, held, schema
from trainer.history.errors import Outdated
from trainer.history.store import FILE, History

from .strategies import open_history, plain
from .test_notes import plain as plain_note


def upgraded(folder: Path, *statements: str) -> None:
    """As the next version would change it."""
    with closing(sqlite3.connect(folder / FILE, isolation_level=None)) as db:
        for statement in (*statements, f"PRAGMA user_version = {schema.VERSION + 1}"):
            db.execute(statement)


def now_newer(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on this is the version that has changed it."""
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 1)


@pytest.fixture
def history(tmp_path: Path) -> History:
    found = open_history(tmp_path)
    found.append(plain(found))
    return found


def test_it_says_restart_and_writes_nothing(history: History, tmp_path: Path) -> None:
    upgraded(tmp_path)
    with history, pytest.raises(Outdated, match="restart the trainer"):
        history.put_setting("minutes", "20")
    with closing(sqlite3.connect(tmp_path / FILE)) as db:
        assert db.execute("SELECT count(*) FROM settings").fetchone() == (0,)


def test_the_call_comes_in_at_the_restart(
    history: History, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    upgraded(tmp_path)
    first, again, other = (plain(history, number=number) for number in (1, 1, 2))
    note = plain_note()
    with history:
        for add, one in (
            (history.append, first),
            (history.append, again),  # the player tries once more
            (history.append, other),
            (history.append_note, note),
        ):
            with pytest.raises(Outdated, match="the last call is kept"):
                add(one)  # type: ignore[operator]
    now_newer(monkeypatch)
    for _ in range(2):
        with open_history(tmp_path) as newer:
            assert newer.attempts()[1:] == [again, other]
            assert newer.notes() == [note]
    assert not (tmp_path / held.FILE).exists()


def test_one_that_was_taken_in_may_be_taken_in_again(
    history: History, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The program ended before the file was taken away."""
    upgraded(tmp_path)
    with history, pytest.raises(Outdated):
        history.append(plain(history))
    left = (tmp_path / held.FILE).read_bytes()
    now_newer(monkeypatch)
    for _ in range(2):
        (tmp_path / held.FILE).write_bytes(left)
        with open_history(tmp_path) as newer:
            assert newer.count() == 2


@pytest.mark.parametrize("text", ["", "[]", '{"other": []}', '{"attempts": [{"id": 3}]}', '{"notes": 3}'])
def test_a_file_that_was_changed_by_hand_is_said(tmp_path: Path, text: str) -> None:
    (tmp_path / held.FILE).write_text(text)
    with pytest.raises(TrainerError, match=held.FILE):
        open_history(tmp_path)
    assert (tmp_path / held.FILE).read_text() == text


def all_read(history: History) -> None:
    history.attempts()
    history.left_sets()


@pytest.mark.parametrize(
    "change", ["DROP TABLE undone", "ALTER TABLE attempts RENAME COLUMN view TO seen", "DROP TABLE sets"]
)
def test_what_it_changed_is_no_damage(history: History, tmp_path: Path, change: str) -> None:
    upgraded(tmp_path, change)
    with history, pytest.raises(Outdated, match="restart the trainer"):
        all_read(history)
