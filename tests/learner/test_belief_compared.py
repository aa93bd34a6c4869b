"""What is learnt from two shots compared, against conditioning a Gaussian as a textbook does it."""

import math

import numpy as np
import pytest
from practising import believe, one_model, prior
from scipy.stats import norm

from trainer.learner import belief as module
from trainer.learner import priors
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.change import changes
from trainer.learner.tally import Tally
from trainer.learner.verdicts import kind_verdicts, resting

NOISE, GROWTH, OWN = 0.05, 0.3, 0.03
TODAY = 739_000


def noise_at(cut: float) -> float:
    return NOISE * math.exp(GROWTH * (abs(cut) - 35) / 35)


@pytest.fixture
def known(monkeypatch: pytest.MonkeyPatch) -> None:
    """The belief knows the noise, which grows with the cut, and that there are no lapses."""
    monkeypatch.setattr(module, "LAPSE_RATE", 1e-300)
    one_model(monkeypatch)
    monkeypatch.setattr(priors, "_LOG_LEVEL", np.log([NOISE]))
    monkeypatch.setattr(priors, "_GROWTH", np.array([GROWTH]))


def sine(cut: float) -> float:
    return math.sin(math.radians(cut))


def compared(
    cut: float, against: float, low: float, high: float, number: int = 0, right: bool = True
) -> Call:
    error = low if low == high else min(max(0.0, low), high)
    return Call(sine(cut), low, high, error, right, "same plan", str(number // 20), TODAY, sine(against))


def single(cut: float, error: float, number: int = 0, day: int = TODAY) -> Call:
    return Call(sine(cut), error, error, error, True, "aim down", str(number), day)


@pytest.mark.parametrize("calls", [1, 40, 300])
def test_free_answers_come_to_what_plain_conditioning_says(known: None, calls: int) -> None:
    rng = np.random.default_rng(calls)
    at = priors.DEGREES[::2]
    shots, others = rng.choice(priors.DEGREES, (2, calls))
    alone = rng.random(calls) < 0.3  # some calls are about one shot
    errors = rng.normal(0.02, 0.08, calls)
    belief = Belief()
    for k, (cut, other, error) in enumerate(zip(shots, others, errors, strict=True)):
        belief.update(single(cut, error, k) if alone[k] else compared(cut, other, error, error, k))
    # Unknown: the bias at each place, at each cut and other cut, and the two drills' own offsets.
    places = np.concatenate([at, shots, others])
    covariance = np.zeros((len(places) + 2, len(places) + 2))
    covariance[:-2, :-2] = prior(places)
    covariance[-2, -2] = covariance[-1, -1] = OWN**2
    design = np.zeros((calls, len(places) + 2))
    for k in range(calls):
        design[k, len(at) + k] += 1.0
        if not alone[k]:
            design[k, len(at) + calls + k] -= 1.0
        design[k, -1 if alone[k] else -2] = 1.0
    scatter = [
        noise_at(cut) ** 2 + (0.0 if one else noise_at(other) ** 2)
        for cut, other, one in zip(shots, others, alone, strict=True)
    ]
    gain = np.linalg.solve(design @ covariance @ design.T + np.diag(scatter), design @ covariance).T
    mean, left = gain @ errors, covariance - gain @ design @ covariance
    bias = np.zeros((len(at), len(places) + 2))
    bias[:, : len(at)] = np.eye(len(at))
    bias[:, -1] = 1.0 if alone.any() else 0.0  # as seen where shots are shown alone
    got_mean, got_covariance = belief.joint(np.sin(np.radians(at)))
    # 40 coefficients leave out a millionth of the variance.
    assert got_mean == pytest.approx(bias @ mean, abs=1e-5)
    assert got_covariance == pytest.approx(bias @ left @ bias.T, abs=2e-6)


def test_intervals_come_to_what_a_grid_posterior_says(known: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "CONDITION_SD", 0.0)
    rng = np.random.default_rng(4)
    pair = np.array([40.0, -40.0])
    spread = math.sqrt(float(np.array([1, -1]) @ prior(pair) @ np.array([1, -1])))
    scatter = math.sqrt(2) * noise_at(40.0)
    grid = np.linspace(-5 * spread, 5 * spread, 2001)
    for _ in range(40):
        belief, log_post, true = Belief(), norm.logpdf(grid, scale=spread), rng.normal(0, spread)
        for k in range(40):
            called = round(rng.normal(true, scatter) * 8) / 8
            low, high = called - 1 / 16, called + 1 / 16
            belief.update(compared(40.0, -40.0, low, high, k))
            log_post += np.log(norm.cdf((high - grid) / scatter) - norm.cdf((low - grid) / scatter) + 1e-300)
        weight = np.exp(log_post - log_post.max())
        weight /= weight.sum()
        mean = float(weight @ grid)
        sd = math.sqrt(float(weight @ (grid - mean) ** 2))
        got, covariance = belief.joint(np.sin(np.radians(pair)))
        assert float(got[0] - got[1]) == pytest.approx(mean, abs=0.1 * sd)
        difference = covariance[0, 0] + covariance[1, 1] - 2 * covariance[0, 1]
        assert math.sqrt(float(difference)) == pytest.approx(sd, rel=0.03)


def test_mirrored_it_tells_the_difference_of_the_sides_and_nothing_of_their_mean(known: None) -> None:
    calls = [compared(s * 40.0, -s * 40.0, s * 0.1, s * 0.1, k) for k in range(60) for s in (1.0, -1.0)]
    mean, covariance = believe(calls).joint([sine(40.0), sine(-40.0)])
    before, unknown = Belief().joint([sine(40.0), sine(-40.0)])
    assert float(mean[0] - mean[1]) == pytest.approx(0.1, abs=0.02)
    both = np.array([0.5, 0.5])
    assert float(both @ mean) == pytest.approx(float(both @ before), abs=1e-9)
    assert float(both @ covariance @ both) == pytest.approx(float(both @ unknown @ both), rel=1e-9)


def test_cut_to_the_same_side_it_tells_nothing_of_the_bias(known: None) -> None:
    belief = believe([compared(40.0, 40.0, 0.1, 0.1, k) for k in range(100)])
    for got, before in zip(belief.curve([0.2, 0.6]), Belief().curve([0.2, 0.6]), strict=True):
        assert got == pytest.approx(before, abs=1e-12)


def test_pulls_have_no_part_in_it() -> None:
    rng = np.random.default_rng(3)
    cuts, errors = rng.uniform(10, 60, 200), rng.normal(0, 0.1, 200)
    belief = Belief()
    for k, (cut, error) in enumerate(zip(cuts, errors, strict=True)):
        belief.update(compared(cut, -cut, error, error, k))
    for pull, before in zip(belief.context_effects(), Belief().context_effects(), strict=True):
        assert pull.mean == pytest.approx(before.mean, abs=1e-9)


def test_the_noise_of_a_single_look_is_found() -> None:
    rng = np.random.default_rng(5)
    belief = Belief()
    for k in range(500):
        cut, error = rng.uniform(20, 50), rng.normal(0, 0.04 * math.sqrt(2))
        belief.update(compared(cut, -cut, error, error, k))
    assert float(belief.noise([sine(35)])[0]) == pytest.approx(0.04, rel=0.1)


def test_no_kind_of_shot_counts_them_settles_or_changes_by_them() -> None:
    mine = [compared(35.0, -35.0, 0.12, 0.12, k) for k in range(30)]
    alone = [single(35.0, 0.0, k, TODAY - 30) for k in range(12)]
    calls = [*alone, *mine]
    assert sum(kind.attempts for kind in kind_verdicts(believe(calls), Tally(calls))) == len(alone)
    assert changes(calls, TODAY) == changes(alone, TODAY)
    assert resting(believe(calls), Tally(calls), TODAY + 1) == []
