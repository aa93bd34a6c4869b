"""Bands against exact fractions."""

import math
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from trainer.geometry.fullness import EVERY_KIND, THINNER, Kind, band_of, bands, kind_of, side_of

STEPS = [Fraction(1, n) for n in (2, 3, 4, 5, 8, 16, 32, 64)]


def nearest(fullness: float, n: int) -> int:
    """Steps of the nearest named fullness, an edge to the thicker, in exact arithmetic."""
    value = Fraction(fullness)
    return min(range(n + 1), key=lambda k: (abs(value - Fraction(k, n)), -k))


@pytest.mark.parametrize("step", STEPS)
def test_names_and_values(step: Fraction) -> None:
    n = step.denominator
    names = ["full"] + [str(Fraction(k, n)) for k in range(n - 1, 0, -1)] + [THINNER]
    found = bands(step)
    assert [band.name for band in found] == names
    for k, band in zip(range(n, 0, -1), found, strict=False):
        assert band.value == pytest.approx(k / n, abs=1e-15)
        assert (band.low, band.high) == pytest.approx(((k - 0.5) / n, (k + 0.5) / n), abs=1e-15)
    assert (found[-1].low, found[-1].high) == (0.0, pytest.approx(0.5 / n))
    assert found[-1].low < found[-1].value < found[-1].high


@pytest.mark.parametrize("step", STEPS)
def test_each_fullness_goes_to_the_nearest(step: Fraction) -> None:
    n = step.denominator
    rng = np.random.default_rng(5)
    tried = np.concatenate([rng.random(400), np.arange(n + 1) / n])
    every = bands(step)
    for fullness in tried.tolist():
        assert band_of(fullness, step) is every[n - nearest(fullness, n)]


@pytest.mark.parametrize("n", [2, 4, 8, 16, 32, 64])
def test_edges_go_to_the_thicker(n: int) -> None:
    """In powers of two an edge is an exact float."""
    step, every = Fraction(1, n), bands(Fraction(1, n))
    for k in range(n):
        edge = (k + 0.5) / n
        assert band_of(edge, step) is every[n - 1 - k]
        assert band_of(edge - 1e-13, step) is every[n - k]


def test_band_of_agrees_with_its_edges() -> None:
    for fullness in np.linspace(0, 1, 4001).tolist():
        band = band_of(fullness)
        assert band.low <= fullness <= band.high


@pytest.mark.parametrize("step", [Fraction(1), Fraction(2, 5), Fraction(1, 65), Fraction(0)])
def test_a_bad_step_is_named_with_what_is_allowed(step: Fraction) -> None:
    with pytest.raises(ValueError, match="1/2 to 1/64"):
        bands(step)


@pytest.mark.parametrize("kind", EVERY_KIND, ids=lambda kind: kind.name)
def test_a_kind_of_shot_is_that_of_its_own_cuts(kind: Kind) -> None:
    low, high = kind.sines
    assert -1.0 <= low < high <= 1.0
    assert kind_of((low + high) / 2) == kind == tuple(kind.name.split())
    assert math.copysign(1.0, low + high) == kind.sign
    assert side_of(kind.sign) == kind.side


def test_the_kinds_cover_every_cut_to_both_sides_once() -> None:
    ends = sorted(kind.sines for kind in EVERY_KIND)
    assert ends[0][0] == -1.0
    assert ends[-1][1] == 1.0
    assert all(high == low for (_, high), (low, _) in pairwise(ends))
    assert side_of(0.0) == side_of(-0.0) == "left"
