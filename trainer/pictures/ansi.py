"""The text that shows cells on a terminal."""

from collections.abc import Callable
from functools import lru_cache
from itertools import pairwise

import numpy as np

from trainer.pictures.blocks import points
from trainer.pictures.cells import Cells
from trainer.pictures.depth import Depth
from trainer.pictures.reduced import Reduced, reduced

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
    first = np.searchsorted(starts, np.arange(height + 1) * cols).tolist()  # run of each row
    runs = [text[a:b] for a, b in pairwise([*starts.tolist(), len(text)])]
    inks, papers = ink.ravel()[starts].tolist(), paper.ravel()[starts].tolist()
    start_of = _STARTS[shown.depth]
    parts = [
        start_of(new, front if new & 1 else 0, back if new & 2 else 0) + run
        for new, front, back, run in zip(news.ravel()[starts].tolist(), inks, papers, runs, strict=True)
    ]
    return ["".join(parts[a:b]) + RESET for a, b in pairwise(first)]


def _true(colour: int) -> str:
    return f"2;{colour >> 16};{colour >> 8 & 255};{colour & 255}"


@lru_cache(maxsize=1 << 15)
def _true_start(new: int, ink: int, paper: int) -> str:
    return _start(new, f"38;{_true(ink)}", f"48;{_true(paper)}")


@lru_cache(maxsize=1 << 15)
def _many_start(new: int, ink: int, paper: int) -> str:
    return _start(new, f"38;5;{ink}", f"48;5;{paper}")


@lru_cache(maxsize=1 << 10)
def _few_start(new: int, ink: int, paper: int) -> str:
    # The eight bright ones have numbers of their own.
    return _start(new, str(ink + (30 if ink < 8 else 82)), str(paper + (40 if paper < 8 else 92)))


def _start(new: int, ink: str, paper: str) -> str:
    """What chooses the colours that a run begins with."""
    return f"\x1b[{ {1: ink, 2: paper, 3: f'{ink};{paper}'}[new] }m"


_STARTS: dict[Depth, Callable[[int, int, int], str]] = {
    Depth.TRUE: _true_start,
    Depth.MANY: _many_start,
    Depth.FEW: _few_start,
}
