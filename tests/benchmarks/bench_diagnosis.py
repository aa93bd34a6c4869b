"""How soon a cause is named, how often wrongly, and whether the belief is as sure as it says.

    .venv/bin/python tests/benchmarks/bench_diagnosis.py --players 100

Players (``tests/misjudging.py``) share no code with the belief: each does one thing wrong, and what
comes of it is worked out in plan. They are looked at as the game does, every few calls. Behind a share stands
its standard error. Not a timed test: a hundred players a row take about an hour on two cores.
"""

import argparse
import math
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief
from trainer.learner.call import Call, thrown_by
from trainer.learner.choice import choose
from trainer.learner.diagnosis import Looks
from trainer.learner.tally import Tally
from trainer.learner.verdicts import THICK, THIN, kind_verdicts
from trainer.levels.level import narrowed
from trainer.levels.shelf import open_shelf
from trainer.shots.draw import draw, even_offsets
from trainer.shots.truth import work_out

sys.path.append(str(Path(__file__).parents[1]))
from misjudging import BANDS, CUTS, FREE, GRID, MIXED, ROWS, Asking, Misjudging, Playing

LOOKED = (30, 100, 300)  # calls after which intervals are held against the truth
KINDS_EVERY = 5  # calls
THROWN = 200  # shots of each stroke to take from
MATRIX = 120  # calls after which what was told so far is held against what is wrong
BATCH = 48  # shots to choose from, as in the game
P = Misjudging
CHOSEN = Asking(chosen=True)
THROWS = Asking((("throw down", 0.0),), in_a_set=12)
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
    ("local .06, even", P(bump=(30.0, 0.06, 12.0)), FREE, 300),
    ("local .06, 12 wide", P(bump=(30.0, 0.06, 12.0)), CHOSEN, 300),
    ("local .06, 8 each way", P(bump=(30.0, 0.06, 16.0)), CHOSEN, 300),
    ("local -.08, wide", P(bump=(-45.0, -0.08, 20.0)), FREE, 300),
)
THROW: tuple[ROW, ...] = (
    ("throw ignored", P(no_throw=1.0), THROWS, 60),
    ("half of throw ignored", P(no_throw=0.5), THROWS, 60),
    ("throw allowed for", P(), THROWS, 60),
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
    ("none, to names a fifth", P(to_names=0.2), FREE, 1000),
    ("none, skew 2, rows", P(skew=2.0), ROWS, 1000),
    ("none, clipped", P(noise=0.08), Asking(cuts=(0.5, 80.0), clipped=True), 1000),
)


@dataclass
class Watched:
    """What one player was told: causes and the first kind, each by the call at which it first was.

    ``inside`` and ``off``: the share of the true curve within the 95 % interval, and the root mean square of
    what the curve is off by, after each of ``LOOKED`` calls.
    """

    first: dict[str, int] = field(default_factory=dict)
    at_end: tuple[str, ...] = ()
    kind: int | None = None
    inside: list[float] = field(default_factory=list)
    off: list[float] = field(default_factory=list)


def watch(one: tuple[ROW, int]) -> Watched:
    """What is told of one player, call by call."""
    (_, player, asking, calls), seed = one
    belief, tally, looks, told = Belief(), Tally(), Looks(), Watched()
    playing = Playing(player, seed, asking)
    for n, call in enumerate(_calls(playing, calls, belief), 1):
        belief.update(call)
        tally.take(call)
        looks.look(belief, n)
        for name in looks.since:
            told.first.setdefault(name, n)
        if told.kind is None and n % KINDS_EVERY == 0:
            wrong = any(row.verdict in (THICK, THIN) for row in kind_verdicts(belief, tally))
            told.kind = n if wrong else None
        if n in LOOKED:
            mean, sd = belief.curve(GRID)
            views = [kind.split()[1] for kind, _ in asking.kinds]
            truth = np.array([np.mean([player.bias(s, view) for view in views]) for s in GRID.tolist()])
            told.inside.append(float((np.abs(mean - truth) < 1.96 * sd).mean()))
            told.off.append(float(np.sqrt(((mean - truth) ** 2).mean())))
    told.at_end = tuple(sorted(looks.since))
    return told


def _calls(playing: Playing, calls: int, belief: Belief) -> Iterator[Call]:
    """So many calls, of shots as they come or as the game would choose them."""
    if playing.asking == THROWS:
        for sine, thrown in playing.rng.permutation(_thrown())[:calls].tolist():
            yield playing.call(sine, thrown)
        return
    for k in range(calls):
        sine = playing.sine()
        yield playing.call(_chosen(belief, playing, k) if playing.asking.chosen else sine)


def _chosen(belief: Belief, playing: Playing, number: int) -> float:
    """The sine of the shot that the game would ask next, out of a batch spread evenly over the fullness."""
    rng = np.random.default_rng([17, playing.seed, number])
    low, high = np.sin(np.radians(CUTS))
    sines: Floats = rng.permutation(np.linspace(low, high, BATCH)) * rng.choice((-1.0, 1.0), BATCH)
    return float(sines[choose(belief, sines, rng)])


@cache
def _thrown() -> Floats:
    """Shots of the level that asks for throw: sines of signed cuts and what throw does, (n, 2)."""
    level, rng, found = open_shelf().find("throw-or-not"), np.random.default_rng(1), []
    for stroke in (level.strokes[0], level.strokes[-1]):
        limits = narrowed(level).played(stroke)
        truths = work_out(draw(rng, THROWN, limits, even_offsets(rng, THROWN, limits)))
        cuts, throws = truths.cut.tolist(), truths.throw.tolist()
        found += [(math.sin(cut), thrown_by(cut, throw)) for cut, throw in zip(cuts, throws, strict=True)]
    return np.array(found)


def share(hits: int, of: int) -> str:
    """A share and its standard error: ``.95 (.02)``."""
    part = hits / of
    return f"{part:.2f} ({math.sqrt(part * (1 - part) / of):.2f})"


def print_row(row: ROW, found: Sequence[Watched]) -> None:
    """What the players of one row were told."""
    name, _, _, calls = row
    print(f"{name} ({calls} calls, {len(found)} players)")
    for cause in sorted({cause for each in found for cause in each.first}):
        when = [each.first.get(cause, math.inf) for each in found]
        after = [n for n in (12, 18, 30, 60, 120, 300, 1000) if n <= calls]
        by = " ".join(f"{n}: {share(sum(w <= n for w in when), len(when))}" for n in after)
        kept = share(sum(cause in each.at_end for each in found), len(found))
        print(f"    {cause:22} told by {by}; at the end {kept}")
    anything = share(sum(bool(each.first) or each.kind is not None for each in found), len(found))
    print(f"    any cause or kind ever: {anything}")
    kinds = sorted(math.inf if each.kind is None else each.kind for each in found)
    by_then = sum(math.isfinite(kind) for kind in kinds)
    print(f"    a kind: {share(by_then, len(kinds))}; the median player's at call {kinds[len(kinds) // 2]:g}")
    for values, said in (("inside", "inside the interval"), ("off", "off by, root mean square")):
        table = np.array([getattr(each, values) for each in found])
        error = table.std(axis=0) / math.sqrt(len(table))
        cells = zip(table.mean(axis=0), error, strict=True)
        print(f"    {said} after 30, 100, 300: {' '.join(f'{mean:.3f} ({se:.3f})' for mean, se in cells)}")
    sys.stdout.flush()


def print_matrix(rows: Sequence[tuple[ROW, Sequence[Watched]]]) -> None:
    """What is wrong, and the share of players who were told each cause by ``MATRIX`` calls."""
    causes = sorted({cause for _, found in rows for each in found for cause in each.first})
    print(f"told by {MATRIX} calls, per cent\n{'':24} {' '.join(f'{c[:10]:>10}' for c in causes)}")
    for (name, *_), found in rows:
        told = [sum(each.first.get(c, math.inf) <= MATRIX for each in found) / len(found) for c in causes]
        print(f"{name:24} {' '.join(f'{100 * part:10.0f}' for part in told)}")


def main() -> None:
    """Read the arguments, print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=100)
    parser.add_argument("--rows", default="", help="only rows whose names begin with one of these, as a|b")
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    given = parser.parse_args()
    wanted, rows = tuple(given.rows.split("|")), []
    with ProcessPoolExecutor(given.cores) as pool:
        for row in (row for row in (*FAULTS, *LOCAL, *THROW, *NONE) if row[0].startswith(wanted)):
            found = list(pool.map(watch, [(row, seed) for seed in range(given.players)], chunksize=2))
            print_row(row, found)
            rows.append((row, found))
    print_matrix(rows)


if __name__ == "__main__":
    main()
