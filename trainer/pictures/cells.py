"""Terminal cells: one glyph, its ink and its paper; and the bytes that show them."""

import sys
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.colours import Colour
from trainer.pictures.depth import Depth, blocks, points, reduced

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
    block = blocks(glyphs[here])
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


def ansi(cells: Cells, colours: Depth = Depth.TRUE) -> str:
    """The lines that show the cells on a terminal with so many colours.

    Exactly as many lines as rows, joined by a newline; each ends with a reset. Colours are said
    only where they change, and a space doesn't need ink. With no colours there are glyphs alone,
    and nothing to reset.
    """
    shown = reduced(cells, colours)
    rows, cols = shown.glyphs.shape
    text = shown.glyphs.astype("<U1").tobytes().decode(f"utf-32-{sys.byteorder[0]}e")
    if colours is Depth.NONE:
        return "\n".join(text[r * cols : (r + 1) * cols] for r in range(rows))
    paper = shown.paper
    # A space keeps the ink before it, so that blank stretches don't break a run.
    source = np.where(points(shown.glyphs) == ord(" "), 0, np.arange(cols))
    ink = np.take_along_axis(shown.ink, np.maximum.accumulate(source, axis=1), axis=1)
    new_ink, new_paper = np.ones((2, rows, cols), bool)
    np.not_equal(ink[:, 1:], ink[:, :-1], out=new_ink[:, 1:])
    np.not_equal(paper[:, 1:], paper[:, :-1], out=new_paper[:, 1:])
    starts = np.flatnonzero(new_ink | new_paper)
    ends = [*starts[1:].tolist(), rows * cols]
    # What a run begins with: 1 new ink, 2 new paper, 3 both.
    news = (new_ink.ravel()[starts] + 2 * new_paper.ravel()[starts]).tolist()
    inks, papers = ink.ravel()[starts].tolist(), paper.ravel()[starts].tolist()
    ink_code, paper_code = _CODES[colours]
    parts = []
    for start, end, new, front, back in zip(starts.tolist(), ends, news, inks, papers, strict=True):
        if new == 1:
            codes = ink_code(front)
        elif new == 2:
            codes = paper_code(back)
        else:
            codes = f"{ink_code(front)};{paper_code(back)}"
            if start and start % cols == 0:
                parts.append(RESET + "\n")
        parts.append(f"\x1b[{codes}m{text[start:end]}")
    return "".join(parts) + RESET


@lru_cache(maxsize=1 << 14)
def _true_ink(colour: int) -> str:
    return f"38;2;{colour >> 16};{colour >> 8 & 255};{colour & 255}"


@lru_cache(maxsize=1 << 14)
def _true_paper(colour: int) -> str:
    return f"48;2;{colour >> 16};{colour >> 8 & 255};{colour & 255}"


# The codes that choose an ink and a paper.
_CODES: dict[Depth, tuple[Callable[[int], str], Callable[[int], str]]] = {
    Depth.TRUE: (_true_ink, _true_paper),
    Depth.MANY: (
        [f"38;5;{n}" for n in range(256)].__getitem__,
        [f"48;5;{n}" for n in range(256)].__getitem__,
    ),
    Depth.FEW: (
        [str(n + (30 if n < 8 else 82)) for n in range(16)].__getitem__,
        [str(n + (40 if n < 8 else 92)) for n in range(16)].__getitem__,
    ),
}
