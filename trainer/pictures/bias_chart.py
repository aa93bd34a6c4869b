"""The curve of a player's bias over the cut, and how sure it is, in cells."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from trainer.pictures import GlyphSet, colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import Cells, write
from trainer.pictures.colours import Colour
from trainer.pictures.fit import ACROSS, DOWN, fit
from trainer.shots.saying import in_hundredths

SCALE = 1 / 8  # balls at the upper and the lower edge
MARGIN = 11  # cells on the left, for words
GROUND: Colour = colours.ROOM
SURE_OF: Colour = (45, 57, 65)  # the stretch that the bias lies in
GRID: Colour = (36, 45, 53)
LINE: Colour = colours.MARK_QUIET
TOLD: Colour = colours.AMBER
WIDTH = 1.6  # of the curve, in pixels
HALVES = 9  # rows from which half the scale is said, too


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
    """
    columns, rows = size
    margin = MARGIN if columns >= 4 * MARGIN else 0
    canvas = Canvas(size, GROUND, cell_aspect)
    left, right = margin * ACROSS, canvas.width
    bottom = canvas.height - (DOWN * canvas.step if rows >= 4 else 0.0)  # the last row is words
    offsets = np.asarray(offsets, float)

    def across(offset: ArrayLike) -> np.ndarray:
        return np.asarray(left + (right - left) * (1.0 - np.asarray(offset, float)) / 2)

    def up(bias: ArrayLike) -> np.ndarray:
        part = np.clip(np.asarray(bias, float) / SCALE, -1.0, 1.0)
        return np.asarray(bottom * (1.0 - part) / 2)

    xs, middles = across(offsets), up(mean)
    tops, bottoms = up(high), up(low)
    for i in range(len(xs) - 1):
        quad = [(xs[i], tops[i]), (xs[i + 1], tops[i + 1]), (xs[i + 1], bottoms[i + 1]), (xs[i], bottoms[i])]
        canvas.convex([(float(x), float(y)) for x, y in quad], SURE_OF)
    for offset in (-0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75):
        x = float(across(offset))
        canvas.line((x, 0.0), (x, bottom), 0.7, GRID, 0.8)
    for bias in (-SCALE / 2, SCALE / 2):
        canvas.line((left, float(up(bias))), (right, float(up(bias))), 0.7, GRID, 0.8)
    canvas.line((left, bottom / 2), (right, bottom / 2), 1.0, LINE, 0.5)
    sure = np.asarray(told, bool)
    for i in range(len(xs) - 1):
        here = bool(sure[i] or sure[i + 1])
        ends = [(float(xs[k]), float(middles[k])) for k in (i, i + 1)]
        canvas.line(ends[0], ends[1], WIDTH * (1.5 if here else 1.0), TOLD if here else LINE, 1.0)
    cells = fit(canvas.pixels, glyphs)
    return _labelled(cells, margin, rows, columns)


def _labelled(cells: Cells, margin: int, rows: int, columns: int) -> Cells:
    if margin and rows >= 5:
        edge, half = ("0.12", "0.06") if in_hundredths() else ("1/8", "1/16")
        words = [(0, f"{edge} thick"), (rows - 2, f"{edge} thin")]
        if rows >= HALVES:
            words += [((rows - 1) // 4, half), ((rows - 1) // 2, "true"), (3 * (rows - 1) // 4, half)]
        for row, text in words:
            cells = write(cells, row, margin - 1 - len(text), text, colours.MARK_QUIET)
    if rows < 4:
        return cells
    for offset, text in _ticks(columns - margin):
        column = margin + round((columns - margin) * (1 - offset) / 2) - len(text) // 2
        column = min(max(column, margin), columns - len(text))
        cells = write(cells, rows - 1, column, text, colours.MARK_QUIET)
    return cells


def _ticks(room: int) -> Sequence[tuple[float, str]]:
    """Offsets and their names, as many as there is room for."""
    if room >= 64:
        return [
            (0.875, "1/8 left"),
            (0.5, "1/2"),
            (0.25, "3/4"),
            (0.0, "full"),
            (-0.25, "3/4"),
            (-0.5, "1/2"),
            (-0.875, "1/8 right"),
        ]
    return [(0.5, "1/2 left"), (0.0, "full"), (-0.5, "1/2 right")] if room >= 30 else [(0.0, "full")]
