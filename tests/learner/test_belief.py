"""The belief against a batch Gaussian process, and how it behaves with simulated players."""

import numpy as np
import pytest

from trainer.learner import belief as module
from trainer.learner.belief import GRID_SINES, NOISE_LEVELS, PRIOR, Belief, at_sines
from trainer.learner.choice import choose
from trainer.learner.report import Call, believe, kinds, verdict


def test_without_lapses_it_equals_the_textbook_formula_for_a_batch(monkeypatch: pytest.MonkeyPatch) -> None:
    # Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), equations 2.25, 2.26.
    monkeypatch.setattr(module, "LAPSE_RATE", 0.0)
    monkeypatch.setattr(module, "NOISE_LEVELS", np.array([0.05]))
    rng = np.random.default_rng(1)
    at = rng.integers(0, len(GRID_SINES), 40)
    errors, width = rng.normal(0, 0.06, 40), 1 / 8
    belief = Belief()
    for i, error in zip(at, errors, strict=True):
        belief.update(float(GRID_SINES[i]), float(error), width)
    noise = np.eye(40) * (0.05**2 + width**2 / 12)
    gain = np.linalg.solve(PRIOR[np.ix_(at, at)] + noise, PRIOR[at]).T
    mean, sd = belief.curve(GRID_SINES)
    assert mean == pytest.approx(gain @ errors, abs=1e-9)
    assert sd**2 == pytest.approx(np.diag(PRIOR - gain @ PRIOR[at]), abs=1e-9)


def test_one_lapse_moves_it_little() -> None:
    belief, lapsed = Belief(), Belief()
    for _ in range(20):
        for b in (belief, lapsed):
            b.update(0.5, 0.0)
    lapsed.update(0.5, 0.9)
    assert abs(lapsed.average([0.5]).mean - belief.average([0.5]).mean) < 0.005
    assert lapsed.noise < 0.04


def test_noise_is_recovered() -> None:
    for noise in (0.03, 0.065, 0.13):
        belief, rng = Belief(), np.random.default_rng(3)
        for _ in range(300):
            belief.update(float(rng.uniform(-0.95, 0.95)), float(rng.normal(0, noise)))
        assert belief.noise == pytest.approx(noise, rel=0.25)


def player(seed: int, calls: int, bump: float, noise: float = 0.05) -> list[Call]:
    """Calls chosen by the learner, of a player who plays 3/8 to the right too thick by ``bump``."""
    rng, belief, made = np.random.default_rng(seed), Belief(), []
    for _ in range(calls):
        sines = rng.uniform(0, 0.95, 48) * rng.choice([-1, 1], 48)
        sine = float(sines[choose(belief, sines, rng)])
        lapse = rng.random() < 0.025
        seen = bump * np.exp(-0.5 * ((np.degrees(np.arcsin(sine)) + 38.7) / 6) ** 2)
        error = float(rng.uniform(-0.5, 0.5) if lapse else seen + rng.normal(0, noise))
        belief.update(sine, error)
        made.append(Call(sine, error, 0.0, abs(error) < 0.06))
    return made


def test_a_bump_is_found_where_it_is_and_nowhere_else() -> None:
    found = 0
    for seed in range(10):
        calls = player(seed, 200, 0.06)
        rows = kinds(believe(calls), calls)
        accused = {(r.band, r.side, r.verdict) for r in rows if r.verdict in ("thick", "thin")}
        found += ("3/8", "right", "thick") in accused
        assert all(side == "right" and said == "thick" for _, side, said in accused)
        assert all(band in ("1/2", "3/8", "1/4") for band, _, _ in accused)
    assert found >= 9


def test_a_player_without_a_fault_is_not_accused_of_one() -> None:
    accused = 0
    for seed in range(20):
        calls = player(100 + seed, 150, 0.0)
        rows = kinds(believe(calls), calls)
        accused += any(row.verdict in ("thick", "thin") for row in rows)
    assert accused <= 1


def test_the_next_shots_go_where_the_fault_is() -> None:
    calls = player(4, 200, 0.125)
    there = sum(-0.72 < call.sine < -0.53 for call in calls[50:])  # about 3/8 to the right
    assert there / 150 > 3 * 0.1  # a tenth of all shots by chance


def test_without_adapting_coverage_is_even() -> None:
    belief, rng = Belief(), np.random.default_rng(2)
    for _ in range(30):
        belief.update(-0.62, 0.2)
    sines = np.linspace(-0.9, 0.9, 19)
    counts = np.bincount([choose(belief, sines, rng, adaptive=False) for _ in range(1900)], minlength=19)
    assert counts.min() > 60
    assert counts.max() < 150


def test_a_sampled_curve_has_the_beliefs_mean_and_spread() -> None:
    belief, rng = Belief(), np.random.default_rng(5)
    for sine in (-0.6, -0.5, 0.1, 0.4):
        for _ in range(10):
            belief.update(sine, 0.05)
    at = np.array([-0.55, 0.2, 0.8])
    drawn = np.array([at_sines(belief.sample(rng), at) for _ in range(3000)])
    mean, sd = belief.curve(at)
    assert drawn.mean(axis=0) == pytest.approx(mean, abs=0.006)
    assert drawn.std(axis=0) == pytest.approx(sd, rel=0.08)


def test_beyond_the_grid_the_nearest_place_counts() -> None:
    belief = Belief()
    belief.update(0.9999, 0.1)
    belief.update(-1.0, 0.1)
    assert np.isfinite(belief.curve([1.0, -1.0])[0]).all()


@pytest.mark.parametrize(
    ("mean", "sd", "attempts", "said"),
    [
        (0.1, 0.02, 4, "not enough yet"),
        (0.1, 0.02, 5, "thick"),
        (-0.1, 0.02, 5, "thin"),
        (0.06, 0.02, 50, "not enough yet"),
        (0.0, 0.02, 50, "true"),
        (0.02, 0.02, 50, "not enough yet"),
    ],
)
def test_verdicts(mean: float, sd: float, attempts: int, said: str) -> None:
    assert verdict(mean, sd, mean - 1.96 * sd, mean + 1.96 * sd, attempts) == said


def test_five_right_in_a_row_settle_a_kind_and_a_wrong_one_unsettles_it() -> None:
    calls = [Call(0.5, 0.0, 0.125, True)] * 5
    settled = {(r.band, r.side) for r in kinds(believe(calls), calls) if r.settled}
    assert settled == {("1/2", "left")}
    calls.append(Call(0.5, 0.125, 0.125, False))
    assert not any(r.settled for r in kinds(believe(calls), calls))


def test_noise_levels_weigh_one() -> None:
    belief = Belief()
    belief.update(0.1, 0.3)
    assert belief.weights.sum() == pytest.approx(1)
    assert len(belief.weights) == len(NOISE_LEVELS)
