"""Anti-aliased painting on a linear-light picture: discs, balls, rings, lines, convex shapes.

Coordinates are widths of a pixel, from the top left corner, ``x`` right and ``y`` down, and the same
length in both: where cells are not twice as high as wide a pixel is not square, and only this module
knows. Every shape is worked out in closed form, and only inside the box that holds it.
"""

import math
from collections.abc import Sequence
from copy import copy
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.pictures import raster
from trainer.pictures.colours import HIGHLIGHT, SHADOW, Colour, Floats32, linear
from trainer.pictures.raster import LEAST, Box, Cut, Indices, Place, Shares

# Toward the light, seen by the viewer: from above on the left, and in front.
LIGHT = (-0.419, -0.579, 0.699)
HALFWAY = (-0.227, -0.314, 0.922)  # midway between the light and the viewer
UNSEEN = 1e-3  # a share of the highlight, too small to see


class Oval(NamedTuple):
    """An ellipse ``p C p < 0`` on a picture.

    ``inside`` (rows, columns) of its box is how far a pixel's middle is inside the edge, ``depth`` is
    ``-p C p`` there.
    """

    box: Box
    inside: Floats32
    depth: Floats32


class Solid(NamedTuple):
    """What was painted with an outline that is to be seen clean, or, if not ``clean``, across such outlines.

    ``cover`` (rows, columns) of its box is how much of each pixel it covers.
    """

    box: Box
    cover: Shares
    clean: bool = True


class Canvas:
    """A picture of ``across`` x ``down`` pixels, each ``step`` times as high as wide.

    ``pixels`` is (down, across, 3) float32, linear light; ``width`` and ``height`` are in widths of a pixel.
    ``touched`` is a box that holds all that was painted since it was new or copied, ``solids`` are what an
    encoder must keep the outlines of.
    """

    def __init__(self, across: int, down: int, ground: Colour, step: float = 1.0) -> None:
        if across < 1 or down < 1:
            raise ValueError(f"a picture has at least 1 x 1 pixels, not {across} x {down}")
        self.step = step
        self.pixels = np.zeros((down, across, 3), np.float32)
        if any(ground):
            self._flat()[:] = _run(ground, across)
        self.touched: Box | None = None
        self.solids: list[Solid] = []
        self.width, self.height = float(across), down * step
        self._xs = np.arange(across, dtype=np.float32) + np.float32(0.5)
        self._ys = ((np.arange(down) + 0.5) * step).astype(np.float32)

    def copy(self, onto: "Canvas | None" = None) -> "Canvas":
        """A canvas with the same picture, to go on painting; ``onto`` one of the same size, if given.

        Memory that is used again and again is not asked back from the system each time, which takes longer
        than to fill it.
        """
        other = onto if onto is not None else copy(self)
        other.touched, other.solids = None, list(self.solids)
        if onto is None:
            other.pixels = self.pixels.copy()
        else:
            np.copyto(onto.pixels, self.pixels)
        return other

    def rectangle(self, left: float, top: float, right: float, bottom: float, c: Colour) -> None:
        """Fill an upright rectangle."""
        box = self.box_of(left, top, right, bottom)
        if box is None:
            return
        across = _overlap(self._xs[box[1]], 1.0, left, right)
        down = _overlap(self._ys[box[0]], self.step, top, bottom)
        # Only the rim needs blending: the inside is most of it.
        y0, x0 = box[0].start, box[1].start
        full_x, full_y = np.flatnonzero(across >= 1).tolist(), np.flatnonzero(down >= 1).tolist()
        if not full_x or not full_y:
            self._blend(box, np.outer(down, across), c)
            return
        x1, x2, y1, y2 = full_x[0], full_x[-1] + 1, full_y[0], full_y[-1] + 1
        self._flat()[y0 + y1 : y0 + y2, 3 * (x0 + x1) : 3 * (x0 + x2)] = _run(c, x2 - x1)
        parts = [
            (slice(0, y1), slice(0, len(across))),
            (slice(y2, len(down)), slice(0, len(across))),
            (slice(y1, y2), slice(0, x1)),
            (slice(y1, y2), slice(x2, len(across))),
        ]
        for rows, cols in parts:
            part = slice(y0 + rows.start, y0 + rows.stop), slice(x0 + cols.start, x0 + cols.stop)
            self._blend(part, np.outer(down[rows], across[cols]), c)

    def convex(self, corners: Sequence[Place], colour: Colour, opacity: float = 1.0) -> None:
        """Fill a convex polygon, whichever way round its corners go."""
        self.convexes([(corners, colour)], opacity)

    def convexes(self, polygons: Sequence[tuple[Sequence[Place], Colour]], opacity: float = 1.0) -> None:
        """Fill convex polygons, one over the other."""
        cuts = self._cut([corners for corners, _ in polygons], whole=opacity == 1.0)
        for cut, (_, colour) in zip(cuts, polygons, strict=True):
            if cut is not None:
                self._fill(cut.starts, cut.ends, colour)
                self._blend_some(cut.box, cut.place, cut.share * opacity, colour)

    def _cut(
        self, polygons: Sequence[Sequence[Place]], whole: bool, strips: bool = False
    ) -> list[Cut | None]:
        """The pixels of convex polygons, see :func:`~trainer.pictures.raster.cut`."""
        boxes, spare = [], max(1.0, self.step)
        for corners in polygons:
            xs, ys = zip(*corners, strict=True)
            boxes.append(self.box_of(min(xs) - 1, min(ys) - spare, max(xs) + 1, max(ys) + spare))
        return raster.cut(polygons, boxes, self.step, self.pixels.shape[1], whole, strips)

    def ellipse(
        self, conic: NDArray[np.float64], colour: Colour, opacity: float = 1.0, width: float | None = None
    ) -> None:
        """Fill an ellipse: where ``p C p < 0`` for ``p = (x, y, 1)`` and the symmetric C, (3, 3).

        With a ``width`` only a line so wide along its edge is painted.
        """
        oval = self.oval(conic, width or 0.0)
        if oval is not None:
            inside = oval.inside if width is None else width / 2 - np.abs(oval.inside)
            cover = np.clip(inside + 0.5, 0, min(1.0, width or 1.0))
            self._blend(oval.box, cover * opacity, colour)
            if width is not None:
                self.solids.append(Solid(oval.box, cover, clean=False))

    def oval(self, conic: NDArray[np.float64], spare: float = 0.0) -> "Oval | None":
        """An ellipse's pixels, and ``spare`` room about it; None where nothing of it is in the picture."""
        if (found := self._round_middle(conic, spare + 1.0)) is None:
            return None
        box, form, gx, gy, depth = found
        # 1 at the edge: what its root is from that, over the root's own slope, is the distance to the edge.
        root = np.sqrt(form)
        inside = (1.0 - root) * root / np.maximum(np.sqrt(gx * gx + gy * gy), np.float32(LEAST))
        return Oval(box, np.asarray(inside, np.float32), np.asarray(depth * (1.0 - form), np.float32))

    def _round_middle(
        self, conic: NDArray[np.float64], spare: float = 0.0
    ) -> tuple[Box, Floats32, Floats32, Floats32, float] | None:
        """An ellipse's box with ``spare`` room, its form there, half the form's slopes, its middle's depth.

        The form is 0 in its middle and 1 at its edge. None where nothing of it is in the picture.
        """
        (a, b, d), (_, c, e), (_, _, f) = conic.tolist()
        size = a * c - b * b
        x, y = (b * e - c * d) / size, (b * d - a * e) / size
        depth = -(d * x + e * y + f)
        wide, high = (math.sqrt(max(k * depth / size, 0.0)) + spare for k in (c, a))
        box = self.box_of(x - wide, y - high, x + wide, y + high)
        if box is None:
            return None
        px, py = self.grid(box)
        # Round its middle, so that single precision keeps its digits.
        dx, dy = px - np.float32(x), py - np.float32(y)
        gx, gy = (a / depth) * dx + (b / depth) * dy, (b / depth) * dx + (c / depth) * dy
        return box, dx * gx + dy * gy, gx, gy, depth

    def disc(self, x: float, y: float, radius: float, colour: Colour, opacity: float = 1.0) -> None:
        """Fill a circle with one colour."""
        box = self._around(x, y, radius + 1)
        if box is not None:
            cover = np.clip(radius + 0.5 - self._distance(box, x, y), 0, min(1.0, 2 * radius))
            self._blend(box, cover * opacity, colour)

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
        lit, gleam = (nx * to[0] + ny * to[1] + nz * to[2] for to in (LIGHT, HALFWAY))
        self.shade(box, cover, lit, gleam, radius, colour, opacity)

    def shade(
        self,
        box: Box,
        cover: Shares,
        lit: Shares,
        gleam: Shares,
        radius: float,
        c: Colour,
        opacity: float = 1.0,
    ) -> None:
        """Light a ball's pixels: by how far they face ``LIGHT`` and ``HALFWAY``, cosines (rows, columns).

        ``cover`` (rows, columns) is how much of each pixel the ball covers, ``radius`` its size in the
        picture.
        """
        # Shade tells roundness only where there is room to see it; a small ball stays bright.
        depth = min(1.0, radius / 12.0)
        tone = np.float32(1.0 - 0.66 * depth) + np.float32(0.74 * depth) * np.maximum(lit, 0)
        sharp = min(max(2.0 * radius, 12.0), 60.0)
        white = np.zeros_like(tone)
        # A power takes long: only where something of it can be seen.
        np.power(gleam, np.float32(sharp), out=white, where=gleam > UNSEEN ** (1.0 / sharp))
        white *= np.float32(0.75 * depth)
        light = np.repeat(tone * (1 - white), 3, axis=1) * _run(c, tone.shape[1])
        light += np.repeat(white, 3, axis=1) * _run(HIGHLIGHT, tone.shape[1])
        self._mix(box, cover * opacity, light)
        self.solids.append(Solid(box, cover))

    def shadow(self, x: float, y: float, across: float, down: float, darkness: float) -> None:
        """Darken an ellipse with half-axes ``across`` and ``down``, most in its middle."""
        wide, high = across**-2, down**-2
        conic = [[wide, 0.0, -x * wide], [0.0, high, -y * high], [-x * wide, -y * high, 0.0]]
        conic[2][2] = x * x * wide + y * y * high - 1.0
        self.shade_off(np.array(conic), darkness)

    def shade_off(self, conic: NDArray[np.float64], darkness: float) -> None:
        """Darken an ellipse, of the form of :meth:`ellipse`: most in its middle, and no edge anywhere.

        With ``f`` from 1 in the middle to 0 at its rim the darkness is ``f^2 (3 - 2 f)``, level at both ends.
        """
        if (found := self._round_middle(conic)) is None:
            return
        box, form = found[:2]
        fade = np.maximum(1.0 - form, 0.0)
        self._mix(box, (darkness * fade * fade * (3.0 - 2.0 * fade)), _run(SHADOW, form.shape[1]))

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
        self._blend(box, cover * opacity, colour)
        self.solids.append(Solid(box, cover, clean=False))

    def line(
        self, start: Place, end: Place, width: float, colour: Colour, opacity: float = 1.0, dash: float = 0.0
    ) -> None:
        """A straight line of constant width; ``dash`` as in :meth:`ring`."""
        self.path([start, end], width, colour, opacity, dash)

    def path(
        self,
        points: Sequence[Place],
        width: float,
        colour: Colour,
        opacity: float = 1.0,
        dash: float = 0.0,
        clean: bool = False,
    ) -> None:
        """Straight lines from point to point; dashes run on through the corners; ``clean`` as of a solid."""
        strips = raster.strips_of(points, width, dash, (self.width, self.height))
        cuts = [cut for cut in self._cut(strips, whole=False, strips=True) if cut is not None]
        if not cuts:
            return
        for cut in cuts:
            self._touch(cut.box)
        place, index = np.unique(np.concatenate([cut.place for cut in cuts]), return_inverse=True)
        share = np.minimum(np.bincount(index, np.concatenate([cut.share for cut in cuts])), 1.0)
        self._blend_some(cuts[0].box, place, share * opacity, colour)
        if clean:
            row, col = np.divmod(place, self.pixels.shape[1])
            cover = np.zeros((np.ptp(row) + 1, np.ptp(col) + 1), np.float32)
            cover[row - row.min(), col - col.min()] = share
            rows, cols = (slice(int(at.min()), int(at.max()) + 1) for at in (row, col))
            self.solids.append(Solid((rows, cols), cover))

    def box_of(self, left: float, top: float, right: float, bottom: float) -> Box | None:
        """The pixels that a rectangle touches; None if it is nowhere in the picture."""
        if not all(map(math.isfinite, (left, top, right, bottom))):
            return None
        rows, cols = self.pixels.shape[:2]
        x0, x1 = max(0, math.floor(left)), min(cols, math.ceil(right))
        y0 = max(0, math.floor(top / self.step))
        y1 = min(rows, math.ceil(bottom / self.step))
        return (slice(y0, y1), slice(x0, x1)) if x0 < x1 and y0 < y1 else None

    def paste(self, other: "Canvas", corner: tuple[int, int]) -> None:
        """Lay another picture over a part of this one; its top left corner comes to pixel (row, column)."""
        (row, col), (rows, cols) = corner, other.pixels.shape[:2]
        self.pixels[row : row + rows, col : col + cols] = other.pixels
        for (down, across), cover, clean in other.solids:
            box = slice(down.start + row, down.stop + row), slice(across.start + col, across.stop + col)
            self.solids.append(Solid(box, cover, clean))

    def veil(self, other: "Canvas", cover: "Canvas", corner: tuple[int, int], opacity: float) -> None:
        """Bring ``other``'s picture over this one, where ``cover`` is white.

        ``cover`` is a part of the picture whose top left corner lies on pixel ``corner`` (row, column).
        """
        if cover.touched is not None:
            rows, cols = (slice(c + t.start, c + t.stop) for c, t in zip(corner, cover.touched, strict=True))
            here = self.pixels[rows, cols]
            here += opacity * cover.pixels[cover.touched] * (other.pixels[rows, cols] - here)

    def _touch(self, box: Box) -> None:
        (rows, cols), (more, wide) = self.touched or box, box
        self.touched = (
            slice(min(rows.start, more.start), max(rows.stop, more.stop)),
            slice(min(cols.start, wide.start), max(cols.stop, wide.stop)),
        )

    def _around(self, x: float, y: float, radius: float) -> Box | None:
        return self.box_of(x - radius, y - radius, x + radius, y + radius)

    def grid(self, box: Box) -> tuple[Floats32, Floats32]:
        """Middles of a box's pixels: ``x`` (1, columns) and ``y`` (rows, 1)."""
        return self._xs[None, box[1]], self._ys[box[0], None]

    def _distance(self, box: Box, x: float, y: float) -> Floats32:
        px, py = self.grid(box)
        return np.asarray(np.sqrt((px - x) ** 2 + (py - y) ** 2), np.float32)

    def _flat(self) -> Floats32:
        """The picture with the three lights of its pixels side by side: one row is one run in memory."""
        rows, cols = self.pixels.shape[:2]
        return self.pixels.reshape(rows, 3 * cols)

    def _mix(self, box: Box, cover: Shares, light: Floats32) -> None:
        """Lay ``light`` (flat: rows, 3 columns; or the same for each row) over a box."""
        self._touch(box)
        region = self._flat()[box[0], 3 * box[1].start : 3 * box[1].stop]
        region += np.repeat(cover.astype(np.float32, copy=False), 3, axis=1) * (light - region)

    def _blend(self, box: Box, cover: Shares, colour: Colour) -> None:
        self._mix(box, cover, _run(colour, cover.shape[1]))

    def _fill(self, first: Sequence[int], end: Sequence[int], colour: Colour) -> None:
        """Lay a colour over runs of pixels, counted from the top left corner row by row."""
        light, pixels = _run(colour, self.pixels.shape[1]), self.pixels.reshape(-1)
        # Slices of memory are copied with half the ado of slices of arrays.
        source, memory = memoryview(light.data), memoryview(pixels.data)
        for a, b in zip(first, end, strict=True):
            memory[3 * a : 3 * b] = source[: 3 * (b - a)]

    def _blend_some(self, box: Box, place: Indices, cover: Shares, colour: Colour) -> None:
        """Lay a colour over some pixels of a box, each named once and counted as in :meth:`_fill`."""
        self._touch(box)
        pixels = self.pixels.reshape(-1, 3)
        here = pixels.take(place, axis=0)
        here += cover.astype(np.float32, copy=False)[:, None] * (_run(colour, 1) - here)
        pixels[place] = here


def _run(colour: Colour, count: int) -> Floats32:
    """The light of so many pixels of a colour, side by side, (3 * count,)."""
    return _long_run(colour, 1 << max(count - 1, 0).bit_length())[: 3 * count]


@lru_cache(maxsize=128)
def _long_run(colour: Colour, count: int) -> Floats32:
    return np.tile(linear(colour), count)


def _overlap(middles: Floats32, size: float, low: float, high: float) -> Floats32:
    """How much of each pixel (0 to 1) lies between ``low`` and ``high``, shape of ``middles``."""
    inside = np.minimum(middles + size / 2, high) - np.maximum(middles - size / 2, low)
    return np.asarray(np.clip(inside / size, 0, 1), np.float32)
