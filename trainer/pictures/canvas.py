"""Anti-aliased painting on a linear-light picture: discs, balls, rings, lines, convex shapes.

Coordinates are widths of a pixel, from the top left corner, ``x`` right and ``y`` down, and the same
length in both: where cells are not twice as high as wide a pixel is not square, and only this module
knows. Every shape is worked out in closed form, and only inside the box that holds it.
"""

import math
from collections.abc import Iterator, Sequence
from copy import copy
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.colours import HIGHLIGHT, SHADOW, Colour, Floats32, linear
from trainer.pictures.fit import ACROSS, DOWN

Box = tuple[slice, slice]
Place = tuple[float, float]

# Toward the light, seen by the viewer: from above on the left, and in front.
_LIGHT = (-0.419, -0.579, 0.699)
_HALFWAY = (-0.227, -0.314, 0.922)  # midway between the light and the viewer
_BAND = 16  # rows of pixels that a slanting line is painted in at a time


class Canvas:
    """A picture of ``size`` (columns, rows) cells whose height is ``cell_aspect`` times their width.

    ``pixels`` is (rows * DOWN, cols * ACROSS, 3) float32, linear light; ``width`` and ``height`` are
    in widths of a pixel.
    """

    def __init__(self, size: tuple[int, int], ground: Colour, cell_aspect: float = 2.0) -> None:
        cols, rows = size
        if cols < 1 or rows < 1:
            raise ValueError(f"a picture has at least 1 x 1 cells, not {cols} x {rows}")
        self.step = cell_aspect * ACROSS / DOWN
        self.pixels = np.empty((rows * DOWN, cols * ACROSS, 3), np.float32)
        self.pixels[:] = linear(ground)
        self.width, self.height = float(cols * ACROSS), rows * DOWN * self.step
        self._xs = np.arange(cols * ACROSS, dtype=np.float32) + np.float32(0.5)
        self._ys = ((np.arange(rows * DOWN) + 0.5) * self.step).astype(np.float32)

    def copy(self) -> "Canvas":
        """A canvas with the same picture, to go on painting."""
        other = copy(self)
        other.pixels = self.pixels.copy()
        return other

    def rectangle(self, left: float, top: float, right: float, bottom: float, c: Colour) -> None:
        """Fill an upright rectangle."""
        box = self.box_of(left, top, right, bottom)
        if box is None:
            return
        across = _overlap(self._xs[box[1]], 1.0, left, right)
        down = _overlap(self._ys[box[0]], self.step, top, bottom)
        # Only the rim needs blending: the inside is most of it.
        full_x, full_y = np.flatnonzero(across >= 1), np.flatnonzero(down >= 1)
        light = linear(c)
        if len(full_x) and len(full_y):
            x0, x1, y0, y1 = full_x[0], full_x[-1] + 1, full_y[0], full_y[-1] + 1
            region = self.pixels[box]
            region[y0:y1, x0:x1] = light
            parts = [
                (slice(0, y0), slice(None)),
                (slice(y1, None), slice(None)),
                (slice(y0, y1), slice(0, x0)),
                (slice(y0, y1), slice(x1, None)),
            ]
            for rows, cols in parts:
                part = region[rows, cols]
                part += np.outer(down[rows], across[cols])[..., None] * (light - part)
        else:
            self._blend(box, np.outer(down, across), light)

    def convex(self, corners: Sequence[Place], colour: Colour, opacity: float = 1.0) -> None:
        """Fill a convex polygon, whichever way round its corners go."""
        xs, ys = [p[0] for p in corners], [p[1] for p in corners]
        box = self.box_of(min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1)
        if box is None:
            return
        lines = _inward(corners)
        if not len(lines):
            return
        rows, cols = self._ys[box[0]], self._xs[box[1]]
        inside, rim = _spans(lines, rows, cols, 0.5), _spans(lines, rows, cols, -0.5)
        light, region = linear(colour), self.pixels[box]
        # All of a pixel inside: no need to work out how much. Row by row, since that is one copy each.
        for row in np.flatnonzero(inside[1] > inside[0]).tolist():
            part = region[row, inside[0][row] : inside[1][row]]
            if opacity == 1.0:
                part[:] = light
            else:
                part += opacity * (light - part)
        y, x = _between(rim, inside)
        depth = np.full(len(y), np.inf, np.float32)
        for nx, ny, off in lines:
            np.minimum(depth, cols[x] * nx + rows[y] * ny - off, out=depth)
        cover = np.clip(depth + 0.5, 0, 1) * opacity
        here = region[y, x]
        region[y, x] = here + cover[:, None] * (light - here)

    def ellipse(
        self, conic: NDArray[np.float64], colour: Colour, opacity: float = 1.0, width: float | None = None
    ) -> None:
        """Fill an ellipse: where ``p C p < 0`` for ``p = (x, y, 1)`` and the symmetric C, (3, 3).

        With a ``width`` only a line so wide along its edge is painted.
        """
        inverse = np.linalg.inv(conic[:2, :2])
        x, y = -inverse @ conic[:2, 2]
        depth = float(conic[:2, 2] @ inverse @ conic[:2, 2] - conic[2, 2])
        wide, high = np.sqrt(np.maximum(depth * np.diag(inverse), 0.0)) + 1.0 + (width or 0.0)
        box = self.box_of(x - wide, y - high, x + wide, y + high)
        if box is None:
            return
        px, py = self.grid(box)
        # Round its middle, so that single precision keeps its digits.
        (a, b), (_, c) = conic[:2, :2] / depth
        dx, dy = px - np.float32(x), py - np.float32(y)
        gx, gy = a * dx + b * dy, b * dx + c * dy
        form = dx * gx + dy * gy
        # Less than 1 inside; over the gradient of its root it is the distance to the edge.
        root = np.sqrt(form)
        edge = (1.0 - root) * root / np.maximum(np.hypot(gx, gy), 1e-9)
        inside = edge if width is None else width / 2 - np.abs(edge)
        self._blend(box, np.clip(inside + 0.5, 0, min(1.0, width or 1.0)) * opacity, linear(colour))

    def disc(self, x: float, y: float, radius: float, colour: Colour, opacity: float = 1.0) -> None:
        """Fill a circle with one colour."""
        box = self._around(x, y, radius + 1)
        if box is not None:
            cover = np.clip(radius + 0.5 - self._distance(box, x, y), 0, min(1.0, 2 * radius))
            self._blend(box, cover * opacity, linear(colour))

    def ball(self, x: float, y: float, radius: float, colour: Colour, opacity: float = 1.0) -> None:
        """Paint a ball: rounded by its shade, with one soft highlight; see through if not opaque."""
        box = self._around(x, y, radius + 1)
        if box is None:
            return
        px, py = self.grid(box)
        nx, ny = (px - x) / radius, (py - y) / radius
        square = nx * nx + ny * ny
        cover = np.clip(radius + 0.5 - np.sqrt(square) * radius, 0, 1)
        nz = np.sqrt(np.maximum(1.0 - square, 0.0))
        normal = np.stack([nx + 0 * ny, ny + 0 * nx, nz], axis=-1)
        self.shade(box, cover * opacity, normal, radius, colour)

    def shade(
        self, box: Box, cover: NDArray[np.floating], normal: NDArray[np.floating], radius: float, c: Colour
    ) -> None:
        """Light a ball's pixels: by its ``normal`` (rows, columns, 3) as the picture's x, y, and to the eye.

        ``cover`` (rows, columns) is how much of each pixel the ball covers, ``radius`` its size in the
        picture.
        """
        lit = np.maximum(normal @ np.array(_LIGHT, np.float32), 0.0)
        # Shade tells roundness only where there is room to see it; a small ball stays bright.
        depth = min(1.0, radius / 12.0)
        tone = (1.0 - 0.66 * depth) + 0.74 * depth * lit
        gleam = np.maximum(normal @ np.array(_HALFWAY, np.float32), 0.0)
        gleam = 0.75 * depth * gleam ** float(np.clip(2.0 * radius, 12.0, 60.0))
        light = linear(c) * tone[..., None].astype(np.float32)
        light += gleam[..., None].astype(np.float32) * (linear(HIGHLIGHT) - light)
        self._blend(box, cover, light)

    def shadow(self, x: float, y: float, across: float, down: float, darkness: float) -> None:
        """Darken an ellipse with half-axes ``across`` and ``down``, most in its middle."""
        box = self.box_of(x - across, y - down, x + across, y + down)
        if box is not None:
            px, py = self.grid(box)
            square = ((px - x) / across) ** 2 + ((py - y) / down) ** 2
            fade = np.clip(1.0 - square, 0, 1)
            self._blend(box, darkness * fade * (2 - fade), linear(SHADOW))

    def ring(
        self,
        x: float,
        y: float,
        radius: float,
        width: float,
        colour: Colour,
        opacity: float = 1.0,
        dash: float = 0.0,
        half: Place | None = None,
    ) -> None:
        """Outline a circle; ``radius`` is that of the line's middle.

        ``dash`` is the length of a dash and of a gap, 0 for none; ``half`` keeps only the half
        circle on the side that this vector points to.
        """
        box = self._around(x, y, radius + width)
        if box is None:
            return
        away = np.abs(self._distance(box, x, y) - radius)
        cover = np.clip(width / 2 + 0.5 - away, 0, min(1.0, width))
        px, py = self.grid(box)
        if dash > 0:
            count = max(3, round(math.pi * radius / dash))  # whole dashes, so that the ring closes
            turn = np.arctan2(py - y, px - x) * count / (2 * math.pi)
            from_middle = np.abs(turn - np.rint(turn)) * 2 * math.pi * radius / count
            cover = cover * np.clip(math.pi * radius / count / 2 + 0.5 - from_middle, 0, 1)
        if half is not None:
            size = math.hypot(*half)
            cover = cover * np.clip(((px - x) * half[0] + (py - y) * half[1]) / size + 0.5, 0, 1)
        self._blend(box, cover * opacity, linear(colour))

    def line(
        self,
        start: Place,
        end: Place,
        width: float,
        colour: Colour,
        opacity: float = 1.0,
        dash: float = 0.0,
        phase: float = 0.0,
    ) -> None:
        """A straight line of constant width; ``dash`` as in :meth:`ring`, ``phase`` where it starts."""
        run = math.hypot(end[0] - start[0], end[1] - start[1])
        if not 0 < run < math.inf:
            return
        wx, wy = (end[0] - start[0]) / run, (end[1] - start[1]) / run
        across = math.hypot(wy, wx * self.step)  # how much of the line's width a pixel spans
        light = linear(colour)
        for box in self._along(start, end, width / 2 + 1):
            px, py = self.grid(box)
            along = (px - start[0]) * wx + (py - start[1]) * wy
            aside = np.abs((px - start[0]) * wy - (py - start[1]) * wx)
            cover = np.clip((width + across) / 2 - aside, 0, min(across, width)) / across
            cover *= np.clip(run / 2 + 0.5 - np.abs(along - run / 2), 0, 1)
            if dash > 0:
                at = (along + phase) / (2 * dash) - 0.25
                cover *= np.clip(dash / 2 + 0.5 - np.abs(at - np.rint(at)) * 2 * dash, 0, 1)
            self._blend(box, cover * opacity, light)

    def path(
        self,
        points: Sequence[Place],
        width: float,
        colour: Colour,
        opacity: float = 1.0,
        dash: float = 0.0,
    ) -> None:
        """Straight lines from point to point; dashes run on through the corners."""
        gone = 0.0
        for start, end in pairwise(points):
            self.line(start, end, width, colour, opacity, dash, gone)
            gone += math.hypot(end[0] - start[0], end[1] - start[1])

    def _along(self, start: Place, end: Place, spare: float) -> Iterator[Box]:
        """Boxes that together hold a line and don't overlap: bands of rows, each as wide as needed."""
        left, right = min(start[0], end[0]), max(start[0], end[0])
        top, bottom = min(start[1], end[1]), max(start[1], end[1])
        whole = self.box_of(left - spare, top - spare, right + spare, bottom + spare)
        if whole is None:
            return
        rise = end[1] - start[1]
        for row in range(whole[0].start, whole[0].stop, _BAND):
            last = min(row + _BAND, whole[0].stop)
            x0, x1 = start[0], end[0]
            if rise != 0:
                above = (row * self.step - spare - start[1]) / rise
                below = (last * self.step + spare - start[1]) / rise
                run = end[0] - start[0]
                x0, x1 = (start[0] + min(max(t, 0.0), 1.0) * run for t in (above, below))
            box = self.box_of(min(x0, x1) - spare, row * self.step, max(x0, x1) + spare, last * self.step)
            if box is not None:
                yield slice(row, last), box[1]

    def box_of(self, left: float, top: float, right: float, bottom: float) -> Box | None:
        """The pixels that a rectangle touches; None if it is nowhere in the picture."""
        if not all(map(math.isfinite, (left, top, right, bottom))):
            return None
        rows, cols = self.pixels.shape[:2]
        x0, x1 = max(0, math.floor(left)), min(cols, math.ceil(right))
        y0 = max(0, math.floor(top / self.step))
        y1 = min(rows, math.ceil(bottom / self.step))
        return (slice(y0, y1), slice(x0, x1)) if x0 < x1 and y0 < y1 else None

    def _around(self, x: float, y: float, radius: float) -> Box | None:
        return self.box_of(x - radius, y - radius, x + radius, y + radius)

    def grid(self, box: Box) -> tuple[Floats32, Floats32]:
        """Middles of a box's pixels: ``x`` (1, columns) and ``y`` (rows, 1)."""
        return self._xs[None, box[1]], self._ys[box[0], None]

    def _distance(self, box: Box, x: float, y: float) -> Floats32:
        px, py = self.grid(box)
        return np.asarray(np.sqrt((px - x) ** 2 + (py - y) ** 2), np.float32)

    def _blend(self, box: Box, cover: NDArray[np.floating], light: Floats32) -> None:
        region = self.pixels[box]
        region += cover[..., None].astype(np.float32) * (light - region)


def _overlap(middles: Floats32, size: float, low: float, high: float) -> Floats32:
    """How much of each pixel (0 to 1) lies between ``low`` and ``high``, shape of ``middles``."""
    inside = np.minimum(middles + size / 2, high) - np.maximum(middles - size / 2, low)
    return np.asarray(np.clip(inside / size, 0, 1), np.float32)


def _inward(corners: Sequence[Place]) -> list[tuple[float, float, float]]:
    """A convex polygon's edges as ``(nx, ny, off)``: ``x nx + y ny - off`` is the depth inside."""
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in _edges(corners))
    found = []
    for (x0, y0), (x1, y1) in _edges(corners):
        size = math.copysign(math.hypot(x1 - x0, y1 - y0), area)
        if size:
            nx, ny = (y0 - y1) / size, (x1 - x0) / size
            found.append((nx, ny, x0 * nx + y0 * ny))
    return found


def _spans(
    lines: list[tuple[float, float, float]], rows: Floats32, cols: Floats32, level: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """For each row the columns (first, end) that lie at least ``level`` inside all the lines."""
    low = np.zeros(len(rows))
    high = np.full(len(rows), float(len(cols)))
    for nx, ny, off in lines:
        beyond = level + off - ny * rows.astype(float)
        if abs(nx) < 1e-9:
            high = np.where(beyond > 0, 0.0, high)
            continue
        at = beyond / nx - float(cols[0])  # columns from the first one
        if nx > 0:
            np.maximum(low, np.ceil(at), out=low)
        else:
            np.minimum(high, np.floor(at) + 1.0, out=high)
    first = np.clip(low, 0, len(cols)).astype(np.intp)
    return first, np.maximum(np.clip(high, 0, len(cols)).astype(np.intp), first)


def _between(
    outer: tuple[NDArray[np.intp], NDArray[np.intp]], inner: tuple[NDArray[np.intp], NDArray[np.intp]]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of the pixels in the outer spans and not in the inner ones."""
    empty = inner[1] <= inner[0]
    ends = np.where(empty, outer[1], inner[0])
    starts = np.where(empty, outer[1], inner[1])
    first = np.concatenate([outer[0], starts])
    count = np.maximum(np.concatenate([ends, outer[1]]) - first, 0)
    row = np.repeat(np.tile(np.arange(len(empty)), 2), count)
    skip = np.repeat(np.cumsum(count) - count, count)
    return row, np.repeat(first, count) + np.arange(count.sum()) - skip


def _edges(corners: Sequence[Place]) -> Iterator[tuple[Place, Place]]:
    return zip(corners, [*corners[1:], corners[0]], strict=True)
