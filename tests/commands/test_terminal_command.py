"""What ``trainer terminal`` says of colours, size, cells and mouse: each from what tells it."""

import os
import re
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from trainer.commands.terminal import RAMP, ramp, why
from trainer.pictures.terminal import depth_for
from trainer.settings.settings import Settings, save_settings

Run = Callable[..., tuple[int, str, str]]


@pytest.mark.parametrize(
    ("environ", "said"),
    [
        ({"TERM": "xterm-256color"}, "by TERM=xterm-256color"),
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, "by COLORTERM=truecolor"),
        ({"TERM": "xterm-256color", "WT_SESSION": "1"}, "by WT_SESSION=1"),
        ({"TERM": "xterm-256color", "VTE_VERSION": "7000"}, "by VTE_VERSION=7000"),
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor", "NO_COLOR": "1"}, "by NO_COLOR=1"),
        ({"TERM": "screen-256color", "VTE_VERSION": "7000"}, "by TERM=screen-256color"),
        ({}, "since nothing tells of more"),
        ({"TERM": "x\x1b[31m256color"}, "by TERM='x\\x1b[31m256color'"),
    ],
)
def test_the_variable_that_tells_of_colours_is_named(environ: dict[str, str], said: str) -> None:
    assert why(environ) == said
    name = said.removeprefix("by ").partition("=")[0]
    if name in environ:  # without it, it would be another number
        rest = {key: value for key, value in environ.items() if key != name}
        assert depth_for(rest) is not depth_for(environ)


def test_the_ramp_goes_evenly_from_green_to_white() -> None:
    colours = [tuple(map(int, c)) for c in re.findall(r"48;2;(\d+);(\d+);(\d+)m ", ramp())]
    assert len(colours) == RAMP
    assert colours[-1] == (255, 255, 255)
    assert colours[0][1] > max(colours[0][0], colours[0][2])
    for before, after in pairwise(colours):
        assert all(0 <= b - a <= 4 for a, b in zip(before, after, strict=True))
    assert ramp().endswith("\x1b[0m")


@pytest.fixture
def plain(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    for name in ("NO_COLOR", "COLORTERM", "WT_SESSION", "VTE_VERSION", "TMUX", "TRAINER_COLOURS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    return monkeypatch


def test_each_line_says_who_tells_it_and_how_to_get_more(run: Run, plain: pytest.MonkeyPatch) -> None:
    code, out, err = run("terminal")
    assert (code, err) == (0, "")
    assert "\x1b" not in out  # no terminal
    assert "Size     not known" in out
    assert "Colours  256 colours, by TERM=xterm-256color\n" in out
    assert "set COLORTERM=truecolor" in out
    assert "Cells    2.00 times as high as wide, as usual" in out
    assert "Mouse    asked for" in out
    plain.setenv("COLORTERM", "truecolor")
    plain.setenv("TMUX", "/tmp/tmux")
    out = run("terminal")[1]
    assert "24-bit colour, by COLORTERM=truecolor\n" in out
    assert "for more" not in out
    assert "set -g mouse on" in out
    plain.setenv("NO_COLOR", "1")
    plain.setenv("TERM", "linux")
    out = run("terminal")[1]
    assert "no colours, by NO_COLOR=1\n         for more: unset NO_COLOR\n" in out
    assert "Mouse    none on the console" in out


def test_the_settings_and_variables_are_named(run: Run, plain: pytest.MonkeyPatch, tmp_path: Path) -> None:
    save_settings(tmp_path, Settings(colours="16", cell_shape=2.2))
    out = run("--data", str(tmp_path), "terminal")[1]
    assert "16 colours, as your settings say" in out
    assert "2.20 times as high as wide, as your settings say" in out
    plain.setenv("TRAINER_COLOURS", "true")
    out = run("--data", str(tmp_path), "terminal")[1]
    assert "24-bit colour, as the variable TRAINER_COLOURS says" in out


def test_on_a_terminal_there_is_a_ramp_and_the_size(run: Run, plain: pytest.MonkeyPatch) -> None:
    plain.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    plain.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((70, 30)))
    out = run("terminal")[1]
    assert "Size     70 columns, 30 rows; too small: make it 80 x 24" in out
    assert ramp() in out
    plain.setattr("shutil.get_terminal_size", lambda *_: os.terminal_size((100, 30)))
    assert "100 columns, 30 rows; a larger one shows larger balls" in run("terminal")[1]
