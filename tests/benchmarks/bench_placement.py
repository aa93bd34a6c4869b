"""Where finding one's place puts players of five strengths, beside where many calls put them.

    .venv/bin/python tests/benchmarks/bench_placement.py --players 20

Players (``tests/misjudging.py``) without a fault, of five noises, find their place by the real game. Beside
it: how many chapters are mastered where each is asked about in 33 shots and mastered by seven right of ten
(some 300 calls), and with ``--path`` where 300 calls of today's plan, thirty a day, bring
somebody who begins at the beginning. Not a timed test.
"""

import argparse
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.level import CHAPTERS
from trainer.levels.shelf import open_shelf
from trainer.play import placement
from trainer.play.game import Game
from trainer.play.today import plan

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import Misjudging, Seeing

NOISES = (0.02, 0.035, 0.05, 0.08, 0.12)
LONG, MASTERED = 33, 0.7  # calls a chapter where there are many, and the share of right ones
CALLS, A_DAY = 300, 30


@dataclass
class Placed:
    """One player: chapters opened by finding the place and in how many shots; chapters by many calls."""

    opened: int
    shots: int
    long: int
    path: int | None


def by_many(game: Game, seeing: Seeing) -> int:
    """How many chapters in a row many calls show to be mastered."""
    for k, levels in enumerate(placement.gates(game.shelf.levels)):
        right = list[bool]()
        for level in levels:
            alike = replace(level, adaptive=False)
            played = game.begin(alike, shots=-(-LONG // len(levels)), seed=k)
            seeing.play(played)
            right += played.rights
        if np.mean(right) < MASTERED:
            return k
    return len(CHAPTERS)


def by_path(seeing: Seeing) -> int:
    """The place of the chapter where 300 calls of today's plan bring a player, whatever it offers first."""
    shelf, left = open_shelf(), CALLS
    with tempfile.TemporaryDirectory() as folder:
        for day in range(CALLS // A_DAY):
            clock = FixedClock(f"{date(2026, 3, 2) + timedelta(days=day)}T18:00:00+01:00")
            with History.open(Path(folder), clock) as history:
                game, today = Game(history, shelf), min(A_DAY, left)
                while today > 0:
                    parts = [part for part in plan(game, 60).parts if part.level is not placement.LEVEL]
                    level = parts[0].level if parts else game.next_level()
                    done = seeing.play(game.begin(level), today)
                    today, left = today - done, left - done
                level = game.next_level()
    chapters = list(CHAPTERS)
    return chapters.index(level.chapter) if level.chapter in chapters else len(chapters)


def placed(one: tuple[float, int, bool]) -> Placed:
    """One player finds the place."""
    noise, seed, path = one
    seeing = Seeing(Misjudging(noise=noise), np.random.default_rng([seed, 71]))
    clock = FixedClock("2026-03-02T18:00:00+01:00")
    with tempfile.TemporaryDirectory() as folder, History.open(Path(folder), clock) as history:
        game = Game(history, open_shelf())
        shots = seeing.play(game.begin(placement.LEVEL, seed=seed))
        opened = len(game.opened)
        long = by_many(game, seeing)
    return Placed(opened, shots, long, by_path(seeing) if path else None)


def main() -> None:
    """Read the arguments, print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=20)
    parser.add_argument("--path", action="store_true")
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    given = parser.parse_args()
    with ProcessPoolExecutor(given.cores) as pool:
        for noise in NOISES:
            jobs = [(noise, seed, given.path) for seed in range(given.players)]
            found = list(pool.map(placed, jobs))
            opened, long = (np.array([getattr(one, name) for one in found]) for name in ("opened", "long"))
            near = np.mean(np.abs(opened - long) <= 1)
            print(
                f"noise {noise:.3f}: {opened.mean():.1f} chapters opened ({opened.min()} to {opened.max()}) "
                f"in {np.mean([one.shots for one in found]):.0f} shots; by many calls {long.mean():.1f}, "
                f"within one of them {near:.2f}",
                flush=True,
            )
            if given.path:
                path = np.array([one.path for one in found])
                print(
                    f"    300 calls from the beginning: {path.mean():.1f} chapters, "
                    f"within one of them {np.mean(np.abs(opened - path) <= 1):.2f}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
