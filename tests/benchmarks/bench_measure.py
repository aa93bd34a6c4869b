"""How often the weekly measure tells of a change that isn't there, and how soon of one that is.

    .venv/bin/python tests/benchmarks/bench_measure.py --players 2000

Simulated players (``tests/learner/measuring.py``) are measured once a week for twelve weeks and look every
week. Not a timed test: about two minutes with 2,000 players.
"""

import argparse
import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "learner"))
from measuring import Eye, even, told, within

ROWS = {
    "no change, noise .02": Eye(even(0.02)),
    "no change, noise .05": Eye(even(0.05)),
    "no change, noise .10": Eye(even(0.10)),
    "no change, noise .05, days a quarter better or worse": Eye(even(0.05), days=0.25),
    "no change, noise .05, for a year": Eye(even(0.05, 52)),
    ".10 to .05 within four weeks": Eye(within(0.10, 0.05, 4)),
    ".10 to .05 within twelve weeks": Eye(within(0.10, 0.05, 11)),
    ".05 to .025 within four weeks": Eye(within(0.05, 0.025, 4)),
    ".05 to .035 within four weeks": Eye(within(0.05, 0.035, 4)),
    ".05 to .035 within twelve weeks": Eye(within(0.05, 0.035, 11)),
}


def main() -> None:
    """Measure all of them, print the parts that were told by then."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=2000)
    args = parser.parse_args()
    for title, eye in ROWS.items():
        players = [eye.weeks(seed) for seed in range(args.players)]
        seen = [told(weeks) for weeks in players]
        worse = sum(told(weeks, better=False) is not None for weeks in players)
        by = {week: sum(one is not None and one <= week for one in seen) for week in (6, 8, 12, 52)}
        said = ", ".join(f"week {week} {100 * many / args.players:.1f} %" for week, many in by.items())
        print(f"{title}: better by {said}; worse {100 * worse / args.players:.1f} %", flush=True)


if __name__ == "__main__":
    main()
