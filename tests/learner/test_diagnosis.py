"""What is told of causes: the closed form against each combination fitted by itself; and players."""

import math
from itertools import product

import numpy as np
import pytest
from misjudging import BANDS, DAY, FREE, MIXED, Misjudging, calls_of
from practising import local, one_model, shapes
from scipy.stats import multivariate_normal

from trainer.learner import belief as module
from trainer.learner import causes, priors
from trainer.learner.belief import Belief
from trainer.learner.call import Call, thrown_by
from trainer.learner.diagnosis import LIKELY, SURE, Looks, weighed

NOISE = 0.05


# The causes: what they do to a shot laid out in plan


@pytest.mark.parametrize(
    ("name", "size", "player"),
    [
        ("ball-width", 0.25, Misjudging(contact=1.0)),
        ("ball-width", -0.1, Misjudging(contact=-0.4)),
        ("line-shift", 0.04, Misjudging(right=0.04)),
        ("overall", -0.05, Misjudging(fuller=-0.05)),
        ("names", 0.5, Misjudging(to_names=0.5)),
        ("middle", 0.1, Misjudging(to_middle=0.1)),
        ("thin-cuts", 0.08, Misjudging(lost=0.08)),
    ],
)
def test_a_cause_is_what_a_player_does_in_plan(name: str, size: float, player: Misjudging) -> None:
    sines = np.random.default_rng(3).uniform(-0.96, 0.96, 400)
    wanted = [player.bias(float(sine)) for sine in sines]
    assert size * causes.NAMED_CAUSES[name].shape(sines) == pytest.approx(wanted, abs=1e-12)


def test_whoever_does_not_allow_for_throw_aims_as_without_it() -> None:
    # The line of centres must point so far off the pocket that throw brings the ball back to it.
    way, throw = math.radians(30.0), math.radians(3.0)
    cut = way + throw
    assert thrown_by(cut, throw) == pytest.approx(math.sin(cut) - math.sin(way))
    assert thrown_by(-cut, throw) == thrown_by(cut, throw)
    assert thrown_by(cut, 0.0) == 0.0


# The closed form


def test_chances_and_sizes_are_those_of_each_combination_fitted_by_itself(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Marginal likelihoods of multivariate normals, one combination of causes at a time."""
    one_model(monkeypatch)
    monkeypatch.setattr(module, "LAPSE_RATE", 1e-300)
    monkeypatch.setattr(module, "CONDITION_SD", 0.0)
    monkeypatch.setattr(priors, "_LOG_LEVEL", np.log([NOISE]))
    monkeypatch.setattr(priors, "_GROWTH", np.zeros(1))
    rng = np.random.default_rng(5)
    cuts = rng.choice(priors.DEGREES[6:-6], 60)
    sines = np.sin(np.radians(cuts))
    errors = 0.1 * np.abs(sines) - 0.03 * np.sign(sines) + rng.normal(0, NOISE, 60)
    belief = Belief()
    for k, (sine, error) in enumerate(zip(sines.tolist(), errors.tolist(), strict=True)):
        belief.update(Call(sine, error, error, error, True, "aim plan", str(k)))
    rows = shapes(cuts)
    base = local(cuts) + NOISE**2 * np.eye(60)
    log_weights, there_in, sizes = [], list(product((False, True), repeat=len(rows))), []
    for there in there_in:
        some = rows[list(there)]
        whole = base + some.T @ some
        log_weight = multivariate_normal.logpdf(errors, cov=whole)
        log_weights.append(log_weight + sum(math.log(LIKELY if here else 1 - LIKELY) for here in there))
        found = np.zeros(len(rows))
        found[list(there)] = some @ np.linalg.solve(whole, errors)
        sizes.append(found)
    weights = np.exp(np.array(log_weights) - max(log_weights))
    weights /= weights.sum()
    chances = weights @ np.array(there_in)
    means = weights @ np.array(sizes) / chances
    got = weighed(belief)
    assert [size.cause for size in got.sizes] == [cause.name for cause in causes.CAUSES]
    assert [size.chance for size in got.sizes] == pytest.approx(chances, rel=1e-3)
    usual = [cause.sd for cause in causes.CAUSES]
    assert [size.mean / sd for size, sd in zip(got.sizes, usual, strict=True)] == pytest.approx(
        means, rel=1e-3, abs=1e-4
    )
    either = 1 - weights @ (~np.array(there_in)[:, 0] & ~np.array(there_in)[:, 1])
    assert got.either[0, 1] == pytest.approx(either, rel=1e-3)


# Players


def first_told(player: Misjudging, seed: int, calls: int, asking: object = FREE) -> dict[str, int]:
    belief, looks, found = Belief(), Looks(), dict[str, int]()
    for number, call in enumerate(calls_of(player, seed, calls, asking), 1):  # type: ignore[arg-type]
        belief.update(call)
        looks.look(belief, number)
        for name, since in looks.since.items():
            found.setdefault(name, since)
    return found


@pytest.mark.parametrize(
    ("cause", "player", "asking", "calls"),
    [
        ("ball-width", Misjudging(contact=1.0), FREE, 30),
        ("ball-width", Misjudging(contact=1.0), BANDS, 30),
        ("line-shift", Misjudging(right=0.04), FREE, 120),
        ("line-shift", Misjudging(right=-0.04), MIXED, 120),
        ("overall", Misjudging(fuller=0.06), FREE, 120),
        ("names", Misjudging(to_names=0.5), FREE, 120),
        ("middle", Misjudging(to_middle=0.1), FREE, 120),
        ("thin-cuts", Misjudging(lost=0.09), FREE, 120),
    ],
)
def test_a_cause_is_named(cause: str, player: Misjudging, asking: object, calls: int) -> None:
    found = [first_told(player, seed, calls, asking) for seed in range(5)]
    assert sum(cause in each for each in found) >= 4


def test_where_nothing_is_wrong_nothing_is_told() -> None:
    assert sum(bool(first_told(Misjudging(), seed, 200)) for seed in range(6)) <= 1
    assert sum(bool(first_told(Misjudging(skew=3.7), seed, 200)) for seed in range(6)) <= 1


def test_a_view_that_differs_is_told_with_its_name() -> None:
    found = [first_told(Misjudging(in_view={"standing": 0.08}), seed, 160, MIXED) for seed in range(4)]
    assert sum("view standing down" in each for each in found) >= 3


def test_throw_is_told_from_calls_with_and_without_it() -> None:
    found, rng = 0, np.random.default_rng(2)
    for seed in range(5):
        player, belief, looks = Misjudging(no_throw=1.0), Belief(), Looks()
        for call in calls_of(player, seed, 100, MIXED):
            belief.update(call)
        for number in range(60):
            cut, throw = math.radians(rng.uniform(10, 65)), math.radians(float(rng.choice((0.5, 4.5))))
            thrown = thrown_by(cut, throw)
            error = player.bias(math.sin(cut), "down", thrown) + player.scatter(math.sin(cut), rng)
            belief.update(
                Call(math.sin(cut), error, error, error, True, "throw down", "t", 739_010, thrown=thrown)
            )
            looks.look(belief, 100 + number)
        found += causes.THROW in looks.since
    assert found >= 4


def test_what_was_told_is_told_until_it_is_gone() -> None:
    looks, belief = Looks(), Belief()
    for number, call in enumerate(calls_of(Misjudging(right=0.06), 1, 100), 1):
        belief.update(call)
        looks.look(belief, number)
    since = looks.since["line-shift"]
    assert since % 5 == 0
    for number, call in enumerate(calls_of(Misjudging(), 2, 300), 101):
        belief.update(call)
        looks.look(belief, number)
        chance = next(s.chance for s in weighed(belief).sizes if s.cause == "line-shift")
        if chance > SURE:
            assert looks.since["line-shift"] == since
            assert "line-shift" not in looks.healed
    assert "line-shift" not in looks.since
    assert DAY < looks.healed["line-shift"].day <= belief.day
    assert looks.healed["line-shift"].worst == pytest.approx(0.06, abs=0.03)


def test_a_view_that_is_held_against_another_one_is_told_no_more() -> None:
    looks = Looks({"view standing plan": 40, "line-shift": 50})
    belief = Belief()
    for call in calls_of(Misjudging(right=0.08), 1, 60, MIXED):  # down and standing
        belief.update(call)
    looks.look(belief, 60)
    assert "view standing plan" not in looks.since
    assert looks.since["line-shift"] == 50
