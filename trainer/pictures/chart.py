"""The ground of a chart over the cut: thin cuts to the left at the left, straight in the middle, thick up."""

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.pictures import colours
from trainer.pictures.cells import Cells, write
from trainer.pictures.colours import Colour
from trainer.pictures.fit import ACROSS, DOWN, GlyphSet, fit
from trainer.pictures.projection import Viewport
from trainer.shots.style import Style, hundredths

MARGIN = 11  # cells on the left, for words
GROUND: Colour = colours.ROOM
GRID: Colour = (36, 45, 53)
LINE: Colour = colours.MARK_QUIET
TRUE: Colour = (109, 121, 117)  # the line of what is seen as it is
DARK = 80  # the lightest tone of what the line is written over: the ground, the grid, a shade
_TRUE = (("─", "▁"), ("-", "_"))  # in the middle of a row, at its foot; the same in plain characters
HALVES = 9  # rows from which half the scale is said, too
WORDS = 4  # rows from which the last is words
OFFSETS = (-0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75)


class Chart:
    """A canvas, and where an offset and an error lie on it.

    Parameters
    ----------
    size : (int, int)
        Columns and rows.
    scale : float
        Balls at the upper and at the lower edge; what is beyond is drawn at the edge.
    cell_aspect : float
        Height of a cell over its width.
    """

    def __init__(self, size: tuple[int, int], scale: float, cell_aspect: float) -> None:
        self._size, self._scale = size, scale
        columns, rows = size
        self._margin = MARGIN if columns >= 4 * MARGIN else 0
        self.canvas = Viewport(size, cell_aspect).canvas(GROUND)
        self.left, self.right = self._margin * ACROSS, self.canvas.width
        self.bottom = self.canvas.height - (DOWN * self.canvas.step if rows >= WORDS else 0.0)

    def across(self, offset: ArrayLike) -> Floats:
        """Where signed offsets, in ball widths, + left, lie from left to right; same shape."""
        return np.asarray(self.left + (self.right - self.left) * (1.0 - np.asarray(offset, float)) / 2)

    def up(self, error: ArrayLike) -> Floats:
        """Where errors in balls, + thick, lie from top to bottom; same shape."""
        part = np.clip(np.asarray(error, float) / self._scale, -1.0, 1.0)
        return np.asarray(self.bottom * (1.0 - part) / 2)

    def rule(self) -> None:
        """Draw the grid."""
        for offset in OFFSETS:
            x = float(self.across(offset))
            self.canvas.line((x, 0.0), (x, self.bottom), 0.7, GRID, 0.8)
        for error in (-self._scale / 2, self._scale / 2):
            y = float(self.up(error))
            self.canvas.line((self.left, y), (self.right, y), 0.7, GRID, 0.8)

    def cells(self, glyphs: GlyphSet, style: Style) -> Cells:
        """The chart in cells, with the line of what is seen as it is, and its words."""
        cells = fit(self.canvas.pixels, glyphs)
        columns, rows = self._size
        # A thin line has a sign of its own, in the middle of a row or between two.
        row, between = divmod(rows - (rows >= WORDS), 2)
        mark = _TRUE[glyphs == "plain"][between == 0]
        row -= between == 0
        dark = (cells.ink[row].max(axis=1) < DARK) & (cells.paper[row].max(axis=1) < DARK) if row >= 0 else ()
        places = np.flatnonzero(dark)
        places = places[places >= self._margin]
        for run in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1):
            if len(run):
                cells = write(cells, row, int(run[0]), mark * len(run), TRUE)
        if self._margin and rows > WORDS:
            edge, half = _part(self._scale, style), _part(self._scale / 2, style)
            words = [(0, f"{edge} thick"), (rows - 2, f"{edge} thin")]
            if rows >= HALVES:
                words += [((rows - 1) // 4, half), ((rows - 1) // 2, "true"), (3 * (rows - 1) // 4, half)]
            for row, text in words:
                cells = write(cells, row, self._margin - 1 - len(text), text, LINE)
        if rows < WORDS:
            return cells
        room = columns - self._margin
        for offset, text in _ticks(room):
            column = self._margin + round(room * (1 - offset) / 2) - len(text) // 2
            column = min(max(column, self._margin), columns - len(text))
            cells = write(cells, rows - 1, column, text, LINE)
        return cells


def _part(balls: float, style: Style) -> str:
    """A part of a ball: ``1/8``."""
    return hundredths(balls) if style.decimal else str(Fraction(balls))


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
