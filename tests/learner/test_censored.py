"""Mean error and scatter of calls of which only intervals are known, against other ways to them."""

import numpy as np
import pytest
from scipy import optimize, stats

from trainer.learner.call import Call
from trainer.learner.censored import fit_normal, truncated_moments, without_outliers


def call(low: float, high: float, error: float) -> Call:
    return Call(0.5, low, high, error, True)


def answers(rng: np.random.Generator, mean: float, sd: float, count: int) -> list[Call]:
    """Calls of answers an eighth or a sixteenth apart; those past the row's ends are open."""
    found = []
    for seen in rng.normal(mean, sd, count).tolist():
        step = float(rng.choice([1 / 8, 1 / 16]))
        off = float(rng.uniform(-0.5, 0.5)) * step
        place = min(max(round((seen - off) / step), -1), 1)
        at = place * step + off
        low = -np.inf if place == -1 else at - step / 2
        found.append(call(low, np.inf if place == 1 else at + step / 2, at))
    return found


def test_what_lies_inside_an_interval_is_a_truncated_normal() -> None:
    low, high = np.array([-0.1, -np.inf, 0.02]), np.array([0.05, 0.0, np.inf])
    mean, variance = truncated_moments(low, high, np.full(3, 0.03), 0.05)
    for i in range(3):
        known = stats.truncnorm((low[i] - 0.03) / 0.05, (high[i] - 0.03) / 0.05, 0.03, 0.05)
        assert mean[i] == pytest.approx(known.mean(), abs=1e-9)
        assert variance[i] == pytest.approx(known.var(), abs=1e-9)


def test_free_answers_have_the_mean_and_spread_of_a_sample() -> None:
    values = np.random.default_rng(1).normal(0.02, 0.05, 40)
    found = fit_normal([call(v, v, v) for v in values.tolist()])
    assert found.mean == pytest.approx(values.mean())
    assert found.sd == pytest.approx(values.std(ddof=1), rel=1e-4)
    assert found.error == pytest.approx(values.std(ddof=1) / 40**0.5, rel=1e-4)


def test_intervals_give_the_likeliest_mean() -> None:
    calls = answers(np.random.default_rng(2), 0.03, 0.05, 200)
    found = fit_normal(calls)
    low, high = np.array([(c.low, c.high) for c in calls]).T

    def unlikely(at: np.ndarray) -> float:
        sd = float(np.exp(at[1]))
        chances = stats.norm.cdf(high, at[0], sd) - stats.norm.cdf(low, at[0], sd)
        return -float(np.log(chances).sum())

    best = optimize.minimize(unlikely, [0.0, -3.0], method="Nelder-Mead", options={"xatol": 1e-7})
    assert found.mean == pytest.approx(best.x[0], abs=5e-4)
    assert found.sd == pytest.approx(np.exp(best.x[1]), rel=0.02)


@pytest.mark.slow
def test_an_interval_holds_the_truth_as_often_as_it_says() -> None:
    rng = np.random.default_rng(3)
    off = [(a.mean - 0.03) / a.error for a in (fit_normal(answers(rng, 0.03, 0.05, 50)) for _ in range(300))]
    assert 0.91 <= np.mean(np.abs(off) < 1.96) <= 0.98


def test_scatter_is_about_the_groups_own_means() -> None:
    rng = np.random.default_rng(4)
    groups = np.arange(200) % 2
    errors = np.where(groups == 0, 0.1, -0.1) + rng.normal(0, 0.03, 200)
    found = fit_normal([call(e, e, e) for e in errors.tolist()], groups)
    assert found.sd == pytest.approx(0.03, rel=0.15)
    assert found.mean == pytest.approx(errors.mean())


def test_a_lapse_is_left_out_and_nothing_is_nothing() -> None:
    calls = [call(e, e, e) for e in (0.01, 0.02, 0.0, -0.01, 0.9)]
    assert without_outliers(calls) == calls[:4]
    assert without_outliers([]) == []


def test_a_call_is_a_lapse_beyond_four_normal_spreads_from_the_median() -> None:
    errors = np.linspace(-0.1, 0.1, 201)
    spread = 1.4826 * 0.05  # half of these lie within .05 of their median
    for far, kept in ((3.9, True), (4.1, False), (-3.9, True), (-4.1, False)):
        stray = call(far * spread, far * spread, far * spread)
        left = without_outliers([*(call(e, e, e) for e in errors.tolist()), stray])
        assert (stray in left) is kept
        assert len(left) == 201 + kept
