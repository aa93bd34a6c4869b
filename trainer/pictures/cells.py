"""Terminal cells: a glyph, its ink and its paper; which glyphs there are, and what each covers of its cell.

A set of glyphs holds all of the sets before it, so that a richer one never shows a cell worse. Sextants,
wedges and triangles are read off their Unicode names, in which a cell has three rows of equal height and a
middle between left and right. Source: The Unicode Standard 13.0, chart U+1FB00 to U+1FBFF, "Symbols
for Legacy Computing"; the older glyphs: chart U+2580 to U+259F, "Block Elements".
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trainer.pictures import GLYPH_SETS, GlyphSet
from trainer.pictures.colours import Colour, Floats32

ACROSS, DOWN = 4, 8  # pixels a cell: square where a cell is twice as high as wide

Corner = tuple[float, float]  # of a cell: 0 to 1 from its left, 0 to 1 from its top
Polygon = Sequence[Corner]

_CELL = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
_ROWS = {"UPPER": 0.0, "UPPER MIDDLE": 1 / 3, "LOWER MIDDLE": 2 / 3, "LOWER": 1.0}
_COLUMNS = {"LEFT": 0.0, "CENTRE": 0.5, "RIGHT": 1.0}

_LOWER = "▁▂▃▄▅▆▇"  # lower: one to seven eighths
# On four pixels the first and seventh left eighth would be their neighbours in other colours.
_LEFT = {"▎": 2, "▍": 3, "▌": 4, "▋": 5, "▊": 6}
_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"  # counted in binary, row by row from the top left quarter
# A glyph's complement needs no place of its own, since ink and paper change roles: half of the
# sextants will do, the wedges that lie low, and the triangles that are a quarter.
_SEXTANTS = tuple(c for c in map(chr, range(0x1FB00, 0x1FB3C)) if "6" not in unicodedata.name(c))
_WEDGES = tuple(map(chr, range(0x1FB3C, 0x1FB52)))
_TRIANGLES = tuple(map(chr, range(0x1FB6C, 0x1FB70)))

_ADDED: dict[GlyphSet, str] = {
    "plain": " ",
    "halves": "▄",
    "quadrants": "".join(["▘▝▖▗▚", _LOWER.replace("▄", ""), *_LEFT]),
    "sextants": "".join(_SEXTANTS),
    "slanted": "".join([*_WEDGES, *_TRIANGLES]),
}


@cache
def coverages(glyphs: GlyphSet) -> tuple[str, Floats32]:
    """The glyphs of a set and what each covers of its cell, shape (glyphs, DOWN, ACROSS), 0 to 1.

    A space is left out of every set but "plain", where there is nothing else: any glyph in one
    colour is one.
    """
    upto = GLYPH_SETS[: GLYPH_SETS.index(glyphs) + 1]
    letters = "".join(_ADDED[each] for each in upto if each != "plain" or glyphs == "plain")
    return letters, np.stack([cover(letter) for letter in letters])


@cache
def cover(letter: str, across: int = ACROSS, down: int = DOWN) -> Floats32:
    """What a glyph covers of each pixel of its cell, exactly.

    Parameters
    ----------
    letter : str
        A space, a glyph of one of the sets, or a quadrant, sextant, wedge or triangle that is the
        complement of one.
    across, down : int
        Pixels a cell.

    Returns
    -------
    (down, across) float32
        0 to 1.

    Raises
    ------
    ValueError
        For any other character.
    """
    # How much of the glyph lies above and to the left of each corner of the pixels.
    so_far = np.zeros((down + 1, across + 1))
    for part in outline(letter):
        for i in range(1, across + 1):
            left = _cut(part, (i / across, 0.0), (i / across, 1.0))
            for j in range(1, down + 1):
                so_far[j, i] += area(_cut(left, (1.0, j / down), (0.0, j / down)))
    pixels = np.diff(np.diff(so_far, axis=0), axis=1) * (across * down)
    return np.clip(pixels, 0.0, 1.0).astype(np.float32)


def outline(letter: str) -> list[Polygon]:
    """The convex polygons that a glyph is made of; they don't overlap. Errors as in :func:`cover`."""
    if letter in _QUARTERS:
        number = _QUARTERS.index(letter)
        return _boxes([n for n in range(4) if number >> n & 1], 2)
    if letter in _LOWER:
        return [_box(0.0, 1.0 - (_LOWER.index(letter) + 1) / 8, 1.0, 1.0)]
    if letter in _LEFT:
        return [_box(0.0, 0.0, _LEFT[letter] / 8, 1.0)]
    name = unicodedata.name(letter, "")
    if name.startswith("BLOCK SEXTANT-"):
        return _boxes([int(digit) - 1 for digit in name.removeprefix("BLOCK SEXTANT-")], 3)
    corner, _, line = name.partition(" BLOCK DIAGONAL ")
    if line:
        start, end = map(_named, line.split(" TO "))
        if area((start, end, _named(corner))) < 0:
            start, end = end, start
        return [_cut(_CELL, start, end)]
    sides, _, size = name.partition(" TRIANGULAR ")
    if size in ("ONE QUARTER BLOCK", "THREE QUARTERS BLOCK"):
        return [_quarter(side) for side in sides.split(" AND ")]
    raise ValueError(f"{letter!r} isn't a glyph of a picture")


def _boxes(numbers: Sequence[int], rows: int) -> list[Polygon]:
    """Parts of a cell that is divided into ``rows`` rows and two columns, counted row by row."""
    return [_box(n % 2 / 2, n // 2 / rows, (n % 2 + 1) / 2, (n // 2 + 1) / rows) for n in numbers]


def _box(left: float, top: float, right: float, bottom: float) -> Polygon:
    return (left, top), (right, top), (right, bottom), (left, bottom)


def _named(place: str) -> Corner:
    """The corner that a name like UPPER MIDDLE LEFT speaks of."""
    row, _, column = place.rpartition(" ")
    return _COLUMNS[column], _ROWS[row]


def _quarter(side: str) -> Polygon:
    """The triangle between a side of the cell and its middle."""
    first = ("UPPER", "RIGHT", "LOWER", "LEFT").index(side)
    return _CELL[first], _CELL[(first + 1) % 4], (0.5, 0.5)


def _cut(polygon: Polygon, start: Corner, end: Corner) -> Polygon:
    """The part of a convex polygon on that side of a line where turning from it is positive.

    Source: Sutherland and Hodgman, "Reentrant polygon clipping", CACM 17(1), 1974.
    """
    run, rise = end[0] - start[0], end[1] - start[1]
    depths = [run * (y - start[1]) - rise * (x - start[0]) for x, y in polygon]
    kept: list[Corner] = []
    around = pairwise([*zip(polygon, depths, strict=True), *zip(polygon[:1], depths[:1], strict=True)])
    for ((x0, y0), deep0), ((x1, y1), deep1) in around:
        if deep0 >= 0:
            kept.append((x0, y0))
        if deep0 * deep1 < 0:
            part = deep0 / (deep0 - deep1)
            kept.append((x0 + part * (x1 - x0), y0 + part * (y1 - y0)))
    return kept


def area(polygon: Polygon) -> float:
    """Area of a polygon, positive if its corners go from right to down (the shoelace formula)."""
    around = pairwise([*polygon, *polygon[:1]])
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in around) / 2


# --- Any glyph that divides its cell, on the way to fewer colours -----------------------------------------

_FIRST_SEXTANT, _FIRST_WEDGE, _FIRST_TRIANGLE, _END = 0x1FB00, 0x1FB3C, 0x1FB68, 0x1FB70
_HALVES, _OTHERS = "▀▌█▘▝▖▗▚▒░", "▄▐ ▟▙▜▛▞▒▓"
_OPPOSITE = dict(zip(_HALVES + _OTHERS, _OTHERS + _HALVES, strict=True))
# What is left above one to seven lower eighths, or right of as many left ones, comes in fewer steps.
_OPPOSITE |= {chr(0x2580 + k): "██▀▀▀▀▔▔"[k] for k in (1, 2, 3, 5, 6, 7)}
_OPPOSITE |= {chr(0x2590 - k): "██▐▐▐▐▕▕"[k] for k in (1, 2, 3, 5, 6, 7)}
_OPPOSITE |= {"▔": "▇", "▕": "▉"}
_SHARES = {" ": 0.0} | dict.fromkeys("▘▝▖▗", 0.25) | dict.fromkeys("▚▞", 0.5) | dict.fromkeys("▟▙▜▛", 0.75)


def points(glyphs: NDArray[np.str_]) -> NDArray[np.uint32]:
    """Code points of an array of single characters, same shape."""
    return np.ascontiguousarray(glyphs, "=U1").view(np.uint32)


def blocks(glyphs: NDArray[np.str_]) -> NDArray[np.bool_]:
    """Which glyphs divide their cell: block elements, sextants and wedges."""
    at = points(glyphs)
    return ((at >= 0x2580) & (at <= 0x259F)) | ((at >= _FIRST_SEXTANT) & (at < _END))


def opposite(glyph: str) -> str:
    """The block that covers what ``glyph`` leaves free, or comes nearest to that."""
    at = ord(glyph)
    if _FIRST_SEXTANT <= at < _FIRST_WEDGE:
        return chr(_FIRST_SEXTANT + _FIRST_WEDGE - 1 - at)
    if _FIRST_WEDGE <= at < _END:
        half = (_FIRST_TRIANGLE - _FIRST_WEDGE if at < _FIRST_TRIANGLE else _END - _FIRST_TRIANGLE) // 2
        first = _FIRST_WEDGE if at < _FIRST_TRIANGLE else _FIRST_TRIANGLE
        return chr(at + half if at - first < half else at - half)
    return _OPPOSITE[glyph]


def share(glyph: str) -> float:
    """How much of its cell a block covers, 0 to 1; of a slanting wedge roughly."""
    at = ord(glyph)
    if _FIRST_SEXTANT <= at < _FIRST_WEDGE:
        pattern = at - _FIRST_SEXTANT + 1
        pattern += (pattern >= 0b010101) + (pattern >= 0b101010 - 1)  # these two are half blocks
        return pattern.bit_count() / 6
    if _FIRST_TRIANGLE <= at < _END:
        return 0.75 if at - _FIRST_TRIANGLE < 4 else 0.25
    if 0x2581 <= at <= 0x2588:
        return (at - 0x2580) / 8
    if 0x2589 <= at <= 0x258F:
        return (0x2590 - at) / 8
    return _SHARES.get(glyph, 0.125 if glyph in "▔▕" else 0.5)


# --- A picture in cells ------------------------------------------------------------------------------------


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
