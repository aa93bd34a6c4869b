"""In a real terminal: however the game ends, the terminal is as it was, and what is said is one line."""

import os
import pty
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from in_terminal import START, Terminal

BREAKS = "import trainer.app.screens.home as h; h.HomeScreen.action_minutes = lambda self, steps: 1 / 0; "


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A player who has called a shot: the game begins at home."""
    from trainer.cli import main

    folder = tmp_path / "data"
    assert main(["simulate", "--into", str(folder), "--days", "1", "--shots", "1"]) == 0
    return folder


@pytest.fixture
def terminal(data: Path, request: pytest.FixtureRequest) -> Iterator[Terminal]:
    one = Terminal(data, getattr(request, "param", ""))
    try:
        one.read_until(b"Quit")
        assert not one.is_as_before()
        yield one
    finally:
        one.close()


ENDS = [(b"q", 0), (b"\x11", 0), (signal.SIGTERM, 143), (signal.SIGHUP, 129), (signal.SIGINT, 130)]
QUICK = (signal.SIGTERM,)


@pytest.mark.parametrize(
    ("how", "code"), [pytest.param(*end, marks=[] if end[0] in QUICK else pytest.mark.slow) for end in ENDS]
)
def test_the_terminal_is_given_back(terminal: Terminal, how: bytes | int, code: int) -> None:
    if isinstance(how, bytes):
        os.write(terminal.ours, how)
    else:
        terminal.program.send_signal(how)
    assert terminal.end() == (code, "")
    assert terminal.is_as_before()


@pytest.mark.parametrize("terminal", [BREAKS], indirect=True)
def test_a_fault_of_the_app_is_one_line(terminal: Terminal) -> None:
    os.write(terminal.ours, b"\x1b[D")
    code, said = terminal.end()
    assert code == 1
    assert terminal.is_as_before()
    assert said.count("\n") == 1
    assert "ZeroDivisionError" in said
    assert "fault of the trainer" in said


@pytest.mark.slow
def test_the_game_is_put_aside_and_taken_up_again(terminal: Terminal) -> None:
    os.write(terminal.ours, b"\x1a")
    pid, status = os.waitpid(terminal.program.pid, os.WUNTRACED)
    assert os.WIFSTOPPED(status)
    while select.select([terminal.ours], [], [], 0.2)[0]:
        terminal.read(0.0)
    assert terminal.is_as_before()
    since = len(terminal.sent)
    os.kill(pid, signal.SIGCONT)
    terminal.read_until(b"Quit", since)
    assert not terminal.is_as_before()
    os.write(terminal.ours, b"q")
    assert terminal.end() == (0, "")
    assert terminal.is_as_before()


@pytest.mark.slow
def test_it_ends_where_the_terminal_goes_away(data: Path) -> None:
    one = Terminal(data)
    one.read_until(b"Quit")
    os.close(one.ours)
    one.program.send_signal(signal.SIGHUP)  # as the shell does
    assert one.program.wait(60) == 129
    os.close(one.theirs)


@pytest.mark.slow
@pytest.mark.parametrize("piped", ["stdin", "stdout"])
def test_without_a_terminal_it_says_so_in_one_line(data: Path, piped: str) -> None:
    ours, theirs = pty.openpty()
    ends = {"stdin": theirs, "stdout": theirs} | {piped: subprocess.DEVNULL}
    done = subprocess.run(
        [sys.executable, "-c", START, "--data", str(data)],
        **ends,
        stderr=subprocess.PIPE,
        text=True,
        timeout=60,
    )
    os.close(ours)
    os.close(theirs)
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    assert "needs a terminal" in done.stderr
