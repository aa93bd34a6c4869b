"""How many players are told that they are better: those who don't change, and those who do.

    .venv/bin/python tests/benchmarks/bench_change.py --players 1000

Simulated players (``tests/learner/changing.py``) practise against the very learner, choice and drills of the
game; after the first three weeks each is looked at every day. A player counts as told when any kind of shot
is said to be better on any of the days. Of those who don't change that may be one in twenty at the most; of
those whose only fault halves in the middle of the days it is the power. Not a timed test: a thousand players
of 56 days take half an hour on two cores.
"""

import argparse
import math
import os
import sys
from collections import Counter
from collections.abc import Callable
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from trainer.simulate.crowd import likely_share

sys.path.append(str(Path(__file__).parents[1] / "learner"))
from changing import DRILLS, SIZES, halved, healing, told_better, unchanged


def look(make: Callable[..., list], number: int) -> tuple[int, int | None]:
    """A player's number, and the first day that any kind was told to be better."""
    return number, told_better(make(number))


def share(told: int, of: int) -> str:
    """A share, and between which ones it lies with 95 % certainty."""
    low, high = likely_share(told, of)
    return f"{told:4} of {of:4} ({100 * told / of:5.1f} %; {100 * low:.1f} to {100 * high:.1f} %)"


def main() -> None:
    """Read the arguments, print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=1000, help="who don't change (1000)")
    parser.add_argument("--halved", type=int, default=80, help="whose fault halves, each row (80)")
    parser.add_argument("--days", type=int, default=56)
    parser.add_argument("--shots", type=int, default=20, help="a day (20)")
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    args = parser.parse_args()
    with get_context("spawn").Pool(args.cores) as pool:
        make = partial(unchanged, days=args.days, shots=args.shots)
        told, of = Counter[str](), Counter[str]()
        print(f"don't change, {args.days} days of {args.shots} calls, looked at every day: told to be better")
        for number, day in pool.imap_unordered(partial(look, make), range(args.players)):
            drills, size = DRILLS[number % len(DRILLS)], SIZES[number // len(DRILLS) % len(SIZES)]
            for row in ("all", f"drills {' then '.join(drills)}", f"a fault of {size:g}"):
                of[row] += 1
                told[row] += day is not None
            if of["all"] % 100 == 0 and of["all"] < args.players:
                print(f"  so far {share(told['all'], of['all'])}", flush=True)
        for row in sorted(of):
            print(f"  {row:24} {share(told[row], of[row])}", flush=True)
        print("whose only fault halves in the middle of the days: told to be better")
        for size in (0.06, 0.1):
            for shots in (20, 40):
                make = partial(halved, days=args.days, shots=shots, sizes=(size,))
                days = [day for _, day in pool.imap_unordered(partial(look, make), range(args.halved), 4)]
                found = sorted(math.inf if day is None else day - args.days // 2 for day in days)
                half = found[len(found) // 2]
                after = f"half of them within {half:g} days" if math.isfinite(half) else "fewer than half"
                right = share(sum(map(math.isfinite, found)), len(found))
                print(f"  {size:g} to {size / 2:g} ball, {shots} calls a day   {right}; {after}", flush=True)
        print("of whose only fault each of 28 days takes an eighth away: told to be better")
        for size in (0.06, 0.1):
            make = partial(healing, days=28, shots=30, size=size)
            days = [day for _, day in pool.imap_unordered(partial(look, make), range(args.halved), 4)]
            told_in = [sum(day is not None and day <= n for day in days) / len(days) for n in (7, 14, 21, 28)]
            print(f"  {size:g} ball, 30 calls a day   by day 7, 14, 21, 28: {told_in}", flush=True)


if __name__ == "__main__":
    main()
