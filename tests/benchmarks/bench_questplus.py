"""The learner beside QUEST+ (A. Watson, 2017), as the package ``questplus`` has it: time, and what is learnt.

Run it with ``python tests/benchmarks/bench_questplus.py`` (``--players N``, ``--calls N``); the package, GPL,
comes with ``pip install -e '.[bench]'`` and is used here alone.

Both ask simulated players with one fault (.06 ball, 12 degrees wide, of either sign, anywhere) at the same
cuts and hear the same kind of answer, the nearest eighth (or "thinner"). QUEST+ keeps a grid over the
fault's place, size and the noise, and is told the fault's very shape, that there is one, and that noise is
the same at every cut: it needn't find out what the learner has to. It picks the cut that is expected to
leave the least entropy.

Printed: the median time of one step (the learner's choice and update; QUEST+'s update and next stimulus,
in turns, in one run), on the one side that the players are asked about, and on both sides, which is what
the learner's curve covers in either case, also with as many levels of noise as it tells apart. Then the
root mean square error of the bias over all cuts after so many calls: for the learner, for the same belief
fed with even cuts and with those that QUEST+ chose, and for QUEST+'s own posterior mean.
"""

import argparse
import math
import sys
from statistics import median
from time import perf_counter

import numpy as np

from trainer.drills.question import bounds
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.choice import choose
from trainer.simulate.players import Bump, Nature, Player

try:
    import questplus
    import xarray
except ImportError:
    sys.exit("questplus is not installed: pip install -e '.[bench]'")

CUTS = np.arange(2.5, 73.0, 2.5)
SINES = np.sin(np.radians(CUTS))
BOTH_SIDES = np.concatenate([-CUTS[::-1], CUTS])
STEPS = 25  # timed on both sides
ANSWERS = np.array([1 / 32, *(k / 8 for k in range(1, 9))])  # "thinner", and the eighths
NOISE, SIZE, WIDE, LAPSE = 0.05, 0.06, 12.0, 0.025
SIZES = np.linspace(-0.12, 0.12, 9)
NOISES = np.exp(np.linspace(math.log(0.02), math.log(0.15), 9))
FINE = np.exp(np.linspace(math.log(0.012), math.log(0.3), 27))  # as many as the learner tells apart
SHOTS = 40  # in a set


def bump(cut: np.ndarray, place: np.ndarray, size: np.ndarray) -> np.ndarray:
    """A raised cosine: the bias at cuts, of faults of a place and size."""
    away = np.minimum(np.abs(cut - place) / WIDE, 1.0)
    return size * 0.5 * (1 + np.cos(np.pi * away))


class Quest(questplus.QuestPlus):
    """QUEST+ with answers out of a row: only the likelihoods are ours, choice and update the package's."""

    def __init__(self, cuts: np.ndarray = CUTS, noises: np.ndarray = NOISES) -> None:
        self.cuts, self.noises = cuts, noises
        super().__init__(
            stim_domain={"cut": cuts},
            param_domain={"place": cuts, "size": SIZES, "noise": noises},
            outcome_domain={"answer": np.arange(len(ANSWERS))},
            func="norm_cdf",
            stim_scale="linear",
        )

    def _gen_likelihoods(self) -> xarray.DataArray:
        cut, place, size, noise = np.ix_(self.cuts, self.cuts, SIZES, self.noises)
        seen = 1 - np.abs(np.sin(np.radians(cut))) + bump(cut, place, size)
        edges = (ANSWERS[:-1] + ANSWERS[1:]) / 2
        erf = np.frompyfunc(math.erf, 1, 1)
        below = [0.5 * (1 + erf((edge - seen) / (noise * math.sqrt(2))).astype(float)) for edge in edges]
        chance = np.diff(np.stack([0 * below[0], *below, 0 * below[0] + 1]), axis=0)
        chance = (1 - LAPSE) * chance + LAPSE / len(ANSWERS)
        names = ("answer", "cut", "place", "size", "noise")
        coords = dict(
            zip(names, (np.arange(len(ANSWERS)), self.cuts, self.cuts, SIZES, self.noises), strict=True)
        )
        return xarray.DataArray(chance, dims=names, coords=coords)

    def curve(self) -> np.ndarray:
        """Posterior mean of the bias at all cuts."""
        known = self.posterior.transpose("place", "size", "noise").values.sum(axis=2)
        return np.array([(known * bump(cut, CUTS[:, None], SIZES[None, :])).sum() for cut in CUTS])


def answer(player: Player, k: int, set_id: str) -> tuple[int, Call]:
    """What a player answers to the cut of an index: which eighth, and as a call."""
    fullness = 1 - SINES[k]
    said = player.answers(player.sees(float(CUTS[k]), float(fullness)), ANSWERS)
    error = float(ANSWERS[said] - fullness)
    player.answered(float(ANSWERS[said]))
    low, high = bounds(error, (ANSWERS - fullness).tolist())
    return said, Call(float(SINES[k]), low, high, error, True, "band", set_id)


def both_sides(noises: np.ndarray) -> dict[str, list[float]]:
    """Times of steps of either over both sides; what is answered doesn't matter to them."""
    times: dict[str, list[float]] = {"learner": [], "QUEST+": []}
    rng, sines = np.random.default_rng(5), np.sin(np.radians(BOTH_SIDES))
    belief, quest = Belief(), Quest(BOTH_SIDES, noises)
    for _ in range(STEPS):
        start = perf_counter()
        k = choose(belief, sines, rng)
        belief.update(Call(float(sines[k]), -0.06, 0.06, 0.0, True, "band", "a"))
        times["learner"].append(perf_counter() - start)
        start = perf_counter()
        quest.update(stim={"cut": BOTH_SIDES[k]}, outcome={"answer": int(8 * (1 - abs(sines[k])))})
        _ = quest.next_stim
        times["QUEST+"].append(perf_counter() - start)
    return times


def study(seed: int, calls: list[int], times: dict[str, list[float]]) -> np.ndarray:
    """Mean square errors of the four after each number of calls, (4, numbers), for one player."""
    rng = np.random.default_rng([1, seed])
    place = rng.uniform(CUTS[0] + WIDE / 2, CUTS[-1] - WIDE / 2)
    nature = Nature(noise=NOISE, bumps=(Bump(place, SIZE * rng.choice([-1, 1]), WIDE),))
    truth = np.array([nature.bias(cut) for cut in CUTS])
    ours, theirs, evens = (Player(nature, np.random.default_rng([k, seed])) for k in (2, 3, 4))
    belief, fed, even, quest = Belief(), Belief(), Belief(), Quest()
    stimulus, errors = quest.next_stim, list[list[float]]()
    for k in range(calls[-1]):
        day, number = divmod(k, SHOTS)
        if number == 0:
            for player in (ours, theirs, evens):
                player.begin_set()
        start = perf_counter()
        mine = choose(belief, SINES, rng)
        chosen = perf_counter()
        _, call = answer(ours, mine, str(day))
        heard = perf_counter()
        belief.update(call)
        times["learner"].append(chosen - start + perf_counter() - heard)

        even.update(answer(evens, int(rng.integers(len(CUTS))), str(day))[1])
        said, call = answer(theirs, int(np.flatnonzero(stimulus["cut"] == CUTS)[0]), str(day))
        fed.update(call)
        start = perf_counter()
        quest.update(stim=stimulus, outcome={"answer": said})
        stimulus = quest.next_stim
        times["QUEST+"].append(perf_counter() - start)
        if k + 1 in calls:
            curves = (*(b.curve(SINES)[0] for b in (belief, even, fed)), quest.curve())
            errors.append([((curve - truth) ** 2).mean() for curve in curves])
    return np.array(errors).T


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--players", type=int, default=24)
    parser.add_argument("--calls", type=int, default=160)
    given = parser.parse_args()
    calls = sorted({max(1, given.calls * k // 4) for k in (1, 2, 3, 4)})
    times: dict[str, list[float]] = {"learner": [], "QUEST+": []}
    errors = np.array([study(seed, calls, times) for seed in range(given.players)])
    rms = np.sqrt(errors.mean(axis=0))
    print(f"{given.players} players, one fault of {SIZE} ball, noise {NOISE}, answers in eighths\n")
    print("one step, median; QUEST+'s grid: cuts x places x sizes x noises")
    for name, cuts, noises, found in (
        ("one side", CUTS, NOISES, times),
        ("both sides", BOTH_SIDES, NOISES, both_sides(NOISES)),
        ("both sides, finer noise", BOTH_SIDES, FINE, both_sides(FINE)),
    ):
        mine, theirs = (median(found[who]) * 1e3 for who in ("learner", "QUEST+"))
        grid = f"{len(cuts)} x {len(cuts)} x {len(SIZES)} x {len(noises)}"
        print(f"  {name:24}{grid:>17}: {mine:.2f} ms, QUEST+ {theirs:6.1f} ms, ratio {theirs / mine:4.0f}")
    print("\nbias over all cuts, RMSE in balls, after" + "".join(f"{n:>8}" for n in calls) + "  calls")
    names = (
        "the learner",
        "its belief, even cuts",
        "its belief, QUEST+'s cuts",
        "QUEST+, told the fault's shape",
    )
    for name, row in zip(names, rms, strict=True):
        print(f"  {name:38}" + "".join(f"{value:8.4f}" for value in row))
    zero = math.sqrt(float((bump(CUTS, np.array(40.0), np.array(SIZE)) ** 2).mean()))
    print(f"  {'no bias anywhere':38}" + "".join(f"{zero:8.4f}" for _ in calls))


if __name__ == "__main__":
    main()
