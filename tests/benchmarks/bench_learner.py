"""How soon the learner finds a fault, how often it accuses wrongly, and whether it is as sure as it says.

    .venv/bin/python tests/benchmarks/bench_learner.py --players 400

Simulated players (``trainer/simulate/players.py``) practise against the very learner, choice and drills of
the game, 40 shots a day, looked at after every call; the seed of a player is its number. "free" is an answer
that is not out of a row; "1/16" one of nine aim points a sixteenth of a ball apart; "band" a name to the
nearest eighth. A fault is a bias of +-.06 ball, 12 degrees wide at half its height, anywhere but the
very ends of cuts of 2.5 to 72.5 degrees; it is found when a bias is told within 7.5 degrees of it and of its
sign. Not a timed test: it takes some tens of minutes with 400 players on two cores.
"""

import argparse
import math
import os
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from multiprocessing import get_context
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.verdicts import is_sure
from trainer.levels.level import Level, free_practice
from trainer.simulate.players import Nature, Player
from trainer.simulate.simulation import outcome, places_of, practise, with_bump

sys.path.append(str(Path(__file__).parents[1] / "learner"))
from practising import PLACE_SINES, practise_eye

NEVER = 10**9
A_DAY = 40


@dataclass(frozen=True)
class Row:
    """Players of one nature at one drill: calls, both sides or one, with a fault of this size or none."""

    calls: int
    drill: str = "aim"
    free: bool = True
    both: bool = False
    fault: float = 0.06
    nature: Nature = Nature()  # noqa: RUF009
    adaptive: bool = True
    extra: str = ""


def level_of(row: Row) -> Level:
    """The level that a row is played on."""
    level = free_practice(row.drill)
    sides = ("left", "right") if row.both else ("left",)
    level = replace(level, limits=replace(level.limits, cuts=(2.5, 72.5), sides=sides), adaptive=row.adaptive)
    if row.drill == "aim":
        level = replace(level, answers=replace(level.answers, step=Fraction(1, 16), choices=9))
    return level


def nature_of(row: Row, level: Level, seed: int) -> Nature:
    """One player's nature: the row's, with a fault somewhere."""
    rng = np.random.default_rng([seed, 77])
    nature = with_bump(row.nature, level, row.fault, rng) if row.fault else row.nature
    return with_bump(nature, level, row.fault, rng) if row.extra == "two" else nature


def found(row: Row, seed: int) -> tuple[int, int, float]:
    """The call after which the fault was told, that of the first wrong accusation, noise over its truth."""
    level = level_of(row)
    nature = nature_of(row, level, seed)
    days = -(-row.calls // A_DAY)
    end = outcome(level, nature, days=days, shots=A_DAY, seed=seed, free=row.free)
    first = min((n for n in end.found if n is not None), default=NEVER)
    return first, end.accused or NEVER, end.noise / nature.noise


def covered(row: Row, seed: int) -> np.ndarray:
    """Where the truth lies in the belief after all calls, as chances below it, a place."""
    level = level_of(row)
    nature = nature_of(row, level, seed)
    *_, last = practise(level, nature, days=-(-row.calls // A_DAY), shots=A_DAY, seed=seed, free=row.free)
    at = places_of(level)
    mean, sd = last.belief.curve(at)
    truth = np.array([last.player.nature.bias(cut) for cut in np.degrees(np.arcsin(at))])
    return (truth - mean) / sd


def calibrated(
    calls: int, width: float, drift: bool, lapse: float, widest: bool, seed: int
) -> tuple[np.ndarray, float]:
    """A player drawn from the prior itself: where the truth lies, in deviations; noise over its truth."""
    eye, belief = practise_eye(seed, calls, width=width, drift=drift, lapse=lapse, widest=widest)
    mean, sd = belief.curve(PLACE_SINES)
    return (eye.truth - mean) / sd, float(belief.noise([math.sin(math.radians(35))])[0]) / eye.noise


def fading(noise: float, seed: int) -> tuple[float, int]:
    """A bias of 3/8 balls that goes from .06 to 0 in 14 days, 8 calls a day: mean square error of what
    is told of it, and for how many days after it is gone it is still told."""
    rng, belief = np.random.default_rng(seed), Belief()
    at, off, late = np.sin(np.radians(np.linspace(34.5, 43.0, 9))), [], 0
    for day in range(25):
        bias = 0.06 * max(0.0, 1 - day / 14)
        player = Player(Nature(noise=noise, everywhere=bias), rng)
        for _ in range(8):
            cut = rng.uniform(34.3, 43.4)
            full = 1 - math.sin(math.radians(cut))
            error = player.sees(cut, full) - full
            belief.update(Call(1 - full, error, error, error, True, "aim down", str(day), 739_000 + day))
        mean, sd = belief.curve(at)
        if 1 <= day <= 14:
            off.append((belief.average(at).mean - bias) ** 2)
        if day > 14 and is_sure(mean, sd).any():
            late = day - 14
    return float(np.mean(off)), late


def forecasts(row: Row, seed: int) -> float:
    """How much better the belief foretells a player's calls than the player's own average does: the mean
    log score gained a call. The average is that of all errors before, with their own spread."""
    level = level_of(row)
    nature = nature_of(row, level, seed)
    gained, errors = 0.0, []
    moments = practise(level, nature, days=-(-row.calls // A_DAY), shots=A_DAY, seed=seed, free=row.free)
    for moment in moments:
        call = moment.call
        # A prior worth two calls: no error, spread of a tenth of a ball.
        count = len(errors)
        mean = sum(errors) / (count + 2)
        spread = math.sqrt((sum((e - mean) ** 2 for e in errors) + 2 * 0.01) / (count + 2))
        if call.low == call.high:
            base = -0.5 * ((call.error - mean) / spread) ** 2 - math.log(spread * math.sqrt(2 * math.pi))
        else:
            low, high = ((end - mean) / spread / math.sqrt(2) for end in (call.low, call.high))
            base = math.log(max(0.5 * (math.erf(high) - math.erf(low)), 1e-12))
        gained += moment.log_score - base
        errors.append(call.error)
    return gained / len(errors)


def spread_over(work: Callable[[int], object], players: int) -> list:
    """What a work gives for each player, on every core."""
    with get_context("spawn").Pool() as pool:
        return pool.map(work, range(players), chunksize=max(1, players // 64))


def say(text: str) -> None:
    """Print at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def find_rows(players: int, rows: Iterable[tuple[str, Row]]) -> None:
    """Rows 1, 2, 9: found by how many, by when 95 % are, accused wrongly, noise within 15 %."""
    for name, row in rows:
        began = time.perf_counter()
        firsts, accused, noises = map(np.array, zip(*spread_over(partial(found, row), players), strict=True))
        ordered = np.sort(firsts)
        by95 = ordered[min(math.ceil(0.95 * players) - 1, players - 1)]
        text = f"{row.calls:>6} {np.mean(firsts <= row.calls):>8.3f} {by95 if by95 < NEVER else '-':>8}"
        text += f" {np.median(firsts):>8.0f} {np.mean(accused <= row.calls):>8.3f}"
        text += f" {np.mean(np.abs(noises - 1) < 0.15):>8.3f} {time.perf_counter() - began:>6.0f} s"
        say(f"{name:<44}{text}")


def null_rows(players: int, rows: Iterable[tuple[str, Row]]) -> None:
    """Row 3: players without a fault, ever accused."""
    for name, row in rows:
        ends = spread_over(partial(found, row), players)
        say(f"{name:<44}{row.calls:>6} accused {np.mean([e[1] <= row.calls for e in ends]):.3f}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--players", type=int, default=400)
    parser.add_argument("--rows", default="1,2,3,4,5,6,7,10", help="which rows, as 1,3")
    args = parser.parse_args()
    players, wanted = args.players, set(args.rows.split(","))
    band = {"drill": "band", "free": False}
    rough = Nature(noise=0.08)
    head = f"{'':<44}{'calls':>6} {'found':>8} {'95 % by':>8} {'median':>8} {'accused':>8} {'noise ok':>8}"
    if wanted & {"1", "2", "4"}:
        say(head)
    if "1" in wanted:
        find_rows(
            players,
            [
                ("1 one side, noise .05, free aim", Row(120)),
                ("1 one side, noise .05, aim 1/16", Row(160, free=False)),
                ("1 one side, noise .05, band", Row(200, **band)),
                ("1 both sides, noise .05, free aim", Row(200, both=True)),
                ("1 both sides, noise .05, aim 1/16", Row(240, both=True, free=False)),
                ("1 both sides, noise .05, band", Row(320, both=True, **band)),
            ],
        )
    if "2" in wanted:
        find_rows(
            players,
            [
                ("2 one side, noise .08, free aim", Row(300, nature=rough)),
                ("2 one side, noise .08, band", Row(400, nature=rough, **band)),
                ("2 both sides, noise .08, free aim", Row(540, nature=rough, both=True)),
                ("2 both sides, noise .08, band", Row(720, nature=rough, both=True, **band)),
            ],
        )
    if "4" in wanted:
        find_rows(
            players,
            [
                ("4 even, one side, noise .05, free aim", Row(480, adaptive=False)),
                ("4 even, both sides, noise .05, free aim", Row(800, both=True, adaptive=False)),
            ],
        )
    pulled = Nature(central=0.1, serial=0.1)
    if "3" in wanted:
        for both in (False, True):
            sides = "both sides" if both else "one side"
            null_rows(
                players,
                [
                    (f"3 {sides}, no fault", Row(300, fault=0, both=both)),
                    (f"3 {sides}, 3 % lapses", Row(300, fault=0, both=both, nature=Nature(lapse=0.03))),
                    (f"3 {sides}, pulls of .1", Row(300, fault=0, both=both, nature=pulled)),
                    (
                        f"3 {sides}, pulls and lapses",
                        Row(300, fault=0, both=both, nature=replace(pulled, lapse=0.03)),
                    ),
                    (f"3 {sides}, band", Row(300, fault=0, both=both, **band)),
                ],
            )
    if "5" in wanted:
        for calls, width, drift, lapse, widest in (
            (120, 0.0, False, 0.02, False),
            (200, 0.125, False, 0.02, False),
            (400, 0.0, True, 0.02, False),
            (400, 0.125, True, 0.05, False),
            (400, 0.125, True, 0.05, True),
        ):
            ends = spread_over(partial(calibrated, calls, width, drift, lapse, widest), players)
            off = np.array([z for z, _ in ends])
            below = np.array([0.5 * (1 + math.erf(z / math.sqrt(2))) for z in off.ravel()])
            share = np.histogram(below, 10, (0, 1))[0] / len(below) * 10
            inside = np.abs(off) < 1.96
            # Bands of both sides: the places that lie in each.
            edges = np.digitize(1 - np.abs(PLACE_SINES), np.arange(1 / 16, 1, 1 / 8))
            per = [inside[:, edges == k].mean() for k in np.unique(edges)]
            name = f"5 {calls} calls, answers {width:.3f} wide, {'drift' if drift else 'no drift'}"
            name += f", lapses {lapse}" + (", faults and pulls only" if widest else "")
            ok = np.mean([abs(n - 1) < 0.15 for _, n in ends])
            say(
                f"{name}: 95 % covers {inside.mean():.3f} (bands {min(per):.3f} to {max(per):.3f}), "
                f"tenths of ranks {share.min():.2f} to {share.max():.2f}; noise within 15 %: {ok:.3f}"
            )
    if "6" in wanted:
        for noise in (0.05, 0.06, 0.08):
            ends = spread_over(partial(fading, noise), players)
            say(
                f"6 fading, noise {noise}: RMSE {math.sqrt(np.mean([e for e, _ in ends])):.4f}, "
                f"told for up to {max(late for _, late in ends)} days after it is gone"
            )
    if "7" in wanted:
        for name, row in (
            ("free aim", Row(200, both=True)),
            ("band", Row(320, both=True, **band)),
            ("free aim, pulls and lapses", Row(200, both=True, nature=replace(pulled, lapse=0.03))),
            ("free aim, no fault", Row(200, both=True, fault=0)),
        ):
            gains = np.array(spread_over(partial(forecasts, row), players))
            say(f"7 {name}: better for {np.mean(gains > 0):.3f}, {gains.mean():+.3f} a call")
    if "10" in wanted:
        step = Nature(step=0.05)
        models = (
            ("skewed noise, no fault", Row(300, fault=0, both=True, nature=Nature(skew=1.5))),
            ("skewed noise, a fault", Row(300, both=True, nature=Nature(skew=1.5))),
            ("two faults", Row(300, both=True, extra="two")),
            ("a step at half ball of .05", Row(300, fault=0, both=True, nature=step)),
            ("all cuts shifted by .04", Row(300, fault=0, both=True, nature=Nature(everywhere=0.04))),
            ("noise that doubles to thin cuts", Row(300, fault=0, both=True, nature=Nature(growth=0.6))),
        )
        for name, row in models:
            ends = spread_over(partial(found, row), players)
            off = np.array(spread_over(partial(covered, row), players))
            seen = np.mean([end[0] <= row.calls for end in ends])
            wrongly = np.mean([end[1] <= row.calls for end in ends])
            say(
                f"10 {name}: a fault found {seen:.3f}, accused wrongly {wrongly:.3f}, "
                f"95 % covers {np.mean(np.abs(off) < 1.96):.3f}"
            )


if __name__ == "__main__":
    main()
