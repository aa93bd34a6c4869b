"""What is published about measuring judgements, run on the program's simulated players and on its belief.

Sources, read (as far as an abstract or a page about them) unless it says "from memory"; the titles of the
first two are from memory:

* H. Levitt, "Transformed up-down methods in psychoacoustics", 1971: one up, two down converges at 70.7 %
  right, one up, three down at 79.4 %; as told at https://mathematicalpsychology.com/Adaptive_Methods .
* M. A. Garcia-Perez, "Forced-choice staircases with fixed step sizes", 1998: with steps down to steps up
  of .2845, .5488, .7393 and .8415, one up and 1 to 4 down converge at 77.85, 80.35, 83.15 and 85.84 %;
  abstract at https://medluna.com/article/9797963 .
* W. F. Sheppard, 1898, from memory: sorting into classes of width h adds h^2 / 12 to a variance.

Figures worked out from a formula, and not published as such, stand in a part of their own at the end.
"""

import math

import numpy as np
import pytest

from trainer.learner import belief as module
from trainer.learner import priors
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.censored import interval_likelihood
from trainer.simulate.players import Nature, Player

# Staircases


def staircase(down_after: int, step_down: float, step_up: float, trials: int = 30_000) -> float:
    """Part of right answers that a simulated player ends up at.

    Two shots are shown that differ in fullness by the level; right is to call the fuller one. The level
    goes down after so many right answers in a row, and up after each wrong one.
    """
    player = Player(Nature(noise=0.05), np.random.default_rng(11))
    level, run, rights = 0.1, 0, 0
    for trial in range(trials + 1000):
        player.begin_set()
        right = player.sees(30.0, 0.5 + level) > player.sees(30.0, 0.5)
        run = run + 1 if right else 0
        if not right:
            level += step_up
        elif run == down_after:
            level, run = level - step_down, 0
        if trial >= 1000:
            rights += right
    return rights / trials


@pytest.mark.parametrize(("down_after", "published"), [(2, 0.707), (3, 0.794)])
def test_transformed_staircases_converge_at_levitts_points(down_after: int, published: float) -> None:
    assert 0.5 ** (1 / down_after) == pytest.approx(published, abs=5e-4)
    assert staircase(down_after, 0.002, 0.002) == pytest.approx(published, abs=0.008)


@pytest.mark.parametrize(
    ("down_after", "ratio", "published"),
    [(1, 0.2845, 0.7785), (2, 0.5488, 0.8035), (3, 0.7393, 0.8315), (4, 0.8415, 0.8584)],
)
def test_weighted_staircases_converge_at_garcia_perezs_points(
    down_after: int, ratio: float, published: float
) -> None:
    # Where steps down and up balance: p^n times the one is (1 - p^n) times the other.
    assert (1 / (1 + ratio)) ** (1 / down_after) == pytest.approx(published, abs=5e-5)
    assert staircase(down_after, 0.002 * ratio, 0.002) == pytest.approx(published, abs=0.008)


# Worked out: what a call tells of the bias, a free answer being one (Fisher information)

BAND_WIDTHS = [(0.5, 0.98), (1.0, 0.92), (1.5, 0.84), (2.0, 0.75), (3.0, 0.58), (4.0, 0.45)]  # in noise SDs
FEWEST_OF_WIDE = [(3.0, 0.50), (4.0, 0.26)]  # with the bias in the middle of a band
YES_OR_NO = [(0.0, 0.64), (1.0, 0.44), (2.0, 0.13)]  # by distance of the edge


def told_by(edges: np.ndarray) -> float:
    """Information in which of the intervals between edges an answer of mean 0 and SD 1 falls.

    As the belief sees it: the mean square of the slope of its log chance.
    """
    log_chance, first, _ = interval_likelihood(edges[:-1], edges[1:])
    return float((np.exp(log_chance) * first**2).sum())


def of_bands(width: float, shift: float) -> np.ndarray:
    return np.arange(-60, 61) * width + shift * width


@pytest.mark.parametrize(("width", "figure"), BAND_WIDTHS)
def test_information_by_band_width(width: float, figure: float) -> None:
    shifts = (np.arange(40) + 0.5) / 40
    assert np.mean([told_by(of_bands(width, s)) for s in shifts]) == pytest.approx(figure, abs=0.0051)


@pytest.mark.parametrize(("width", "figure"), FEWEST_OF_WIDE)
def test_wide_bands_tell_least_from_their_middle(width: float, figure: float) -> None:
    informations = [told_by(of_bands(width, s)) for s in np.linspace(0, 1, 101)]
    assert min(informations) == pytest.approx(figure, abs=0.0051)
    assert int(np.argmin(informations)) == 50


@pytest.mark.parametrize(("off", "figure"), YES_OR_NO)
def test_information_of_too_thick_or_too_thin(off: float, figure: float) -> None:
    assert told_by(np.array([-np.inf, off, np.inf])) == pytest.approx(figure, abs=0.0051)


def test_at_balance_yes_or_no_is_two_over_pi() -> None:
    assert told_by(np.array([-np.inf, 0.0, np.inf])) == pytest.approx(2 / math.pi, rel=1e-12)
    # ... and that is what many answer categories spare: a factor of pi / 2 in calls.
    assert told_by(of_bands(0.25, 0.5)) / (2 / math.pi) == pytest.approx(math.pi / 2, rel=0.01)


@pytest.mark.parametrize("width", [0.25, 0.5, 1.0, 1.5, 2.0])
def test_a_band_adds_a_twelfth_of_its_width_squared(width: float) -> None:
    mean = np.mean([told_by(of_bands(width, s)) for s in (np.arange(100) + 0.5) / 100])
    assert 1 / mean == pytest.approx(1 + width**2 / 12, abs=2e-3)


@pytest.mark.parametrize(
    ("width", "figure"), [(0.5, 0.98), (1.0, 0.92), (2.0, 0.75), (4.0, 0.45), (math.inf, 0.64)]
)
def test_the_belief_learns_by_so_much(monkeypatch: pytest.MonkeyPatch, width: float, figure: float) -> None:
    # Its precision grows call by call by the information a call holds; infinite: too thick or too thin.
    noise, calls = 0.05, 600
    monkeypatch.setattr(module, "LAPSE_RATE", 1e-300)
    monkeypatch.setattr(priors, "_LOG_LEVEL", np.log([noise]))
    monkeypatch.setattr(priors, "_GROWTH", np.zeros(1))
    rng, belief = np.random.default_rng(8), Belief()
    before = belief.average([0.5], "aim").sd
    for k, answer in enumerate(rng.normal(0, noise, calls)):
        edge = rng.uniform(0, width * noise) if math.isfinite(width) else 0.0
        if math.isfinite(width):
            low = math.floor((answer - edge) / (width * noise)) * width * noise + edge
            high = low + width * noise
        else:
            low, high = (edge, math.inf) if answer > edge else (-math.inf, edge)
        belief.update(Call(0.5, low, high, answer, True, "aim", str(k)))
        if k == 0:
            before = belief.average([0.5], "aim").sd
    gained = 1 / belief.average([0.5], "aim").sd ** 2 - 1 / before**2
    assert gained * noise**2 / (calls - 1) == pytest.approx(figure, abs=0.03)
