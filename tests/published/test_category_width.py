"""What a free answer tells more than a band, played through the drills themselves.

A normal judgement sorted into classes of width h tells less of its mean than the judgement itself. How much
is the Fisher information of grouped normal data (G. Kulldorff, "Contributions to the Theory of Estimation
from Grouped and Partially Grouped Samples", 1961, from memory): the sum over the classes of (difference of
the density at their ends)^2 / chance.
"""

import math

import numpy as np
import pytest
from scipy.stats import norm

from trainer.learner.call import Call
from trainer.levels.shelf import open_shelf
from trainer.play.named_levels import level_named
from trainer.simulate.players import Nature
from trainer.simulate.simulation import practise

NOISE = 0.05
EIGHTH = 0.125 / NOISE  # the width of a band, in noises: 2.5


def grouped(width: float) -> float:
    """Information of classes of a width (in noises) over that of the judgement, wherever they lie."""
    found = []
    for shift in np.linspace(0, width, 200, endpoint=False):
        ends = np.arange(-12, 12 + width, width) + shift
        chance, slope = np.diff(norm.cdf(ends)), np.diff(norm.pdf(ends))
        found.append(float((slope[chance > 1e-14] ** 2 / chance[chance > 1e-14]).sum()))
    return float(np.mean(found))


def calls(drill: str) -> list[Call]:
    level = level_named(open_shelf(), None, drill)
    return [moment.call for moment in practise(level, Nature(noise=NOISE), days=1, shots=500, seed=4)]


def told(call: Call) -> float:
    """What a call tells of a mean error of none, over what the judgement itself tells."""
    if call.low == call.high:
        return 1.0
    low, high = call.low / NOISE, call.high / NOISE
    chance = norm.cdf(high) - norm.cdf(low)
    return float((norm.pdf(low) - norm.pdf(high)) ** 2 / chance**2)


def test_a_slid_line_tells_more_a_call_than_a_band_of_an_eighth_by_the_figure_of_grouped_data() -> None:
    slide, band = calls("slide"), calls("band")
    assert all(call.low == call.high for call in slide)
    # The mean of the squared score is the information. The bands at both ends are open: a little less.
    scores = np.array([told(call) for call in band])
    se = float(scores.std() / math.sqrt(len(scores)))
    assert grouped(EIGHTH) == pytest.approx(0.66, abs=0.01)
    assert scores.mean() == pytest.approx(grouped(EIGHTH), abs=3 * se + 0.03)
    assert scores.mean() + 3 * se < 1.0
    errors = np.array([call.error for call in slide])  # and they do scatter by the noise alone
    assert errors.std() == pytest.approx(NOISE, rel=0.1)
