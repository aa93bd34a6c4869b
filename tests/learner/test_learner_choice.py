"""The choice of shots: what the player sees wrong, what looks like it, and even coverage, in no order."""

import math

import numpy as np
import pytest
from scipy.stats import binom, chisquare

from trainer.learner import choice
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.choice import ABOUT_SHARE, ALIKE, EVEN_SHARE, FAULT_SHARE, MIRRORED, REACH, choose


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


def chosen(belief: Belief, many: int, **how: object) -> list[float]:
    """Signed cuts of so many shots, each chosen out of a batch of its own."""
    found = []
    for seed in range(many):
        rng = np.random.default_rng(seed)
        sines = batch(rng)
        found.append(cut_of(sines[choose(belief, sines, rng, **how)]))  # type: ignore[arg-type]
    return found


def by_chance(count: int, of: int, least: float, most: float) -> bool:
    """Whether so many may be a share between these."""
    return bool(binom.ppf(0.0005, of, least) <= count <= binom.ppf(0.9995, of, most))


# What is asked


def test_half_of_the_shots_are_about_a_fault_and_one_of_four_looks_like_it() -> None:
    cuts = np.array(chosen(faulty(-40), 1000))
    at = int((np.abs(cuts + 40) <= 2 * REACH).sum())  # the middle itself may lie beside the fault's
    assert by_chance(at, 1000, FAULT_SHARE - 0.12, FAULT_SHARE + 0.15)  # one of four looks for others
    alike = int(((np.abs(cuts + 40) > 2 * REACH) & (np.abs(cuts + 40) <= ALIKE + REACH)).sum())
    assert alike > 0.1 * 1000
    mirrored = int((np.abs(cuts - 40) <= 2 * REACH).sum())
    assert mirrored > 0.5 * (1 - EVEN_SHARE - FAULT_SHARE) * MIRRORED * 1000


def test_nothing_that_was_asked_tells_what_comes_next() -> None:
    """The same fullness comes twice in a row as often as in any other order."""
    named = np.round(8 * (1 - np.abs([sine(cut) for cut in chosen(faulty(30), 2000)])))
    share = np.bincount(named.astype(int)) / len(named)
    twice = int((named[1:] == named[:-1]).sum())
    expected = float((share**2).sum())
    assert by_chance(twice, len(named) - 1, expected, expected)


def test_when_nothing_is_known_shots_are_anywhere() -> None:
    counts = np.histogram(chosen(Belief(), 400), [-75, -30, 0, 30, 75])[0]
    assert counts.min() > 50


def test_a_thin_cut_counts_for_more_than_a_thick_one_of_the_same_bias() -> None:
    belief, rng = Belief(), np.random.default_rng(2)
    for k in range(120):
        for at in (15.0, -65.0):
            call = 0.12 + rng.normal(0, 0.03)
            belief.update(Call(sine(at), call, call, call, True, "aim", str((k, at))))
    sines = np.array([sine(15.0), sine(-65.0)])
    found = [choose(belief, sines, np.random.default_rng(k)) for k in range(200)]
    even = EVEN_SHARE / 2 + (1 - EVEN_SHARE - FAULT_SHARE) / 2  # one of the two by chance
    assert sum(found) >= 200 * (FAULT_SHARE + even - 0.1)


def test_of_two_suspicions_the_lesser_is_asked_once_in_a_while(monkeypatch: pytest.MonkeyPatch) -> None:
    """One shot in fifteen, where the other is half a standard deviation larger.

    By a full sample from the belief it would be one in three, and practice would be spread over whatever
    isn't known yet; by the mean alone none, and a fault that a few calls have hidden would stay so.
    """
    belief = Belief()
    for k in range(6):
        for at, error in ((40.0, 0.06), (-40.0, 0.045)):
            call = error + 0.04 * (-1) ** k
            belief.update(Call(sine(at), call, call, call, True, "aim", str((k, at))))
    mean, covariance = belief.joint(np.array([sine(40.0), sine(-40.0)]))
    apart = (mean[0] - mean[1]) / math.sqrt(covariance[0, 0])
    assert apart == pytest.approx(0.5, abs=0.03)
    monkeypatch.setattr(choice, "EVEN_SHARE", 0.0)
    monkeypatch.setattr(choice, "FAULT_SHARE", 1.0)
    sines, many = [sine(40.0), sine(-40.0)], 500
    lesser = sum(choose(belief, sines, np.random.default_rng(seed)) for seed in range(many))
    assert many / 28 < lesser < many / 10


def test_a_sure_fault_leaves_some_shots_to_the_search_for_others() -> None:
    cuts = np.array(chosen(faulty(30, calls=80), 1000))
    away = int((np.abs(cuts - 30) > ALIKE + REACH).sum())
    assert away > 0.25 * 1000


# Rest


def test_no_shot_is_about_a_stretch_that_rests() -> None:
    belief, rests = faulty(30), [(sine(18), sine(45)), (sine(-70), sine(-50))]
    cuts = chosen(belief, 1000, resting=rests)
    inside = sum(any(low <= sine(cut) <= high for low, high in rests) for cut in cuts)
    assert inside < (EVEN_SHARE + 0.6 * (1 - EVEN_SHARE - FAULT_SHARE)) * 1000  # by chance, or alike
    assert sum(abs(cut - 30) < REACH for cut in cuts) < 0.12 * 1000


def test_where_all_rests_shots_are_even() -> None:
    belief, sines, counts = faulty(30), np.linspace(-0.9, 0.9, 10), np.zeros(10)
    for k in range(1000):
        counts[choose(belief, sines, np.random.default_rng(k), resting=[(-1.0, 1.0)])] += 1
    assert chisquare(counts).pvalue > 0.001


# Even coverage


def test_without_adaption_shots_are_even_whatever_is_thought() -> None:
    belief, sines, counts = faulty(30), np.linspace(-0.9, 0.9, 12), np.zeros(12)
    for k in range(1800):
        counts[choose(belief, sines, np.random.default_rng(k), adaptive=False)] += 1
    assert chisquare(counts).pvalue > 0.001


def test_some_shots_are_even_whatever_is_thought() -> None:
    cuts = np.array(chosen(faulty(60), 2000))
    far = int((cuts < -5).sum() - (np.abs(cuts + 60) <= REACH).sum())  # neither the fault nor its mirror
    assert far > 0.3 * EVEN_SHARE * 2000


# The same again


def test_the_same_is_chosen_again_and_the_generator_goes_as_far_on_every_branch() -> None:
    belief, states = faulty(30), []
    sines = batch(np.random.default_rng(5))
    for how in ({}, {"adaptive": False}, {"resting": [(-1.0, 1.0)]}, {"about": (0.5, 0.6)}):
        one, other = np.random.default_rng(7), np.random.default_rng(7)
        assert choose(belief, sines, one, **how) == choose(belief, sines, other, **how)  # type: ignore[arg-type]
        states.append(one.bit_generator.state)
    assert all(state == states[0] for state in states)


@pytest.mark.parametrize("sines", [[0.3], [1.0, -1.0], [0.0, 0.0]])
def test_any_batch_has_a_shot_to_ask(sines: list[float]) -> None:
    belief = faulty(30, calls=2)
    for number in range(1, 20):
        assert 0 <= choose(belief, sines, np.random.default_rng(number)) < len(sines)


# About one kind of shot


def test_about_a_stretch_shots_are_of_it_or_alike_or_cover_the_level() -> None:
    about = sine(34), sine(44)
    cuts = np.array(chosen(faulty(-50.0), 1000, about=about))
    inside = (cuts >= 34) & (cuts <= 44)
    by_luck = float(
        np.mean([(34 <= cut_of(s) <= 44) for k in range(50) for s in batch(np.random.default_rng(k))])
    )
    expected = ABOUT_SHARE + EVEN_SHARE * by_luck
    assert by_chance(int(inside.sum()), 1000, expected - 0.02, expected + 0.05)
    assert expected < 0.45  # the name alone must not do
    alike = ((cuts > 44 + REACH) & (cuts <= 44 + ALIKE)) | ((cuts < 34 - REACH) & (cuts >= 34 - ALIKE))
    assert alike.sum() > 0.12 * 1000
    assert ((cuts <= -34) & (cuts >= -44)).sum() > 0.05 * 1000


def test_where_the_batch_has_none_of_the_stretch_the_nearest_is_asked() -> None:
    sines = np.array([-0.9, -0.3, 0.2, 0.4])
    found = [choose(Belief(), sines, np.random.default_rng(k), about=(0.6, 0.7)) for k in range(400)]
    assert np.bincount(found, minlength=4).argmax() == 3
    assert found.count(3) >= 0.4 * ABOUT_SHARE * 400
