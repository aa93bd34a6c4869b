"""The choice of shots: even coverage, blocks, rests, and what a set that is resumed goes on with."""

import math
from itertools import pairwise

import numpy as np
import pytest
from practising import practise
from scipy.stats import binom, chisquare

from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.choice import REACH, block_start, choose
from trainer.simulate.players import Bump, Nature


def sine(cut: float) -> float:
    return math.sin(math.radians(cut))


def cut_of(value: float) -> float:
    return math.degrees(math.asin(value))


def faulty(cut: float, size: float = 0.15, calls: int = 40) -> Belief:
    """A belief that is sure of a fault at a cut, and knows that there is none far from it."""
    rng, belief = np.random.default_rng(1), Belief()
    for k in range(calls):
        for at, error in ((cut, size), (-cut, 0.0)):
            call = error + rng.normal(0, 0.03)
            belief.update(Call(sine(at), call, call, call, True, "aim", str((k, at))))
    return belief


def batch(rng: np.random.Generator, size: int = 48) -> np.ndarray:
    return rng.uniform(0.04, 0.95, size) * rng.choice([-1, 1], size)


# Which shots belong to a block


def test_three_shots_of_ten_cover_the_level_and_the_rest_come_in_blocks() -> None:
    even = sum(block_start(seed, number) is None for seed in range(100) for number in range(1, 41))
    assert binom.ppf(0.001, 4000, 0.3) <= even <= binom.ppf(0.999, 4000, 0.3)


def test_blocks_are_of_five_or_six_and_come_one_after_the_other() -> None:
    sizes = []
    for seed in range(100):
        starts = [block_start(seed, number) for number in range(1, 61)]
        named = [start for start in starts if start is not None]
        assert named == sorted(named)
        for start in set(named):
            assert starts[start - 1] == start  # a block starts with itself
        sizes += [named.count(start) for start in sorted(set(named))[:-1]]  # the last may be cut off
    fives = sizes.count(5)
    assert fives + sizes.count(6) == len(sizes)
    assert binom.ppf(0.001, len(sizes), 0.5) <= fives <= binom.ppf(0.999, len(sizes), 0.5)


def test_a_seed_says_it_once_for_all() -> None:
    assert [block_start(5, n) for n in range(1, 31)] == [block_start(5, n) for n in range(1, 31)]
    assert [block_start(5, n) for n in range(1, 31)] != [block_start(6, n) for n in range(1, 31)]


def numbers_of(seed: int) -> dict[int, list[int]]:
    """Blocks of a set by the number of their first shot."""
    blocks: dict[int, list[int]] = {}
    for number in range(1, 61):
        start = block_start(seed, number)
        if start is not None:
            blocks.setdefault(start, []).append(number)
    return blocks


# Blocks at play


@pytest.mark.parametrize("seed", range(6))
def test_a_block_stays_at_its_cut_also_after_a_break(seed: int) -> None:
    belief, rng = faulty(30), np.random.default_rng(seed)
    (start, numbers), *_ = numbers_of(seed).items()
    begun = sine(-50.0)
    for number in numbers[1:]:
        sines = batch(rng)
        # Nothing is kept between the calls: what the set has asked is all that a resumed one knows.
        k = choose(belief, sines, rng, number=number, seed=seed, asked={start: begun})
        off = np.abs(np.degrees(np.arcsin(sines)) - (-50.0))
        assert off[k] <= REACH or k == np.abs(sines - begun).argmin()  # or the nearest that there is


def test_shots_of_a_block_differ_from_one_another() -> None:
    belief, rng = faulty(30), np.random.default_rng(3)
    (start, numbers), *_ = numbers_of(1).items()
    sines = np.linspace(0.3, 0.7, 48)
    found = {choose(belief, sines, rng, number=numbers[1], seed=1, asked={start: 0.5}) for _ in range(40)}
    assert len(found) > 10


def test_a_block_whose_first_shot_is_gone_begins_anew() -> None:
    belief = faulty(30)
    (_, numbers), *_ = numbers_of(1).items()
    rng = np.random.default_rng(3)
    sines = batch(rng)
    k = choose(belief, sines, rng, number=numbers[2], seed=1, asked={})
    assert abs(cut_of(sines[k]) - 30) < 10


def test_a_block_begins_where_the_bias_is_thought_to_be() -> None:
    belief, hits = faulty(-40), 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        start = next(iter(numbers_of(seed)))
        sines = batch(rng)
        hits += abs(cut_of(sines[choose(belief, sines, rng, number=start, seed=seed)]) + 40) < 10
    assert hits >= 38


def test_when_nothing_is_known_blocks_begin_anywhere() -> None:
    cuts = []
    for seed in range(300):
        rng = np.random.default_rng(seed)
        sines = batch(rng)
        k = choose(Belief(), sines, rng, number=next(iter(numbers_of(seed))), seed=seed)
        cuts.append(sines[k])
    counts = np.histogram(cuts, [-1, -0.5, 0, 0.5, 1])[0]
    assert counts.min() > 40


def test_a_thin_cut_counts_for_more_than_a_thick_one_of_the_same_bias() -> None:
    belief, rng = Belief(), np.random.default_rng(2)
    for k in range(120):
        for at in (15.0, -65.0):
            call = 0.12 + rng.normal(0, 0.03)
            belief.update(Call(sine(at), call, call, call, True, "aim", str((k, at))))
    sines, seed = np.array([sine(15.0), sine(-65.0)]), 1
    start = next(iter(numbers_of(seed)))
    chosen = [choose(belief, sines, np.random.default_rng(k), number=start, seed=seed) for k in range(40)]
    assert sum(chosen) >= 38


def test_a_sure_fault_has_every_other_block_at_most() -> None:
    blocks, near, twice = 0, 0, 0
    for seed in range(4):
        nature = Nature(noise=0.05, bumps=(Bump(30.0, 0.1),))
        begun: list[tuple[int, bool]] = []
        for k, (_, call) in enumerate(practise(nature, seed, sets=12, shots=40)):
            day, number = divmod(k, 40)
            if day >= 6 and block_start(999 * seed + day, number + 1) == number + 1:
                begun.append((day, abs(cut_of(call.sine) - 30) < 12))
        blocks += len(begun)
        near += sum(there for _, there in begun)
        twice += sum(a == b and one and two for (a, one), (b, two) in pairwise(begun))
    assert twice <= 0.06 * blocks
    assert 0.4 <= near / blocks <= 0.65  # the first of a set may be, so a little more than half


# Rest


def test_no_block_begins_in_a_stretch_that_rests() -> None:
    belief, rests = faulty(30), [(sine(18), sine(45)), (sine(-70), sine(-50))]
    for seed in range(40):
        rng = np.random.default_rng(seed)
        sines = batch(rng)
        start = next(iter(numbers_of(seed)))
        at = sines[choose(belief, sines, rng, number=start, seed=seed, resting=rests)]
        assert not any(low <= at <= high for low, high in rests)


def test_where_all_rests_shots_are_even() -> None:
    belief, start = faulty(30), next(iter(numbers_of(1)))
    sines = np.linspace(-0.9, 0.9, 10)
    counts = np.zeros(10)
    for k in range(1000):
        counts[
            choose(belief, sines, np.random.default_rng(k), number=start, seed=1, resting=[(-1.0, 1.0)])
        ] += 1
    assert chisquare(counts).pvalue > 0.001


# Even coverage


@pytest.mark.parametrize("adaptive", [False, True])
def test_even_shots_are_even_whatever_is_thought(adaptive: bool) -> None:
    belief = faulty(30)
    even = next(n for n in range(1, 41) if block_start(2, n) is None)
    number = even if adaptive else next(iter(numbers_of(2)))
    sines, counts = np.linspace(-0.9, 0.9, 12), np.zeros(12)
    for k in range(1800):
        counts[choose(belief, sines, np.random.default_rng(k), number=number, seed=2, adaptive=adaptive)] += 1
    assert chisquare(counts).pvalue > 0.001


# The same again


def test_the_same_is_chosen_again_and_the_generator_goes_as_far_on_every_branch() -> None:
    belief, states = faulty(30), []
    sines = batch(np.random.default_rng(5))
    start, *rest = next(iter(numbers_of(1).values()))
    even = next(n for n in range(1, 41) if block_start(1, n) is None)
    for how in (
        {"number": start},
        {"number": rest[0], "asked": {start: 0.5}},
        {"number": even},
        {"number": start, "adaptive": False},
        {"number": start, "resting": [(-1.0, 1.0)]},
    ):
        one, other = np.random.default_rng(7), np.random.default_rng(7)
        assert choose(belief, sines, one, seed=1, **how) == choose(belief, sines, other, seed=1, **how)
        states.append(one.bit_generator.state)
    assert all(state == states[0] for state in states)


@pytest.mark.parametrize("sines", [[0.3], [1.0, -1.0], [0.0, 0.0]])
def test_any_batch_has_a_shot_to_ask(sines: list[float]) -> None:
    for number in range(1, 20):
        k = choose(
            faulty(30, calls=2), sines, np.random.default_rng(number), number=number, seed=3, asked={1: 1.0}
        )
        assert 0 <= k < len(sines)


# About one kind of shot


def test_about_a_stretch_most_shots_are_of_it_and_the_others_cover_the_level() -> None:
    belief, about, others = faulty(-50.0), (0.56, 0.69), []
    ends = cut_of(about[0]) - REACH, cut_of(about[1]) + REACH
    for seed in range(40):
        asked: dict[int, float] = {}
        for number in range(1, 13):
            rng = np.random.default_rng([seed, number])
            sines = batch(rng)
            at = choose(belief, sines, rng, number=number, seed=seed, asked=asked, about=about)
            asked[number] = float(sines[at])
            if block_start(seed, number) is None:
                others.append(asked[number])
            else:
                assert ends[0] <= cut_of(asked[number]) <= ends[1]
    assert 0.2 < len(others) / (40 * 12) < 0.4
    assert 0.35 < np.mean(np.array(others) < 0) < 0.65


def test_where_the_batch_has_none_of_the_stretch_the_nearest_is_asked() -> None:
    number = next(n for n in range(1, 9) if block_start(3, n) == n)
    sines = np.array([-0.9, -0.3, 0.2, 0.4])
    at = choose(Belief(), sines, np.random.default_rng(1), number=number, seed=3, about=(0.6, 0.7))
    assert sines[at] == 0.4
