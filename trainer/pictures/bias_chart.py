"""The curve of a player's bias over the cut, and how sure it is, in cells."""

import numpy as np
from numpy.typing import ArrayLike

from trainer.pictures import GlyphSet, colours
from trainer.pictures.cells import Cells
from trainer.pictures.chart import LINE, Chart
from trainer.pictures.colours import Colour
from trainer.shots.style import USUAL, Style

SCALE = 1 / 8  # balls at the upper and the lower edge
SURE_OF: Colour = (45, 57, 65)  # the stretch that the bias lies in
TOLD: Colour = colours.AMBER
WIDTH = 1.6  # of the curve, in pixels


def draw_bias_chart(
    size: tuple[int, int],
    *,
    offsets: ArrayLike,
    mean: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
    told: ArrayLike,
    cell_aspect: float = 2.0,
    glyphs: GlyphSet = "quadrants",
    style: Style = USUAL,
) -> Cells:
    """A chart: thin cuts to the left at the left, straight in the middle; thick is up.

    Parameters
    ----------
    size : (int, int)
        Columns and rows.
    offsets : (n,) float
        Signed offsets in ball widths, + left, rising.
    mean, low, high : (n,) float
        The bias and the ends of its interval, in balls, + thick.
    told : (n,) bool
        Where a bias is sure.
    cell_aspect, glyphs
        As in :func:`~trainer.pictures.plan.draw_plan`.
    style : Style
        How the scale is written.
    """
    chart = Chart(size, SCALE, cell_aspect)
    canvas = chart.canvas
    xs, middles = chart.across(offsets), chart.up(mean)
    tops, bottoms = chart.up(high), chart.up(low)
    for i in range(len(xs) - 1):
        quad = [(xs[i], tops[i]), (xs[i + 1], tops[i + 1]), (xs[i + 1], bottoms[i + 1]), (xs[i], bottoms[i])]
        canvas.convex([(float(x), float(y)) for x, y in quad], SURE_OF)
    chart.rule()
    sure = np.asarray(told, bool)
    for i in range(len(xs) - 1):
        here = bool(sure[i] or sure[i + 1])
        ends = [(float(xs[k]), float(middles[k])) for k in (i, i + 1)]
        canvas.line(ends[0], ends[1], WIDTH * (1.5 if here else 1.0), TOLD if here else LINE, 1.0)
    return chart.cells(glyphs, style)
