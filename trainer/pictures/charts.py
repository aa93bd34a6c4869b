"""Charts over the cut: the curve of a player's bias, and the calls of a set.

Thin cuts to the left are at the left, straight in the middle; thick is up.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.pictures import colours
from trainer.pictures.colours import linear
from trainer.pictures.painted import Painted, Text
from trainer.pictures.projection import Viewport
from trainer.shots.style import USUAL, Style, hundredths

MARGIN = 11  # cells on the left, for words
PLAIN = 0.25  # how far, in roots of light, what the true line is written over may be from the ground
RULE = 0.7  # width of the grid's lines, in quarters of a cell's width
_TRUE = (("─", "▁"), ("-", "_"))  # in the middle of a row, at its foot; the same in plain characters
HALVES = 9  # rows from which half the scale is said, too
WORDS = 4  # rows from which the last is words
OFFSETS = (-0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75)


class Chart:
    """A canvas, and where an offset and an error lie on it.

    Parameters
    ----------
    viewport : Viewport
        Where it is seen.
    scale : float
        Balls at the upper and at the lower edge; what is beyond is drawn at the edge.
    """

    def __init__(self, viewport: Viewport, scale: float) -> None:
        self._viewport, self._scale = viewport, scale
        columns, rows = viewport.size
        self.unit, self.scheme = viewport.unit, viewport.scheme
        self._margin = MARGIN if columns >= 4 * MARGIN else 0
        self.canvas = viewport.canvas(viewport.scheme.room)
        self.left, self.right = float(self._margin * viewport.cell[0]), self.canvas.width
        self.bottom = self.canvas.height - (viewport.cell[1] * self.canvas.step if rows >= WORDS else 0.0)

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
            self.canvas.line((x, 0.0), (x, self.bottom), RULE * self.unit, self.scheme.grid, 0.8)
        for error in (-self._scale / 2, self._scale / 2):
            y = float(self.up(error))
            self.canvas.line((self.left, y), (self.right, y), RULE * self.unit, self.scheme.grid, 0.8)
        if self._viewport.is_fine:
            y = float(self.up(0.0))
            self.canvas.line((self.left, y), (self.right, y), RULE * self.unit, self.scheme.true)

    def painted(self, style: Style) -> Painted:
        """The chart with the line of what is seen as it is, and its words."""
        columns, rows = self._viewport.size
        found = [] if self._viewport.is_fine else self._true_line()
        if self._margin and rows > WORDS:
            edge, half = _part(self._scale, style), _part(self._scale / 2, style)
            words = [(0, f"{edge} thick"), (rows - 2, f"{edge} thin")]
            if rows >= HALVES:
                words += [((rows - 1) // 4, half), ((rows - 1) // 2, "true"), (3 * (rows - 1) // 4, half)]
            for row, text in words:
                found.append(Text(self._margin - 1 - len(text), row, text, self.scheme.words))
        if rows < WORDS:
            return Painted(self.canvas, found)
        room = columns - self._margin
        for offset, text in _ticks(room):
            column = self._margin + round(room * (1 - offset) / 2) - len(text) // 2
            column = min(max(column, self._margin), columns - len(text))
            found.append(Text(column, rows - 1, text, self.scheme.words))
        return Painted(self.canvas, found)

    def _true_line(self) -> list[Text]:
        """The line of what is seen as it is, where nothing else is: in cells a thin line is a character."""
        rows, (across, down) = self._viewport.size[1], self._viewport.cell
        # In the middle of a row, or between two.
        row, between = divmod(rows - (rows >= WORDS), 2)
        row -= between == 0
        if row < 0:
            return []
        line, plain = (marks[between == 0] for marks in _TRUE)
        ground = np.sqrt(linear(self.scheme.room))
        away = abs(np.sqrt(self.canvas.pixels[row * down : (row + 1) * down]) - ground).max(axis=(0, 2))
        places = np.flatnonzero(away.reshape(-1, across).max(axis=1) < PLAIN)
        places = places[places >= self._margin]
        runs = np.split(places, np.flatnonzero(np.diff(places) > 1) + 1)
        return [
            Text(int(r[0]), row, line * len(r), self.scheme.true, plain=plain * len(r))
            for r in runs
            if len(r)
        ]


def _part(balls: float, style: Style) -> str:
    """A part of a ball: ``1/8``."""
    return hundredths(balls) if style.decimal else str(Fraction(balls))


def _ticks(room: int) -> Sequence[tuple[float, str]]:
    """Offsets and their names, as many as there is room for."""
    if room >= 64:
        return [
            (0.75, "1/4 left"),
            (0.5, "1/2"),
            (0.25, "3/4"),
            (0.0, "full"),
            (-0.25, "3/4"),
            (-0.5, "1/2"),
            (-0.75, "1/4 right"),
        ]
    return [(0.5, "1/2 left"), (0.0, "full"), (-0.5, "1/2 right")] if room >= 30 else [(0.0, "full")]


CURVE = 1.6  # of the curve, in quarters of a cell's width


def painted_bias_chart(
    viewport: Viewport,
    *,
    offsets: ArrayLike,
    mean: ArrayLike,
    low: ArrayLike,
    high: ArrayLike,
    sure: ArrayLike,
    style: Style = USUAL,
) -> Painted:
    """A chart: thin cuts to the left at the left, straight in the middle; thick is up.

    Parameters
    ----------
    viewport : Viewport
        Where it is seen.
    offsets : (n,) float
        Signed offsets in ball widths, + left, rising.
    mean, low, high : (n,) float
        The bias and the ends of its interval, in balls, + thick.
    sure : (n,) bool
        Where a bias is sure.
    style : Style
        How the scale is written.
    """
    chart = Chart(viewport, scale_of(np.asarray(mean, float).tolist()))
    canvas, scheme = chart.canvas, chart.scheme
    xs, middles = chart.across(offsets), chart.up(mean)
    tops, bottoms = chart.up(high), chart.up(low)
    for i in range(len(xs) - 1):
        end = xs[i + 1] - 1.0  # under the next one, to the left: two soft edges would leave a stripe
        quad = [(xs[i], tops[i]), (end, tops[i + 1]), (end, bottoms[i + 1]), (xs[i], bottoms[i])]
        canvas.convex([(float(x), float(y)) for x, y in quad], scheme.interval)
    chart.rule()
    known = np.asarray(sure, bool)
    for i in range(len(xs) - 1):
        here = bool(known[i] or known[i + 1])
        ends = [(float(xs[k]), float(middles[k])) for k in (i, i + 1)]
        width = CURVE * chart.unit * (1.5 if here else 1.0)
        canvas.line(ends[0], ends[1], width, scheme.sure if here else scheme.words, 1.0)
    return chart.painted(style)


SCALES = (1 / 8, 1 / 4, 1 / 2, 1.0)  # balls at the edges: the first that all of it lies in, or the last
DOT = 1 / 20  # radius of a call in heights of the chart
LEAST, MOST = 2.8, 6.0  # of that radius, in quarters of a cell's width
STALK, APART = 1.2, 1.0  # likewise: the width of a stalk, and between two calls
# Steps that a call may be shown beside its cut, the nearest first.
ASIDE = (0.0, *(side * steps / 2 for steps in range(1, 7) for side in (1, -1)))
BAR = 0.6  # half the width of what a pot forgives, in radii of a call


def scale_of(errors: Sequence[float]) -> float:
    """The scale, in balls, that errors are drawn to."""
    largest = max(map(abs, errors), default=0.0)
    return next((scale for scale in SCALES if largest <= scale), SCALES[-1])


def painted_calls_chart(
    viewport: Viewport,
    *,
    offsets: Sequence[float],
    errors: Sequence[float],
    forgiven: ArrayLike,
    style: Style = USUAL,
) -> Painted:
    """A chart: each call a ball, over the cut it was about; thick is up. A stalk leads to one that misses.

    Parameters
    ----------
    viewport : Viewport
        Where it is seen.
    offsets, errors : sequence of float, n
        Signed offsets in ball widths, + left, and the calls' errors in balls, + thick.
    forgiven : (n, 2) float
        The lowest and the highest error, in balls, with which each pot goes in.
    style : Style
        How the scale is written.
    """
    chart = Chart(viewport, scale_of(errors))
    canvas = chart.canvas
    chart.rule()
    radius = min(max(DOT * canvas.height, LEAST * chart.unit), MOST * chart.unit)
    limits = np.asarray(forgiven, float).reshape(-1, 2)
    ys, bars = np.clip(chart.up(errors), radius, chart.bottom - radius), chart.up(limits)  # all of each ball
    wanted = chart.across(offsets).tolist()
    apart, ends = 2 * radius + APART * chart.unit, (chart.left + radius, chart.right - radius)
    xs = side_by_side(wanted, ys.tolist(), apart, ends)
    half = BAR * radius
    for x, (low, high) in zip(xs, bars.tolist(), strict=True):
        canvas.rectangle(x - half, high, x + half, low, colours.CUSHION)
    for x, y, error, (low, high) in zip(xs, ys.tolist(), errors, limits.tolist(), strict=True):
        if not low <= error <= high:
            foot = float(chart.up(high if error > high else low))
            canvas.line((x, foot), (x, y), STALK * chart.unit, chart.scheme.sure, 0.5)
        canvas.ball(x, y, radius, colours.CUE_BALL if low <= error <= high else chart.scheme.sure)
    return chart.painted(style)


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
