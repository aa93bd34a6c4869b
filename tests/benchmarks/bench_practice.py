"""What practice takes of a fault, and what somebody scores in it who looks at nothing.

    .venv/bin/python tests/benchmarks/bench_practice.py --players 100

Learners have one fault, of a tenth of a ball. Each shot near it that is marked takes a part of it away, the
less the farther from it the shot is; overnight some of it comes back. What is left is held against even
practice, and against a staircase, which asks what was missed again. They share no code with the belief.

Players who look at nothing answer what the last mark was, or what was right most often in the set, in the
last six, or what the title says. Each is held against the same strategy on the same set in another order:
what is more than that, the order gives away. Not a timed test: a hundred players take some ten minutes.
"""

import argparse
import math
import os
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.geometry.fullness import Kind
from trainer.learner.belief import Belief
from trainer.learner.choice import choose

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import CUTS, ROWS, Misjudging, Playing

FAULT, WIDE = 0.1, 14.0  # balls, and degrees at half its height
LEARNS, FORGETS = 0.0145, 0.05  # of the fault: taken by a shot at its middle; of what was taken, overnight
A_DAY, IN_A_SET, BATCH = 40, 20, 48
STEP = 1 / 16  # balls, of the staircase
AFTER = 150, 300, 600  # calls
NAMES = np.arange(1, 9) / 8


@dataclass
class Learner:
    """A player whose fault shrinks by practice: where it is (degrees), and the part that is left."""

    cut: float
    sign: float
    left: float = 1.0

    def player(self) -> Misjudging:
        """The player as of now."""
        return Misjudging(bump=(self.cut, self.sign * FAULT * self.left, WIDE), lapse=0.02)

    def practise(self, sine: float) -> None:
        """A shot was marked."""
        away = (math.degrees(math.asin(sine)) - self.cut) / WIDE
        self.left *= 1.0 - LEARNS * math.exp(-4 * math.log(2) * away * away)

    def sleep(self) -> None:
        """A night has passed."""
        self.left += FORGETS * (1.0 - self.left)


Chooser = Callable[[Belief, np.ndarray, np.random.Generator, float, bool], int]


def adaptive(belief: Belief, sines: np.ndarray, rng: np.random.Generator, last: float, missed: bool) -> int:
    """As the game chooses."""
    return choose(belief, sines, rng)


def even(*given: object) -> int:
    """The first of a batch in random order."""
    return 0


def staircase(belief: Belief, sines: np.ndarray, rng: np.random.Generator, last: float, missed: bool) -> int:
    """A thicker shot after a miss, a thinner one after none, to either side."""
    wanted = abs(last) + (-STEP if missed else STEP)
    return int(np.abs(np.abs(sines) - np.clip(wanted, STEP, 1 - STEP)).argmin())


def batch(rng: np.random.Generator) -> np.ndarray:
    """Sines of shots to choose from, spread evenly over the fullness, in random order."""
    low, high = np.sin(np.radians(CUTS))
    sines = rng.permutation(np.linspace(low, high, BATCH)) * rng.choice((-1.0, 1.0), BATCH)
    return np.asarray(sines, float)


def left_after(one: tuple[str, int]) -> list[float]:
    """What is left of one learner's fault after ``AFTER`` calls."""
    chooser, seed = CHOOSERS[one[0]], one[1]
    rng = np.random.default_rng([33, seed])
    learner = Learner(float(rng.uniform(12, 60) * rng.choice((-1, 1))), float(rng.choice((-1, 1))))
    belief, playing = Belief(), Playing(learner.player(), seed, ROWS)
    found, sine, missed = list[float](), 0.5, False
    for n in range(max(AFTER)):
        if n and n % A_DAY == 0:
            learner.sleep()
        sines = batch(rng)
        sine = float(sines[chooser(belief, sines, rng, sine, missed)])
        playing.player = learner.player()
        call = playing.call(sine)
        missed = abs(call.error) > 1 / 32
        belief.update(call)
        learner.practise(sine)
        if n + 1 in AFTER:
            found.append(learner.left)
    return found


CHOOSERS: dict[str, Chooser] = {"adaptive": adaptive, "even": even, "staircase": staircase}


def blind(one: tuple[str, int]) -> dict[str, tuple[float, float]]:
    """The scores of who looks at nothing, in sets of one player: as asked, and in another order."""
    about, seed = one
    rng = np.random.default_rng([34, seed])
    bump = (float(rng.uniform(12, 60) * rng.choice((-1, 1))), float(rng.choice((-1, 1))) * FAULT, WIDE)
    belief, playing = Belief(), Playing(Misjudging(bump=bump), seed, ROWS)
    kind = Kind("3/8", "right")
    scores = {name: [0, 0] for name in (*STRATEGIES, "title")}
    shots = 0
    for of_set in range(20):
        right = []
        for _ in range(IN_A_SET):
            sines = batch(rng)
            sine = float(sines[choose(belief, sines, rng, about=kind.sines if about else None)])
            belief.update(playing.call(sine))
            right.append(_named(sine))
        if of_set < 5:  # nothing is known yet
            continue
        shots += len(right)
        other = [right[i] for i in rng.permutation(len(right))]
        for name, strategy in STRATEGIES.items():
            for column, row in enumerate((right, other)):
                hits = sum(strategy(row[:i]) == row[i] for i in range(1, len(row)))
                scores[name][column] += hits
        scores["title"][0] += sum(name == (0.375, -1.0) for name in right)
        scores["title"][1] += sum(name == (0.375, -1.0) for name in right)
    return {name: (a / shots, b / shots) for name, (a, b) in scores.items()}


def _named(sine: float) -> tuple[float, float]:
    """The right answer by name: the nearest eighth, and the side."""
    fullness = 1.0 - abs(sine)
    return float(NAMES[np.abs(NAMES - fullness).argmin()]), math.copysign(1.0, sine)


def _most(before: Sequence[tuple[float, float]]) -> tuple[float, float]:
    return Counter(before).most_common(1)[0][0]


STRATEGIES: dict[str, Callable[[Sequence[tuple[float, float]]], tuple[float, float]]] = {
    "the last mark": lambda before: before[-1],
    "most in the set": _most,
    "most of the last six": lambda before: _most(before[-6:]),
}


def main() -> None:
    """Read the arguments, print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=100)
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    given = parser.parse_args()
    with ProcessPoolExecutor(given.cores) as pool:
        print(f"left of a fault of {FAULT:g} after {', '.join(map(str, AFTER))} calls (standard error)")
        for name in CHOOSERS:
            found = np.array(list(pool.map(left_after, [(name, seed) for seed in range(given.players)])))
            error = found.std(axis=0) / math.sqrt(len(found))
            cells = zip(found.mean(axis=0), error, strict=True)
            print(f"  {name:10} {'  '.join(f'{mean:.2f} ({se:.2f})' for mean, se in cells)}", flush=True)
        print("right without looking: as asked, and the same set in another order")
        for about in ("", "3/8 right"):
            found = list(pool.map(blind, [(about, seed) for seed in range(given.players // 4)]))
            for name in found[0]:
                asked, shuffled = np.mean([each[name] for each in found], axis=0)
                print(
                    f"  {about or 'what is seen wrong':18} {name:20} {asked:.3f} {shuffled:.3f}", flush=True
                )


if __name__ == "__main__":
    main()
