"""The belief by itself: what it draws and tells hangs together."""

import math

import numpy as np
import pytest
from practising import DRAWN, one_model, prior

from trainer.drills.question import bounds
from trainer.learner import priors
from trainer.learner.belief import Belief, Estimate
from trainer.learner.call import Call


def call(sine: float, error: float, where: str = "aim", set_id: str = "a", day: int = 0) -> Call:
    return Call(sine, error, error, error, abs(error) < 0.06, where, set_id, day)


def taught() -> Belief:
    belief, rng = Belief(), np.random.default_rng(4)
    for k, sine in enumerate((-0.6, -0.5, 0.1, 0.4) * 10):
        belief.update(call(sine, rng.normal(0.05, 0.04), "aim" if k % 3 else "band", str(k // 10)))
    return belief


def test_before_any_call_it_holds_what_the_prior_says(monkeypatch: pytest.MonkeyPatch) -> None:
    one_model(monkeypatch)  # a player with faults and causes
    belief, sines = Belief(), np.sin(np.radians(DRAWN))
    mean, sd = belief.curve(sines)
    assert (mean == 0).all()
    assert sd == pytest.approx(np.sqrt(np.diag(prior(DRAWN))), rel=0.02)
    _, covariance = belief.joint(sines)
    assert covariance == pytest.approx(prior(DRAWN), abs=0.01 * prior(DRAWN).max())
    noise = belief.noise([0.0, 0.5, -0.9])
    assert (noise > 0.04).all()
    assert (noise < 0.08).all()


def test_a_curve_is_as_likely_on_the_left_as_on_the_right() -> None:
    cuts = np.linspace(-80, 80, 33)
    assert priors.bias_covariance(cuts, cuts) == pytest.approx(priors.bias_covariance(-cuts, -cuts))
    # Both sides have a part in common: what is seen on the one says something of the other, but not all.
    belief = Belief()
    for k in range(100):
        belief.update(call(math.sin(math.radians(40)), 0.1, set_id=str(k)))
    mean, _ = belief.curve(np.sin(np.radians([40.0, -40.0, 0.0])))
    assert mean[0] > 0.09
    assert 0.005 < mean[2] < mean[1] < 0.08


@pytest.mark.slow
def test_a_sampled_curve_has_the_beliefs_mean_and_spread(monkeypatch: pytest.MonkeyPatch) -> None:
    one_model(monkeypatch)  # the mixture isn't normal
    belief, rng, at = taught(), np.random.default_rng(5), np.array([-0.55, 0.2, 0.8])
    mean, covariance = belief.joint(at)
    for spread in (1.0, 0.2):
        drawn = np.array([belief.sample(rng, at, spread) for _ in range(4000)])
        assert drawn.mean(axis=0) == pytest.approx(mean, abs=0.004 * spread)
        assert drawn.std(axis=0) == pytest.approx(spread * np.sqrt(np.diag(covariance)), rel=0.05)
        assert np.corrcoef(drawn.T) == pytest.approx(
            covariance / np.sqrt(np.outer(np.diag(covariance), np.diag(covariance))), abs=0.06
        )


def test_what_it_tells_hangs_together() -> None:
    belief, at = taught(), np.linspace(0.3, 0.5, 7)
    mean, sd = belief.curve(at)
    joint_mean, covariance = belief.joint(at)
    assert joint_mean == pytest.approx(mean)
    assert np.diag(covariance) == pytest.approx(sd**2)
    whole = belief.average(at)
    assert whole.mean == pytest.approx(mean.mean())
    assert whole.sd == pytest.approx(math.sqrt(covariance.mean()))
    assert belief.average([0.4], "aim").mean == pytest.approx(belief.curve([0.4], "aim")[0][0])


def test_noise_is_told_to_grow_as_much_as_it_does() -> None:
    """Of players whose noise grows toward thin cuts, or shrinks, as much as simulated ones do.

    Sixteen calls of each tell little of that. Those who are told of more growth have so much more of it: with
    a wider prior chance would be taken for growth, with a narrower one growth for chance.
    """
    rng, players, calls = np.random.default_rng(2), 1500, 16
    growths = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
    weight = np.exp(-0.5 * (growths / 0.25) ** 2)  # as in practising.py
    growth = rng.choice(growths, players, p=weight / weight.sum())
    usual = 0.06 * np.exp(0.6 * rng.standard_normal(players))
    posterior = priors.NoisePosterior(players)
    for cut in rng.permutation(np.linspace(5.0, 70.0, calls)):
        error = usual * np.exp(growth * (cut - 35) / 35) * rng.standard_normal(players)
        levels = priors.noise_levels(math.sin(math.radians(cut)))
        posterior.weigh(-np.log(levels) - 0.5 * (error[:, None] / levels) ** 2)
    at_70, at_35 = posterior.at(np.sin(np.radians([70.0, 35.0]))).T
    slope, _ = np.polyfit(at_70 - at_35, growth, 1)
    assert slope == pytest.approx(1.0, abs=0.08)


def test_an_interval_is_of_95_percent() -> None:
    told = Estimate(0.02, 0.01)
    assert (told.low, told.high) == pytest.approx((0.0004, 0.0396))


def test_telling_changes_nothing() -> None:
    belief, other = taught(), taught()
    sines = np.linspace(-0.9, 0.9, 9)
    belief.sample(np.random.default_rng(1), sines)
    belief.curve(sines, "never seen")
    belief.noise(sines)
    belief.context_effects()
    for b in (belief, other):
        b.update(call(0.3, 0.02))
    assert belief.curve(sines)[0].tolist() == other.curve(sines)[0].tolist()


def test_the_same_calls_make_the_same_belief() -> None:
    assert taught().curve([0.2])[0][0] == taught().curve([0.2])[0][0]
    assert taught().calls == 40


def test_a_drill_that_was_never_played_has_the_curve_alone() -> None:
    belief = taught()
    mean, sd = belief.curve([0.4], "never seen")
    assert belief.curve([0.4], "aim")[0][0] != mean[0]
    assert sd[0] > 0


def test_beyond_the_grid_the_nearest_place_of_the_local_curve_counts() -> None:
    belief = Belief()
    belief.update(call(0.9999, 0.1))
    belief.update(call(-1.0, 0.1))
    mean, sd = belief.rest([1.0, math.sin(math.radians(84.0)), -1.0, -math.sin(math.radians(84.0))])
    assert mean[0] == pytest.approx(mean[1])
    assert mean[2] == pytest.approx(mean[3])
    assert np.isfinite(sd).all()


def test_between_two_places_the_local_curve_is_a_straight_line() -> None:
    left, middle, right = priors.basis_at(np.sin(np.radians([30.0, 30.75, 31.5])))[:, : priors.LOCAL]
    assert middle == pytest.approx((left + right) / 2)


@pytest.mark.parametrize(
    ("value", "answers", "wanted"),
    [
        (0.1, [], (0.1, 0.1)),
        (0.1, [0.1], (-math.inf, math.inf)),
        (0.0, [-0.2, 0.0, 0.1], (-0.1, 0.05)),
        (-0.2, [-0.2, 0.0, 0.1], (-math.inf, -0.1)),
        (0.1, [0.1, -0.2, 0.0], (0.05, math.inf)),
    ],
)
def test_bounds_lie_half_way_to_the_neighbours(
    value: float, answers: list[float], wanted: tuple[float, float]
) -> None:
    assert bounds(value, answers) == pytest.approx(wanted)
