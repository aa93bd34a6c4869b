"""What the game sends to the terminal, how long a link takes for it, and how soon one can call.

    .venv/bin/python tests/benchmarks/bench_link.py               # three drills, two sizes, two depths
    .venv/bin/python tests/benchmarks/bench_link.py --drills judge same
    .venv/bin/python tests/benchmarks/bench_link.py --only starts # how soon, alone

The real game in a pseudo-terminal, each time with an empty data folder and the same shots of free practice.
Bytes are those that it is sent: "start" from the command to the first shot; "call" from the key that
calls to the end of the film (the median, and the most), "still" the same without motion; "next" from the key
that goes on to the next shot; "idle" in 3 s, of which there must be none. Each is over when nothing has come
for a while; "film" is when the last byte of a call came here, where nothing is slow. Beside them the seconds
that a link takes: a film for which it takes longer than that comes late.

How soon: from the command to the first shot, and to the mark of a call whose key was pressed at once; for a
new player and for one on a later day (home, and there at once the key of today's practice). The baseline is a
Textual app that only says hello, in the same run.
"""

import argparse
import os
import select
import shutil
import sys
import tempfile
import time
from dataclasses import dataclass
from itertools import count, product
from pathlib import Path

import numpy as np
from bench_speed import HELLO, NATURE, UNTIL, drained, middle, started, terminal, until

from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.names import DRILLS
from trainer.play.game import Game
from trainer.play.today import minutes_of, plan
from trainer.settings.settings import Settings, save_settings
from trainer.simulate.demo import write_history

TRAINER = (sys.executable, "-m", "trainer")
SIZES = ((80, 24), (120, 40))
COLOURS = {"true": "truecolor", "256": ""}  # as COLORTERM says them
LINKS = (1_000_000, 256_000)  # bits a second
BITS = 10  # of a byte on its way: what the link's own packets add is about a quarter
CALLS = 5
SEED = 4
QUIET = 1.0  # seconds without a byte, longer than a film's hold: it is over
IDLE, LIMIT = 3.0, 60.0
KNOWN_BY = 20  # characters of a prompt that nothing else on a screen says
ANSWER, CALL, ON, TODAY = b"2", b"\r", b"n", b"g"
MARKS = ("✓ ", "✗ ")
NEXT_DAY = "2026-04-21T18:00:00+00:00"  # after UNTIL


def main() -> None:
    """Measure and print everything."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--drills", nargs="+", default=["band", "aim", "slide"], choices=DRILLS)
    parser.add_argument("--only", choices=("bytes", "starts"))
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        if args.only != "starts":
            sent_in_all(Path(place), args.drills)
        if args.only != "bytes":
            starts(Path(place))


# Bytes


@dataclass(frozen=True)
class Played:
    """A few calls of a set: bytes of the start, of each call and of each step to the next shot."""

    start: int
    calls: list[int]
    films: list[float]  # seconds from the key to the last byte
    nexts: list[int]
    idle: int


def sent_in_all(folder: Path, drills: list[str]) -> None:
    print(f"{'':22}{'bytes':>8}{'call':>16}{'':24}{'seconds, call and still, at':>34}")
    print(f"{'drill':7} {'size':>6} {'colours':>7}", end="")
    print("".join(f"{part:>8}" for part in ("start", "median", "most", "still", "next", "idle")), end="")
    print(f"{'film':>8}" + "".join(f"{f'{link // 1000} kbit/s':>14}" for link in LINKS))
    fresh = (folder / f"bytes{k}" for k in count())
    for drill, size, colours in product(drills, SIZES, COLOURS):
        moving = play(next(fresh), drill, size, colours, Settings())
        still = play(next(fresh), drill, size, colours, Settings(motion="reduced"))
        call, without, after = (int(np.median(each)) for each in (moving.calls, still.calls, moving.nexts))
        figures = (moving.start, call, max(moving.calls), without, after, moving.idle + still.idle)
        print(f"{drill:7} {size[0]:>3}x{size[1]} {colours:>7}{''.join(f'{n:8}' for n in figures)}", end="")
        times = "".join(f"{BITS * call / link:8.2f}{BITS * without / link:6.2f}" for link in LINKS)
        print(f"{np.median(moving.films):7.1f}s{times}", flush=True)


def play(folder: Path, drill: str, size: tuple[int, int], colours: str, settings: Settings) -> Played:
    """Play a few shots of free practice as a new player."""
    folder.mkdir()
    save_settings(folder, settings)
    prompt, dial = first_question(folder / "beside", drill)
    command = ["play", "--drill", drill, "--seed", str(SEED), "--data", str(folder)]
    with terminal([*TRAINER, *command], size, COLOURS[colours]) as (_, file):
        start, _ = sent(file, prompt)
        idle, calls, nexts = drained(file, IDLE), [], []
        for _ in range(CALLS):
            if dial:  # the key sets it, another one calls it
                os.write(file, ANSWER)
                sent(file)
            os.write(file, CALL if dial else ANSWER)
            calls.append(sent(file, *MARKS))
            os.write(file, ON)
            nexts.append(sent(file)[0])
    return Played(start, [each for each, _ in calls], [each for _, each in calls], nexts, idle)


def first_question(folder: Path, drill: str) -> tuple[str, bool]:
    """How the first question of the set begins, and whether its answer is a number to be set."""
    with History.open(folder, FixedClock(UNTIL)) as history:
        game = Game(history, open_shelf())
        question = game.begin(game.level(None, drill), seed=SEED).question()
    return question.prompt[:KNOWN_BY], question.dial is not None


def sent(file: int, *texts: str) -> tuple[int, float]:
    """Bytes that come until one of these texts, if any, has, and then no more; seconds to the last."""
    wanted = [text.encode() for text in texts]
    began, last, held = time.perf_counter(), 0.0, b""
    seen = not wanted
    while True:
        if select.select([file], [], [], QUIET)[0]:
            held += os.read(file, 1 << 16)
            last = time.perf_counter() - began
            seen = seen or any(text in held for text in wanted)
        elif seen:
            return len(held), last
        elif time.perf_counter() - began > LIMIT:
            raise TimeoutError(f"{' or '.join(texts)!r} hasn't come")


# How soon


def starts(folder: Path) -> None:
    hello, known = folder / "hello.py", folder / "known"
    hello.write_text(HELLO, encoding="utf-8")
    write_history(known, open_shelf(), NATURE, until=FixedClock(UNTIL).now(), days=10, shots=40, seed=1)
    places = (folder / f"start{k}" for k in count())
    asked = prompt_of_today(shutil.copytree(known, next(places)))

    def bare() -> tuple[float, float]:
        said = started([sys.executable, str(hello)], "hello there")
        return said, said

    def first() -> tuple[float, float]:
        return called_after([*TRAINER, "--data", str(next(places))], "How full must the hit be?")

    def later() -> tuple[float, float]:
        again = shutil.copytree(known, next(places))
        return called_after([*TRAINER, "--now", NEXT_DAY, "--data", str(again)], "Table notebook", asked)

    first()  # compiles what was changed since
    (said, _), *times = middle(bare, first, later)
    print(f"an app that says hello             {said:5.2f} s")
    for name, (shot, mark) in zip(("new player", "later day, home and g"), times, strict=True):
        ratios = f"{shot / said:.1f} and {mark / said:.1f} x the app that says hello"
        print(f"{name:22} first shot  {shot:5.2f} s, mark of a call made at once {mark:5.2f} s: {ratios}")


def called_after(argv: list[str], *texts: str) -> tuple[float, float]:
    """Seconds from a command to the shot, which the last text asks about, and to the mark of a call.

    Each text before it is answered with the key of today's practice, at once.
    """
    *before, asked = texts
    began = time.perf_counter()
    with terminal(argv) as (_, file):
        for text in before:
            until(file, text)
            os.write(file, TODAY)
        until(file, asked)
        shot = time.perf_counter() - began
        os.write(file, ANSWER)
        until(file, *MARKS)
        return shot, time.perf_counter() - began


def prompt_of_today(data: Path) -> str:
    """What is asked first on the later day."""
    with History.open(data, FixedClock(NEXT_DAY)) as history:
        game = Game(history, open_shelf())
        level = plan(game, minutes_of(history)).parts[0].level
        return game.begin(level, seed=SEED).question().prompt[:KNOWN_BY]


if __name__ == "__main__":
    main()
