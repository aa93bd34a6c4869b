"""The belief against programs of others that do a part of what it does: they share no code with it.

A plain grid (Bayes' rule by multiplication), scikit-learn's Gaussian process, filterpy's Kalman filter,
scipy's fit to censored data, statsmodels' ordered probit. Where one of them knows no lapses, no growth of
noise or no pulls, the belief is told that there are none.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from filterpy.kalman import KalmanFilter
from practising import one_model, shapes
from scipy.special import ndtr
from scipy.stats import CensoredData, norm
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, Kernel, PairwiseKernel
from statsmodels.miscmodels.ordinal_model import OrderedModel

from trainer.drills.question import bounds
from trainer.learner import belief as module
from trainer.learner import lapses, priors
from trainer.learner.belief import CENTRAL_SD, CONDITION_SD, SERIAL_SD, WANDERS, Belief
from trainer.learner.call import Call
from trainer.simulate.players import Nature, Player

NOISE = 0.05
INF = math.inf
CAUSES = 6


def told(monkeypatch: pytest.MonkeyPatch, levels: Sequence[float] = (NOISE,)) -> None:
    """Let the belief know that there are no lapses, and that noise is one of these, the same at each cut."""
    monkeypatch.setattr(module, "LAPSE_RATE", 1e-300)
    one_model(monkeypatch)
    monkeypatch.setattr(priors, "_LOG_LEVEL", np.log(levels))
    monkeypatch.setattr(priors, "_GROWTH", np.zeros(len(levels)))
    monkeypatch.setattr(priors, "LEVEL_SD", 1e3)


def alone(cut: float, low: float, high: float, number: int, day: int = 0) -> Call:
    """A call in a set of its own, so that nothing pulls it."""
    error = min(max(0.0, low), high)
    return Call(math.sin(math.radians(cut)), low, high, error, True, "aim", str(number), day)


# One interval after the other: a plain grid


def random_intervals(rng: np.random.Generator, bias: float, count: int) -> list[tuple[float, float]]:
    """Intervals with random edges, an end open now and then, around answers of a player of this bias."""
    found = []
    for answer in rng.normal(bias, NOISE, count):
        low, high = answer - rng.exponential(0.05), answer + rng.exponential(0.05)
        found.append((-INF if rng.random() < 0.1 else low, INF if rng.random() < 0.1 else high))
    return found


@pytest.mark.parametrize("players", [80, pytest.param(200, marks=pytest.mark.long)])
def test_intervals_come_to_what_a_grid_posterior_says(monkeypatch: pytest.MonkeyPatch, players: int) -> None:
    told(monkeypatch)
    rng = np.random.default_rng(4)
    prior = math.sqrt(float(priors.bias_covariance([30.0], [30.0])[0, 0]) + CONDITION_SD**2)
    grid = np.linspace(-5 * prior, 5 * prior, 2001)  # 1/13 of the narrowest SD
    off, ratio = [], []
    for _ in range(players):
        belief, log_post = Belief(), norm.logpdf(grid, scale=prior)
        for number, (low, high) in enumerate(random_intervals(rng, rng.normal(0, prior), 60)):
            belief.update(alone(30.0, low, high, number))
            log_post += np.log(ndtr((high - grid) / NOISE) - ndtr((low - grid) / NOISE) + 1e-300)
        weight = np.exp(log_post - log_post.max())
        weight /= weight.sum()
        mean = float(weight @ grid)
        sd = math.sqrt(float(weight @ (grid - mean) ** 2))
        got_mean, got_sd = belief.curve([0.5], "aim")
        off.append(abs(float(got_mean[0]) - mean) / sd)
        ratio.append(float(got_sd[0]) / sd)
    # Measured: .102, .010, .99 to 1.02.
    assert max(off) < 0.12
    assert float(np.mean(off)) < 0.015
    assert 0.97 < min(ratio) <= max(ratio) < 1.03


@pytest.mark.slow
def test_lapses_and_levels_of_noise_come_to_what_a_grid_posterior_says(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    one_model(monkeypatch)
    monkeypatch.setattr(module, "LAPSE_CALLS", 1e9)  # their rate is known
    monkeypatch.setattr(lapses, "TAIL_END", 0.0)  # and noise is known to be normal
    # Here the grid is over bias, level and growth, with lapses, as the model says; the belief keeps one
    # Gaussian for all of them, which costs more than a single level does: measured .14 of a posterior SD
    # on average, .54 at worst, SDs within 8 %, noise within 6 %.
    rng = np.random.default_rng(5)
    prior = math.sqrt(float(priors.bias_covariance([50.0], [50.0])[0, 0]) + CONDITION_SD**2)
    grid = np.linspace(-5 * prior, 5 * prior, 401)[:, None]
    sine, off, ratio, noises = math.sin(math.radians(50.0)), [], [], []
    levels, growths = np.meshgrid(
        np.exp(np.linspace(math.log(0.012), math.log(0.3), 27)), [-0.4, -0.2, 0, 0.2, 0.4]
    )
    sigma = (levels * np.exp(growths * 15 / 35)).ravel()
    start = (norm.logpdf(np.log(levels / 0.06), scale=0.6) + norm.logpdf(growths, scale=0.25)).ravel()
    for _ in range(16):
        belief, bias, spread = Belief(), rng.normal(0, prior), 0.06 * math.exp(rng.normal(0, 0.4))
        log_post = norm.logpdf(grid, scale=prior) + start
        for number in range(80):
            error = rng.uniform(-0.5, 0.5) if rng.random() < 0.02 else rng.normal(bias, spread)
            low, high = (error, error) if number % 2 else (error - 0.04, error + 0.06)
            belief.update(Call(sine, low, high, error, True, "aim", str(number)))
            if low < high:
                meant = ndtr((high - grid) / sigma) - ndtr((low - grid) / sigma)
            else:
                meant = np.exp(-(((error - grid) / sigma) ** 2) / 2) / (sigma * math.sqrt(2 * math.pi))
            log_post += np.log(0.98 * meant + 0.02 * 0.5 * ((high - low) or 1.0))
        weight = np.exp(log_post - log_post.max())
        weight /= weight.sum()
        mean = float((weight * grid).sum())
        sd = math.sqrt(float((weight * (grid - mean) ** 2).sum()))
        got_mean, got_sd = belief.curve([sine], "aim")
        off.append(abs(float(got_mean[0]) - mean) / sd)
        ratio.append(float(got_sd[0]) / sd)
        noises.append(float(belief.noise([sine])[0]) / math.exp(float((weight @ np.log(sigma)).sum())))
    assert max(off) < 0.6
    assert float(np.mean(off)) < 0.2
    assert 0.9 < min(ratio) <= max(ratio) < 1.1
    assert noises == pytest.approx([1.0] * 16, rel=0.08)


# A curve from free answers: scikit-learn


def kernel() -> Kernel:
    """The prior of the bias over (size of the cut, signed cut, causes' shapes), in scikit-learn's kernels."""
    far = 1e10  # a length at which a column doesn't count
    shared = ConstantKernel(0.025**2) * RBF([7.0, far] + CAUSES * [far])
    side = ConstantKernel(0.045**2) * RBF([far, 7.0] + CAUSES * [far])
    caused = PairwiseKernel(metric=lambda one, other, gamma: float(one[2:] @ other[2:]))
    return shared + side + caused + ConstantKernel(0.03**2)  # the last: the drill and view's own


def both(cuts: np.ndarray) -> np.ndarray:
    return np.column_stack([np.abs(cuts), cuts, shapes(cuts).T])


def test_the_kernel_is_the_stated_one() -> None:
    cuts = np.linspace(-80, 80, 41)
    assert kernel()(both(cuts)) == pytest.approx(
        priors.bias_covariance(cuts, cuts) + CONDITION_SD**2, rel=1e-12
    )


@pytest.mark.parametrize("calls", [1, 30, 400])
def test_free_answers_come_to_what_a_gaussian_process_says(
    monkeypatch: pytest.MonkeyPatch, calls: int
) -> None:
    told(monkeypatch)
    rng = np.random.default_rng(calls)
    cuts = rng.choice(priors.DEGREES, calls)
    errors = 0.05 * np.sin(cuts / 9) + rng.normal(0, NOISE, calls)
    belief = Belief()
    for number, (cut, error) in enumerate(zip(cuts, errors, strict=True)):
        belief.update(alone(cut, error, error, number))
    process = GaussianProcessRegressor(kernel(), alpha=NOISE**2, optimizer=None).fit(both(cuts), errors)
    mean, sd = process.predict(both(priors.DEGREES), return_std=True)
    got_mean, got_sd = belief.curve(np.sin(np.radians(priors.DEGREES)), "aim")
    # 40 coefficients instead of 113 places leave out a millionth of the variance. The more calls, the more
    # of what is left counts: after 400 of them 2e-6 ball (4e-5 of the largest bias) and 9e-5 of an SD.
    assert got_mean == pytest.approx(mean, abs=(1e-7 if calls == 1 else 5e-6))
    assert got_sd == pytest.approx(sd, rel=(1e-5 if calls == 1 else 2e-4))


def test_between_places_of_its_grid_the_curve_is_off_by_little(monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch)
    rng = np.random.default_rng(8)
    cuts = rng.uniform(-75, 75, 300)
    errors = 0.05 * np.sin(cuts / 9) + rng.normal(0, NOISE, 300)
    belief = Belief()
    for number, (cut, error) in enumerate(zip(cuts, errors, strict=True)):
        belief.update(alone(cut, error, error, number))
    process = GaussianProcessRegressor(kernel(), alpha=NOISE**2, optimizer=None).fit(both(cuts), errors)
    at = np.linspace(-75, 75, 601)
    mean, sd = process.predict(both(at), return_std=True)
    got_mean, got_sd = belief.curve(np.sin(np.radians(at)), "aim")
    # Straight lines over 1.5 degrees: measured .02 SD, and 1.2 % of the SD.
    assert (np.abs(got_mean - mean) / sd).max() < 0.05
    assert got_sd == pytest.approx(sd, rel=0.02)


def test_pulls_and_two_drills_come_to_what_linear_regression_says(monkeypatch: pytest.MonkeyPatch) -> None:
    # Bayesian linear regression on all columns at once: Rasmussen & Williams, Gaussian Processes for
    # Machine Learning (2006), equations 2.25 and 2.26, with a kernel that is a sum of products of columns.
    told(monkeypatch)
    rng = np.random.default_rng(9)
    belief, seen = Belief(), []
    last, shown, wheres = None, [], ("band above", "aim down")
    for number in range(240):
        if number % 30 == 0:
            last, shown = None, []
        cut, where = float(rng.choice(priors.DEGREES)), int(rng.random() < 0.4)
        fullness = 1 - abs(math.sin(math.radians(cut)))
        to_last = 0.0 if last is None else last - fullness
        to_mean = float(np.mean(shown)) - fullness if shown else 0.0
        error = 0.04 * math.cos(cut / 20) + 0.2 * to_last - 0.1 * to_mean + 0.05 * where
        error += rng.normal(0, NOISE)
        seen.append((cut, to_last, to_mean, where, error))
        sine = math.sin(math.radians(cut))
        belief.update(Call(sine, error, error, error, True, wheres[where], str(number // 30)))
        last = fullness + error
        shown.append(fullness)
    cuts, to_last, to_mean, where, errors = np.array(seen).T

    def prior(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return (
            priors.bias_covariance(x[:, 0], y[:, 0])
            + SERIAL_SD**2 * np.outer(x[:, 1], y[:, 1])
            + CENTRAL_SD**2 * np.outer(x[:, 2], y[:, 2])
            + CONDITION_SD**2 * (x[:, None, 3] == y[None, :, 3])
        )

    columns = np.column_stack([cuts, to_last, to_mean, where])
    gain = np.linalg.inv(prior(columns, columns) + NOISE**2 * np.eye(len(errors)))
    for k, name in enumerate(wheres):
        at = np.column_stack([priors.DEGREES, 0 * priors.DEGREES, 0 * priors.DEGREES, 0 * priors.DEGREES + k])
        across = prior(at, columns)
        mean, sd = belief.curve(np.sin(np.radians(priors.DEGREES)), name)
        assert mean == pytest.approx(across @ gain @ errors, abs=5e-6)
        variance = np.diag(prior(at, at)) - np.einsum("ij,jk,ik->i", across, gain, across)
        assert sd == pytest.approx(np.sqrt(variance), rel=1e-4)
    for found, column, scale in zip(
        belief.context_effects(), (to_last, to_mean), (SERIAL_SD, CENTRAL_SD), strict=True
    ):
        across = scale**2 * column
        assert found.mean == pytest.approx(across @ gain @ errors, abs=1e-6)
        assert found.sd == pytest.approx(math.sqrt(scale**2 - across @ gain @ across), rel=1e-4)


# From day to day: filterpy


def test_days_come_to_what_a_kalman_filter_says(monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch)
    rng = np.random.default_rng(6)
    places = priors.DEGREES[8:-8:6]
    size = len(places)
    prior = priors.bias_covariance(places, places)
    wandering = KalmanFilter(dim_x=size + 1, dim_z=1)  # the bias at each place; the drill and view's own
    wandering.x = np.zeros((size + 1, 1))
    wandering.P = np.zeros((size + 1, size + 1))
    wandering.P[:size, :size], wandering.P[size, size] = prior, 0.03**2
    wandering.R = np.array([[NOISE**2]])
    belief, day = Belief(), 739_000
    for number in range(250):
        passed = int(rng.choice([0, 0, 0, 0, 0, 1, 2, 9])) if number else 0
        if passed:
            # A first-order autoregression whose prior is its stationary law, and whose step from one day
            # to the next has a variance of .007^2 to first order.
            kept = 1 - WANDERS**2 / float(priors.bias_covariance([0.0], [0.0])[0, 0])
            for _ in range(passed):
                wandering.F = np.diag([math.sqrt(kept)] * size + [1.0])
                wandering.Q = np.zeros((size + 1, size + 1))
                wandering.Q[:size, :size] = (1 - kept) * prior
                wandering.predict()
        day += passed
        k = int(rng.integers(size))
        error = 0.05 * math.cos(day / 5) + rng.normal(0, NOISE)
        belief.update(alone(float(places[k]), error, error, number, day))
        row = np.zeros((1, size + 1))
        row[0, [k, size]] = 1.0
        wandering.update(np.array([[error]]), H=row)
    seen = np.column_stack([np.eye(size), np.ones(size)])
    mean, sd = belief.curve(np.sin(np.radians(places)), "aim")
    assert day - 739_000 > 100
    assert mean == pytest.approx((seen @ wandering.x)[:, 0], abs=1e-6)
    assert sd == pytest.approx(np.sqrt(np.diag(seen @ wandering.P @ seen.T)), rel=1e-4)


def test_a_day_wanders_by_what_it_says() -> None:
    # The step of a stationary process with this correlation: 2 (1 - r) times its variance, of straight shots.
    variance = float(priors.bias_covariance([0.0], [0.0])[0, 0])
    kept = math.sqrt(1 - WANDERS**2 / variance)
    assert math.sqrt(2 * (1 - kept) * variance) == pytest.approx(WANDERS, rel=0.01)


# Bias and noise together: scipy's fit to censored data


@pytest.mark.parametrize(
    ("bias", "noise"),
    [(-0.04, 0.1), *(pytest.param(*row, marks=pytest.mark.slow) for row in ((0.0, 0.03), (0.07, 0.06)))],
)
def test_with_a_wide_prior_it_comes_to_the_likeliest_bias_and_noise(
    monkeypatch: pytest.MonkeyPatch, bias: float, noise: float
) -> None:
    told(monkeypatch, np.exp(np.linspace(math.log(0.015), math.log(0.2), 400)))
    monkeypatch.setattr(module, "CONDITION_SD", 3.0)
    rng = np.random.default_rng(7)
    belief, ends = Belief(), []
    for number, answer in enumerate(rng.normal(bias, noise, 1500)):
        edge = rng.uniform(0, 1 / 8)  # the bands' edges lie elsewhere from shot to shot
        low = math.floor((answer - edge) * 8) / 8 + edge
        ends.append((low, low + 1 / 8))
        belief.update(alone(20.0, low, low + 1 / 8, number))
    sine = [math.sin(math.radians(20.0))]
    mean, sd = (float(value[0]) for value in belief.curve(sine, "aim"))
    fitted_mean, fitted_noise = norm.fit(CensoredData(interval=ends))
    # Levels of noise weighed while the bias is still unknown move the mean a little (up to .19 SD here).
    assert mean == pytest.approx(fitted_mean, abs=0.3 * sd)
    assert float(belief.noise(sine)[0]) == pytest.approx(fitted_noise, rel=0.015)
    # As sure as theory says: noise plus the answers' width, over the root of the number of calls.
    assert sd == pytest.approx(math.sqrt((noise**2 + 1 / 768) / 1500), rel=0.12)


@pytest.mark.slow
def test_its_own_levels_of_noise_are_fine_enough() -> None:
    rng = np.random.default_rng(8)
    for noise in (0.025, 0.05, 0.053, 0.1):
        belief = Belief()
        answers = rng.normal(0.02, noise, 1000)
        for number, answer in enumerate(answers):
            belief.update(alone(35.0, answer, answer, number))
        found = float(belief.noise([math.sin(math.radians(35.0))])[0])
        assert found == pytest.approx(float(norm.fit(answers)[1]), rel=0.06)  # half a level is 6 %


# Answers out of a row: statsmodels


@pytest.mark.parametrize(("bias", "noise"), [(0.05, 0.08), pytest.param(-0.03, 0.05, marks=pytest.mark.slow)])
def test_band_answers_come_to_what_an_ordered_probit_says(bias: float, noise: float) -> None:
    # An answer is the nearest eighth to fullness + bias + noise, so a probit of the answer on fullness has
    # slope 1 / noise, and its cut points lie at (edge - bias) / noise.
    rng = np.random.default_rng(3)
    player, belief = Player(Nature(noise=noise, everywhere=bias), rng), Belief()
    names = np.arange(1, 9) / 8
    fullnesses, answers = rng.uniform(0.15, 0.95, 1200), []
    for number, fullness in enumerate(fullnesses):
        cut = math.degrees(math.asin(1 - fullness)) * rng.choice([-1, 1])
        answer = player.answers(player.sees(cut, fullness), names)
        answers.append(answer)
        error = float(names[answer] - fullness)
        low, high = bounds(error, (names - fullness).tolist())
        belief.update(Call(math.sin(math.radians(cut)), low, high, error, True, "band above", str(number)))
    fit = OrderedModel(np.array(answers), fullnesses[:, None], distr="probit").fit(method="bfgs", disp=False)
    slope, cut_points = fit.params[0], fit.model.transform_threshold_params(fit.params)[1:-1]
    edges = (names[:-1] + names[1:]) / 2
    edges = edges[min(answers) : max(answers)]
    probit_noise = 1 / slope
    # The middle ones: the outermost are estimated from few answers.
    probit_bias = float(np.mean((edges - probit_noise * cut_points)[1:-1]))
    at = np.concatenate([np.linspace(0.2, 0.75, 40), -np.linspace(0.2, 0.75, 40)])
    found = belief.average(at, "band above")
    assert found.mean == pytest.approx(probit_bias, abs=0.006)
    assert found.mean == pytest.approx(bias, abs=4 * found.sd)
    assert float(np.exp(np.log(belief.noise(at)).mean())) == pytest.approx(probit_noise, rel=0.08)
    assert probit_noise == pytest.approx(noise, rel=0.08)
