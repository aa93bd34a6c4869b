"""Weeks on the command line: the report as text, JSON and page, the hour a day begins, simulated travel."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.history.streaks import RULE

Run = Callable[..., tuple[int, str, str]]
NOW = ("--now", "2026-04-20T09:00:00+00:00")
INTO = ("--days", "9", "--shots", "2", "--seed", "1", "--level", "eighths", *NOW)


def test_the_report_shows_weeks_and_writes_a_page(run: Run, tmp_path: Path) -> None:
    demo = str(tmp_path / "demo")
    code, out, err = run("simulate", "--into", demo, "--rests", "3,6", *INTO)
    assert (code, err) == (0, "")
    assert "14 calls on 7 days written to" in out
    code, out, err = run("report", "--data", demo, *NOW)
    assert (code, err) == (0, "")
    assert RULE in out
    assert " 6 Apr" in out
    assert "What has changed:" in out
    found = json.loads(run("report", "--json", "--data", demo, *NOW)[1])
    weeks = [(week["name"], week["calls"], len(week["days"])) for week in found["weeks"]]
    assert weeks == [("2026-W15", 4, 2), ("2026-W16", 10, 5)]  # the 11th to the 19th, less the 13th and 16th
    target = tmp_path / "page.html"
    code, out, err = run("report", "--page", str(target), "--data", demo, *NOW)
    assert (code, err) == (0, "")
    assert str(target) in out
    assert target.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("--page", "report.pdf"), 2, "allowed: .html, .htm"),
        (("--page", "report.html", "--json"), 2, "one of them"),
        (("--page", "no/such/folder.html"), 1, "there is no folder"),
        (("--page", "full.html"), 1, "is a folder"),
    ],
)
def test_a_page_that_cant_be_written_says_why_in_one_line(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...], code: int, said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "full.html").mkdir()
    found, out, err = run("report", *args, *NOW)
    assert (found, out, len(err.splitlines())) == (code, "", 1)
    assert said in err


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--rests", "0"), "whole number from 1"),
        (("--rests", "3=4"), "numbers of days"),
        (("--rests", "40"), "later than the last"),
        (("--zone", "Europe/London"), "day=value"),
        (("--zone", "1=Europe/Nowhere"), "no zone of this name"),
        (("--zone", "1=../../etc/passwd"), "no zone of this name"),
        (("--rollover", "1=24"), "from 0 to 23"),
        (("--plays-at", "1=30"), "from 0 to 29.99"),
    ],
)
def test_a_diary_that_cant_be_kept_says_why_in_one_line(
    run: Run, tmp_path: Path, args: tuple[str, ...], said: str
) -> None:
    code, out, err = run("simulate", "--into", str(tmp_path / "demo"), *args, *INTO)
    assert (code, out, len(err.splitlines())) == (2, "", 1)
    assert said in err
    assert not (tmp_path / "demo").exists()


def test_a_diary_is_for_one_player_alone(run: Run) -> None:
    code, out, err = run("simulate", "--rests", "3", "--players", "2")
    assert (code, out, len(err.splitlines())) == (2, "", 1)


def test_the_hour_a_day_begins_is_the_settings(run: Run, tmp_path: Path) -> None:
    data = tmp_path / "data"
    data.mkdir()
    night = ("--data", str(data), "--now", "2026-05-01T01:30:00+01:00")
    days = []
    for text in ("", "rollover_hour = 0\n", "rollover_hour = 3\n", "rollover_hour = 24\n"):
        (data / "settings.toml").write_text(text)
        assert run("play", "eighths", "--lines", "--shots", "1", *night, text="1\n")[0] == 0
        out = tmp_path / "out.json"
        assert run("export", str(out), *night)[0] == 0
        days.append([each["local_day"] for each in json.loads(out.read_text())])
    # What was kept stays; one that isn't allowed is as if it weren't there.
    assert days[-1] == ["2026-04-30", "2026-05-01", "2026-04-30", "2026-04-30"]
    assert all(days[-1][: len(each)] == each for each in days)
