"""Sizes beyond any screen, floods of keys and of the mouse, and terminals that go away or take nothing.

For each: how long it took until the game answered again, its memory at most, what became of the calls, and
how long SIGTERM took in the middle of it. Usage: bench_floods.py [NAME ...]
"""

import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from in_terminal import Terminal

from trainer.history.store import FILE

LONGEST_S = 40.0
SET = ("play", "eighths", "--seed", "4")
MOVES = b"".join(b"\x1b[<35;%d;%dM" % (1 + i % 118, 1 + i % 38) for i in range(20_000))


def mixed() -> bytes:
    """What a paste of a file may be: text, lines, sequences of terminals, the mouse, and no UTF-8."""
    rng = random.Random(4)
    pieces = [
        b"1",
        b"9",
        b"a word",
        b"\r",
        b"\n",
        b"\x1b[A",
        b"\x1b[<0;9;9M",
        b"\xff",
        b"\x1b[55296u",
        b"\x1b[31m",
    ]
    found = b""
    while len(found) < 100_000:
        found += rng.choice(pieces)
    return found


FLOODS = {
    "12,000 digits": b"123456789" * 1333,
    "12,000 digits, bracketed": b"\x1b[200~" + b"123456789" * 1333 + b"\x1b[201~",
    "20,000 moves of the mouse": MOVES,
    "100 kB mixed": mixed(),
    "1,000 arrows": b"\x1b[C" * 1000,
    "a key that is no character": b"\x1b[55296u",
    "a key beyond all characters": b"\x1b[1114112u",
    "a key that is not UTF-8": b"\xff",
}
SIZES = {"3000 x 1000": ("3000", "1000"), "9999 x 9999": ("9999", "9999")}


def calls(data: Path) -> int:
    """The calls of a history."""
    with closing(sqlite3.connect(data / FILE)) as history:
        return int(history.execute("SELECT count(*) FROM attempts").fetchone()[0])


def ended(one: Terminal) -> str:
    """How long SIGTERM takes, and what is left."""
    began = time.monotonic()
    one.signal(signal.SIGTERM)
    try:
        code, _ = one.end(10)
    except AssertionError:
        return "SIGTERM: still there after 10 s"
    back = "" if one.is_as_before() else ", terminal NOT given back"
    return f"SIGTERM: {time.monotonic() - began:.1f} s, code {code}{back}"


def in_size(data: Path, columns: str, lines: str) -> str:
    """The game in a terminal of a size beyond any screen."""
    one = Terminal(data, args=SET, env={"COLUMNS": columns, "LINES": lines})
    try:
        began = time.monotonic()
        try:
            one.read_until(b"Home", within=LONGEST_S)
            took = f"{time.monotonic() - began:.1f} s until it is shown"
        except AssertionError:
            took = f"nothing shown in {LONGEST_S:.0f} s"
        return f"{took}, {one.most_memory:.0f} MB; {ended(one)}"
    finally:
        one.close()


def flooded(data: Path, what: bytes) -> str:
    """A set in play that gets all that, then ctrl+q."""
    one = Terminal(data, args=SET)
    try:
        one.read_until(b"Home")
        one.read_for(1.0)
        before, began, memory, cpu = one.seconds, time.monotonic(), 0.0, 0.0
        try:
            one.type(what, LONGEST_S)
            one.read_for(0.3)
            one.type(b"\x11", LONGEST_S)
        except (AssertionError, OSError) as error:
            return f"{error}; code {one.program.poll()}"
        while one.program.poll() is None and time.monotonic() - began < LONGEST_S:
            memory, cpu = max(memory, one.most_memory), one.seconds - before
            one.read(0.02)
        code = one.program.poll()
        took = f"no answer in {LONGEST_S:.0f} s" if code is None else f"{time.monotonic() - began:.1f} s"
        cost = f"{cpu:.1f} s of a core, {memory:.0f} MB, {calls(data)} calls"
        return f"{took} until ctrl+q ended it, code {code}, {cost}"
    finally:
        one.close()


def ended_in_a_flood(data: Path, what: bytes) -> str:
    """SIGTERM while a flood comes in."""
    one = Terminal(data, args=SET)
    try:
        one.read_until(b"Home")
        one.type(what, LONGEST_S)
        return ended(one)
    except (AssertionError, OSError) as error:
        return str(error)
    finally:
        one.close()


def ended_unread(data: Path) -> str:
    """SIGTERM where nobody reads what the game writes."""
    one = Terminal(data, args=SET)
    try:
        one.read_until(b"Home")
        for key in b"3vvvvvvv" * 8:
            os.write(one.ours, bytes([key]))
            time.sleep(0.05)
        time.sleep(1.0)
        began = time.monotonic()
        one.signal(signal.SIGTERM)
        while one.program.poll() is None and time.monotonic() - began < 10:
            time.sleep(0.02)
        return f"SIGTERM: {time.monotonic() - began:.1f} s, code {one.program.poll()}"
    finally:
        one.close()


def gone(data: Path) -> str:
    """The terminal goes away, and nobody says so."""
    one = Terminal(data, args=SET)
    try:
        one.read_until(b"Home")
        one.read_for(0.5)
        os.close(one.theirs)
        os.close(one.ours)
        one.ours = one.theirs = -1
        began, before = time.monotonic(), one.seconds
        while one.program.poll() is None and time.monotonic() - began < 5:
            cpu = one.seconds - before
            time.sleep(0.02)
        took = time.monotonic() - began
        if one.program.poll() is None:
            return f"still there after {took:.0f} s, {100 * cpu / took:.0f} % of a core"
        return f"ended after {took:.1f} s, code {one.program.poll()}"
    finally:
        one.close()


def main() -> None:
    """All of them, or those that are named."""
    rounds = {name: (in_size, size) for name, size in SIZES.items()}
    rounds |= {name: (flooded, (what,)) for name, what in FLOODS.items()}
    rounds |= {
        f"SIGTERM in {name}": (ended_in_a_flood, (what,)) for name, what in FLOODS.items() if len(what) > 99
    }
    rounds |= {"SIGTERM, nobody reads": (ended_unread, ()), "gone without a hangup": (gone, ())}
    for name, (run, given) in rounds.items():
        if sys.argv[1:] and not any(asked in name for asked in sys.argv[1:]):
            continue
        with tempfile.TemporaryDirectory() as folder:
            print(f"{name:38}", run(Path(folder) / "data", *given), flush=True)


if __name__ == "__main__":
    main()
