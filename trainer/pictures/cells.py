"""Terminal cells: one glyph, its ink and its paper; and the bytes that show them."""

import unicodedata
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.colours import Colour

RESET = "\x1b[0m"


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


def write(cells: Cells, row: int, col: int, text: str, ink: Colour) -> Cells:
    """Cells with ``text`` on them from (row, col) on, on the paper that is there.

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
    block = (glyphs[here] >= "\u2580") & (glyphs[here] <= "\u259f")
    block |= (glyphs[here] >= "\U0001fb00") & (glyphs[here] <= "\U0001fb6f")
    mean = (inks[here].astype(np.int32) + paper[here]) // 2
    paper[here] = np.where(block[:, None], mean, paper[here])
    glyphs[here] = list(text[first - col : last - col])
    inks[here] = ink
    return Cells(glyphs, inks, paper)


def _is_one_cell(character: str) -> bool:
    return (
        character.isprintable()
        and unicodedata.category(character)[0] != "M"
        and unicodedata.east_asian_width(character) not in "WF"
    )


def ansi(cells: Cells) -> str:
    """The lines that show the cells on a truecolor terminal.

    Exactly as many lines as rows, joined by a newline; each ends with a reset. Colours are said
    only where they change, and a space doesn't need ink.
    """
    rows, cols = cells.glyphs.shape
    ink, paper = _packed(cells.ink), _packed(cells.paper)
    # A space keeps the ink before it, so that blank stretches don't break a run.
    needs = cells.glyphs != " "
    source = np.where(needs, np.arange(cols), 0)
    ink = np.take_along_axis(ink, np.maximum.accumulate(source, axis=1), axis=1)
    new_ink, new_paper = np.ones((2, rows, cols), bool)
    new_ink[:, 1:] = ink[:, 1:] != ink[:, :-1]
    new_paper[:, 1:] = paper[:, 1:] != paper[:, :-1]
    starts = new_ink | new_paper
    lines = []
    for r in range(rows):
        at = np.flatnonzero(starts[r]).tolist()
        line = "".join(cells.glyphs[r].tolist())
        parts = []
        for start, end in zip(at, [*at[1:], cols], strict=True):
            codes = []
            if new_ink[r, start]:
                codes.append("38;2;" + _unpacked(int(ink[r, start])))
            if new_paper[r, start]:
                codes.append("48;2;" + _unpacked(int(paper[r, start])))
            parts.append(f"\x1b[{';'.join(codes)}m{line[start:end]}")
        lines.append("".join(parts) + RESET)
    return "\n".join(lines)


def _packed(colours: NDArray[np.uint8]) -> NDArray[np.int32]:
    wide = colours.astype(np.int32)
    return wide[..., 0] << 16 | wide[..., 1] << 8 | wide[..., 2]


def _unpacked(colour: int) -> str:
    return f"{colour >> 16};{colour >> 8 & 255};{colour & 255}"
