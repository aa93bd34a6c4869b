"""Seeing or cueing: how often a player is told what isn't so, and how many misses a verdict takes.

    .venv/bin/python tests/benchmarks/bench_table.py --players 1000

Simulated players (``tests/learner/at_table.py``) call shots in a drill, then play at the table and note every
shot, half of them near their fault; after every note all verdicts are looked at. A fault of the eye is a
bias of so many balls, thick or thin, 16 degrees wide at half its height; one of the stroke adds as much to
every shot. "false": told at any moment, of any kind of shot, of a stroke that adds nothing or adds the other
way, of an eye that isn't off that way, or of a true eye that isn't. "uneven": an even table was said to miss
one way. Then for each verdict on the kind with the fault: how many were ever told it, and within how many
misses of that kind half of them and nine of ten were. Not a timed test: some 20 minutes with 1,000 players
on two cores.
"""

import argparse
import os
import sys
import time
from collections import Counter
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from trainer.learner.table_verdict import ALL, MADE_UP, SEEING, STROKE
from trainer.simulate.crowd import likely_share

sys.path.append(str(Path(__file__).parents[1] / "learner"))
from at_table import Came, Table, play

ROWS = {
    "neither is off": Table("none"),
    "the eye alone, .06": Table("eye"),
    "the eye alone, .12": Table("eye", size=0.12),
    "the stroke alone, .06": Table("stroke"),
    "the stroke alone, .09": Table("stroke", size=0.09),
    "both, .06 each": Table("both"),
    "both against each other, .06": Table("against"),
    "the eye alone, .06, after 120 calls": Table("eye", calls=120),
    "the stroke alone, .06, after 120 calls": Table("stroke", calls=120),
    "the eye alone, .06, sees far better at the table": Table("eye", scatter=0.02, eyed=0.6),
}


def main() -> None:
    """Play all rows, print them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0, help="the first player's seed")
    args = parser.parse_args()
    with get_context("spawn").Pool(os.cpu_count()) as pool:
        for title, table in ROWS.items():
            began = time.perf_counter()
            seeds = range(args.first, args.first + args.players)
            told(title, table, pool.map(partial(play, table), seeds, chunksize=5))
            print(f"    {time.perf_counter() - began:.0f} s", flush=True)


def told(title: str, table: Table, came: list[Came]) -> None:
    """One row in words."""
    false = sum(bool(one.false) for one in came)
    low, high = (100 * part for part in likely_share(false, len(came)))
    print(f"{title}; {table.calls} calls, {table.shots} shots noted")
    print(f"    false {100 * false / len(came):.1f} % ({low:.1f} to {high:.1f})", end="")
    if table.parts == "none":
        print(f", uneven {100 * sum(one.uneven for one in came) / len(came):.1f} %", end="")
    print(*(f"; {count} x {what}" for what, count in Counter(w for one in came for w in one.false).items()))
    for verdict in (STROKE, SEEING, ALL, MADE_UP):
        misses = sorted(one.misses[verdict] for one in came if verdict in one.misses)
        if misses:
            half, most = misses[len(misses) // 2], misses[int(0.9 * len(misses))]
            share = 100 * len(misses) / len(came)
            print(f"    {verdict}: {share:.0f} % told, half of them within {half} misses, 9 of 10 in {most}")


if __name__ == "__main__":
    main()
