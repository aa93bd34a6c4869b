"""The calls of a set: how full each was seen, and how far off a call may be and still pot, in cells."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from trainer.pictures import GlyphSet, colours
from trainer.pictures.cells import Cells
from trainer.pictures.chart import Chart
from trainer.shots.style import USUAL, Style

SCALES = (1 / 8, 1 / 4, 1 / 2, 1.0)  # balls at the edges: the first that all calls lie in, or the last
DOT = 1 / 20  # radius of a call in heights of the chart
LEAST, MOST = 2.8, 6.0  # pixels
STALK, APART = 1.2, 1.0  # pixels: the width of a stalk, and between two calls
# Steps that a call may be shown beside its cut, the nearest first.
ASIDE = (0.0, *(side * steps / 2 for steps in range(1, 7) for side in (1, -1)))
BAR = 0.6  # half the width of what a pot forgives, in radii of a call


def scale_of(errors: Sequence[float]) -> float:
    """The scale, in balls, that errors are drawn to."""
    largest = max(map(abs, errors), default=0.0)
    return next((scale for scale in SCALES if largest <= scale), SCALES[-1])


def draw_calls_chart(
    size: tuple[int, int],
    *,
    offsets: Sequence[float],
    errors: Sequence[float],
    forgiven: ArrayLike,
    cell_aspect: float = 2.0,
    glyphs: GlyphSet = "quadrants",
    style: Style = USUAL,
) -> Cells:
    """A chart: each call a ball, over the cut it was about; thick is up. A stalk leads to one that misses.

    Parameters
    ----------
    size : (int, int)
        Columns and rows.
    offsets, errors : sequence of float, n
        Signed offsets in ball widths, + left, and the calls' errors in balls, + thick.
    forgiven : (n, 2) float
        The lowest and the highest error, in balls, with which each pot goes in.
    cell_aspect, glyphs
        As in :func:`~trainer.pictures.plan.draw_plan`.
    style : Style
        How the scale is written.
    """
    chart = Chart(size, scale_of(errors), cell_aspect)
    canvas = chart.canvas
    chart.rule()
    radius = min(max(DOT * canvas.height, LEAST), MOST)
    limits = np.asarray(forgiven, float).reshape(-1, 2)
    ys, bars = np.clip(chart.up(errors), radius, chart.bottom - radius), chart.up(limits)  # all of each ball
    wanted = chart.across(offsets).tolist()
    xs = side_by_side(wanted, ys.tolist(), 2 * radius + APART, (chart.left + radius, chart.right - radius))
    half = BAR * radius
    for x, (low, high) in zip(xs, bars.tolist(), strict=True):
        canvas.rectangle(x - half, high, x + half, low, colours.CUSHION)
    for x, y, error, (low, high) in zip(xs, ys.tolist(), errors, limits.tolist(), strict=True):
        if not low <= error <= high:
            foot = float(chart.up(high if error > high else low))
            canvas.line((x, foot), (x, y), STALK, colours.AMBER, 0.5)
        canvas.ball(x, y, radius, colours.CUE_BALL if low <= error <= high else colours.AMBER)
    return chart.cells(glyphs, style)


def side_by_side(
    xs: Sequence[float], ys: Sequence[float], apart: float, ends: tuple[float, float]
) -> list[float]:
    """Where balls stand from left to right so that none hides another: a few steps aside, where need be.

    Parameters
    ----------
    xs, ys : sequence of float, n
        Where they would stand; up and down they stay there.
    apart : float
        How far two of them are apart, at least, if there is a place for that.
    ends : (float, float)
        The leftmost and the rightmost place.
    """
    placed: list[tuple[float, float]] = []
    for x, y in zip(xs, ys, strict=True):
        tried = [min(max(x + aside * apart, ends[0]), ends[1]) for aside in ASIDE]
        free = (at for at in tried if all(math.dist((at, y), other) >= apart for other in placed))
        placed.append((next(free, tried[0]), y))
    return [x for x, _ in placed]
