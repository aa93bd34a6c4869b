"""In a real terminal: sizes beyond any screen, floods of keys and of the mouse, a terminal that goes away."""

import os
import random
import signal
import sqlite3
import time
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet
from in_terminal import Terminal

from trainer.history.store import FILE

SET = ("play", "eighths", "--seed", "4")
DIGITS = b"123456789" * 1333
MOVES = b"".join(b"\x1b[<35;%d;%dM" % (1 + i % 118, 1 + i % 38) for i in range(20_000))
QUIT = b"\x11"
ANSWER_S = 5.0  # until ctrl+q has ended it on a busy machine; it took 10 to 50 s


def mixed(length: int) -> bytes:
    """What a paste of a file may be: text, lines, sequences of terminals, the mouse, and no UTF-8."""
    rng, found = random.Random(4), b""
    pieces = [b"1", b"a word", b"\r\n", b"\x1b[A", b"\x1b[<0;9;9M", b"\xff", b"\x1b[55296u", b"\x1b[31m"]
    while len(found) < length:
        found += rng.choice(pieces)
    return found


def calls(data: Path) -> int:
    """The calls that were kept; before the first there is no history."""
    if not (data / FILE).exists():
        return 0
    with closing(sqlite3.connect(data / FILE)) as history:
        return int(history.execute("SELECT count(*) FROM attempts").fetchone()[0])


@pytest.fixture
def playing(tmp_path: Path) -> Iterator[Terminal]:
    """A set on the screen."""
    one = Terminal(tmp_path, args=SET)
    try:
        one.read_until(b"Home")
        one.read_for(0.5)
        yield one
    finally:
        one.close()


FLOODS = {"digits": DIGITS, "moves": MOVES, "mixed": mixed(100_000), "arrows": b"\x1b[C" * 1000}


def some(cases: Mapping[str, object], *quick: str) -> list[ParameterSet]:
    """Each case; those that aren't named here are among the slow tests."""
    marks = {name: () if name in quick else pytest.mark.slow for name in cases}
    return [pytest.param(case, id=name, marks=marks[name]) for name, case in cases.items()]


@pytest.mark.parametrize("flood", some(FLOODS, "digits"))
def test_a_flood_is_over_at_once_and_calls_nothing(playing: Terminal, flood: bytes, tmp_path: Path) -> None:
    playing.type(flood)
    playing.read_for(0.5)
    memory = playing.most_memory
    began = time.monotonic()
    playing.type(QUIT)
    assert playing.end() == (0, "")
    assert time.monotonic() - began < ANSWER_S
    assert memory < 150
    assert calls(tmp_path) == 0
    assert playing.is_as_before()


@pytest.mark.parametrize("flood", some(FLOODS, "moves"))
def test_a_signal_ends_it_in_the_middle_of_a_flood(playing: Terminal, flood: bytes) -> None:
    playing.type(flood)
    began = time.monotonic()
    playing.signal(signal.SIGTERM)
    code, _ = playing.end()
    assert (code, time.monotonic() - began < 2.5) == (143, True)
    assert playing.is_as_before()


NO_CHARACTERS = {
    "half of one": b"\x1b[55296u",
    "beyond all": b"\x1b[1114112u",
    "twenty digits": b"\x1b[%su" % (b"9" * 20),
    "no UTF-8": b"\xff",
    "cut short": b"\xc3",
}


@pytest.mark.parametrize("key", some(NO_CHARACTERS, "half of one", "no UTF-8"))
def test_what_is_no_character_ends_nothing(playing: Terminal, key: bytes, tmp_path: Path) -> None:
    playing.type(key)
    playing.read_for(0.3)
    playing.type(b"3")
    since = len(playing.sent)
    playing.read_until(b"Go on", since)
    playing.type(QUIT)
    assert playing.end() == (0, "")
    assert calls(tmp_path) == 1


SIZES_TYPED = {"huge": b"\x1b[48;1000;3000;9;9t", "none": b"\x1b[48;0;0;0;0t\x1b[<35;5;5M"}


@pytest.mark.parametrize("typed", some(SIZES_TYPED, "huge"))
def test_a_size_that_is_typed_is_none(playing: Terminal, typed: bytes) -> None:
    playing.type(typed)
    playing.read_for(0.5)
    assert playing.most_memory < 150
    since = len(playing.sent)
    playing.type(b"3")
    playing.read_until(b"Go on", since)


@pytest.mark.parametrize("size", some({"large": ("3000", "1000"), "huge": ("9999", "9999")}, "huge"))
def test_a_size_beyond_any_screen_is_drawn_in_a_part_of_it(tmp_path: Path, size: tuple[str, str]) -> None:
    one = Terminal(tmp_path, args=SET, env=dict(zip(("COLUMNS", "LINES"), size, strict=True)))
    try:
        one.read_until(b"Home")
        assert one.most_memory < 250
        one.type(QUIT)
        assert one.end() == (0, "")
    finally:
        one.close()


def test_a_signal_ends_it_where_nobody_reads(playing: Terminal) -> None:
    for key in b"3vvvvvvv" * 6:  # more than a terminal holds for whoever reads it
        os.write(playing.ours, bytes([key]))
        time.sleep(0.04)
    time.sleep(0.5)
    began = time.monotonic()
    playing.signal(signal.SIGTERM)
    assert playing.program.wait(30) == 143
    assert time.monotonic() - began < 2.5
    assert playing.end()[0] == 143
    assert playing.is_as_before()


def test_it_ends_where_the_terminal_is_gone_and_nobody_says_so(playing: Terminal) -> None:
    os.close(playing.theirs)
    os.close(playing.ours)
    playing.ours = playing.theirs = -1
    assert playing.program.wait(10) == 129
