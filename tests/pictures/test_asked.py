"""What a terminal answers, and that asking leaves nothing behind. The answers are those of real terminals."""

import os
import pty
import select
import sys
import termios
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from trainer.pictures import asked as asking
from trainer.pictures.asked import LAST, Answer, Shown, asked, pictures_in, read, worth_asking
from trainer.pictures.graphics import Graphics
from trainer.pictures.sixel import Sixels

# Printed by these terminals, each from Debian; for xterm the size of a cell in pixels is put in: it doesn't
# answer that unless it is allowed to.
KITTY = "\x1b_Gi=4211;OK\x1b\\\x1bP>|kitty(0.41.1)\x1b\\\x1b[6;18;9t\x1b[?62;52;c"
OLD_KITTY = "\x1b_Gi=4211;OK\x1b\\\x1bP>|kitty(0.26.5)\x1b\\\x1b[6;20;9t\x1b[?62;c"
XTERM = "\x1bP>|XTerm(379)\x1b\\\x1b[?1;0;1024S\x1b[6;17;8t\x1b[?63;1;2;4;6;9;15;16;22;28c"
PLAIN_XTERM = "\x1bP>|XTerm(379)\x1b\\\x1b[?64;1;2;6;9;15;16;17;18;21;22;28c"
TMUX = "\x1bP>|tmux 3.3a\x1b\\\x1b[?1;2c"
COLOURS = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        (KITTY, Shown.GRAPHICS),
        (OLD_KITTY, Shown.CELLS),
        (XTERM, Shown.SIXEL),
        (PLAIN_XTERM, Shown.CELLS),
        (TMUX, Shown.CELLS),
        (TMUX.replace("\x1b[?1;2c", "\x1b[6;17;8t\x1b[?1;2;4c"), Shown.CELLS),
        (KITTY.replace("kitty(0.41.1)", "ghostty 1.2.0"), Shown.GRAPHICS),
        (KITTY.replace("kitty(0.41.1)", "elsewhere 3.1"), Shown.CELLS),  # it may have no placeholders
        (KITTY.replace("OK", "ENOENT"), Shown.CELLS),
        ("", Shown.CELLS),
        (XTERM.replace("\x1b[6;17;8t", ""), Shown.CELLS),  # how large would they be?
    ],
)
def test_pictures_are_shown_as_the_terminal_says_that_it_can(said: str, shown: Shown) -> None:
    pictures = pictures_in(read(said), COLOURS, None)
    assert pictures.shown is shown
    assert pictures.why
    kinds = {Shown.GRAPHICS: Graphics, Shown.SIXEL: Sixels, Shown.CELLS: type(None)}
    assert type(pictures.way()) is kinds[shown]
    assert pictures_in(read(said), COLOURS, "cells").shown is Shown.CELLS
    assert pictures_in(read(said), COLOURS | {"NO_COLOR": "1"}, None).shown is Shown.CELLS
    assert pictures_in(read(said), COLOURS | {"NO_COLOR": "1"}, "pixels").shown is shown


def test_an_answer_is_read_whatever_comes_in_between() -> None:
    answer = read(f"2{KITTY[:40]}{KITTY[40:]}q")
    assert answer == Answer("kitty(0.41.1)", graphics=True, cell=(9, 18), typed="2q")
    assert read(XTERM) == Answer("XTerm(379)", sixel=True, registers=1024, cell=(8, 17))
    assert read("j").late
    assert read("\x1b[?64;14c") == Answer()  # 14 isn't 4
    assert not read("\x1b[?4;1c").sixel  # what comes first is what terminal it is


@pytest.mark.parametrize(
    ("environ", "worth"),
    [
        ({"TERM": "xterm-kitty"}, True),
        ({"TERM": "xterm-256color"}, True),
        ({"TERM": "xterm-256color", "VTE_VERSION": "7006"}, False),
        ({"TERM": "alacritty"}, False),
        ({"TERM": "linux"}, False),
        ({"TERM": "dumb"}, False),
        ({"TERM": "xterm-256color", "TERM_PROGRAM": "Apple_Terminal"}, False),
        ({}, False),
    ],
)
def test_terminals_known_for_no_pixels_are_not_asked(environ: dict[str, str], worth: bool) -> None:
    assert worth_asking(environ) is worth


@pytest.fixture
def line(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """The terminal's end of a line whose other end is standard input and output."""
    terminal, ours = pty.openpty()

    class Stream:
        def fileno(self) -> int:
            return ours

    monkeypatch.setattr(sys, "__stdin__", Stream())
    monkeypatch.setattr(sys, "__stdout__", Stream())
    monkeypatch.setattr(asking, "LONGEST_S", 2.0)  # a busy machine answers late
    yield terminal
    os.close(terminal)
    os.close(ours)


def answering(terminal: int, with_what: str, heard: list[str]) -> threading.Thread:
    """A terminal that answers once it has heard the whole question."""

    def answer() -> None:
        text = ""
        while not text.endswith(LAST):
            text += os.read(terminal, 1000).decode()
        heard.append(text)
        os.write(terminal, with_what.encode())

    found = threading.Thread(target=answer)
    found.start()
    return found


def test_one_question_is_asked_and_the_answer_read(line: int) -> None:
    heard: list[str] = []
    there = answering(line, KITTY, heard)
    before = termios.tcgetattr(sys.__stdin__.fileno())  # type: ignore[union-attr]
    with asked(COLOURS) as question:
        there.join()
        answer = question.answer()
        assert termios.tcgetattr(sys.__stdin__.fileno()) == before  # type: ignore[union-attr]
        assert question.answer() == answer
    assert answer == Answer("kitty(0.41.1)", graphics=True, cell=(9, 18))
    assert heard[0].count("\x1b[c") == 1


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("kitty(0.41.1)\ton\t9\t18", Shown.GRAPHICS),
        ("kitty(0.41.1)\t1\t9\t18", Shown.GRAPHICS),
        ("kitty(0.41.1)\toff\t9\t18", Shown.CELLS),
        ("kitty(0.41.1)\ton\t0\t0", Shown.CELLS),
        ("XTerm(379)\ton\t8\t17", Shown.CELLS),
        ("nonsense", Shown.CELLS),
    ],
)
def test_in_tmux_it_is_asked_what_is_around_it(
    line: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str, shown: Shown
) -> None:
    tmux = tmp_path / "tmux"
    tmux.write_text(f"#!/bin/sh\nprintf '%s\\n' '{said}'\n")
    tmux.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    environ = COLOURS | {"TMUX": "/tmp/tmux"}
    with asked(environ) as question:
        pictures = pictures_in(question.answer(), environ, None)
    assert pictures.shown is shown
    assert pictures.in_tmux is (shown is Shown.GRAPHICS)
    assert not select.select([line], [], [], 0)[0]  # nothing was written


def test_a_terminal_that_is_silent_is_waited_for_a_moment_only(
    line: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(asking, "LONGEST_S", 0.05)
    before = termios.tcgetattr(sys.__stdin__.fileno())  # type: ignore[union-attr]
    with asked(COLOURS) as question:
        began = time.monotonic()
        answer = question.answer()
        assert time.monotonic() - began < 1.0
    assert answer.late
    assert pictures_in(answer, COLOURS, None).shown is Shown.CELLS
    assert termios.tcgetattr(sys.__stdin__.fileno()) == before  # type: ignore[union-attr]


def test_without_a_terminal_nothing_is_asked(capfd: pytest.CaptureFixture[str]) -> None:
    with asked(COLOURS) as question:
        assert question.answer() == Answer()
    assert capfd.readouterr().out == ""


def test_where_something_fails_the_terminal_is_as_it_was(line: int) -> None:
    before = termios.tcgetattr(sys.__stdin__.fileno())  # type: ignore[union-attr]
    failing = asked(COLOURS)
    failing.__enter__()
    assert termios.tcgetattr(sys.__stdin__.fileno()) != before  # type: ignore[union-attr]
    assert not failing.__exit__(RuntimeError, RuntimeError("fails"), None)
    assert termios.tcgetattr(sys.__stdin__.fileno()) == before  # type: ignore[union-attr]
