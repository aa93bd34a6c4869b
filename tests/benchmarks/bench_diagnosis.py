"""How soon a cause is named, how often wrongly, and whether the belief is as sure as it says.

    .venv/bin/python tests/benchmarks/bench_diagnosis.py --players 100

Players (``tests/misjudging.py``) share no code with the belief: each does one thing wrong, and what
comes of it is worked out in plan. They are looked at as the game does, every few calls. Not a timed test: a
hundred players a row take about half an hour on two cores.
"""

import argparse
import math
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.learner.belief import Belief
from trainer.learner.diagnosis import Looks
from trainer.learner.tally import Tally
from trainer.learner.verdicts import THICK, THIN, kind_verdicts

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import BANDS, FREE, GRID, MIXED, ROWS, Asking, Misjudging, calls_of

LOOKED = (30, 100, 300)  # calls after which intervals are held against the truth
KINDS_EVERY = 10  # calls
P = Misjudging
ROW = tuple[str, Misjudging, Asking, int]
FAULTS: tuple[ROW, ...] = (
    ("contact point", P(contact=1.0), FREE, 300),
    ("contact point, bands", P(contact=1.0), BANDS, 120),
    ("half of the width", P(contact=0.5), FREE, 300),
    ("line right .04", P(right=0.04), FREE, 300),
    ("line left .04, mixed", P(right=-0.04), MIXED, 300),
    ("all thick .05", P(fuller=0.05), FREE, 300),
    ("all thin .04, mixed", P(fuller=-0.04), MIXED, 300),
    ("to names, half way", P(to_names=0.5), FREE, 300),
    ("to the middle .1", P(to_middle=0.1), FREE, 300),
    ("thin cuts lost .08", P(lost=0.08), FREE, 300),
    ("view .06", P(in_view={"standing": 0.06}), MIXED, 300),
    ("width and line", P(contact=0.5, right=0.05), FREE, 300),
    ("thick and thin cuts", P(fuller=0.05, lost=0.08), FREE, 300),
)
LOCAL: tuple[ROW, ...] = (
    ("local .06, one side", P(bump=(30.0, 0.06, 12.0)), FREE, 300),
    ("local -.08, wide", P(bump=(-45.0, -0.08, 20.0)), FREE, 300),
)
NONE: tuple[ROW, ...] = (
    ("none, noise .03", P(noise=0.03), FREE, 1000),
    ("none, noise .05", P(), FREE, 1000),
    ("none, noise .05, mixed", P(), MIXED, 1000),
    ("none, noise .10", P(noise=0.10), FREE, 1000),
    ("none, lapses .10", P(lapse=0.10), FREE, 1000),
    ("none, noise grows", P(growth=0.6), FREE, 1000),
    ("none, serial .1", P(serial=0.1), FREE, 1000),
    ("none, skew 3.7", P(skew=3.7), FREE, 1000),
    ("none, skew -3.7", P(skew=-3.7), FREE, 1000),
    ("none, skew 2, rows", P(skew=2.0), ROWS, 1000),
    ("none, clipped", P(noise=0.08), Asking(cuts=(0.5, 80.0), clipped=True), 1000),
)


def watch(one: tuple[ROW, int]) -> dict[str, object]:
    """What is told of one player, call by call."""
    (_, player, asking, calls), seed = one
    belief, tally, looks = Belief(), Tally(), Looks()
    first, kinds, inside, off = dict[str, int](), None, [], []
    for n, call in enumerate(calls_of(player, seed, calls, asking), 1):
        belief.update(call)
        tally.take(call)
        looks.look(belief, n)
        for name in looks.since:
            first.setdefault(name, n)
        if kinds is None and n % KINDS_EVERY == 0:
            wrong = any(row.verdict in (THICK, THIN) for row in kind_verdicts(belief, tally))
            kinds = n if wrong else None
        if n in LOOKED:
            mean, sd = belief.curve(GRID)
            views = [kind.split()[1] for kind, _ in asking.kinds]
            truth = np.array([np.mean([player.bias(s, view) for view in views]) for s in GRID.tolist()])
            inside.append(float((np.abs(mean - truth) < 1.96 * sd).mean()))
            off.append(float(np.sqrt(((mean - truth) ** 2).mean())))
    return {"first": first, "kinds": kinds, "inside": inside, "off": off, "at_end": sorted(looks.since)}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=100)
    parser.add_argument("--rows", default="", help="only rows whose names begin with one of these, as a,b")
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    given = parser.parse_args()
    wanted = tuple(given.rows.split(","))
    with ProcessPoolExecutor(given.cores) as pool:
        for row in (*FAULTS, *LOCAL, *NONE):
            if not row[0].startswith(wanted):
                continue
            found = list(pool.map(watch, [(row, seed) for seed in range(given.players)], chunksize=2))
            print(f"{row[0]} ({row[3]} calls)")
            names = sorted({name for each in found for name in each["first"]})
            for name in names:
                when = sorted(each["first"].get(name, math.inf) for each in found)
                shares = " ".join(
                    f"{sum(w <= n for w in when) / len(when):.2f}"
                    for n in (12, 18, 30, 60, 120, 300, 1000)
                    if n <= row[3]
                )
                kept = sum(name in each["at_end"] for each in found) / len(found)
                print(f"    {name:12} told by 12 18 30 60 120 ..: {shares}; at the end {kept:.2f}")
            if not names:
                print("    no cause was ever told")
            kinds = [each["kinds"] for each in found]
            said = sorted(k for k in kinds if k is not None)
            middle = said[len(said) // 2] if said else "-"
            print(f"    a kind was told to {len(said) / len(found):.2f}, median at call {middle}")
            for at, each in (("inside", "{:.3f}"), ("off", "{:.3f}")):
                means = np.mean([one[at] for one in found], axis=0)
                print(f"    {at:6} after 30 100 300: {' '.join(each.format(m) for m in means)}")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
