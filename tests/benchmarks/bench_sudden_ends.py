"""Kill the game, an import, a change to a newer version, a copy, going back to one and a repair at random
moments, and count what is lost.

Every round checks the history whole; a call whose mark was told and that isn't there stops it.
Usage: bench_sudden_ends.py [lines] [screen] [import] [version] [copy] [restore] [repair]
[power], each as NAME=ROUNDS.
"""

import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.history.damaging import fill
from tests.history.older import make_older
from tests.history.strategies import SetClock, open_history, plain
from tests.history.sudden import (
    command,
    kill_command,
    kill_lines,
    kill_screen,
    power_cuts,
    sound,
    surroundings,
)
from tests.history.test_backups import on
from tests.history.test_from_a_copy import a_line
from trainer.history import backup as backups
from trainer.history.exchange import export
from trainer.history.schema import VERSION
from trainer.history.store import FILE

ROUNDS = {
    "lines": 200,
    "screen": 30,
    "import": 18,
    "version": 16,
    "copy": 16,
    "restore": 16,
    "repair": 16,
    "power": 10,
}
LONGEST = 8.0  # seconds before the end
MANY = 8000  # attempts of the history that is imported, changed and copied


def longer(what: str, place: Path, rounds: int, rng: random.Random) -> str:
    """Kill what takes longer; how often it was under way, and had been done."""
    fill(place / "old" / "data", MANY, a_day=100)
    with open_history(place / "old" / "data") as history:
        export(history, place / "a.csv")
        held = history.count()
    killed = done = 0
    for _ in range(rounds):
        folder = place / "now"
        shutil.rmtree(folder, ignore_errors=True)
        after = rng.uniform(0.3, LONGEST)
        if what == "import":
            with open_history(folder) as history:
                history.append(plain(history))
            killed += kill_command(folder, after, "import", str(place / "a.csv"))
            found = len(sound(folder))
            assert found in (1, 1 + held), found
            done += found > 1
            continue
        shutil.copytree(place / "old" / "data", folder)
        if what == "version":
            make_older(folder)
            killed += kill_command(folder, after, "report")
            with closing(sqlite3.connect(folder / FILE)) as db:
                done += db.execute("PRAGMA user_version").fetchone()[0] == VERSION
        else:
            killed += kill_command(folder, after, "undo", "--yes", "--now", "2027-01-01T12:00:00+00:00")
        found = len(sound(folder))
        assert held - 1 <= found <= held, found
        done += what == "copy" and found < held
    return f"{killed} killed under way; all whole; {done} had been done by then"


SHORT = 2.0  # seconds before the end of what takes less
CALLS, SINCE = 400, 100  # of a copy, and made since


def replaced(what: str, place: Path, rounds: int, rng: random.Random) -> str:
    """Kill what puts a copy in the history's place; how often, and how often the next start said so."""
    whole = place / "old" / "data"
    fill(whole, CALLS)
    with open_history(whole, SetClock(on(200))) as history:
        for _ in range(SINCE):  # the copy is made before the first
            history.append(plain(history))
        held, copy = history.ever(), backups.backups(whole)[-1]
        with backups.opened(copy.file) as db:
            (before,) = db.execute("SELECT count(*) FROM attempts").fetchone()
    if what == "repair":
        a_line(whole / FILE)  # of a call that the copy has
    killed = said_so = done = 0
    for _ in range(rounds):
        folder = place / "now"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(whole, folder)
        asked = ("restore", copy.name, "--yes") if what == "restore" else ("report",)
        killed += kill_command(folder, rng.uniform(0.1, SHORT), *asked)
        begun = any(each.why == backups.DAMAGED for each in backups.backups(folder))
        repaired = subprocess.run(
            command(folder, "report"), capture_output=True, text=True, env=surroundings(), check=True
        )
        with open_history(folder) as history:
            history.check()
            ever = history.ever()
        if what == "restore":
            assert ever in (before, held), ever
            done += ever == before
        else:
            assert ever == held, (ever, repaired.stderr)  # the next start has all, told by whichever start
            said_so += "was damaged" in repaired.stderr
            done += begun and "was damaged" not in repaired.stderr
    more = f"; {said_so} times the next start did it and said so" if what == "repair" else ""
    return f"{killed} killed under way; nothing lost{more}; {done} had been done by then"


def main() -> None:
    asked = dict(arg.split("=") for arg in sys.argv[1:]) or ROUNDS
    for what, rounds in ((name, int(count)) for name, count in asked.items()):
        rng, start = random.Random(what), time.monotonic()
        with tempfile.TemporaryDirectory() as name:
            place = Path(name)
            if what in ("lines", "screen"):
                kill = kill_lines if what == "lines" else kill_screen
                told = [kill(place / "data", rng) for _ in range(rounds)]
                said = f"{sum(told)} marks told (0 to {max(told)} a round), every one of them kept"
            elif what == "power":
                found = [
                    each
                    for k in range(rounds)
                    for each in power_cuts(place / f"data{k}", place / f"aside{k}", rng, 100, 100)
                ]
                assert all(held >= told for told, held in found)
                said = f"{len(found)} copies, each with all calls told by then"
            elif what in ("restore", "repair"):
                said = replaced(what, place, rounds, rng)
            else:
                said = longer(what, place, rounds, rng)
        print(f"{what:8} {rounds:4} rounds: {said}; {time.monotonic() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
