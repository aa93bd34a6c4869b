"""Programs that end suddenly, and what their history holds afterwards."""

import fcntl
import json
import os
import pty
import random
import select
import signal
import sqlite3
import struct
import subprocess
import sys
import termios
import threading
import time
from contextlib import closing
from pathlib import Path

import pyte

from trainer.history import backup as backups
from trainer.history.attempt import Attempt
from trainer.history.store import FILE

from .strategies import open_history

ROOT = Path(__file__).parents[2]
CLI = (sys.executable, "-m", "trainer.cli")
SIZE = (30, 100)


def command(folder: Path, *args: str) -> list[str]:
    return [*CLI, "--data", str(folder), *args]


def surroundings() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm-256color"}


def sound(folder: Path) -> list[Attempt]:
    """The attempts of a history that needs no repair: opened as it is, and checked whole."""
    with closing(sqlite3.connect(folder / FILE)) as db:
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with open_history(folder) as history:
        history.check()
        attempts = history.attempts()
    for backup in backups.backups(folder):
        with backups.sound(backup):
            pass
    return attempts


def play(folder: Path, many: int, *more: str) -> "subprocess.Popen[str]":
    """A set over lines, with all its calls fed."""
    process = subprocess.Popen(
        command(folder, "play", "quarters", "--lines", "--drill", "band", "--shots", str(many), *more),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=surroundings(),
    )

    def feed() -> None:
        assert process.stdin is not None
        try:
            for k in range(many):
                process.stdin.write(f"{k % 5 + 1}\n")
            process.stdin.close()
        except OSError:
            pass  # it has ended

    threading.Thread(target=feed, daemon=True).start()
    return process


def errors_told(lines: str) -> list[float]:
    """The errors of the marks among whole lines of output."""
    found = [json.loads(line) for line in lines.splitlines(keepends=True) if line.endswith("\n")]
    return [line["error"] for line in found if line["type"] == "mark"]


def kill_lines(folder: Path, rng: random.Random, many: int = 400) -> int:
    """A set that is killed at a random moment after its first question; how many marks it told.

    Every call whose mark was told is there then, one more at most.
    """
    before = len(sound(folder)) if (folder / FILE).exists() else 0
    with play(folder, many) as process:
        assert process.stdout is not None
        first = process.stdout.readline()
        time.sleep(rng.uniform(0, 0.8))
        process.send_signal(signal.SIGKILL)
        told = errors_told(first + process.stdout.read())
    kept = [attempt.error for attempt in sound(folder)[before:]]
    assert kept[: len(told)] == told
    assert len(told) <= len(kept) <= len(told) + 1
    return len(told)


def kill_screen(folder: Path, rng: random.Random) -> int:
    """The game in a terminal, killed at a random moment; how many marks were seen."""
    before = len(sound(folder)) if (folder / FILE).exists() else 0
    process, terminal = pty.fork()
    if not process:
        os.execve(CLI[0], command(folder, "play", "quarters", "--drill", "band"), surroundings())
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", *SIZE, 0, 0))
    screen = pyte.Screen(SIZE[1], SIZE[0])
    stream = pyte.ByteStream(screen)
    marks, asked, end = 0, False, 0.0
    start = time.monotonic()
    while not end or time.monotonic() < end:
        assert time.monotonic() < start + 60
        if select.select([terminal], [], [], 0.02)[0]:
            stream.feed(os.read(terminal, 65536))
        text = "\n".join(screen.display)
        end = end or ("How full must the hit be?" in text and time.monotonic() + rng.uniform(0.1, 3)) or 0.0
        if asked and ("you said" in text or "it is." in text):
            marks, asked = marks + 1, False
            os.write(terminal, b"\r")
        elif not asked and "How full must the hit be?" in text:
            asked = True
            os.write(terminal, b"1")
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)
    os.close(terminal)
    assert marks <= len(sound(folder)) - before <= marks + 1
    return marks


def kill_command(folder: Path, after: float, *args: str) -> bool:
    """A command, killed after so many seconds; whether it was still at it."""
    with subprocess.Popen(
        command(folder, *args),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=surroundings(),
    ) as process:
        try:
            process.wait(after)
        except subprocess.TimeoutExpired:
            process.kill()
    return process.returncode == -signal.SIGKILL


class Copier:
    """Copies a history's files again and again, as a power failure could leave them, each with how many calls
    had been told as kept by then.

    The file and its log must be of one moment, so a copy during which either has changed is left out.
    """

    def __init__(self, folder: Path, aside: Path):
        self.folder, self.aside = folder, aside
        self.found: list[tuple[Path, int]] = []

    def _state(self) -> dict[str, bytes]:
        files = [self.folder / f"{FILE}{ending}" for ending in ("", "-wal")]
        return {file.name: file.read_bytes() for file in files if file.exists()}

    def copy(self, told: int) -> None:
        state = self._state()
        if state != self._state() or FILE not in state:
            return
        place = self.aside / str(len(self.found))
        place.mkdir(parents=True)
        for name, data in state.items():
            (place / name).write_bytes(data)
        self.found.append((place, told))


def power_cuts(
    folder: Path, aside: Path, rng: random.Random, many: int, copies: int
) -> list[tuple[int, int]]:
    """Copies at random moments while a set is played: (calls told by then, calls that the copy holds)."""
    copier, told, done = Copier(folder, aside), [0], threading.Event()

    def watch() -> None:
        while not done.is_set() and len(copier.found) < copies:
            if (folder / FILE).exists():
                copier.copy(told[0])
            time.sleep(rng.uniform(0, 0.03))

    watcher = threading.Thread(target=watch)
    with play(folder, many) as process:
        watcher.start()
        assert process.stdout is not None
        for line in process.stdout:
            told[0] += json.loads(line)["type"] == "mark"
        done.set()
        watcher.join()
    return [(by_then, len(sound(place))) for place, by_then in copier.found]
