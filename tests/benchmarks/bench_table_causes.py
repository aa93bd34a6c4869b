"""Eye or stroke over all cuts: after how many notes, or ticks of cards, it is told, and how often wrongly.

    .venv/bin/python tests/benchmarks/bench_table_causes.py --players 100

The players are those of ``tests/misjudging.py``: 300 calls in the drills, then shots at a table, looked at
after every fifth. The eye, the stroke or both see or send the line of aim to one side by the same at every
shot. A note from memory names the nearest eighth and what such a pot usually forgives; a tick of a card knows
its layout. "told" is how many of the players were told the right one by so many shots, "false" how many were
ever told another, up to the last; that it is the eye is half of both, and not false. Not a timed test: some
minutes a row.
"""

import argparse
import math
import os
import sys
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import FREE, Misjudging, Playing

from trainer.learner.belief import Belief
from trainer.learner.table_cause import LINE, table_causes
from trainer.learner.table_verdict import ALL, MADE_UP, SEEING, STROKE, TableShot
from trainer.learner.verdicts import NOT_YET

CALLS = 300
NOISE, CUEING = 0.04, 0.03  # balls: calls, and the stroke
MARGINS = 0.012, 0.02, 0.035  # balls that a pot forgives either way: far, middle, near
LATER = 1.5  # a pot forgives so many times more or less than its kind, up to
SHOTS, EVERY = 120, 5
LOOKED = 25, 40, 60, 80, 120


@dataclass(frozen=True)
class Row:
    """Where the eye and the stroke are off to, balls to the right; what is right to be told; scatter."""

    eye: float
    stroke: float
    right: str
    cueing: float = CUEING


ROWS = {
    "neither": Row(0.0, 0.0, NOT_YET),
    "the stroke goes across by .07": Row(0.0, 0.07, STROKE),
    "the stroke goes across by .10": Row(0.0, 0.10, STROKE),
    "the eye is off by .07": Row(0.07, 0.0, SEEING),
    "both, .07 each": Row(0.07, 0.07, ALL),
    "both, .10 each": Row(0.10, 0.10, ALL),
    "against each other, .07": Row(0.07, -0.07, MADE_UP),
    "neither, three times as loose": Row(0.0, 0.0, NOT_YET, 0.09),
    "the eye by .07, as loose": Row(0.07, 0.0, SEEING, 0.09),
}


def play(row: Row, ticks: bool, seed: int) -> tuple[int | None, str]:
    """After how many shots the right verdict is first told, and the first wrong one."""
    rng = np.random.default_rng([seed, 11])
    way = float(rng.choice((-1.0, 1.0)))
    belief, playing = Belief(), Playing(Misjudging(noise=NOISE, right=way * row.eye), seed, FREE)
    for _ in range(CALLS):
        belief.update(playing.call(playing.sine()))
    eye, stroke = Misjudging(right=way * row.eye), Misjudging(right=way * row.stroke)
    shots: list[TableShot] = []
    told, wrong = None, ""
    layout: tuple[float, float, float] | None = None
    for n in range(1, SHOTS + 1):
        if layout is None or not ticks or n % 5 == 1:
            sine = math.sin(math.radians(rng.uniform(5, 65))) * float(rng.choice((-1.0, 1.0)))
            usual = float(rng.choice(MARGINS))
            layout = sine, usual, usual * LATER ** float(rng.uniform(-1.0, 1.0))
        sine, usual, margin = layout
        error = eye.bias(sine) + stroke.bias(sine) + math.hypot(NOISE, row.cueing) * rng.standard_normal()
        result = "potted" if abs(error) <= margin else "thick" if error > 0 else "thin"
        if ticks:
            shots.append(TableShot(sine, margin, result, ticked=True))
        else:
            shots.append(TableShot(math.copysign(1 - round((1 - abs(sine)) * 8) / 8, sine), usual, result))
        if n % EVERY == 0:
            found = [each for each in table_causes(belief, shots) if each.verdict != NOT_YET]
            for each in found:
                if each.cause == LINE and each.verdict == row.right:
                    told = told or n
                elif each.cause == LINE and each.verdict == SEEING and row.right == ALL:
                    pass  # half of it, so far
                else:
                    wrong = wrong or f"{each.cause}: {each.verdict} ({each.stroke}) at {n}"
    return told, wrong


def main() -> None:
    """Play all rows, print them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=100)
    parser.add_argument("--row", choices=ROWS, help="only this one")
    parser.add_argument("--first", type=int, default=0, help="the first player's seed")
    args = parser.parse_args()
    with get_context("spawn").Pool(os.cpu_count()) as pool:
        for title, row in ROWS.items():
            if args.row not in (None, title):
                continue
            for ticks in (False, True):
                came = pool.map(partial(play, row, ticks), range(args.first, args.first + args.players))
                told = [
                    f"{sum(one is not None and one <= by for one, _ in came) / len(came):5.0%} by {by}"
                    for by in LOOKED
                ]
                false = [wrong for _, wrong in came if wrong]
                print(f"{title:32} {'ticks' if ticks else 'notes'}: {', '.join(told)}; false {len(false)}")
                for each in false[:4]:
                    print(f"    {each}")
                sys.stdout.flush()


if __name__ == "__main__":
    main()
