"""In a real terminal: however the game ends, the terminal is as it was, and what is said is one line."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

MODES = re.compile(rb"\x1b\[\?([0-9;]+)([hl])")
AT_REST = {b"7", b"25"}  # a terminal wraps its lines and shows its cursor
BREAKS = "import trainer.app.screens.home as h; h.HomeScreen.action_minutes = lambda self, steps: 1 / 0; "
START = "import sys; from trainer.cli import main; sys.exit(main(sys.argv[1:]))"


class Terminal:
    """A terminal of 120 columns and 40 rows with a program in it."""

    def __init__(self, data: Path, before: str = ""):
        self.ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        self.theirs = theirs
        self.attributes = termios.tcgetattr(theirs)
        self.sent = b""
        environ = {name: value for name, value in os.environ.items() if name != "TRAINER_TRACEBACK"}
        self.program = subprocess.Popen(
            [sys.executable, "-c", before + START, "--data", str(data)],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            env=environ | {"TERM": "xterm-256color", "OPENBLAS_NUM_THREADS": "1"},
        )

    def read_until(self, wanted: bytes, since: int = 0) -> None:
        """Read what the program sends until something is among it."""
        end = time.monotonic() + 30
        while wanted not in self.sent[since:]:
            assert time.monotonic() < end, self.sent[-500:]
            self.read(0.1)

    def read(self, seconds: float) -> None:
        """Read what there is."""
        if select.select([self.ours], [], [], seconds)[0]:
            self.sent += os.read(self.ours, 65536)

    def end(self) -> tuple[int, str]:
        """Wait for the end: the exit code, and what was said after the game left the screen."""
        end = time.monotonic() + 30
        while self.program.poll() is None:
            assert time.monotonic() < end, self.sent[-500:]
            self.read(0.05)
        while select.select([self.ours], [], [], 0.2)[0]:
            self.read(0.0)
        said = re.sub(rb"\x1b\[[<>?0-9;]*[a-zA-Z]", b"", self.sent.rpartition(b"\x1b[?1049l")[2])
        return self.program.returncode, said.decode().replace("\x07", "")

    @property
    def modes(self) -> set[bytes]:
        """The modes that are on."""
        found = set(AT_REST)
        for numbers, how in MODES.findall(self.sent):
            for number in numbers.split(b";"):
                (found.add if how == b"h" else found.discard)(number)
        return found

    def is_as_before(self) -> bool:
        """Whether the terminal is as it was before the program came."""
        on = re.findall(rb"\x1b\[>\d*u", self.sent)  # reports of keys, on and off
        keys = len(on) == self.sent.count(b"\x1b[<u")
        return self.modes == AT_REST and keys and termios.tcgetattr(self.theirs) == self.attributes

    def close(self) -> None:
        """The end of it, whatever has become of the program."""
        if self.program.poll() is None:
            self.program.kill()
            self.program.wait()
        for handle in (self.ours, self.theirs):
            os.close(handle)


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
    assert one.program.wait(60) in (129, -signal.SIGALRM)
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
