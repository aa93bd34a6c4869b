"""Scan conversion: which pixels lie between straight lines, and lines of some width as thin strips.

What is worked out is worked out for many convex shapes at once, row by row. A line is ``(nx, ny, off)`` with
``(nx, ny)`` of length one: ``x nx + y ny - off`` is how deep a place lies inside it. A shape is what lies
inside all its lines.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Place = tuple[float, float]
Line = tuple[float, float, float]
Floats = NDArray[np.floating]
Indices = NDArray[np.intp]

Box = tuple[slice, slice]
Shares = NDArray[np.floating]

LEAST = 1e-9  # a slope too small to divide by


class Cut(NamedTuple):
    """A shape's pixels, counted from the top left corner row by row.

    Whole runs of them, and the ``place`` of each other one with the share of it that is inside.
    """

    box: Box
    starts: list[int]
    ends: list[int]
    place: Indices
    share: Shares


def inward(corners: Sequence[Place]) -> list[Line]:
    """A convex polygon's lines, whichever way round its corners go."""
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in _edges(corners))
    found = []
    for (x0, y0), (x1, y1) in _edges(corners):
        size = math.copysign(math.hypot(x1 - x0, y1 - y0), area)
        if size:
            nx, ny = (y0 - y1) / size, (x1 - x0) / size
            found.append((nx, ny, x0 * nx + y0 * ny))
    return found


def _edges(corners: Sequence[Place]) -> Iterator[tuple[Place, Place]]:
    return zip(corners, [*corners[1:], corners[0]], strict=True)


def stretched(first: Indices, end: Indices) -> tuple[Indices, Indices]:
    """Every whole number from ``first`` to before ``end``, (n,): whose it is, and the number."""
    count = np.maximum(end - first, 0)
    which = np.repeat(np.arange(len(count)), count)
    return which, np.arange(len(which)) + (first - (np.cumsum(count) - count))[which]


def spans(
    lines: Floats, y: Floats, low: Indices, high: Indices, levels: Sequence[float]
) -> list[tuple[Indices, Indices]]:
    """For each level, where rows are at least so deep inside their lines: first column, and the end.

    ``lines`` (3, k, rows), ``y`` (rows,); ``low`` and ``high`` (rows,) bound the columns, whose middles are
    at column + 1/2. A row with nothing inside has its first column as its end.
    """
    nx, ny, off = lines
    nx = np.where(abs(nx) > LEAST, nx, LEAST)
    at, left = (off - ny * y) / nx - 0.5, nx > 0
    found = []
    for level in levels:
        bound = at + level / nx
        first = np.maximum(np.where(left, bound, -np.inf).max(axis=0), low)
        end = np.minimum(np.where(left, np.inf, bound).min(axis=0) + 1.0, high)
        first = np.minimum(np.ceil(first), high).astype(np.intp)
        found.append((first, np.maximum(np.floor(end).astype(np.intp), first)))
    return found


def depths(lines: Floats, x: Floats, y: Floats) -> Floats:
    """How deep places (n,) lie inside all their lines (3, k, n)."""
    nx, ny, off = lines
    return np.asarray((nx * x + ny * y - off).min(axis=0))


def clipped(share: Floats, most: Floats | float = 1.0) -> Floats:
    """A share of a pixel, from 0 to ``most``."""
    return np.minimum(np.maximum(share, 0.0), most)


def cut(
    polygons: Sequence[Sequence[Place]],
    boxes: Sequence[Box | None],
    step: float,
    across: int,
    whole: bool,
    strips: bool = False,
) -> list[Cut | None]:
    """The pixels of convex polygons; None for one that is nowhere in the picture, and so has no box.

    A pixel is ``step`` times as high as wide, and ``across`` of them are a row. Without ``whole`` there are
    no runs, and each pixel has its share. ``strips`` have sides and ends by turns, and where the end of one
    is the start of the next their shares add up to that of one strip.

    What is worked out row by row and pixel by pixel is worked out for all of them together.
    """
    found: list[Cut | None] = [None] * len(polygons)
    shapes: list[tuple[int, Box, list[Line]]] = []
    for k, (corners, box) in enumerate(zip(polygons, boxes, strict=True)):
        # In pixels both ways, so that an edge is as soft as a pixel is large.
        edges = inward([(x, y / step) for x, y in corners]) if box is not None else []
        if box is not None and edges:
            shapes.append((k, box, edges))
    if not shapes:
        return found
    most = max(len(edges) for _, _, edges in shapes)
    lines = np.array([edges + edges[-1:] * (most - len(edges)) for _, _, edges in shapes]).T
    y0, y1, x0, x1 = np.array([[b[0].start, b[0].stop, b[1].start, b[1].stop] for _, b, _ in shapes]).T
    shape, row = stretched(y0, y1)
    rim, inside = spans(lines.take(shape, axis=2), row + 0.5, x0[shape], x1[shape], (-0.5, 0.5))
    full = (inside[0] < inside[1]) & whole
    first, end = (np.where(full, bound, rim[1]) for bound in inside)
    side, col = stretched(np.stack([rim[0], end], 1).ravel(), np.stack([first, rim[1]], 1).ravel())
    fully, partly, wide = shape[full], shape[side // 2], across
    starts, ends = ((bound + row * wide)[full] for bound in (first, end))
    row = row[side // 2]
    own, x, y = lines.take(partly, axis=2), col + 0.5, row + 0.5
    if strips:
        share = np.multiply(*(clipped(depths(own[:, k::2], x, y) + 0.5) for k in (0, 1)))
    else:
        share = clipped(depths(own, x, y) + 0.5)
    place = row * wide + col
    owns = [np.searchsorted(own, np.arange(len(shapes) + 1)).tolist() for own in (fully, partly)]
    for (k, box, _), a, b in zip(shapes, *(map(slice, own, own[1:]) for own in owns), strict=True):
        found[k] = Cut(box, starts[a].tolist(), ends[a].tolist(), place[b], share[b])
    return found


def strips_of(points: Sequence[Place], width: float, dash: float, room: Place) -> list[list[Place]]:
    """The strips of a line from point to point, as far as they may be in a room (width, height).

    A strip's four corners go along one side, across, back along the other side and across. ``dash`` is the
    length of a dash and of a gap, 0 for none; dashes run on through the corners of the line.
    """
    gone, strips = 0.0, []
    around = -width, -width, room[0] + width, room[1] + width
    for (x, y), end in pairwise(points):
        run = math.hypot(end[0] - x, end[1] - y)
        if not 0 < run < math.inf:
            continue
        wx, wy = (end[0] - x) / run, (end[1] - y) / run
        aside = -wy * width / 2, wx * width / 2
        for a, b in _dashes(gone, run, dash, _within((x, y), (wx, wy), run, around)):
            ends = (x + a * wx, y + a * wy), (x + b * wx, y + b * wy)
            strips.append([(p + k * aside[0], q + k * aside[1]) for k in (1, -1) for p, q in ends[::k]])
        gone += run
    return strips


def _within(start: Place, way: Place, run: float, room: tuple[float, float, float, float]) -> Place:
    """The part of a line, from and to how far along it, that is in a room (left, top, right, bottom)."""
    first, last = 0.0, run
    for at, step, low, high in zip(start, way, room[:2], room[2:], strict=True):
        if abs(step) > LEAST:
            one, other = sorted(((low - at) / step, (high - at) / step))
            first, last = max(first, one), min(last, other)
        elif not low < at < high:
            return 0.0, 0.0
    return first, last


def part_within(
    start: Place, end: Place, room: tuple[float, float, float, float]
) -> tuple[Place, Place] | None:
    """The part of a line that is in a room (left, top, right, bottom); None where nothing is."""
    run = math.dist(start, end)
    if not 0 < run < math.inf:
        return None
    wx, wy = (end[0] - start[0]) / run, (end[1] - start[1]) / run
    first, last = _within(start, (wx, wy), run, room)
    if first >= last:
        return None
    return (start[0] + first * wx, start[1] + first * wy), (start[0] + last * wx, start[1] + last * wy)


def _dashes(gone: float, run: float, dash: float, seen: Place) -> Iterator[Place]:
    """The painted parts of what is seen of a line; dashes are counted from ``gone`` before its start."""
    if dash <= 0:
        if seen[0] < seen[1]:
            yield 0.0, run
        return
    first = math.floor((seen[0] + gone) / (2 * dash))
    last = math.ceil((seen[1] + gone) / (2 * dash))
    for k in range(first, last):
        a, b = max(2 * k * dash - gone, 0.0), min((2 * k + 1) * dash - gone, run)
        if a < b:
            yield a, b
