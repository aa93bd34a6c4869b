"""Terminal cells: one glyph, its ink and its paper."""

import unicodedata
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.colours import Colour
from trainer.pictures.glyphs import blocks


@dataclass(frozen=True, eq=False)
class Cells:
    """A picture in cells.

    ``glyphs`` (rows, cols) of one character each; ``ink`` and ``paper`` (rows, cols, 3), sRGB bytes:
    the colour of the glyph and of what is behind it.
    """

    glyphs: NDArray[np.str_]
    ink: NDArray[np.uint8]
    paper: NDArray[np.uint8]

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        rows, cols = self.glyphs.shape
        return cols, rows

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Cells):
            return NotImplemented
        return (
            np.array_equal(self.glyphs, other.glyphs)
            and np.array_equal(self.ink, other.ink)
            and np.array_equal(self.paper, other.paper)
        )

    __hash__ = None  # type: ignore[assignment]


def write(cells: Cells, row: int, col: int, text: str, ink: Colour, ground: Colour | None = None) -> Cells:
    """Cells with ``text`` on them from (row, col) on, on ``ground``, or else on the paper that is there.

    A cell of two colours becomes their mean first: text wants a plain ground. What falls outside
    is left out.

    Raises
    ------
    ValueError
        For a character that isn't exactly one printable cell wide.
    """
    for character in text:
        if not _is_one_cell(character):
            raise ValueError(f"{character!r} isn't one printable cell wide")
    cols, rows = cells.size
    first, last = max(col, 0), min(col + len(text), cols)
    if not 0 <= row < rows or first >= last:
        return cells
    glyphs, inks, paper = cells.glyphs.copy(), cells.ink.copy(), cells.paper.copy()
    here = (row, slice(first, last))
    block = blocks(glyphs[here])
    mean = (inks[here].astype(np.int32) + paper[here]) // 2
    paper[here] = np.where(block[:, None], mean, paper[here]) if ground is None else ground
    glyphs[here] = list(text[first - col : last - col])
    inks[here] = ink
    return Cells(glyphs, inks, paper)


def _is_one_cell(character: str) -> bool:
    return (
        character.isprintable()
        and unicodedata.category(character)[0] != "M"
        and unicodedata.east_asian_width(character) not in "WF"
    )
