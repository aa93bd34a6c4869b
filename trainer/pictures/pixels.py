"""A picture in a terminal's own pixels, as it is shown: pixels, and cells with text over them."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.cells import Cells
from trainer.pictures.colours import encode
from trainer.pictures.painted import Painted, Text
from trainer.pictures.projection import Viewport
from trainer.pictures.reduced import Reduced, reduced, rows
from trainer.pictures.terminal import Depth

Bytes = NDArray[np.uint8]
MOST_PIXELS = 3840 * 2160  # of a picture: while it is drawn each takes about 80 bytes


class Stretch(NamedTuple):
    """Cells of a row, from column ``start`` to before ``end``."""

    row: int
    start: int
    end: int


@dataclass(frozen=True, eq=False)
class PixelPicture:
    """A picture in pixels.

    ``pixels`` (rows * down, columns * across, 3) are sRGB bytes, ``cell`` is (across, down). ``written`` are
    the cells over it: a glyph where something is written, "" where pixels are seen.
    """

    pixels: Bytes
    cell: tuple[int, int]
    written: Reduced

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        down, across = self.written.glyphs.shape
        return across, down


def cell_drawn(cell: tuple[int, int] | None, size: tuple[int, int], scales: bool) -> tuple[int, int] | None:
    """The pixels (across, down) that are drawn for each cell of a picture of so many columns and rows.

    Where all of them would be too many, fewer if the terminal ``scales``, else none.
    """
    if cell is None:
        return None
    most = MOST_PIXELS / (size[0] * size[1])
    if cell[0] * cell[1] <= most:
        return cell
    by = math.sqrt(cell[0] * cell[1] / most)
    across, down = int(cell[0] / by), int(cell[1] / by)
    return (across, down) if scales and across and down else None


class Way(Protocol):
    """How a picture in pixels comes to a terminal."""

    scales: bool  # whether the terminal stretches a picture to its cells

    def can_show(self, size: tuple[int, int]) -> bool:
        """Whether a picture of so many columns and rows can be shown."""
        ...

    def brought(self, before: PixelPicture | None, after: PixelPicture) -> str:
        """What is sent beside its cells so that it can be shown, after another or None."""
        ...

    def removed(self) -> str:
        """What is sent when it is shown no more."""
        ...

    def stretches(self, before: PixelPicture, after: PixelPicture) -> list[Stretch]:
        """The cells that are to be written again."""
        ...

    def run(self, picture: PixelPicture, y: int, start: int, end: int) -> str:
        """What shows the pixels of some cells of a row; the cursor stands behind them then."""
        ...


def pixelled(painted: Painted, viewport: Viewport, depth: Depth) -> PixelPicture:
    """A painted picture that fills a viewport, its text in the colours that a terminal of this depth has."""
    columns, down = viewport.size
    written = Reduced(
        np.full((down, columns), "", "<U1"),
        np.zeros((down, columns), np.int32),
        np.zeros((down, columns), np.int32),
        depth,
    )
    for text in painted.texts:
        first, last = max(text.column, 0), min(text.column + len(text.text), columns)
        if not 0 <= text.row < down or first >= last:
            continue
        there = reduced(_over(painted, viewport, text, first, last), depth)
        here = text.row, slice(first, last)
        written.glyphs[here], written.ink[here], written.paper[here] = there.glyphs, there.ink, there.paper
    return PixelPicture(encode(painted.canvas.pixels, fine=True), viewport.cell, written)


def _over(painted: Painted, viewport: Viewport, text: Text, first: int, last: int) -> Cells:
    """The cells of a text from one column to before another; without a ground on the mean of the pixels."""
    (across, down), wide = viewport.cell, last - first
    glyphs = np.array([list(text.text[first - text.column : last - text.column])], "<U1")
    paper = np.empty((1, wide, 3), np.uint8)
    if text.ground is not None:
        paper[:] = text.ground
    else:
        rows_there = slice(text.row * down, (text.row + 1) * down)
        there = painted.canvas.pixels[rows_there, first * across : last * across]
        paper[0] = encode(there.reshape(down, wide, across, 3).mean(axis=(0, 2)))
    return Cells(glyphs, np.broadcast_to(np.array(text.ink, np.uint8), paper.shape), paper)


def texts_that_differ(before: PixelPicture, after: PixelPicture) -> list[Stretch]:
    """The cells whose text differs, a stretch of each row."""
    one, other = before.written, after.written
    differs = np.logical_or.reduce(
        [one.glyphs != other.glyphs, one.ink != other.ink, one.paper != other.paper]
    )
    return stretches(differs)


def stretches(cells: NDArray[np.bool_]) -> list[Stretch]:
    """Of each row that has cells (rows, columns) that are set, from the first of them to the last."""
    found = []
    for y in np.flatnonzero(cells.any(axis=1)).tolist():
        x = np.flatnonzero(cells[y])
        found.append(Stretch(y, int(x[0]), int(x[-1]) + 1))
    return found


def shown_row(
    picture: PixelPicture, y: int, start: int, end: int, run: Callable[[PixelPicture, int, int, int], str]
) -> str:
    """What shows the cells of a row, from column ``start`` to before ``end``; ``run`` as in :class:`Way`."""
    is_text = picture.written.glyphs[y, start:end] != ""
    changes = (np.flatnonzero(is_text[1:] != is_text[:-1]) + 1 + start).tolist()
    parts = []
    for a, b in pairwise([start, *changes, end]):
        if is_text[a - start]:
            parts += rows(picture.written.part(slice(y, y + 1), slice(a, b)))
        else:
            parts.append(run(picture, y, a, b))
    return "".join(parts)
