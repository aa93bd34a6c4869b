"""What a benchmark set says: its intervals against other libraries, how often a false change is told."""

import numpy as np
import pytest
import statsmodels.api as sm
from measuring import Eye, even, told, within
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from trainer.learner.measured import FARTHEST, FIRST, GOOD_DAYS, SURE, measured, t_quantile, trend, wilson


@pytest.mark.parametrize("of", [1, 20, 24])
def test_the_share_of_pots_has_the_interval_of_statsmodels(of: int) -> None:
    for hits in range(of + 1):
        assert wilson(hits, of) == pytest.approx(
            proportion_confint(hits, of, alpha=0.05, method="wilson"), abs=1e-9
        )


@pytest.mark.parametrize("freedom", [15, 19, 22, 23, 40])
def test_the_quantile_of_t_is_that_of_scipy(freedom: int) -> None:
    assert t_quantile(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), abs=1e-4)


def test_errors_have_the_mean_and_the_interval_of_scipy() -> None:
    errors = np.random.default_rng(1).normal(0.01, 0.04, 24)
    found = measured("2026-03-02", [True] * 9 + [False] * 15, errors.tolist())
    assert (found.shots, found.potted) == (24, 9)
    near = np.clip(errors, -FARTHEST, FARTHEST)
    expected = stats.t.interval(0.95, 23, loc=near.mean(), scale=stats.sem(near))
    assert found.error == pytest.approx(near.mean())
    assert found.error_range == pytest.approx(expected, abs=1e-5)
    sizes = np.abs(near)
    assert found.typical == pytest.approx(sizes.mean())
    # The interval of the logarithm, by the delta method.
    ends = stats.t.interval(0.95, 23, loc=np.log(sizes.mean()), scale=stats.sem(sizes) / sizes.mean())
    assert found.typical_range == pytest.approx(np.exp(ends), rel=1e-4)


def test_one_slip_counts_for_no_more_than_an_eighth() -> None:
    errors = [0.02, -0.02] * 12
    slipped = [*errors[:-1], -1.0]
    plain, found = (measured("2026-03-02", [True] * 24, each) for each in (errors, slipped))
    assert found.typical - plain.typical == pytest.approx((FARTHEST - 0.02) / 24)


def test_whoever_is_right_to_the_hair_has_a_measure() -> None:
    found = measured("2026-03-02", [True] * 24, [0.0] * 24)
    assert 0 < found.typical_range[0] < found.typical < found.typical_range[1] < 1e-3
    assert found.share[1] == pytest.approx(1.0)


def test_the_interval_covers_what_is_true() -> None:
    rng, noise = np.random.default_rng(3), 0.04
    true = float(np.mean(np.minimum(np.abs(np.random.default_rng(4).normal(0, noise, 400_000)), FARTHEST)))
    covered = []
    for _ in range(1500):
        found = measured("2026-03-02", [True] * 24, rng.normal(0, noise, 24).tolist())
        covered.append(found.typical_range[0] <= true <= found.typical_range[1])
    assert 0.93 < np.mean(covered) < 0.97


def test_a_change_is_the_line_of_statsmodels() -> None:
    weeks = Eye(within(0.08, 0.04, 11), days=0.4).weeks(5)
    found = trend(weeks)
    assert found is not None
    days = 7.0 * np.arange(12)
    fit = sm.OLS(np.log([each.typical for each in weeks]), sm.add_constant(days)).fit()
    ends = np.exp(fit.predict(sm.add_constant(days[[0, -1]])))
    assert (found.then, found.now) == pytest.approx(tuple(ends))
    # Where the weeks scatter more than their shots explain, the error is that of least squares.
    assert fit.scale > np.mean([each.spread for each in weeks]) + GOOD_DAYS**2
    half = stats.norm.ppf(0.975) * fit.bse[1] * days[-1]
    assert (np.log(found.low), np.log(found.high)) == pytest.approx(
        (fit.params[1] * days[-1] - half, fit.params[1] * days[-1] + half)
    )
    assert found.sure == (abs(fit.tvalues[1]) >= SURE)


def test_nothing_is_told_of_few_weeks() -> None:
    weeks = Eye(within(0.12, 0.01, FIRST)).weeks(1)
    assert trend(weeks[: FIRST - 1]) is None
    assert trend(weeks[:FIRST]) is not None


@pytest.mark.slow
def test_who_looks_every_week_is_seldom_told_of_a_change_that_is_not_there() -> None:
    for eye in (Eye(even(0.02)), Eye(even(0.05)), Eye(even(0.10))):
        players = [eye.weeks(seed) for seed in range(600)]
        for better in (True, False):
            assert sum(told(weeks, better=better) is not None for weeks in players) <= 0.025 * 600


@pytest.mark.slow
def test_who_halves_the_error_is_mostly_told_so() -> None:
    players = [Eye(within(0.10, 0.05, 4)).weeks(seed) for seed in range(200)]
    assert sum(told(weeks) is not None for weeks in players) > 0.7 * 200
    assert not any(told(weeks, better=False) for weeks in players)
