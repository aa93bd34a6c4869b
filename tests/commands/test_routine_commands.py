"""Shots called standing, then down, over the commands: lines, sentences, the report, the setting."""

import json
from collections.abc import Callable
from pathlib import Path

from trainer.settings.settings import FILE

Run = Callable[..., tuple[int, str, str]]
PLAY = ("play", "choose-standing", "--lines", "--seed", "3")


def lines(out: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in out.splitlines()]


def test_a_set_over_lines_left_and_gone_on_with(run: Run) -> None:
    code, out, err = run("play", "choose-standing", "--lines", text="0.3\n")
    assert (code, err) == (0, "")
    assert [line["type"] for line in lines(out)] == ["question", "question", "summary"]
    assert lines(out)[-1]["shots"] == lines(out)[-1]["right"] == 0
    said = lines(run("play", "choose-standing", "--lines", text="0.3\n")[1])
    assert [line["type"] for line in said] == ["question", "mark", "mark", "question", "summary"]
    assert [(line["view"], line["number"]) for line in said[1:3]] == [("standing", 1), ("down", 2)]
    assert (said[0]["number"], said[0]["view"]) == (2, "down")
    assert said[0]["shot"] == lines(out)[1]["shot"]


def test_the_same_is_said_in_sentences(run: Run) -> None:
    out = run(*PLAY, "--plain", "--shots", "2", text="0.3\n0.3\n")[1].splitlines()
    assert (
        out.index("Standing: wrong.")
        < out.index("Down: wrong.")
        < out.index("Both alike: choose it better standing.")
    )


def test_the_report_tells_of_the_two_looks(run: Run, tmp_path: Path) -> None:
    assert json.loads(run("report", "--json")[1])["routine"] is None
    run(*PLAY, "--shots", "24", text="0.3\n0.31\n" * 12)
    found = json.loads(run("report", "--json")[1])
    assert found["attempts"] == 24
    assert found["routine"]["pairs"] == found["routine"]["agree"] == 12
    changed = found["routine"]["changed_for_better"], found["routine"]["changed_for_worse"]
    assert sum(changed) == 12
    said = run("report")[1]
    assert "Standing, then down: within 1/32 ball of each other in 12 of 12 shots; " in said
    assert f"{changed[0]} changed for the better, {changed[1]} for the worse." in said
    run("report", "--page", str(tmp_path / "report.html"))
    assert "Standing, then down" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_over_lines_a_set_is_the_same_whatever_is_set(run: Run, tmp_path: Path) -> None:
    usual = run("play", "--drill", "slide", "--lines", "--seed", "3", "--shots", "2", text="0.3\n0.2\n")
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / FILE).write_text('routine = "on"\n')
    own = run(
        *("play", "--drill", "slide", "--lines", "--seed", "3", "--shots", "2", "--data", str(mine)),
        text="0.3\n0.2\n",
    )
    assert usual == own
    (mine / FILE).write_text("routine = true\n")
    assert run("report", "--data", str(mine))[0] == 0


def test_a_level_that_cannot_be_called_twice_says_so(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('title = "x"\nteaches = "x"\ndrill = "leave"\n[set]\nroutine = true\n')
    code, out, err = run("levels", "--check", str(file))
    assert code == 1
    (said,) = [line for line in (out + err).splitlines() if "set.routine" in line]
    assert "not for the drill leave; allowed: for band, aim, slide, judge, edge, throw" in said
