"""Weeks of what the game says is worth doing: which levels are passed, which drills met, what comes back.

    .venv/bin/python tests/benchmarks/bench_days.py --players 8

Players (``tests/misjudging.py``) play the real game, a part of today's plan after the other, thirty calls a
day. Not a timed test: eight players of each row take some ten minutes on two cores.
"""

import argparse
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.play.today import Part, plan

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import Misjudging, Seeing

A_DAY = 30
LEARNS = 0.01  # of the fault, by each shot that is marked
ROWS = {
    "no fault": (Misjudging(noise=0.05), 28),
    "contact point": (Misjudging(contact=1.0), 21),
    "line .08 right": (Misjudging(right=0.08), 21),
}


@dataclass
class Diary:
    """What one player did: calls by what they were played for, drills by the day they were first met."""

    calls: dict[str, int] = field(default_factory=dict)
    met: dict[str, int] = field(default_factory=dict)
    passed: int = 0


class Learning(Seeing):
    """A player whose fault shrinks with every mark."""

    def answered(self, fullness: float) -> None:
        """A call was made, and its mark teaches."""
        fault, left = self.player, 1.0 - LEARNS
        self.player = replace(fault, contact=left * fault.contact, right=left * fault.right)


def sort_of(part: Part) -> str:
    """What a part is played for, by the words that offer it."""
    if part.begun:
        return "left"
    if part.says.endswith(" tells"):
        return "question"
    if ": not practised" in part.says:
        return "due"
    if part.says.startswith("You see "):
        return "weak"
    if part.says.startswith("Does it hold?"):
        return "look again"
    if part.level.name in ("measure", "mixed", "place", "space"):
        return part.level.name
    return "path" if part.says.startswith(("Next level", "A first look")) else "cure"


def days_of(one: tuple[str, int]) -> Diary:
    """The days of one player."""
    (player, days), seed = ROWS[one[0]], one[1]
    playing, diary, shelf = Learning(player, np.random.default_rng([seed, 56])), Diary(), open_shelf()
    with tempfile.TemporaryDirectory() as folder:
        for day in range(days):
            clock = FixedClock(f"{date(2026, 3, 2) + timedelta(days=day)}T18:00:00+01:00")
            with History.open(Path(folder), clock) as history:
                game, left = Game(history, shelf), A_DAY
                while left > 0:
                    part = plan(game).parts[0]
                    done = playing.play(game.begin(part.level), left)
                    if done == 0:
                        break
                    left -= done
                    sort = sort_of(part)
                    diary.calls[sort] = diary.calls.get(sort, 0) + done
                    diary.met.setdefault(part.level.drill, day + 1)
                diary.passed = sum(map(game.passed, shelf.levels))
    return diary


def main() -> None:
    """Read the arguments, print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=8)
    parser.add_argument("--rows", default="", help="only rows whose names begin with one of these, as a|b")
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    given = parser.parse_args()
    total = len(open_shelf().levels)
    with ProcessPoolExecutor(given.cores) as pool:
        for row, (_, days) in ROWS.items():
            if not row.startswith(tuple(given.rows.split("|"))):
                continue
            found = list(pool.map(days_of, [(row, seed) for seed in range(given.players)]))
            every = sum(sum(each.calls.values()) for each in found)
            sorts = sorted({sort for each in found for sort in each.calls})
            shares = {sort: sum(each.calls.get(sort, 0) for each in found) / every for sort in sorts}
            passed = np.mean([each.passed for each in found])
            print(f"{row}, {days} days: {passed:.1f} of {total} levels passed")
            print(f"    played for: {', '.join(f'{sort} {share:.2f}' for sort, share in shares.items())}")
            drills = sorted({drill for each in found for drill in each.met})
            first = {d: sorted(each.met.get(d, 99) for each in found)[len(found) // 2] for d in drills}
            met = ", ".join(f"{d} {day}" for d, day in sorted(first.items(), key=lambda one: one[1]))
            print(f"    drills first met on day (median): {met}", flush=True)


if __name__ == "__main__":
    main()
