"""A row of a picture on its way to the terminal: text that is ready, and segments only for who asks.

Textual makes a terminal's text out of styled segments, and most rows of a picture have dozens. But all
that it does with a row, as a rule, is to cut it where another widget lies over it and to write it out; so
a row does these two by itself. Whatever else is asked of it (a screenshot, a style laid over it), it makes
the segments first and then is a strip like any other.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
from rich.color import Color
from rich.color_triplet import ColorTriplet
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from trainer.pictures.ansi import rows
from trainer.pictures.depth import Depth
from trainer.pictures.reduced import Reduced


class Row(Strip):
    """The cells of row ``y`` of a picture from column ``start`` to before ``end``.

    ``ready`` is their text, if that is made already.
    """

    __slots__ = ("_end", "_ready", "_shown", "_start", "_y")

    def __init__(self, shown: Reduced, y: int, start: int, end: int, ready: str | None = None) -> None:
        # Nothing of a strip's own yet: see __getattr__.
        self._shown, self._y, self._start, self._end, self._ready = shown, y, start, end, ready

    def __getattr__(self, name: str) -> object:
        """What a strip has of its own is made when it is first asked for."""
        if name in Row.__slots__:
            raise AttributeError(name)
        super().__init__(segments(self._cells), self.cell_length)
        return super().__getattribute__(name)

    @property
    def _cells(self) -> Reduced:
        return self._shown.part(slice(self._y, self._y + 1), slice(self._start, self._end))

    @property
    def cell_length(self) -> int:
        """Cells: one a glyph."""
        return self._end - self._start

    @property
    def text(self) -> str:
        """The glyphs."""
        return "".join(self._cells.glyphs[0].tolist())

    def render(self, console: Console) -> str:
        """The text for the terminal, whatever the console would make of segments."""
        if self._ready is None:
            self._ready = rows(self._cells)[0]
        return self._ready

    def crop(self, start: int, end: int | None = None) -> Strip:
        """The cells from ``start`` to before ``end``."""
        start = self._start + max(start, 0)
        end = self._end if end is None else min(self._start + end, self._end)
        if (start, end) == (self._start, self._end):
            return self
        return Row(self._shown, self._y, start, end) if start < end else Strip([], 0)

    def divide(self, cuts: Iterable[int]) -> Sequence[Strip]:
        """The cells up to each cut in turn."""
        length = self.cell_length
        return [self.crop(start, end) for start, end in pairwise([0, *cuts]) if end <= length]


def rows_of(shown: Reduced) -> list[Strip]:
    """The rows of a picture."""
    end = shown.glyphs.shape[1]
    return [Row(shown, y, 0, end, ready) for y, ready in enumerate(rows(shown))]


def segments(shown: Reduced) -> list[Segment]:
    """The first row of a picture as styled segments, one for each run of cells in the same colours."""
    ink, paper = shown.ink[0], shown.paper[0]
    changes = np.flatnonzero((ink[1:] != ink[:-1]) | (paper[1:] != paper[:-1])) + 1
    text = "".join(shown.glyphs[0].tolist())
    bounds = pairwise([0, *changes.tolist(), len(text)])
    return [Segment(text[a:b], _style(int(ink[a]), int(paper[a]), shown.depth)) for a, b in bounds]


@lru_cache(maxsize=8192)
def _style(ink: int, paper: int, depth: Depth) -> Style:
    if depth is Depth.NONE:
        return Style.null()
    return Style.from_color(_colour(ink, depth), _colour(paper, depth))


def _colour(number: int, depth: Depth) -> Color:
    if depth is Depth.TRUE:
        return Color.from_triplet(ColorTriplet(number >> 16, number >> 8 & 255, number & 255))
    return Color.from_ansi(number)
