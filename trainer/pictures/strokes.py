"""Lines of some width as thin convex strips, whole or dashed."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from trainer.pictures.spans import LEAST, Place


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
