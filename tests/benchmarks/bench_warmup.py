"""How often a warm-up's sentence is wrong, and how often it tells what is off today.

    .venv/bin/python tests/benchmarks/bench_warmup.py --players 1000

Simulated players (``tests/learner/warming.py``) warm up with thirty shots, after some calls on earlier days.
Of those without a bias a sentence that tells of any is wrong, which may be one in twenty at the most. Of
those who today see thin cuts to the left thicker than usual it is the power. Not a timed test: about ten
minutes with 1,000 players on two cores.
"""

import argparse
import os
import sys
from collections import Counter
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from trainer.play.warmup import AS_USUAL, NOTHING
from trainer.simulate.crowd import likely_share
from trainer.simulate.players import Bump, Nature

sys.path.append(str(Path(__file__).parents[1] / "learner"))
from warming import Morning, sentence

NATURE = Nature(noise=0.05, growth=0.3, lapse=0.02)
PULLED = Nature(noise=0.05, growth=0.3, lapse=0.02, central=0.15, serial=0.1)
BIASED = Nature(noise=0.05, growth=0.3, lapse=0.02, bumps=(Bump(-30.0, 0.06),))
SHIFTED = "Today you see thin cuts to the left"
ROWS = {
    "nothing off, no earlier calls": Morning(NATURE),
    "nothing off, 100 earlier calls": Morning(NATURE, 100),
    "nothing off, 300 earlier calls": Morning(NATURE, 300),
    "nothing off, 300 earlier calls of aim": Morning(NATURE, 300, drill="aim"),
    "nothing off, 300 earlier calls of band": Morning(NATURE, 300, drill="band"),
    "drawn by the last answer and the set's middle, 200 calls": Morning(PULLED, 200),
    "usually .06 thick at 30 degrees right, 300 calls": Morning(BIASED, 300),
    "today .06 thick at thin cuts left, 300 calls": Morning(NATURE, 300, 0.06),
    "today .10 thick at thin cuts left, 300 calls": Morning(NATURE, 300, 0.10),
    "today .10 thick at thin cuts left, 300 calls of aim": Morning(NATURE, 300, 0.10, drill="aim"),
    "today the line .06 to the right, 300 calls": Morning(NATURE, 300, right=0.06),
    "today the line .06 to the right, 300 calls of band": Morning(NATURE, 300, right=0.06, drill="band"),
    "today .10 thick at thin cuts left, no earlier calls": Morning(NATURE, 0, 0.10),
    "today .15 thick at thin cuts left, no earlier calls": Morning(NATURE, 0, 0.15),
}


def main() -> None:
    """Play all rows, print them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=1000)
    args = parser.parse_args()
    with get_context("spawn").Pool(os.cpu_count()) as pool:
        for title, morning in ROWS.items():
            told = pool.map(partial(sentence, morning), range(args.players), chunksize=5)
            off = sum(said not in (NOTHING, f"{AS_USUAL}.") for said in told)
            low, high = likely_share(off, len(told))
            print(
                f"{title}: told of a bias {100 * off / len(told):.1f} % ({100 * low:.1f} to {100 * high:.1f})"
            )
            begun = Counter(said.split(" ball")[0].rsplit(" ", 1)[0] for said in told)
            print(*(f"    {count:4} x {what}" for what, count in begun.most_common(6)), sep="\n", flush=True)


if __name__ == "__main__":
    main()
