"""A normal variable of which an interval is known, against scipy's tails and mpmath's quadrature."""

import math

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import log_ndtr
from scipy.stats import truncnorm

from trainer.learner.censored import FAR, interval_likelihood, log_cdf

INF = math.inf


def by_quadrature(low: float, high: float) -> tuple[float, float, float]:
    """Log of the chance, mean of the variable within, its variance less one: by 40-digit integrals.

    The integrand is scaled by its largest value, and integrated in steps that follow its decay.
    """
    with mpmath.workdps(40):
        a, b = (mpmath.mpf(v) for v in (low, high))
        top = min(max(a, mpmath.mpf(0)), b)  # where the density is greatest
        scale = 1 / (1 + abs(top))
        steps = [top + sign * k * scale for k in (*range(0, 12, 2), 20, 40, 80, 140) for sign in (1, -1)]
        places = sorted({v for v in (a, b, *steps) if a <= v <= b and mpmath.isfinite(v)})

        def moment(k: int, about: mpmath.mpf) -> mpmath.mpf:
            return mpmath.quad(lambda x: (x - about) ** k * mpmath.exp((top * top - x * x) / 2), places)

        chance = moment(0, top)
        mean = top + moment(1, top) / chance
        variance = moment(2, mean) / chance
        log_chance = mpmath.log(chance) - top * top / 2 - mpmath.log(2 * mpmath.pi) / 2
        return float(log_chance), float(mean), float(variance - 1)


def test_log_below_is_scipys() -> None:
    x = np.concatenate([-np.geomspace(1e-3, 1e4, 400), [0.0], np.geomspace(1e-3, 6.0, 50)])
    assert log_cdf(x) == pytest.approx(log_ndtr(x), rel=1e-10, abs=1e-15)
    assert log_cdf([[INF, -INF]]).tolist() == [[0.0, -INF]]


def test_log_below_has_no_step_where_its_formula_changes() -> None:
    below, above = log_cdf([-FAR * (1 + 1e-12), -FAR * (1 - 1e-12)])
    assert above == pytest.approx(below, abs=1e-8)  # 15 / 37^6, what the series leaves out


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.floats(-30, 30), st.floats(1e-3, 60))
def test_derivatives_are_the_moments_of_scipys_truncated_normal(low: float, width: float) -> None:
    # d/dmean of log chance is the mean within the interval; the second is the variance within less one.
    high = low + width
    _, first, second = interval_likelihood(low, high)
    inside = truncnorm(low, high)
    assert float(first) == pytest.approx(inside.mean(), rel=1e-6, abs=1e-9)
    assert float(second) == pytest.approx(inside.var() - 1, abs=2e-5)


@pytest.mark.parametrize(
    "low",
    [
        -2.0,
        3.0,
        36.9,
        37.1,
        1000.0,
        *[pytest.param(x, marks=pytest.mark.slow) for x in (0.0, 8.0, 100.0, 300.0)],
    ],
)
@pytest.mark.parametrize("width", [1e-4, 0.3, pytest.param(40.0, marks=pytest.mark.slow), INF])
def test_far_out_it_is_what_quadrature_gives(low: float, width: float) -> None:
    ends = (low, low + width)
    log_chance, first, second = (float(v) for v in interval_likelihood(*ends))
    exact = by_quadrature(*ends)
    assert log_chance == pytest.approx(exact[0], rel=1e-9, abs=1e-9)
    assert first == pytest.approx(exact[1], rel=1e-8, abs=1e-8)
    # A number of about -1 as the difference of two as large as low^2: some digits go.
    assert second == pytest.approx(exact[2], abs=2e-5)


@pytest.mark.parametrize("middle", [0.0, -2.5, 6.0, -30.0])
@pytest.mark.parametrize("width", [1e-2, 1e-4, 1e-6])
def test_a_tiny_width_tells_what_a_point_does(middle: float, width: float) -> None:
    log_chance, first, second = (
        float(v) for v in interval_likelihood(middle - width / 2, middle + width / 2)
    )
    point = -0.5 * middle**2 - 0.5 * math.log(2 * math.pi)
    # The density within, to second order: what is left is of the size (middle * width)^2 / 24.
    left = (middle * width) ** 2 / 12
    assert log_chance - math.log(width) == pytest.approx(point, abs=left + 1e-5)
    assert first == pytest.approx(middle, abs=abs(middle) * left + 1e-5)
    assert second == pytest.approx(-1.0, abs=width**2 + 3e-5 * (1 + middle**2) * 1e-6 / width)


@settings(deadline=None, derandomize=True)
@given(st.floats(-50, 50), st.floats(-50, 50))
def test_both_signs_mirror(one: float, other: float) -> None:
    low, high = min(one, other), max(one, other) + 0.01
    log_chance, first, second = interval_likelihood(low, high)
    mirrored = interval_likelihood(-high, -low)
    assert float(mirrored[0]) == pytest.approx(float(log_chance), rel=1e-12, abs=1e-12)
    assert float(mirrored[1]) == pytest.approx(-float(first), rel=1e-9, abs=1e-12)
    assert float(mirrored[2]) == pytest.approx(float(second), rel=1e-6, abs=1e-6)


def test_open_ends() -> None:
    log_chance, first, second = interval_likelihood([-INF, 0.0], [0.0, INF])
    assert log_chance == pytest.approx([math.log(0.5)] * 2)
    assert first == pytest.approx([-math.sqrt(2 / math.pi), math.sqrt(2 / math.pi)])
    assert second == pytest.approx([-2 / math.pi] * 2)


def test_no_interval_at_all_tells_nothing() -> None:
    log_chance, first, second = interval_likelihood(-INF, INF)
    assert (float(log_chance), float(first), float(second)) == (0.0, 0.0, 0.0)


def test_chances_of_neighbours_add_up_to_one() -> None:
    edges = np.array([-INF, *np.linspace(-6, 6, 97), INF])
    log_chance, first, _ = interval_likelihood(edges[:-1], edges[1:])
    assert np.exp(log_chance).sum() == pytest.approx(1.0, abs=1e-14)
    assert (np.exp(log_chance) * first).sum() == pytest.approx(0.0, abs=1e-14)  # the mean of all
