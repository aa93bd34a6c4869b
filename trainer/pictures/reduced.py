"""What a terminal gets of a picture: its text, in the colours that it has: all, 256, 16, or none.

With 256 each colour goes to the nearest in OKLab, out of those that no theme changes. With 16, which
every theme changes, and with none a picture is drawn by what its colours *mean*: flat shapes, dark
rims round the balls; then by glyphs alone, the object balls hatched.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from operator import add
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.pictures import colours
from trainer.pictures.cells import Cells, blocks, opposite, points, share
from trainer.pictures.colours import Colour
from trainer.pictures.terminal import Depth

Bytes = NDArray[np.uint8]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Reduced:
    """A picture as a terminal of some depth gets it.

    ``glyphs`` (rows, cols) of one character each; ``ink`` and ``paper`` (rows, cols) are numbers of
    colours: ``red << 16 | green << 8 | blue``, 0 to 255 of the 256, 0 to 15 of the 16, or all 0 where
    there are none.
    """

    glyphs: NDArray[np.str_]
    ink: NDArray[np.int32]
    paper: NDArray[np.int32]
    depth: Depth

    def part(self, rows: slice | list[int], columns: slice = slice(None)) -> "Reduced":
        """A part of the picture."""
        glyphs, where = self.glyphs[rows, columns], (rows, columns)
        return Reduced(glyphs, self.ink[where], self.paper[where], self.depth)


def reduced(cells: Cells, depth: Depth) -> Reduced:
    """The cells in the colours that a terminal of this depth has."""
    if depth is Depth.TRUE:
        return Reduced(cells.glyphs, _packed(cells.ink), _packed(cells.paper), depth)
    ink_bin, paper_bin = _bins(cells.ink), _bins(cells.paper)
    if depth is Depth.MANY:
        table = _palette_table()
        glyphs, ink, paper = cells.glyphs, table[ink_bin], table[paper_bin]
        ink = np.where(_vanished(glyphs, ink, paper), _plain_ink()[paper], ink)
        return Reduced(
            _without_edges(glyphs, ink, paper), ink.astype(np.int32), paper.astype(np.int32), depth
        )
    things = _thing_table()
    ink, paper = things[ink_bin], things[paper_bin]
    # In the shade the cue ball has the colour of the cloth's lines: beside its own it is the ball.
    lit = ((ink == LINE) & (paper == CUE)) | ((ink == CUE) & (paper == LINE))
    ink, paper = np.where(lit, CUE, ink), np.where(lit, CUE, paper)
    glyphs = _without_edges(cells.glyphs, ink, paper)
    if depth is Depth.FEW:
        return _in_sixteen(glyphs, ink, paper)
    return _in_glyphs(glyphs, ink, paper)


def _packed(values: Bytes) -> NDArray[np.int32]:
    wide = values.astype(np.int32)
    return wide[..., 0] << 16 | wide[..., 1] << 8 | wide[..., 2]


# --- Looking colours up ------------------------------------------------------------------------------

# Colours are looked up by the nearest of 32 steps a channel.
_STEPS = 32
_STEP = np.rint(np.arange(256) * (_STEPS - 1) / 255).astype(np.intp)


def _bins(values: ArrayLike) -> NDArray[np.intp]:
    step: NDArray[np.intp] = _STEP[np.asarray(values)]
    return np.asarray((step[..., 0] * _STEPS + step[..., 1]) * _STEPS + step[..., 2], np.intp)


def _nearest(samples: colours.Floats) -> NDArray[np.intp]:
    """Which of the OKLab samples (n, 3) is nearest to each bin, (32^3,)."""
    tone = np.arange(_STEPS) * 255 / (_STEPS - 1)
    grid = colours.oklab_of(np.stack(np.meshgrid(tone, tone, tone, indexing="ij"), axis=-1))
    # |bin - sample|^2 without the part that is the same for every sample.
    twice, own = (2 * samples.T).astype(np.float32), (samples**2).sum(axis=1).astype(np.float32)
    return np.concatenate(
        [(own - part.astype(np.float32) @ twice).argmin(axis=1) for part in grid.reshape(64, -1, 3)]
    )


# --- 256 -------------------------------------------------------------------------------------------

FIXED = 16  # the first colour that no theme changes
# The cloth is one flat colour, in the inset as on the table: in grey it would not be cloth.
CLOTHS = (colours.CLOTH, colours.CLOTH_DARK)


@cache
def palette() -> Bytes:
    """The 240 colours from number 16 on, (240, 3): a cube of six levels, then greys.

    Source: xterm, 256colres.pl (the levels that terminals share).
    """
    levels = [0, 95, 135, 175, 215, 255]
    cube = [(r, g, b) for r in levels for g in levels for b in levels]
    return np.array(cube + [(grey,) * 3 for grey in range(8, 248, 10)], np.uint8)


@cache
def _palette_table() -> Bytes:
    """Number of the colour for each bin."""
    found = _nearest(colours.oklab_of(palette()))
    found[_bins(CLOTHS)] = found[_bins(colours.CLOTH)]
    return (found + FIXED).astype(np.uint8)


@cache
def _plain_ink() -> Bytes:
    """Black or white (numbers), whichever is farther from each number as paper."""
    light = np.full(256, 0.5)
    light[FIXED:] = colours.oklab_of(palette())[:, 0]
    return np.where(light > 0.6, 16, 231).astype(np.uint8)


def _vanished(glyphs: NDArray[np.str_], ink: NDArray[np.integer], paper: NDArray[np.integer]) -> Flags:
    """Where text has come to the colour of its paper."""
    return np.asarray((ink == paper) & ~blocks(glyphs) & (points(glyphs) != ord(" ")))


def _without_edges(
    glyphs: NDArray[np.str_], ink: NDArray[np.integer], paper: NDArray[np.integer]
) -> NDArray[np.str_]:
    """The glyphs, and spaces where a block's two colours have become one."""
    return np.where((ink == paper) & blocks(glyphs), " ", glyphs)


# --- What the colours mean ---------------------------------------------------------------------------

# In the order in which they stand out where there is nothing but light and dark.
ROOM, POCKET, CLOTH, RAIL, CUSHION, OTHER, OBJECT, CUE, LINE, CHALK, AMBER = range(11)


def _over(colour: Colour, part: float, ground: Colour) -> Colour:
    """``part`` of a colour over a ground, in linear light."""
    light = part * colours.linear(colour) + (1 - part) * colours.linear(ground)
    r, g, b = colours.encode(light).tolist()
    return r, g, b


def _samples() -> list[tuple[int, Colour]]:
    """The colours that the things come in: in the shade, faint, cut by a cell's edge, seen through."""
    c = colours
    shades = (1.0, 0.85, 0.7, 0.5, 0.34)  # of a ball, as the canvas lights it
    balls = [_over(c.OBJECT_BALL, part, c.SHADOW) for part in shades]
    others = [_over(c.OTHER_BALL, part, c.SHADOW) for part in shades]
    cues = [_over(c.CUE_BALL, part, c.SHADOW) for part in shades]
    grounds = (c.CLOTH, c.CLOTH_DARK, c.CUSHION, c.RAIL, c.POCKET)
    return [
        (ROOM, c.ROOM),
        (POCKET, c.POCKET),
        *((CLOTH, _over(cloth, part, c.SHADOW)) for cloth in CLOTHS for part in (1.0, 0.7, 0.45, 0.25)),
        (CLOTH, _over(c.CUE_BALL, 0.12, c.CLOTH_DARK)),  # inside an outlined cue ball
        (RAIL, c.RAIL),
        (RAIL, c.RAIL_EDGE),
        (CUSHION, c.CUSHION),
        *((OTHER, other) for other in others),
        *((OBJECT, ball) for ball in balls),
        *((OBJECT, _over(c.CUE_BALL, 0.12, ball)) for ball in balls),
        *((OBJECT, _over(c.OBJECT_BALL, 0.5, cloth)) for cloth in CLOTHS),
        *((CUE, cue) for cue in cues),
        *((CUE, _over(cue, 0.5, cloth)) for cue in cues for cloth in CLOTHS),
        *((CUE, _over(cue, 0.5, ball)) for cue, ball in zip(cues, balls, strict=True)),
        (LINE, c.MARK_QUIET),
        *((LINE, _over(c.CLOTH_LINE, part, c.CLOTH)) for part in (1.0, 0.5, 0.3, 0.2)),
        (CHALK, c.CHALK),
        *((CHALK, _over(c.CHALK, 0.6, cloth)) for cloth in CLOTHS),
        (AMBER, _over(c.AMBER, 0.15, c.POCKET)),
        *((AMBER, _over(c.AMBER, part, ground)) for ground in grounds for part in (1.0, 0.7, 0.45, 0.3)),
    ]


@cache
def _thing_table() -> Bytes:
    """Which thing each bin shows."""
    things, shown = zip(*_samples(), strict=True)
    return np.array(things, np.uint8)[_nearest(colours.oklab_of(shown))]


# --- 16 ----------------------------------------------------------------------------------------------

# Chosen to be apart in the common themes, and like the colours that are meant: the object ball is the red
# nearest to orange. Of the reds none is apart from the green for every eye: a ball's dark rim is.
# Brighter is lighter in them all.
RIM = 0
SIXTEEN = {
    ROOM: 0,
    POCKET: 0,
    CLOTH: 2,
    RAIL: 8,
    CUSHION: 10,
    OTHER: 4,
    OBJECT: 9,
    CUE: 15,
    LINE: 7,
    CHALK: 14,
    AMBER: 11,
}
_SIXTEEN = np.array([SIXTEEN[thing] for thing in range(len(SIXTEEN))], np.int32)


def _in_sixteen(glyphs: NDArray[np.str_], ink: Bytes, paper: Bytes) -> Reduced:
    inks, papers, glyphs = _SIXTEEN[ink], _SIXTEEN[paper], glyphs.copy()
    block, plain = blocks(glyphs), points(glyphs) == ord(" ")
    # Beside a ball its ground is dark: a rim as wide as the ball's cells leave free. White lines have
    # the colour of the cue ball, and none: there is no cell full of them.
    balls_ink, balls_paper = (ink == OBJECT) | (ink == OTHER), (paper == OBJECT) | (paper == OTHER)
    ball = plain & ((paper == CUE) | balls_paper)
    cue = _near(plain & (paper == CUE))
    papers[block & (paper <= CUSHION) & (balls_ink | (cue & (ink == CUE)))] = RIM
    inks[block & (ink <= CUSHION) & (balls_paper | (cue & (paper == CUE)))] = RIM
    # Where a ball ends with its cell the next one has the rim.
    free = plain & (paper <= CUSHION)
    for glyph, down, right, is_ink in _RIMS:
        here = free & _beside(ball, down, right)
        glyphs[here] = glyph
        (papers if is_ink else inks)[here] = papers[here]
        (inks if is_ink else papers)[here] = RIM
        free &= ~here
    inks = np.where(_vanished(glyphs, inks, papers), np.where(papers == 15, 0, 15), inks)
    return Reduced(_without_edges(glyphs, inks, papers), inks, papers, Depth.FEW)


# A rim along one side of a cell: its glyph, where the ball lies, whether the rim is its ink.
_RIMS = (("▁", 1, 0, True), ("▇", -1, 0, False), ("▊", 0, 1, False), ("▎", 0, -1, True))


def _beside(flags: Flags, down: int, right: int) -> Flags:
    """Where the neighbour so many cells down and to the right is flagged."""
    rows, cols = flags.shape
    around = np.pad(flags, 1)
    return around[1 + down : 1 + down + rows, 1 + right : 1 + right + cols]


def _near(flags: Flags) -> Flags:
    """Where a cell or one of the eight around it is flagged."""
    return np.asarray(_neighbours(flags).any(axis=0))


# --- None --------------------------------------------------------------------------------------------

# What a cell of one thing is filled with. Light is what the terminal writes with.
HATCH, LETTER = "/", "o"  # of the object ball; the letter where it has no room for hatching
OTHER_HATCH, OTHER_LETTER = "\\", "x"  # of the other balls
FILLS = {CUSHION: "░", OTHER: OTHER_HATCH, OBJECT: HATCH, CUE: "█", LINE: "█", CHALK: "█", AMBER: "█"}
_FILLS = np.array([FILLS.get(thing, " ") for thing in range(len(SIXTEEN))])


def _in_glyphs(glyphs: NDArray[np.str_], ink: Bytes, paper: Bytes) -> Reduced:
    plain, block = points(glyphs) == ord(" "), blocks(glyphs)
    # What stands out more is what is written; up to the rail all is dark.
    front, back = np.maximum(ink, RAIL), np.maximum(paper, RAIL)
    shown = np.where(plain | (block & (front == back)), _FILLS[paper], glyphs)
    for glyph, here in _each(glyphs, block & (back > front)):
        shown[here] = opposite(glyph)
    for thing, fill, letter in ((OTHER, OTHER_HATCH, OTHER_LETTER), (OBJECT, HATCH, LETTER)):
        part = _part(thing, glyphs, ink, paper, plain, block)
        beside = np.where((plain | (ink == thing)), paper, np.where(block, ink, ROOM))
        _hatch(shown, thing, part, beside, fill, letter)
    none = np.zeros(glyphs.shape, np.int32)
    return Reduced(shown, none, none, Depth.NONE)


def _part(
    thing: int, glyphs: NDArray[np.str_], ink: Bytes, paper: Bytes, plain: Flags, block: Flags
) -> NDArray[np.float64]:
    """How much of each cell a thing fills, 0 to 1."""
    part = np.where(plain & (paper == thing), 1.0, 0.0)
    for glyph, here in _each(glyphs, block & (ink == thing)):
        part[here] = share(glyph)
    for glyph, here in _each(glyphs, block & (paper == thing)):
        part[here] = 1.0 - share(glyph)
    return part


def _hatch(
    shown: NDArray[np.str_], thing: int, part: NDArray[np.float64], other: Bytes, fill: str, letter: str
) -> None:
    """Hatch balls by whole cells, so that none of their edges looks like a part of a white one.

    ``part`` is how much of each cell they fill and ``other`` what else is there. A ball with no cell for
    hatching has the letter instead, in the cell that it fills most and those that it mostly fills.
    """
    mine = part > 0
    # A gleam is white: all about it is the ball, or it is too small to be one.
    inside = (other == CUE) & (_neighbours(mine).sum(axis=0) - mine >= AROUND)
    white = _near((other == CUE) & ~mine & ~inside)
    gleam = inside | (other == CUE) & mine & ~white
    # Of equal cells the first.
    ranked = np.where(mine, part - np.linspace(0.0, 1e-6, part.size).reshape(part.shape), 0.0)
    most = mine & (ranked == np.max(_neighbours(ranked), axis=0))
    # Lines of the cloth lie below it, and an eighth of a cell is no mark over it but a soft edge.
    covered = mine & (other > thing) & (other != LINE) & ~gleam & (part < SOFT)
    small = ~_near(_near(_near(part == 1.0)))
    filled = gleam | (most & small) | ((part >= 0.5) & ~covered)
    bare = mine & ~covered & ~filled
    shown[bare] = np.where(other == LINE, " ", _FILLS[other])[bare]
    shown[filled] = np.where(small, letter, fill)[filled]


SOFT = 0.85  # of a cell
AROUND = 5  # of a cell's eight neighbours: it is inside, or in the topmost row


def _neighbours(values: NDArray[Any]) -> NDArray[Any]:
    """The values of each cell and of the eight around it, one after the other."""
    rows, cols = values.shape
    around = np.pad(values, 1)
    return np.stack([around[r : r + rows, c : c + cols] for r in range(3) for c in range(3)])


def _each(glyphs: NDArray[np.str_], where: Flags) -> Iterator[tuple[str, Flags]]:
    """The glyphs there, each with its places."""
    at = points(glyphs)
    for point in np.unique(at[where]).tolist():
        yield chr(point), where & (at == point)


# --- As text ---------------------------------------------------------------------------------------------

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
