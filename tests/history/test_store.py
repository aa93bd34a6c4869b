"""The history: what comes back, what is refused, and what survives."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trainer.geometry.aiming import Stroke
from trainer.history import TrainerError, schema, upkeep
from trainer.history.clock import Moment
from trainer.history.store import FILE, History

from .strategies import NOON, SetClock, open_history, plain


@pytest.fixture
def history(tmp_path: Path) -> Iterator[History]:
    with open_history(tmp_path) as history:
        yield history


def test_attempts_come_back_in_order(history: History, tmp_path: Path) -> None:
    made = [
        plain(history),
        plain(history, level="thin", stroke=Stroke(2.5, 0.25, -0.5), seconds=None),
        plain(history, local_day="2026-02-28", cut_deg=-0.0, offset=-0.0, potted=False),
    ]
    for attempt in made:
        history.append(attempt)
    assert repr(history.attempts()) == repr(made)  # repr tells -0.0 from 0.0
    assert history.count() == 3
    assert history.days() == ["2026-02-28", "2026-03-01"]
    history.close()
    with open_history(tmp_path) as again:
        assert repr(again.attempts()) == repr(made)


def test_some_attempts(history: History) -> None:
    early = plain(history)
    late = plain(history, epoch_ms=NOON.epoch_ms + 5, level="thin", error=-0.125)
    for attempt in (early, late):
        history.append(attempt)
    assert history.attempts(level="thin") == [late]
    assert history.attempts(since=NOON.epoch_ms) == [early, late]
    assert history.attempts(since=NOON.epoch_ms + 1) == [late]
    assert history.attempts(level="quarters", since=NOON.epoch_ms + 1) == []
    assert list(history.brief(("error", "potted", "of"))) == [[(0.0015, 1, 12), (-0.125, 1, 12)]]
    assert list(history.calls_of_level("thin")) == [("band", True)]
    assert history.last_attempts(5, ["band"]) == [early, late]
    assert history.last_attempts(5, ["aim"]) == []
    with pytest.raises(TrainerError, match="no column 'time'; allowed: id, epoch_ms"):
        next(history.brief(("time",)))


def test_numbers_of_numpy_are_numbers(history: History) -> None:
    history.append(plain(history, cut_deg=np.float64(30.125), value=1))
    (attempt,) = history.attempts()
    assert (repr(attempt.cut_deg), repr(attempt.value)) == ("30.125", "1.0")


@pytest.mark.parametrize(
    ("column", "value", "answer"),
    [
        ("error", float("nan"), "error: nan is not allowed; allowed: a number"),
        ("miss_mm", float("inf"), "miss_mm: inf"),
        ("seconds", -1.0, "or nothing"),
        ("fullness", True, "fullness: True"),
        ("potted", 1, "true or false"),
        ("number", 0, "a whole number from 1"),
        ("level", "\x1b[2J", "no control characters"),
        ("call", "\ud800", "no control characters"),
        ("id", "1", "UUID"),
        ("local_day", "today", "a day as"),
        ("offset_s", 86_400, "time: "),
        ("epoch_ms", -1, "time: "),
        ("pocket", "elsewhere", "baulk-left"),
        ("choices", (("1", "full", float("nan")),), "finite number"),
        ("choices", (("1", "full"),), "finite number"),
        ("stroke", Stroke(2.0, None, None), "speed: is a part of a stroke"),  # type: ignore[arg-type]
    ],
)
def test_nothing_wrong_is_kept(history: History, column: str, value: Any, answer: str) -> None:
    with pytest.raises(TrainerError) as caught:
        history.append(plain(history, **{column: value}))
    assert answer in str(caught.value)
    assert str(caught.value).isprintable()
    assert history.count() == 0


def test_the_same_attempt_twice(history: History) -> None:
    attempt = plain(history)
    history.append(attempt)
    with pytest.raises(TrainerError, match="in the history already"):
        history.append(replace(attempt, error=0.25))
    assert history.attempts() == [attempt]


def test_order_goes_on_with_the_clock_set_back(tmp_path: Path) -> None:
    days = ["2026-03-02", "2026-03-01"]
    for back, day in enumerate(days):
        clock = SetClock(Moment(NOON.epoch_ms - back * 86_400_000, 0))
        with open_history(tmp_path, clock) as history:
            history.append(plain(history, local_day=day))
    with open_history(tmp_path) as history:
        assert [attempt.local_day for attempt in history.attempts()] == days


def test_sets(history: History, tmp_path: Path) -> None:
    assert history.left_sets() == []
    assert history.unfinished_set("quarters", "band") is None
    begun = history.start_set("quarters", "band", seed=-(2**63), shots=12)
    assert (begun.done, begun.finished, begun.shots, begun.seed) == (0, False, 12, -(2**63))
    for number in (1, 2):
        history.append(plain(history, set_id=begun.id, number=number))
    history.append(plain(history))
    history.close()
    with open_history(tmp_path) as again:
        assert again.unfinished_set("quarters", "band") == replace(begun, done=2)
        assert again.unfinished_set("quarters", "aim") is None
        other = again.start_set("thin", "aim", seed=1, shots=5)
        assert [left[:2] for left in again.left_sets()] == [("quarters", "band")]  # the other has no calls
        assert again.left_sets()[0][2] == again.attempts()[1].id
        again.finish_set(begun.id)
        assert again.left_sets() == []
        assert again.unfinished_set("quarters", "band") is None
        assert again.unfinished_set("thin", "aim") == other
        newer = again.start_set("quarters", "band", seed=2, shots=5)
        assert again.unfinished_set("quarters", "band") == newer
        with pytest.raises(TrainerError, match="no set 'nothing'"):
            again.finish_set("nothing")
        with pytest.raises(TrainerError, match="too large"):
            again.start_set("thin", "aim", seed=2**63, shots=5)


def test_a_set_without_a_call_makes_nothing_yet(tmp_path: Path) -> None:
    with open_history(tmp_path / "new") as history:
        begun = history.start_set("quarters", "band", seed=7, shots=12)
        assert history.unfinished_set("quarters", "band") == begun
    assert not (tmp_path / "new").exists()
    with open_history(tmp_path / "new") as history:
        assert history.unfinished_set("quarters", "band") is None
        begun = history.start_set("quarters", "band", seed=8, shots=12)
        history.append(plain(history, set_id=begun.id, number=1))
    with open_history(tmp_path / "new") as history:
        assert history.unfinished_set("quarters", "band") == replace(begun, done=1)
        assert history.start_set("thin", "aim", seed=1, shots=5)  # in a history that is there
    with open_history(tmp_path / "new") as history:
        assert history.unfinished_set("thin", "aim") is not None


def test_a_set_waits_while_the_history_can_t_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_history(tmp_path / "new") as history:
        begun = history.start_set("quarters", "band", seed=7, shots=12)
        with monkeypatch.context() as full:
            full.setattr(upkeep, "ADD_SET", "INSERT INTO nothing VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)")
            with pytest.raises(TrainerError):
                history.append(plain(history, set_id=begun.id, number=1))
        history.append(plain(history, set_id=begun.id, number=1))
        assert history.unfinished_set("quarters", "band") == replace(begun, done=1)


def test_another_program_makes_the_history_of_a_set_that_waits(tmp_path: Path) -> None:
    with open_history(tmp_path / "new") as history, open_history(tmp_path / "new") as other:
        begun = history.start_set("quarters", "band", seed=7, shots=12)
        other.append(plain(other))
        assert history.unfinished_set("quarters", "band") == begun
        history.append(plain(history, set_id=begun.id, number=1))
        assert len(other.attempts()) == 2
        assert other.unfinished_set("quarters", "band") == replace(begun, done=1)


@pytest.mark.parametrize("level", ["a\nb", "\ud800", "x" * 201])
def test_a_set_of_no_possible_level(history: History, level: str) -> None:
    with pytest.raises(TrainerError, match="set, level: "):
        history.start_set(level, "band", seed=1, shots=5)


def test_text_that_is_no_unicode(history: History) -> None:
    with pytest.raises(TrainerError, match="lone surrogates"):
        history.put_setting("player", "\ud800")
    with pytest.raises(TrainerError, match="lone surrogates"):
        history.attempts(level="\ud800")


def test_settings(history: History, tmp_path: Path) -> None:
    assert history.get_setting("player") is None
    assert history.get_setting("player", "left") == "left"
    history.put_setting("player", "right")
    history.put_setting("player", "both")
    history.close()
    with open_history(tmp_path) as again:
        assert again.get_setting("player") == "both"


def test_how_the_file_is_kept(history: History, tmp_path: Path) -> None:
    history.put_setting("minutes", "20")
    with closing(sqlite3.connect(tmp_path / FILE)) as outside:
        assert outside.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert outside.execute("PRAGMA user_version").fetchone() == (schema.VERSION,)
        assert outside.execute("PRAGMA application_id").fetchone() == (schema.APPLICATION_ID,)
        attempt = plain(history)
        history.append(attempt)
        assert outside.execute("SELECT id FROM attempts").fetchall() == [(attempt.id,)]
    assert history._db.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL
    history.check()


def test_after_closing(history: History) -> None:
    history.close()
    history.close()
    with pytest.raises(TrainerError, match="closed"):
        history.count()


# What is refused


def _text(file: Path) -> None:
    file.write_text("my shopping\n")


def _noise(file: Path) -> None:
    file.write_bytes(bytes(range(256)) * 64)


def _sql(*statements: str) -> Callable[[Path], None]:
    def spoil(file: Path) -> None:
        with closing(sqlite3.connect(file, isolation_level=None)) as db:
            for statement in statements:
                db.execute(statement)

    return spoil


def _other(file: Path) -> None:
    file.unlink()
    _sql("CREATE TABLE recipes (name)")(file)


def _cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])


def _page(file: Path) -> None:
    data = bytearray(file.read_bytes())
    data[4096:8192] = bytes(4096)
    file.write_bytes(data)


REFUSED = [
    (_text, "is not a history"),
    (_noise, "is not a history"),
    (_other, "is another program's database"),
    (_sql("PRAGMA application_id = 7"), "is another program's database"),
    (_sql("PRAGMA user_version = 99"), "history version 99, this one knows"),
    (_cut, "is damaged"),
    (_page, "is damaged"),
]


@pytest.mark.parametrize(("spoil", "answer"), REFUSED)
def test_a_file_that_is_refused_is_left_as_it_is(
    tmp_path: Path, spoil: Callable[[Path], None], answer: str
) -> None:
    with open_history(tmp_path) as history:
        for _ in range(20):
            history.append(plain(history))
    file = tmp_path / FILE
    spoil(file)
    before = file.read_bytes()
    with pytest.raises(TrainerError) as caught:
        open_history(tmp_path)
    assert answer in str(caught.value)
    assert str(file) in str(caught.value)
    assert str(caught.value).isprintable()
    assert file.read_bytes() == before


def test_a_folder_in_the_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / FILE).mkdir()
    with pytest.raises(TrainerError, match="is a folder"):
        open_history(tmp_path)


def test_damage_found_on_the_way(tmp_path: Path) -> None:
    with open_history(tmp_path) as history:
        for _ in range(20):
            history.append(plain(history))
        (page,) = history._db.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'attempts_by_day'"
        ).fetchone()
    with open_history(tmp_path) as history:
        history.wait_for_check()  # the next is due tomorrow
    data = bytearray((tmp_path / FILE).read_bytes())
    data[(page - 1) * 4096 : page * 4096] = bytes(4096)
    (tmp_path / FILE).write_bytes(data)
    with open_history(tmp_path) as again:
        assert len(again.attempts()) == 20
        with pytest.raises(TrainerError, match="is damaged"):
            again.days()
        with pytest.raises(TrainerError, match="is damaged"):
            again.check()


def test_a_full_disk_loses_nothing(history: History) -> None:
    kept = []

    def fill() -> None:
        for _ in range(1000):
            attempt = plain(history)
            history.append(attempt)
            kept.append(attempt)

    history.put_setting("minutes", "20")
    (pages,) = history._db.execute("PRAGMA page_count").fetchone()
    history._db.execute(f"PRAGMA max_page_count = {pages + 4}")
    with pytest.raises(TrainerError, match="the disk is full"):
        fill()
    assert len(kept) > 5
    assert history.attempts() == kept
    history._db.execute("PRAGMA max_page_count = 100000")
    history.append(plain(history))
    history.check()


def test_a_program_that_does_not_let_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(schema, "BUSY_S", 0.05)
    with (
        open_history(tmp_path) as history,
        closing(sqlite3.connect(tmp_path / FILE, isolation_level=None)) as other,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(TrainerError, match="in use by another program"):
            history.append(plain(history))
        other.execute("ROLLBACK")
        history.append(plain(history))
        assert history.count() == 1


# Versions


def test_a_step_is_taken_once_and_keeps_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_history(tmp_path) as history:
        history.append(plain(history))
        before = history.attempts()
    step = ("CREATE TABLE newer (id TEXT NOT NULL PRIMARY KEY)",)
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, step))
    monkeypatch.setattr(schema, "VERSION", schema.VERSION + 1)
    for _ in range(2):
        with open_history(tmp_path) as history:
            assert history.attempts() == before
            assert history._db.execute("SELECT count(*) FROM newer").fetchone() == (0,)


def test_a_step_that_fails_leaves_the_old_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_history(tmp_path) as history:
        history.append(plain(history))
    with monkeypatch.context() as patch:
        step = ("DROP TABLE attempts", "no statement")
        patch.setattr(schema, "STEPS", (*schema.STEPS, step))
        patch.setattr(schema, "VERSION", schema.VERSION + 1)
        with pytest.raises(TrainerError, match="syntax error"):
            open_history(tmp_path)
    with open_history(tmp_path) as history:
        assert history.count() == 1
