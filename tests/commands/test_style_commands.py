"""Units and numbers of the player's in all that is printed; JSON and exports are the same for everybody."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.settings.settings import Settings, save_settings

Run = Callable[..., tuple[int, str, str]]
SHOT = ("--table", "snooker", "--cue-ball", "900,500", "--object-ball", "1600,420", "--pocket", "top-right")
OTHER = Settings(units="imperial", numbers="hundredths")
IN_MM = re.compile(r"\d mm\b")
FRACTION = re.compile(r"\b\d+/\d+ ball")


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


def test_a_shot_is_said_in_inches_and_hundredths(run: Run, data: Path) -> None:
    _, usual, _ = run("--data", str(data), "shot", *SHOT)
    assert "900 mm up from the baulk cushion" in usual
    assert IN_MM.search(usual)
    assert FRACTION.search(usual)
    save_settings(data, OTHER)
    code, out, err = run("--data", str(data), "shot", *SHOT)
    assert (code, err) == (0, "")
    assert "35.4 in up from the baulk cushion" in out  # 900 / 25.4
    assert not IN_MM.search(out)
    assert not FRACTION.search(out)
    assert re.search(r"forgives +0\.\d\d ball thick", out)


def test_tables_are_said_in_inches(run: Run, data: Path) -> None:
    save_settings(data, OTHER)
    _, out, _ = run("--data", str(data), "tables")
    assert "100.00 x 50.00 in, balls 2.25 in" in out  # a nine-foot table's bed
    assert not IN_MM.search(out)


def test_a_card_is_laid_out_in_the_players_units(run: Run, data: Path) -> None:
    args = ("card", "--kinds", "1/2", "--seed", "3")
    _, inches, _ = run("--data", str(data), *args, "--inches")
    _, usual, _ = run("--data", str(data), *args)
    save_settings(data, OTHER)
    _, out, _ = run("--data", str(data), *args)
    assert out == inches != usual


@pytest.mark.parametrize(
    "args",
    [
        ("shot", *SHOT, "--json"),
        ("tables", "--json"),
        ("today", "--json"),
        ("report", "--json"),
        ("card", "--kinds", "1/2", "--seed", "3", "--json"),
        ("notebook", "--json"),
    ],
)
def test_json_is_the_same_for_everybody(run: Run, data: Path, args: tuple[str, ...]) -> None:
    now = ("--now", "2026-03-01T18:30:00+01:00")
    run("--data", str(data), *now, "notebook", "1/2", "left", "thick", "far")
    _, usual, _ = run("--data", str(data), *now, *args)
    save_settings(data, OTHER)
    _, out, _ = run("--data", str(data), *now, *args)
    json.loads(out)
    assert out == usual


def test_plain_lines_go_by_the_settings_and_json_lines_do_not(run: Run, tmp_path: Path) -> None:
    said = []
    for settings in (Settings(), OTHER):
        for plain in ((), ("--plain",)):
            data = tmp_path / str(len(said))  # the same beginnings for each
            save_settings(data, settings)
            args = ("--data", str(data), "play", "eighths", "--lines", "--shots", "1", "--seed", "4")
            code, out, err = run(*args, *plain, text="1\n")
            assert (code, err) == (0, "")
            said.append(out)
    usual, sentences, other, others = said
    assert [json.loads(line)["type"] for line in usual.splitlines()] == ["question", "mark", "summary"]
    assert other == usual
    assert IN_MM.search(sentences)
    assert FRACTION.search(sentences)
    assert not IN_MM.search(others)
    assert not FRACTION.search(others)


def test_plain_alone_is_a_usage_error(run: Run, data: Path) -> None:
    for command in ("play", "warmup"):
        code, out, err = run("--data", str(data), command, "--plain")
        assert (code, out) == (2, "")
        assert err.strip().endswith("--plain needs --lines")
