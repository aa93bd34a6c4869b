"""Calls that are taken back: a line more, never one less; and histories that grew apart become one."""

import itertools
import json
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.history import TrainerError
from trainer.history.attempt import Attempt
from trainer.history.clock import Moment
from trainer.history.exchange import export, import_
from trainer.history.store import FILE, History

from .older import older
from .strategies import NOON, SetClock, open_history, plain

BOTH = pytest.mark.parametrize("ending", ["csv", "json"])


def test_it_counts_for_nothing_and_stays(tmp_path: Path) -> None:
    clock = SetClock()
    with open_history(tmp_path, clock) as history:
        first, second = plain(history), plain(history, local_day="2026-03-02")
        for attempt in (first, second):
            history.append(attempt)
        assert history.last_call() == (second, False)
        clock.moment = Moment(NOON.epoch_ms + 60_000, -3600, "Atlantic/Azores")
        assert history.undo(second.id)
        assert history.last_call() == (second, True)
        assert history.attempts() == [first]
        assert list(history.brief(("id",))) == [[(first.id,)]]
        assert (history.count(), history.days()) == (1, ["2026-03-01"])
    with closing(sqlite3.connect(tmp_path / FILE)) as db:
        assert db.execute("SELECT count(*) FROM attempts").fetchone() == (2,)
        (line,) = db.execute("SELECT attempt_id, epoch_ms, offset_s, zone, local_day FROM undone").fetchall()
    assert line == (second.id, NOON.epoch_ms + 60_000, -3600, "Atlantic/Azores", "2026-03-01")


def test_twice_does_nothing(tmp_path: Path) -> None:
    with open_history(tmp_path) as history:
        attempt = plain(history)
        history.append(attempt)
        assert [history.undo(attempt.id) for _ in range(3)] == [True, False, False]
        export(history, tmp_path / "a.csv")
        assert history._db.execute("SELECT count(*) FROM undone").fetchone() == (1,)


def test_no_such_call(tmp_path: Path) -> None:
    with open_history(tmp_path) as history:
        assert history.last_call() is None
        with pytest.raises(TrainerError, match="has no attempt 'none'"):
            history.undo("none")


def test_ids_go_on_after_that_of_the_line(tmp_path: Path) -> None:
    with open_history(tmp_path) as history:
        attempt = plain(history)
        history.append(attempt)
        history.undo(attempt.id)
        (line,) = history._db.execute("SELECT id FROM undone").fetchone()
    with open_history(tmp_path) as again:
        assert again.new_id(NOON) > line > attempt.id


def test_a_set_goes_on_behind_it(tmp_path: Path) -> None:
    with open_history(tmp_path) as history:
        begun = history.start_set("quarters", "band", 1, 12)
        for number in (1, 2, 3):
            attempt = plain(history, set_id=begun.id, number=number)
            history.append(attempt)
        history.undo(attempt.id)
        left = history.unfinished_set("quarters", "band")
    assert left is not None
    assert left.done == 3


@BOTH
def test_files_say_when(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"a.{ending}"
    clock = SetClock()
    with open_history(tmp_path / "one", clock) as history:
        kept, undone = plain(history), plain(history)
        history.append(kept)
        history.append(undone)
        clock.moment = Moment(NOON.epoch_ms + 1500, 19_800, "Asia/Kolkata")
        history.undo(undone.id)
        assert export(history, path) == 2
    text = path.read_text("utf-8")
    if ending == "csv":
        lines = text.splitlines()
        assert lines[0].endswith(",undone")
        assert lines[1].endswith(",[],")
        assert lines[2].endswith(",[],2026-03-01T16:30:01.500+05:30")
    else:
        records_of = json.loads(text)
        assert [record["undone"] for record in records_of] == ["", "2026-03-01T16:30:01.500+05:30"]
        assert list(records_of[0])[-1] == "undone"
    with open_history(tmp_path / "two") as other:
        result = import_(other, path)
        assert (result.added, result.already_there, result.undone) == (2, 0, 1)
        assert other.attempts() == [kept]
        export(other, tmp_path / f"b.{ending}")
        assert (tmp_path / f"b.{ending}").read_bytes() == path.read_bytes()
        result = import_(other, path)
        assert (result.added, result.already_there, result.undone) == (0, 2, 0)
        assert other._db.execute("SELECT count(*) FROM undone").fetchone() == (1,)


@BOTH
def test_a_file_from_before_there_was_such_a_thing(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"a.{ending}"
    with open_history(tmp_path / "one") as history:
        attempt = plain(history)
        history.append(attempt)
        export(history, path)
    text = path.read_text("utf-8")
    if ending == "csv":
        path.write_text("\n".join(line.rpartition(",")[0] for line in text.splitlines()) + "\n", "utf-8")
    else:
        path.write_text(text.replace(', "undone": ""', ""), "utf-8")
    assert "undone" not in path.read_text("utf-8")
    with open_history(tmp_path / "two") as other:
        assert import_(other, path).added == 1
        assert other.attempts() == [attempt]


def test_a_history_from_before_there_was_such_a_thing(tmp_path: Path) -> None:
    with older(tmp_path, 2):
        pass
    with open_history(tmp_path) as history:
        attempt = plain(history)
        history.append(attempt)
        assert history.undo(attempt.id)


# Histories that grew apart

Act = tuple[str, int, int]  # what a machine does, to which attempt, and when
MACHINES = 3
acts = st.lists(
    st.tuples(st.sampled_from(["call", "undo"]), st.integers(0, 9), st.integers(-5, 5)), max_size=6
)


def _play(history: History, clock: SetClock, what: list[Act]) -> None:
    for kind, which, when in what:
        clock.moment = Moment(NOON.epoch_ms + when * 1000, 900 * (when % 3), "")
        there = [row[0] for rows in history.rows() for row in rows]
        if kind == "call":
            history.append(plain(history, epoch_ms=clock.moment.epoch_ms))
        elif there:
            history.undo(there[which % len(there)])


def _history(folder: Path, clock: SetClock, before: list[Path]) -> History:
    history = open_history(folder, clock)
    for path in before:
        import_(history, path)
    return history


HISTORIES = given(
    acts,
    st.lists(acts, min_size=MACHINES, max_size=MACHINES),
    st.permutations(range(MACHINES)),
    st.permutations(range(MACHINES)),
    st.sampled_from(["csv", "json"]),
)


@settings(max_examples=5, deadline=None, derandomize=True)
@HISTORIES
def test_the_union_is_the_same_in_any_order(
    shared: list[Act], apart: list[list[Act]], one: list[int], other: list[int], ending: str
) -> None:
    check_union(shared, apart, one, other, ending)


@pytest.mark.parametrize(
    "count", [pytest.param(10, marks=pytest.mark.slow), pytest.param(100, marks=pytest.mark.long)]
)
def test_the_union_is_the_same_in_any_order_by_chance(count: int) -> None:
    settings(max_examples=count, deadline=None)(HISTORIES(check_union))()


def check_union(
    shared: list[Act], apart: list[list[Act]], one: list[int], other: list[int], ending: str
) -> None:
    """Every machine begins with the same calls, then plays and takes back on its own."""
    clock = SetClock()
    with TemporaryDirectory() as name:
        folder = Path(name)
        files = [folder / f"{machine}.{ending}" for machine in range(MACHINES)]
        made: dict[str, bool] = {}
        with _history(folder / "shared", clock, []) as history:
            _play(history, clock, shared)
            export(history, folder / f"shared.{ending}")
        for machine, what in enumerate(apart):
            with _history(folder / f"m{machine}", clock, [folder / f"shared.{ending}"]) as history:
                _play(history, clock, what)
                export(history, files[machine])
                for row in itertools.chain.from_iterable(history.rows()):
                    made[row[0]] = made.get(row[0], False) or row[-2] is not None
        exports = []
        for number, order in enumerate((one, other, [*other, *one])):
            with _history(folder / f"u{number}", clock, [files[i] for i in order]) as union:
                found = {row[0]: row[-2] is not None for rows in union.rows() for row in rows}
                assert found == made
                assert {a.id for a in union.attempts()} == {i for i, undone in made.items() if not undone}
                export(union, folder / f"u{number}.{ending}")
                exports.append((folder / f"u{number}.{ending}").read_bytes())
        with _history(folder / "m0", clock, files) as grown:  # a machine that takes in the others
            export(grown, folder / f"m0.{ending}")
        assert {*exports, (folder / f"m0.{ending}").read_bytes()} == {exports[0]}


def _undone_at(folder: Path, clock: SetClock, attempt: Attempt, seconds: int) -> Path:
    with open_history(folder, clock) as history:
        history.append(attempt)
        clock.moment = Moment(NOON.epoch_ms + 1000 * seconds, 0, "")
        history.undo(attempt.id)
        export(history, folder / "a.csv")
    return folder / "a.csv"


def test_of_two_machines_the_earlier_says_when(tmp_path: Path) -> None:
    clock = SetClock()
    with open_history(tmp_path / "any") as history:
        attempt = plain(history)
    early = _undone_at(tmp_path / "early", clock, attempt, 10)
    late = _undone_at(tmp_path / "late", clock, attempt, 20)
    for name, order in (("one", (early, late)), ("two", (late, early))):
        with open_history(tmp_path / name) as union:
            assert [import_(union, path).undone for path in order] == [1, 0]
            export(union, tmp_path / f"{name}.csv")
        assert (tmp_path / f"{name}.csv").read_bytes() == early.read_bytes()
