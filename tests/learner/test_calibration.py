"""Simulation-based calibration: truths drawn from the prior rank evenly among draws from the posterior.

Source: S. Talts and others, "Validating Bayesian inference algorithms with simulation-based calibration",
2018, arXiv 1804.06788. The truths, their calls and their days are drawn in `practising`, not by the belief;
the shots are chosen by the learner, since a choice that looks at the answers is what could go wrong.
"""

import numpy as np
import pytest
from practising import PLACE_SINES, PLACES, practise_eye
from scipy.stats import chisquare, kstest

DRAWS = 99
APART = (6, 23, 40)  # places -51, 0 and 51 degrees: nearly independent of one another


def study(players: int, calls: int, **how: object) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ranks (players, 3) of the truth at places apart, z scores (players, places), noise found / true."""
    ranks, scores, noises = [], [], []
    for seed in range(players):
        eye, belief = practise_eye(seed, calls, **how)  # type: ignore[arg-type]
        rng = np.random.default_rng([73, seed])
        drawn = np.array([belief.sample(rng, PLACE_SINES[list(APART)]) for _ in range(DRAWS)])
        ranks.append((drawn < eye.truth[list(APART)]).sum(axis=0))
        mean, sd = belief.curve(PLACE_SINES, "aim")
        scores.append((eye.truth - mean) / sd)
        noises.append(float(belief.noise([np.sin(np.radians(35.0))])[0]) / eye.noise)
    return np.array(ranks), np.array(scores), np.array(noises)


def check_even(ranks: np.ndarray, bins: int) -> None:
    """Ranks are even at each place, and over the three together."""
    for at in range(ranks.shape[1]):
        counts = np.bincount(ranks[:, at] * bins // (DRAWS + 1), minlength=bins)
        assert chisquare(counts).pvalue > 0.002, (at, counts)


def test_places_are_where_they_are_said_to_be() -> None:
    assert PLACES[list(APART)].tolist() == [-51.0, 0.0, 51.0]


@pytest.mark.slow
@pytest.mark.parametrize("width", [0.0, 1 / 8])
def test_few_calls_are_calibrated(width: float) -> None:
    ranks, scores, _ = study(80, 40, width=width)
    check_even(ranks, 5)
    assert 0.92 <= (np.abs(scores) < 1.96).mean() <= 0.98  # 80 players have a standard error of .015
    assert scores.std() == pytest.approx(1.0, abs=0.1)


@pytest.mark.long
@pytest.mark.parametrize(
    ("width", "drift", "lapse", "noise_ok"),
    [(0.0, True, 0.02, 0.85), (1 / 8, True, 0.05, 0.75)],  # coarse answers say less of the noise
)
def test_many_calls_are_calibrated(width: float, drift: bool, lapse: float, noise_ok: float) -> None:
    ranks, scores, noises = study(150, 160, width=width, drift=drift, lapse=lapse)
    check_even(ranks, 10)
    covered = np.abs(scores) < 1.96
    assert 0.93 <= covered.mean() <= 0.97
    assert (np.abs(covered.mean(axis=0) - 0.95) < 0.065).all()  # each place; 3.5 standard errors of 150
    assert scores.std() == pytest.approx(1.0, abs=0.07)
    assert kstest(scores[:, APART[1]], "norm").pvalue > 0.002
    assert (np.abs(noises - 1) < 0.15).mean() > noise_ok
