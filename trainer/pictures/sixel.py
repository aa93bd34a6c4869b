"""True pixels as sixels, an image a row of cells, so that whatever else is written on a row stays whole.

Source: DEC, "VT330/VT340 Programmer Reference Manual", volume 2, chapter 14 (sixel graphics): six pixels of
a column are a character, 63 more than their bits, the topmost the lowest; ``!n`` repeats the next, ``#c``
takes a colour, ``$`` goes back to the left, ``-`` on to the next six rows. A pixel that no colour sets stays
as it is.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.pixels import Bytes, PixelPicture, Stretch, stretches

BAND = 6  # rows of pixels in a character
REGISTERS = 256  # colours that an image may have
WIDEST = 960  # pixels across in an image: some terminals clip it at a thousand
_BITS = (6, 5, 4, 3)  # of a channel, by which colours are told apart: as many as pictures have, or fewer


class Sixels:
    """One picture's way to the terminal: nothing is sent beside its cells. ``registers``: of the terminal."""

    scales = False

    def __init__(self, registers: int = REGISTERS) -> None:
        self._registers = min(registers, REGISTERS)

    @staticmethod
    def can_show(size: tuple[int, int]) -> bool:
        """Whether a picture of so many columns and rows can be shown."""
        return True

    def brought(self, before: PixelPicture | None, after: PixelPicture) -> str:
        """Nothing: the pixels are in the cells."""
        return ""

    def removed(self) -> str:
        """Nothing: what is written where it was takes it away."""
        return ""

    def stretches(self, before: PixelPicture, after: PixelPicture) -> list[Stretch]:
        """The cells that are to be written again: those with pixels or text that have changed."""
        columns, rows = after.size
        down = after.cell[1]
        differs = (before.pixels != after.pixels).reshape(rows, down, -1).any(axis=1)
        one, other = before.written, after.written
        cells = np.logical_or.reduce(
            [
                differs.reshape(rows, columns, -1).any(axis=2),
                one.glyphs != other.glyphs,
                one.ink != other.ink,
                one.paper != other.paper,
            ]
        )
        return stretches(cells)

    def run(self, picture: PixelPicture, y: int, start: int, end: int) -> str:
        """What shows the pixels of the cells of row ``y`` from column ``start`` to before ``end``."""
        across, down = picture.cell
        strip = picture.pixels[y * down : (y + 1) * down]
        most = max(WIDEST // across, 1)
        parts = []
        for a in range(start, end, most):
            b = min(a + most, end)
            drawn = image(strip[:, a * across : b * across], self._registers)
            # Some terminals keep the characters below an image, and show what of them is too wide for a cell.
            parts.append(f"\x1b[{b - a}X\x1b7{drawn}\x1b8\x1b[{b - a}C")
        return "".join(parts)


def image(pixels: Bytes, registers: int = REGISTERS) -> str:
    """An image (rows, columns, 3) in sRGB bytes as sixels, in so many colours at most.

    Where it has more, colours that differ little become one.
    """
    rows, columns, _ = pixels.shape
    colours, index = _palette(pixels, registers)
    named = "".join(
        f"#{k};2;{round(r / 2.55)};{round(g / 2.55)};{round(b / 2.55)}" for k, (r, g, b) in enumerate(colours)
    )
    bands = [_band(index[top : top + BAND], len(colours)) for top in range(0, rows, BAND)]
    return f'\x1bP9;1q"1;1;{columns};{rows}{named}{"-".join(bands)}\x1b\\'


def _palette(pixels: Bytes, registers: int) -> tuple[list[tuple[int, int, int]], NDArray[np.intp]]:
    """The colours of an image, and which of them each pixel has."""
    wide = pixels.reshape(-1, 3).astype(np.int32)
    for bits in _BITS:
        less = 8 - bits
        packed = (wide[:, 0] >> less) << 2 * bits | (wide[:, 1] >> less) << bits | wide[:, 2] >> less
        there = np.zeros(1 << 3 * bits, np.bool_)
        there[packed] = True
        used = np.flatnonzero(there)
        if len(used) <= registers:
            break
    place = np.empty(len(there), np.int32)
    place[used] = np.arange(len(used))
    index = place[packed]
    sums = np.stack([np.bincount(index, weights=wide[:, k]) for k in range(3)], axis=1)
    found = np.rint(sums / np.bincount(index)[:, None]).astype(np.int32)  # the mean of those that are one
    if len(used) > registers:  # a terminal with very few: the most frequent, for the rest the nearest of them
        often = np.sort(np.argsort(-np.bincount(index), kind="stable")[:registers])
        away = ((found[:, None] - found[often]) ** 2).sum(axis=2)
        found, index = found[often], away.argmin(axis=1)[index]
    return [(r, g, b) for r, g, b in found.tolist()], index.reshape(pixels.shape[:2])


def _band(index: NDArray[np.intp], colours: int) -> str:
    """Up to six rows of pixels, given the colour of each."""
    columns = index.shape[1]
    bits = np.zeros((colours, columns), np.uint8)
    places = np.arange(columns)
    for k, row in enumerate(index):
        bits[row, places] |= 1 << k
    used = np.flatnonzero(bits.any(axis=1))
    bits = bits[used]
    # Runs of one character, in all rows at once; a row's last run may be empty pixels, which say nothing.
    starts = np.ones(bits.shape, bool)
    starts[:, 1:] = bits[:, 1:] != bits[:, :-1]
    first = np.flatnonzero(starts)
    value, length = bits.ravel()[first].tolist(), np.diff(first, append=bits.size).tolist()
    runs = [_RUNS[v] * n if n < 4 else f"!{n}{_RUNS[v]}" for v, n in zip(value, length, strict=True)]
    ends = np.cumsum(starts.sum(axis=1)).tolist()
    said = []
    for colour, (a, b) in zip(used.tolist(), pairwise([0, *ends]), strict=True):
        said.append(f"#{colour}{''.join(runs[a : b - (value[b - 1] == 0)])}")
    return "$".join(said)


_RUNS = [chr(63 + bits) for bits in range(64)]
