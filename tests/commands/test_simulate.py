"""``trainer simulate``: what it prints and writes, good and bad input, a bar, and how it ends."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.commands.console import Bar

Run = Callable[..., tuple[int, str, str]]
SMALL = ("--players", "3", "--days", "1", "--shots", "6", "--seed", "4")
NOW = ("--now", "2026-05-10T12:00:00+02:00")


def whole(out: str) -> dict[str, object]:
    found = json.loads(out)
    assert isinstance(found, dict)
    return found


def test_however_many_processes_it_prints_the_same(run: Run, tmp_path: Path) -> None:
    first = run("simulate", *SMALL, "--json", "--cores", "1")
    assert first[0] == 0
    assert first[2] == ""
    assert run("simulate", *SMALL, "--json", "--cores", "2") == first
    assert run("simulate", *SMALL, "--json", "--cores", "1", "--drill", "aim") != first
    assert not (tmp_path / "data").exists()  # nothing is written anywhere


def test_the_object_says_what_was_asked_and_found(run: Run) -> None:
    args = ("--noise", "1/16", "--lapse", ".25", "--growth", "0.5", "--central", "0.1", "--serial", "0.2")
    more = ("--drift", "0.001", "--learns", "0.01", "--bump", "-1/8", "--level", "aim-fine")
    code, out, _ = run("simulate", *SMALL, *args, *more, "--json", "--cores", "1")
    found = whole(out)
    assert code == 0
    assert found["nature"] == {
        **{"noise": 0.0625, "growth": 0.5, "lapse": 0.25, "central": 0.1, "serial": 0.2},
        **{"drift": 0.001, "learns": 0.01},
    }
    assert (found["seed"], found["level"], found["drill"], found["players"]) == (4, "aim-fine", "aim", 3)
    assert len(found["each"]) == 3
    for one in found["each"]:
        assert one["calls"] == 6
        assert [bump["size"] for bump in one["bump"]] == [-0.125]
        assert 0 <= abs(one["bump"][0]["cut_deg"]) <= 65


@pytest.mark.parametrize(
    ("given", "sizes"),
    [("0", set()), ("+.1", {0.1}), ("-.1", {-0.1}), (".1", {0.1, -0.1}), ("-0", set()), ("-1e-1", {-0.1})],
)
def test_a_bump_has_the_sign_given_or_either(run: Run, given: str, sizes: set[float]) -> None:
    args = ("--players", "7", "--days", "1", "--shots", "1", "--seed", "1", "--cores", "1", "--json")
    found = whole(run("simulate", *args, "--bump", given)[1])
    assert {bump["size"] for one in found["each"] for bump in one["bump"]} == sizes
    assert (found["found"] is None) == (not sizes)


def test_people_get_a_short_table_in_plain_words(run: Run) -> None:
    code, out, err = run("simulate", *SMALL, "--cores", "1", "--bump", "+1/16")
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 100
    for said in ("3 simulated players: one angle seen 0.0625 ball thick", "seed 4", "6 calls each", "found"):
        assert said in out
    for said in ("calls needed", "more than 6", "accused wrongly", "noise recovered", "curve off by"):
        assert said in out
    null = run("simulate", *SMALL, "--cores", "1", "--bump", "0")[1]
    assert "every angle seen true" in null
    assert "found" not in null


def test_without_a_seed_the_one_taken_is_said(run: Run) -> None:
    args = ("simulate", "--players", "1", "--days", "1", "--shots", "3", "--json")
    first = run(*args)
    assert run(*args, "--seed", str(whole(first[1])["seed"])) == first


@pytest.mark.parametrize(
    "args",
    [
        ("--players", "0"),
        ("--players", "many"),
        ("--days", "0"),
        ("--shots", "1001"),
        ("--noise", "0"),
        ("--noise", "nan"),
        ("--noise", "1/0"),
        ("--noise", "1/2/3"),
        ("--bump", "0.6"),
        ("--bump", "-x"),
        ("--bump", "thick"),
        ("--bump",),
        ("--lapse", "3"),
        ("--lapse", "-0.1"),
        ("--central", "1"),
        ("--learns", "1.5"),
        ("--drift", "1"),
        ("--growth", "inf"),
        ("--drill", "bend"),
        ("--seed", "-1"),
        ("--cores", "0"),
        ("--into",),
        ("--into", "x", "--players", "2"),
        ("--into", "x", "--cores", "2"),
        ("--into", "x", "--days", "100", "--now", "1970-02-01T00:00:00Z"),
        ("extra",),
    ],
    ids=" ".join,
)
def test_a_usage_error_is_one_line_and_writes_nothing(
    run: Run, args: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run("simulate", *args)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert err.strip().isprintable()
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("args", [("--level", "nope"), ("--into", ""), ("--into", "x", "--now", "now")])
def test_any_other_failure_is_one_line(
    run: Run, args: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run("simulate", *args)
    assert (code, out, len(err.splitlines())) == (1, "", 1)
    assert not list(tmp_path.iterdir())


def test_only_an_empty_folder_or_a_new_one_is_written_into(run: Run, tmp_path: Path) -> None:
    full = tmp_path / "full"
    full.mkdir()
    (full / "kept.txt").write_text("kept")
    for name, said in (("full", "not empty"), ("full/kept.txt", "is a file")):
        code, out, err = run("simulate", "--into", str(tmp_path / name))
        assert (code, out, len(err.splitlines())) == (1, "", 1)
        assert said in err
    assert [file.read_text() for file in full.iterdir()] == ["kept"]


def test_a_history_reports_and_exports_and_imports(run: Run, tmp_path: Path) -> None:
    demo, other = str(tmp_path / "new" / "demo"), str(tmp_path / "other")
    args = ("--days", "6", "--shots", "8", "--seed", "2", "--bump", "+1/8", *NOW)
    code, out, err = run("simulate", "--into", demo, *args)
    assert (code, err) == (0, "")
    assert "48 calls on 6 days written to" in out
    assert "1/8 ball thick" in out
    found = whole(run("report", "--json", "--data", demo, *NOW)[1])
    assert (found["attempts"], found["days"], found["streak_days"]) == (48, 6, 6)
    assert sum(band["attempts"] for band in found["bands"]) == 48
    first, second = str(tmp_path / "1.csv"), str(tmp_path / "2.csv")
    assert run("export", first, "--data", demo)[0] == 0
    assert run("import", first, "--data", other)[:2] == (0, "48 calls added, 0 were there already\n")
    assert run("export", second, "--data", other)[0] == 0
    assert Path(first).read_bytes() == Path(second).read_bytes()
    assert {file.name.partition("-")[0] for file in Path(demo).iterdir()} == {
        "history.sqlite3",
        "history.checked",
        "backups",
    }
    assert not (tmp_path / "data").exists()
    levels = whole(run("levels", "--json", "--data", demo)[1])["levels"]
    assert any(level["passed"] for level in levels)


def test_a_history_as_an_object(run: Run, tmp_path: Path) -> None:
    args = ("--days", "1", "--shots", "3", "--seed", "2", "--level", "eighths", "--json")
    found = whole(run("simulate", "--into", str(tmp_path / "demo"), *args, *NOW)[1])
    assert (found["attempts"], found["level"], found["folder"]) == (3, "eighths", str(tmp_path / "demo"))
    assert len(found["bump"]) == 1


def test_help_says_what_there_is(run: Run) -> None:
    code, out, _ = run("simulate", "--help")
    assert code == 0
    nature = ("noise", "growth", "lapse", "central", "serial", "drift", "learns")
    for option in (*nature, "players", "days", "shots", "bump", "drill", "level", "seed", "json", "into"):
        assert f"--{option}" in out


# The bar


def drawn(steps: list[tuple[float, int]], columns: int = 80) -> list[str]:
    now = [100.0]
    out: list[str] = []
    bar = Bar(200, out.append, columns, lambda: now[0])
    for at, work in steps:
        now[0] = 100 + at
        bar.add(work)
    bar.clear()
    return out


def test_a_short_run_shows_no_bar() -> None:
    assert drawn([(0.0, 50), (0.2, 50), (0.45, 100)]) == []


def test_a_long_run_shows_how_far_it_is_and_leaves_nothing() -> None:
    out = drawn([(0.0, 0), (1.0, 50), (1.05, 10), (2.0, 40)])
    assert [line.strip() for line in out[:2]] == [
        "25 % [########......................] 3 s to go",
        "50 % [###############...............] 2 s to go",
    ]
    assert out[-2].strip(" \r") == ""
    assert len(out[-2]) >= max(map(len, out[:2]))
    assert out[-1] == "\r"


def test_the_bar_fits_a_narrow_terminal() -> None:
    assert all(len(line.strip("\r")) < 20 for line in drawn([(0.0, 0), (1.0, 50), (3.0, 50)], columns=20))


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="no pseudo-terminals there")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_however_it_is_stopped_no_process_is_left(how: signal.Signals) -> None:
    import pty

    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "trainer", "simulate", "--players", "9", "--days", "300", "--cores", "2"]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=theirs, stdin=subprocess.DEVNULL, start_new_session=True
    )
    os.close(theirs)
    said = b""
    while b"% [" not in said:  # the bar: they are at work
        said += os.read(ours, 1000)
    # As a terminal does: ctrl+C goes to every process of the group.
    (os.killpg if how == signal.SIGINT else os.kill)(process.pid, how)
    assert process.stdout is not None
    assert process.stdout.read() == b""
    code = process.wait(60)
    while True:
        try:
            more = os.read(ours, 1000)
        except OSError:  # nobody holds the other end any more
            break
        if not more:
            break
        said += more
    os.close(ours)
    process.stdout.close()
    assert b"Traceback" not in said
    if how == signal.SIGINT:
        assert code == 1
        last = said.decode().replace("\r\n", "\n").rpartition("\r")[2]
        assert last.startswith("trainer: stopped after ")
        assert last.count("\n") == 1
    until = time.monotonic() + 60
    while time.monotonic() < until:
        try:
            os.killpg(process.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    pytest.fail("a process is left")
