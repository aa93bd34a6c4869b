"""How fast the whole is, each figure beside a baseline of the same run: machines are noisy.

    .venv/bin/python tests/benchmarks/bench_speed.py            # all but the large histories
    .venv/bin/python tests/benchmarks/bench_speed.py --calls 1000 10000 100000 1000000

Starts are those of a terminal of 120 x 40, from the command to the first time that the text stands in what
the terminal is sent; the baseline is a Textual app that only says hello. Python keeps what it compiles, as it
does where the trainer is installed. A call waits until it is on the disk, on a busy machine for longer than
the disk takes: so a page that is only written stands beside it, and the processor's time. The large histories
are copies of a simulated player's 25 days, laid one before the other; one of a million calls takes a gigabyte
and some minutes.
"""

import argparse
import os
import pty
import resource
import select
import shutil
import signal
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does
import numpy as np

from trainer.drills import DRILLS
from trainer.history.attempt import ATTEMPTS
from trainer.history.clock import FixedClock
from trainer.history.ids import Ids
from trainer.history.record import names_of
from trainer.history.store import FILE, History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.simulate.demo import write_history
from trainer.simulate.players import Bump, Nature

if os.name == "posix":
    import fcntl
    import termios

ROUNDS = 7
DAY_MS = 86_400_000
NATURE = Nature(noise=0.05, bumps=(Bump(-38.0, 0.06),))
UNTIL = "2026-04-20T12:00:00+00:00"
ASKED, ANSWER = b"\x1b[c", b"\x1b[?62;22c"  # what every terminal answers: which one it is, about
HELLO = """
from textual.app import App
from textual.widgets import Static


class Hello(App):
    def compose(self):
        yield Static("hello there")


Hello().run()
"""


def main() -> None:
    """Measure and print everything."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--calls", type=int, nargs="*", default=[], help="sizes of histories to measure")
    args = parser.parse_args()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        if not args.calls:
            starts(folder)
            shots(folder)
            batches()
            idle(folder)
        for calls in args.calls:
            history(folder, calls)


# Starts


@contextmanager
def terminal(
    argv: list[str], size: tuple[int, int] = (120, 40), colours: str = "truecolor"
) -> Iterator[tuple[int, int]]:
    """A program in a terminal of its own, so many columns and rows: process and file."""
    pid, file = pty.fork()
    if pid == 0:
        os.execvpe(argv[0], argv, {**os.environ, "TERM": "xterm-256color", "COLORTERM": colours})
    fcntl.ioctl(file, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
    try:
        yield pid, file
    finally:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(file)


def until(file: int, *texts: str, limit: float = 60.0) -> float:
    """Seconds until the terminal has been sent one of these texts."""
    began, sent, wanted = time.perf_counter(), b"", [text.encode() for text in texts]
    longest = max(map(len, wanted))
    while not any(text in sent for text in wanted):
        if time.perf_counter() - began > limit:
            raise TimeoutError(f"{' or '.join(texts)!r} hasn't come")
        if select.select([file], [], [], 0.05)[0]:
            new = os.read(file, 1 << 16)
            if ASKED in new:
                os.write(file, ANSWER)
            sent = sent[-longest:] + new
    return time.perf_counter() - began


def started(argv: list[str], text: str) -> float:
    """Seconds from a command to a text in its terminal."""
    began = time.perf_counter()
    with terminal(argv) as (_, file):
        until(file, text)
        return time.perf_counter() - began


def took(argv: list[str]) -> float:
    """Seconds of a command whose output nobody reads."""
    began = time.perf_counter()
    subprocess.run(argv, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def middle(*runs: Callable[[], Any]) -> list[Any]:
    """The median of each (of each of its figures), in turns, so that all share the machine's moods."""
    return np.median([[run() for run in runs] for _ in range(ROUNDS)], axis=0).tolist()


def starts(folder: Path) -> None:
    hello = folder / "hello.py"
    hello.write_text(HELLO, encoding="utf-8")
    new = (str(folder / f"new{k}") for k in range(1000))
    trainer = [sys.executable, "-m", "trainer", "--data"]
    known = str(folder / "known")
    write_history(Path(known), open_shelf(), NATURE, until=FixedClock(UNTIL).now(), days=10, shots=40, seed=1)
    started([*trainer, next(new)], "How full must the hit be?")  # compiles what was changed since
    said, first, home, least = middle(
        lambda: started([sys.executable, str(hello)], "hello there"),
        lambda: started([*trainer, next(new)], "How full must the hit be?"),
        lambda: started([*trainer, known], "Table notebook"),
        lambda: took([sys.executable, "-c", "import textual.app, textual.widgets, numpy, sqlite3"]),
    )
    print(
        f"start to the first shot  {first:6.2f} s, {first / said:.1f} x an app that says hello ({said:.2f} s)"
    )
    print(f"    home, after 400 calls{home:6.2f} s, {home / said:.1f} x")
    print(f"    importing Textual, numpy and SQLite alone takes {least:.2f} s")
    bare, help_, version = middle(
        lambda: took([sys.executable, "-c", "pass"]),
        lambda: took([sys.executable, "-m", "trainer", "--help"]),
        lambda: took([sys.executable, "-m", "trainer", "--version"]),
    )
    print(f"--help                   {help_:6.2f} s, {help_ / bare:.1f} x python -c pass ({bare:.3f} s)")
    print(f"--version                {version:6.2f} s, {version / bare:.1f} x")


# Shots


def shots(folder: Path) -> None:
    rng = np.random.default_rng(1)
    with History.open(folder / "shots", FixedClock(UNTIL)) as history:
        game = Game(history, open_shelf())
        played = game.begin(game.level(None, "aim"), shots=400, seed=1)
        each, used = [], processor()
        while not played.done:
            began = time.perf_counter()
            question = played.question()
            asked = time.perf_counter() - began
            choice = DRILLS[question.drill].answer(question, float(rng.normal(0, 0.05)))
            began = time.perf_counter()
            played.call(choice, 1.0)
            each.append((1e3 * asked, 1e3 * (time.perf_counter() - began)))
        used = 1e3 * (processor() - used) / len(each)
    asked_ms, called_ms = np.array(each).T
    both = asked_ms + called_ms
    for name, some in (("choose, draw, mark, keep", both), ("    of it the call, kept ", called_ms)):
        print(f"{name} {np.median(some):6.1f} ms, p99 {np.quantile(some, 0.99):.1f} ms")
    disk = np.array([written(folder / "page") for _ in range(400)])
    print(f"    of it the processor   {used:6.1f} ms on average", end="; ")
    print(f"a page written to the disk {np.median(disk):.1f} ms, p99 {np.quantile(disk, 0.99):.1f} ms")


def processor() -> float:
    """Seconds of processor time that this process has taken."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def written(file: Path) -> float:
    """Milliseconds until a page more of a file is on the disk."""
    began = time.perf_counter()
    with file.open("ab") as out:
        out.write(bytes(4096))
        out.flush()
        os.fsync(out.fileno())
    return 1e3 * (time.perf_counter() - began)


def batches() -> None:
    limits, many = Limits(), 3000
    draw(np.random.default_rng(1), 50, limits)

    def batch() -> float:
        began = time.perf_counter()
        draw(np.random.default_rng(1), many, limits)
        return (time.perf_counter() - began) / many

    def loop() -> float:
        began = time.perf_counter()
        for seed in range(30):
            draw(np.random.default_rng(seed), 1, limits)
        return (time.perf_counter() - began) / 30

    alone, together = middle(loop, batch)
    print(
        f"drawing a shot           {1e6 * together:6.1f} us in a batch, {alone / together:.0f} x one by one"
    )


# Idle


def idle(folder: Path) -> None:
    argv = [sys.executable, "-m", "trainer", "play", "eighths", "--seed", "4", "--data", str(folder / "idle")]
    with terminal(argv) as (pid, file):
        until(file, "How full must the hit be?")
        drained(file, 1.0)
        before = spent(pid)
        sent = drained(file, 10.0)
        share = (spent(pid) - before) / 10.0
        print(f"idle                     {100 * share:6.2f} % of a core, {sent} bytes sent in 10 s")
        os.write(file, b"3")
        drained(file, 3.0)
        before, began = spent(pid), time.perf_counter()
        sent = 0
        for _ in range(3):
            os.write(file, b"z")
            sent += drained(file, 3.0)
        share = (spent(pid) - before) / (time.perf_counter() - began)
        print(f"replaying                {100 * share:6.1f} % of a core, {sent / 9e3:.0f} kB/s")


def drained(file: int, seconds: float) -> int:
    """Bytes that the terminal is sent in so many seconds."""
    end, sent = time.perf_counter() + seconds, 0
    while (left := end - time.perf_counter()) > 0:
        if select.select([file], [], [], left)[0]:
            sent += len(os.read(file, 1 << 16))
    return sent


def spent(pid: int) -> float:
    """Seconds of processor time that a process has taken."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


# Large histories


def history(folder: Path, calls: int) -> None:
    data, empty = folder / f"calls{calls}", folder / "empty"
    write_calls(data, calls)
    shutil.rmtree(empty, ignore_errors=True)
    History.open(empty, FixedClock(UNTIL)).close()
    made = seconds_and_memory(["report", "--json"], data)[0]
    home = [sys.executable, "-m", "trainer", "play", "eighths", "--data"]
    bare, full = middle(
        lambda: started([*home, str(empty)], "How full must the hit be?"),
        lambda: started([*home, str(data)], "How full must the hit be?"),
    )
    report, memory = seconds_and_memory(["report", "--json"], data)
    _, least = seconds_and_memory(["report", "--json"], empty)
    out, _ = seconds_and_memory(["export", str(folder / "out.csv")], data)
    into, _ = seconds_and_memory(["import", str(folder / "out.csv")], folder / f"into{calls}")
    after, _ = seconds_and_memory(["report"], folder / f"into{calls}")
    print(f"{calls:9} calls: start {full / bare:.2f} x an empty one, {memory / least:.2f} x the memory of it")
    print(f"{'':9} report {report:.2f} s (the first {made:.1f} s), export {calls / out:.0f} rows/s,", end=" ")
    print(f"import {calls / into:.0f} rows/s, report after it {after:.2f} s", flush=True)
    for each in (data, folder / f"into{calls}"):
        shutil.rmtree(each)


def seconds_and_memory(command: list[str], data: Path) -> tuple[float, int]:
    """How long a command takes, and the most memory that it has, kB."""
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "trainer", *command, "--data", str(data)], stdout=subprocess.DEVNULL
    )
    _, status, usage = os.wait4(process.pid, 0)
    assert status == 0, command
    return time.perf_counter() - began, usage.ru_maxrss


def write_calls(folder: Path, calls: int) -> None:
    """A history of so many calls."""
    clock = FixedClock(UNTIL)
    write_history(folder, open_shelf(), NATURE, until=clock.now(), days=25, shots=40, seed=1, level=None)
    History.open(folder, clock).close()
    with sqlite3.connect(folder / FILE) as db:
        rows = db.execute(f"SELECT {names_of(ATTEMPTS.columns)} FROM attempts ORDER BY id").fetchall()
        made = copies(rows, calls // len(rows) - 1)
        db.executemany(ATTEMPTS.insert, made)
        db.execute("DELETE FROM snapshots")
    db.close()


def copies(rows: list[tuple[Any, ...]], many: int) -> Iterator[list[Any]]:
    """Rows of 25 days again and again, each time as long before, the oldest first."""
    at = {name: ATTEMPTS.columns.index(name) for name in ("id", "epoch_ms", "local_day", "set_id")}
    ids = Ids()
    for back in range(140, 0, -1):
        days = 25 * back
        for row in rows:
            for copy in range(back, many + 1, 140):
                new = list(row)
                new[at["epoch_ms"]] -= days * DAY_MS
                day = date.fromisoformat(row[at["local_day"]]) - timedelta(days=days)
                new[at["local_day"]] = day.isoformat()
                new[at["set_id"]] = f"{row[at['set_id']][:-4]}{copy:04d}"
                new[at["id"]] = ids.new(new[at["epoch_ms"]])
                yield new


if __name__ == "__main__":
    main()
