"""Export and import: nothing changes on the way, and nothing wrong comes in."""

import csv
import io
import itertools
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trainer.history import TrainerError
from trainer.history.attempt import ATTEMPTS, Attempt
from trainer.history.exchange import export, import_
from trainer.history.store import History

from .strategies import attempts, open_history, plain

NAMES = ATTEMPTS.names

PROMISED = {
    *("id", "time", "zone", "local_day", "level", "drill", "view", "cut_deg", "offset", "call"),
    *("error", "potted", "seconds"),
}
BOTH = pytest.mark.parametrize("ending", ["csv", "json"])


@pytest.fixture
def history(tmp_path: Path) -> Iterator[History]:
    with open_history(tmp_path / "data") as history:
        yield history


@pytest.fixture
def other(tmp_path: Path) -> Iterator[History]:
    with open_history(tmp_path / "other") as history:
        yield history


@settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(st.lists(attempts, max_size=4, unique_by=lambda attempt: attempt.id))
def test_any_attempts_come_back_equal_and_exports_are_the_same_bytes(made: list[Attempt]) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        with open_history(folder / "first") as first:
            for attempt in made:
                first.append(attempt)
            wanted = sorted(made, key=lambda attempt: attempt.id)
            # repr tells -0.0 from 0.0, == doesn't.
            assert repr(first.attempts()) == repr(wanted)
            export(first, folder / "1.csv")
            export(first, folder / "1.json")
        for ending in ("csv", "json"):
            with open_history(folder / ending) as second:
                assert import_(second, folder / f"1.{ending}").added == len(made)
                assert repr(second.attempts()) == repr(wanted)
                for again in ("csv", "json"):
                    export(second, folder / f"2.{again}")
                    assert (folder / f"1.{again}").read_bytes() == (folder / f"2.{again}").read_bytes()


def test_the_promised_columns_are_there(history: History, tmp_path: Path) -> None:
    attempt = plain(history, call='a "quoted", call', seconds=None, potted=False)
    history.append(attempt)
    assert export(history, tmp_path / "a.csv") == 1
    export(history, tmp_path / "a.json")
    with (tmp_path / "a.csv").open(encoding="utf-8", newline="") as file:
        (line,) = csv.DictReader(file)
    (record,) = json.loads((tmp_path / "a.json").read_text("utf-8"))
    assert set(line) >= PROMISED
    assert list(line) == list(record) == list(NAMES)
    assert line["time"] == record["time"] == "2026-03-01T12:00:00.000+01:00"
    assert (line["potted"], record["potted"]) == ("false", False)
    assert (line["right"], record["right"]) == ("true", True)
    assert (line["seconds"], record["seconds"]) == ("", None)
    assert float(line["cut_deg"]) == record["cut_deg"] == attempt.cut_deg
    assert line["call"] == record["call"] == attempt.call
    assert line["choices"] == record["choices"] == '[["1","full",1.0],["2","1/2",0.5]]'


@BOTH
def test_an_empty_history_goes_out_and_in(
    history: History, other: History, tmp_path: Path, ending: str
) -> None:
    assert export(history, tmp_path / f"a.{ending}") == 0
    assert import_(other, tmp_path / f"a.{ending}").added == 0


@BOTH
def test_what_is_there_already_is_left_and_counted(
    history: History, other: History, tmp_path: Path, ending: str
) -> None:
    first, second = plain(history), plain(history)
    history.append(first)
    export(history, tmp_path / f"a.{ending}")
    history.append(second)
    export(history, tmp_path / f"b.{ending}")
    other.append(plain(other))
    assert import_(other, tmp_path / f"a.{ending}").added == 1
    result = import_(other, tmp_path / f"b.{ending}")
    assert (result.added, result.already_there) == (1, 1)
    assert other.count() == 3
    assert [a for a in other.attempts() if a.id in (first.id, second.id)] == [first, second]


@BOTH
def test_the_frozen_day_is_believed(history: History, other: History, tmp_path: Path, ending: str) -> None:
    history.append(plain(history, local_day="2026-02-28"))
    export(history, tmp_path / f"a.{ending}")
    import_(other, tmp_path / f"a.{ending}")
    assert other.days() == ["2026-02-28"]


@BOTH
def test_ids_with_other_values_are_refused_and_nothing_is_written(
    history: History, other: History, tmp_path: Path, ending: str
) -> None:
    fine, clashing = plain(history), plain(history)
    history.append(fine)
    history.append(clashing)
    export(history, tmp_path / f"a.{ending}")
    other.append(replace(clashing, error=-0.25))
    with pytest.raises(TrainerError, match=r"(line 3|record 2), column id: is there already"):
        import_(other, tmp_path / f"a.{ending}")
    assert [a.error for a in other.attempts()] == [-0.25]
    other.append(plain(other))  # the history is still there to write to


def test_an_id_twice_in_a_file(history: History, other: History, tmp_path: Path) -> None:
    history.append(plain(history))
    path = tmp_path / "a.csv"
    export(history, path)
    head, line = path.read_text("utf-8").splitlines()
    path.write_text("\n".join([head, line, line, ""]), "utf-8")
    result = import_(other, path)
    assert (result.added, result.already_there) == (1, 1)
    path.write_text("\n".join([head, line, line.replace("quarters", "halves"), ""]), "utf-8")
    with open_history(tmp_path / "third") as third:
        with pytest.raises(TrainerError, match="line 3, column id"):
            import_(third, path)
        assert third.count() == 0


# What a file may hold that isn't allowed: column, text in CSV, value in JSON, part of the answer.
BAD: list[tuple[str, str, Any, str]] = [
    ("id", "7", 7, "UUID"),
    ("id", "", None, "UUID"),
    ("time", "yesterday", "yesterday", "ISO 8601"),
    ("time", "2026-03-01T12:00:00", "2026-03-01T12:00:00", "no UTC offset"),
    ("time", "1969-01-01T12:00:00+00:00", "9999-01-01T12:00:00+00:00", "1970 to 9998"),
    ("time", "2026-03-01T12:00:00.0001Z", 12, "time"),
    ("zone", "\x1b[31m", "\x1b[31m", "no control characters"),
    ("zone", "x" * 201, "x" * 201, "200 characters"),
    ("local_day", "2026-02-30", "2026-02-30", "a day as"),
    ("local_day", "20260228", 20260228, "a day as"),
    ("number", "0", 0, "a whole number from 1"),
    ("number", "1.5", 1.5, "a whole number"),
    ("number", "9" * 5000, True, "a whole number"),
    ("of", "", None, "a whole number"),
    ("drill", "", "", "1 to 200 characters"),
    ("level", "a\u202eb", "a\u202eb", "no control characters"),
    ("pocket", "top-middle", "top-middle", "baulk-left, baulk-right"),
    ("cue_ball_x", "nan", float("nan"), "a number from"),
    ("cue_ball_y", "inf", float("inf"), "a number from"),
    ("cut_deg", "90.5", 90.5, "a number from -90 to 90"),
    ("cut_deg", "", None, "a number from -90 to 90"),
    ("fullness", "thick", "0.5", "a number from 0 to 1"),
    ("offset", "1e999", 10**400, "a number from"),
    ("speed", "2.0", 2.0, "speed, roll and side_spin, or none"),
    ("choices", "[", "[", "key, name, value"),
    ("choices", '[["1","full"]]', '[["1","full"]]', "key, name, value"),
    ("choices", '[["1","full",NaN]]', '[["1","full",1e999]]', "key, name, value"),
    ("choices", '[["1","full",1' + "0" * 400 + "]]", [["1", "full", 1.0]], "key, name, value"),
    ("choices", "[" * 50_000, "[" * 50_000, "key, name, value"),
    ("potted", "maybe", "true", "true or false"),
    ("right", "", 1, "true or false"),
    ("seconds", "-1", -1, "or nothing"),
    ("call", "a\nb", "\ud800", "no control characters"),
    ("undone", "yes", True, "a"),
    ("undone", "2026-03-01T12:00:00", None, "UTC offset"),
]


@pytest.mark.parametrize(("column", "text", "value", "answer"), BAD)
def test_a_bad_value_is_named_and_nothing_is_written(
    history: History, other: History, tmp_path: Path, column: str, text: str, value: Any, answer: str
) -> None:
    for _ in range(2):
        history.append(plain(history))
    export(history, tmp_path / "a.json")
    objects = json.loads((tmp_path / "a.json").read_text("utf-8"))
    lines = [dict(record) for record in objects]
    for record in lines:
        for name in ("potted", "right"):
            record[name] = str(record[name]).lower()

    lines[1][column] = text
    with (tmp_path / "bad.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, NAMES)
        writer.writeheader()
        writer.writerows(lines)
    objects[1][column] = value
    (tmp_path / "bad.json").write_text(json.dumps(objects), "utf-8")

    for name, place in (("bad.csv", "line [34]"), ("bad.json", "record 2")):
        with pytest.raises(TrainerError, match=f"{name}, {place}, column {column}: ") as caught:
            import_(other, tmp_path / name)
        message = str(caught.value)
        assert answer in message
        assert message.isprintable()
        assert len(message) < 500
        assert other.count() == 0


def _lines(change: Callable[[list[str]], list[str]]) -> Callable[[str], str]:
    return lambda text: "\n".join(change(text.splitlines())) + "\n"


def _one_less(text: str) -> str:
    """The first attempt without its last value."""
    head, first = text.splitlines()[:2]
    return f"{head}\n{first.rpartition(',')[0]}\n"


BAD_FILES: list[tuple[str, Callable[[str], str], str]] = [
    ("csv", lambda text: "", "line 1: no column id"),
    ("csv", _lines(lambda lines: lines[1:]), "line 1: no column"),
    ("csv", lambda text: text.replace("seconds", "minutes", 1), "no column seconds"),
    ("csv", _lines(lambda lines: [lines[0] + ",more", *lines[1:]]), "unknown column 'more'"),
    ("csv", _lines(lambda lines: [lines[0] + ",id", *lines[1:]]), "column id stands there more"),
    ("csv", _lines(lambda lines: [lines[0], "1,2,3"]), f"line 2: 3 values; allowed: {len(NAMES)}"),
    ("csv", _one_less, f"line 2: {len(NAMES) - 1} values; allowed: {len(NAMES)}"),
    ("csv", _lines(lambda lines: [lines[0], '"open']), "line 2: not CSV"),
    ("csv", _lines(lambda lines: [lines[0], "x" * 200_000]), "line 2: not CSV"),
    ("json", lambda text: "", "is not JSON"),
    ("json", lambda text: text[:-3], "is not JSON"),
    ("json", lambda text: "{}", "holds no list"),
    ("json", lambda text: "[1]", "record 1: 1 is not an object"),
    ("json", lambda text: "[{}]", "record 1: no column id"),
    ("json", lambda text: text.replace('"id":', '"id": 1, "id":', 1), "'id' stands twice"),
    ("json", lambda text: text.replace('"id":', '"idea": 1, "id":', 1), "unknown column 'idea'"),
    ("json", lambda text: "[" * 100_000, "is nested too deeply"),
    ("json", lambda text: "[" + "9" * 5000 + "]", "is not JSON"),
]


@pytest.mark.parametrize(("ending", "spoil", "answer"), BAD_FILES)
def test_a_bad_file_is_answered_in_one_line(
    history: History, tmp_path: Path, ending: str, spoil: Callable[[str], str], answer: str
) -> None:
    history.append(plain(history))
    path = tmp_path / f"a.{ending}"
    export(history, path)
    path.write_text(spoil(path.read_text("utf-8")), "utf-8")
    with pytest.raises(TrainerError) as caught:
        import_(history, path)
    assert answer in str(caught.value)
    assert str(caught.value).isprintable()
    assert history.count() == 1


def test_every_problem_is_kept(history: History, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    for _ in range(2):
        history.append(plain(history))
    export(history, path)
    path.write_text(path.read_text("utf-8").replace("snooker", "").replace(",30.1,", ",thin,"))
    with pytest.raises(TrainerError, match=r"and 3 more problems") as caught:
        import_(history, path)
    where = [problem.split(": ")[0].split(", ", 1)[1] for problem in caught.value.problems]
    assert where == [
        f"line {line}, column {column}" for line, column in itertools.product((2, 3), ("table", "cut_deg"))
    ]


def test_what_spreadsheets_change_is_understood(history: History, other: History, tmp_path: Path) -> None:
    """A byte order mark, TRUE, CRLF, an empty last line, columns in another order."""
    history.append(plain(history))
    export(history, tmp_path / "a.csv")
    with (tmp_path / "a.csv").open(newline="") as file:
        (line,) = csv.DictReader(file)
    turned = {name: line[name] for name in reversed(NAMES)} | {"potted": "TRUE", "right": "True"}
    with (tmp_path / "b.csv").open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.DictWriter(file, list(turned))
        writer.writeheader()
        writer.writerow(turned)
        file.write("\r\n")
    assert import_(other, tmp_path / "b.csv").added == 1
    assert other.attempts() == history.attempts()


def test_an_import_that_no_longer_fits_leaves_all_as_it_was(
    history: History, other: History, tmp_path: Path
) -> None:
    for _ in range(60):
        history.append(plain(history))
    export(history, tmp_path / "all.csv")
    other.append(plain(other))
    before = other.attempts()
    (pages,) = other._db.execute("PRAGMA page_count").fetchone()
    other._db.execute(f"PRAGMA main.max_page_count = {pages + 4}")
    with pytest.raises(TrainerError, match="the disk is full"):
        import_(other, tmp_path / "all.csv")
    other._db.execute("PRAGMA main.max_page_count = 1000000")
    assert other.attempts() == before
    assert list((tmp_path / "other" / "backups").glob(".*")) == []
    assert import_(other, tmp_path / "all.csv").added == 60


@pytest.mark.parametrize("place", [0, 499, 500, 1040])
def test_what_is_wrong_is_found_wherever_it_is(
    history: History, other: History, tmp_path: Path, place: int
) -> None:
    for _ in range(7):
        history.append(plain(history, seconds=None))
    export(history, tmp_path / "few.csv")
    head, *lines = (tmp_path / "few.csv").read_text("utf-8").splitlines()
    many = [line.replace(line[:36], history.new_id(history.clock.now())) for line in lines * 150]
    (tmp_path / "many.csv").write_text("\n".join([head, *many, ""]), "utf-8")
    cells = next(csv.reader([many[place]]))
    cells[NAMES.index("fullness")] = "nan"
    file = io.StringIO()
    csv.writer(file).writerow(cells)
    worse = [*many[:place], file.getvalue().strip(), *many[place + 1 :]]
    (tmp_path / "worse.csv").write_text("\n".join([head, *worse, "1,2", ""]), "utf-8")
    with pytest.raises(TrainerError) as error:
        import_(other, tmp_path / "worse.csv")
    places = [problem.split(": ")[0].partition("worse.csv, ")[2] for problem in error.value.problems]
    assert places == [f"line {place + 2}, column fullness", "line 1052"]
    assert other.count() == 0
    assert import_(other, tmp_path / "many.csv").added == 1050


def test_how_far_it_has_come_is_told(tmp_path: Path) -> None:
    with open_history(tmp_path / "one") as history:
        for _ in range(1100):
            history.append(plain(history))
        for ending in ("csv", "json"):
            file, written, read = tmp_path / f"a.{ending}", list[int](), list[int]()
            export(history, file, told=written.append)
            assert len(written) == 2
            assert sum(written) == 1100
            with open_history(tmp_path / ending) as other:
                import_(other, file, told=read.append)
            assert min(read) >= 0
            size = file.stat().st_size
            assert 0.7 * size < sum(read) <= size
