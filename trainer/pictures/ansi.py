"""The text that shows cells on a terminal."""

from collections.abc import Callable
from itertools import pairwise
from operator import add

import numpy as np

from trainer.pictures.cells import Cells
from trainer.pictures.glyphs import points
from trainer.pictures.reduced import Reduced, reduced
from trainer.pictures.terminal import Depth

RESET = "\x1b[0m"


def ansi(cells: Cells, colours: Depth = Depth.TRUE) -> str:
    """The lines that show the cells on a terminal with so many colours: :func:`rows`, one a line."""
    return "\n".join(rows(reduced(cells, colours)))


def rows(shown: Reduced) -> list[str]:
    """The text of each row of a picture.

    Each stands for itself and ends with a reset. Colours are said only where they change, and a space
    doesn't need ink. With no colours there are glyphs alone, and nothing to reset.
    """
    height, cols = shown.glyphs.shape
    text = np.ascontiguousarray(shown.glyphs, "<U1").tobytes().decode("utf-32-le")
    if shown.depth is Depth.NONE or not text:
        return [text[r * cols : (r + 1) * cols] for r in range(height)]
    paper = shown.paper
    # A space keeps the ink before it, so that blank stretches don't break a run.
    source = np.where(points(shown.glyphs) == ord(" "), 0, np.arange(cols))
    ink = np.take_along_axis(shown.ink, np.maximum.accumulate(source, axis=1), axis=1)
    # What a run begins with: 1 new ink, 2 new paper, 3 both; 0 is no run's beginning.
    news = np.full((height, cols), 3, np.int8)
    news[:, 1:] = (ink[:, 1:] != ink[:, :-1]) + 2 * (paper[:, 1:] != paper[:, :-1])
    starts = np.flatnonzero(news)
    new, front, back = news.ravel()[starts], ink.ravel()[starts], paper.ravel()[starts]
    said = np.where(new & 1, front, _SAME) << 32 | np.where(new & 2, back, _SAME)
    codes = map(_STARTS[shown.depth].__getitem__, said.tolist())
    runs = [text[a:b] for a, b in pairwise([*starts.tolist(), len(text)])]
    parts = list(map(add, codes, runs))
    first = np.searchsorted(starts, np.arange(height + 1) * cols).tolist()  # run of each row
    return ["".join(parts[a:b]) + RESET for a, b in pairwise(first)]


_SAME = np.int64(1 << 24)  # where a colour stays what it was: no colour has this number


class _Starts(dict[int, str]):
    """What chooses the colours that a run begins with, by ``ink << 32 | paper``; kept once made."""

    def __init__(self, ink: Callable[[int], str], paper: Callable[[int], str]) -> None:
        super().__init__()
        self._codes = ink, paper

    def __missing__(self, said: int) -> str:
        if len(self) >= _MOST:
            self.clear()
        pair = zip(self._codes, (said >> 32, said & 0xFFFFFFFF), strict=True)
        self[said] = f"\x1b[{';'.join(code(colour) for code, colour in pair if colour != _SAME)}m"
        return self[said]


_MOST = 1 << 15  # pairs of colours kept


def _rgb(colour: int) -> str:
    return f"{colour >> 16};{colour >> 8 & 255};{colour & 255}"


_STARTS = {
    Depth.TRUE: _Starts(lambda c: f"38;2;{_rgb(c)}", lambda c: f"48;2;{_rgb(c)}"),
    Depth.MANY: _Starts(lambda c: f"38;5;{c}", lambda c: f"48;5;{c}"),
    # The eight bright ones have numbers of their own.
    Depth.FEW: _Starts(lambda c: str(c + (30 if c < 8 else 82)), lambda c: str(c + (40 if c < 8 else 92))),
}
