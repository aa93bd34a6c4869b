"""Pixels to cells: for each cell the glyph and the two colours that come nearest to its pixels.

A glyph is a coverage ``m`` of its cell, 0 to 1 a pixel, and shows ``paper + m (ink - paper)``. The
best ink and paper for a glyph are a straight-line fit of the pixels on ``m``, and what such a fit
explains is ``|<m - mean, pixels>|^2 / |m - mean|^2``: one matrix product tells it for every glyph
and every cell, so the search is exhaustive. Coverages need not be 0 or 1, so a glyph may cut a
pixel in two (left eighths on four pixels; thirds and slants likewise).

Within, a cell's pixels are (3, DOWN * ACROSS): a channel's pixels side by side.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from trainer.pictures import GlyphSet
from trainer.pictures.canvas import Solid
from trainer.pictures.cells import ACROSS, DOWN, Cells, coverages
from trainer.pictures.colours import Floats32, encode

FLAT = 0.012  # a cell whose pixels differ by less (square root of light) is one colour
STRAY = 1.3  # pixels: a thin line across a cell is 4, a corner that a line just touches 1
FINE_STRAY = 1.6  # likewise for the richer sets, which follow what just touches a cell without a smudge
EDGE = 0.035  # a cell whose pixels stray further from a smooth shade (likewise, RMS) has an edge in it

SPIKES = "▎▊"  # upright and thin: on a small outline they are horns
OTHER = 0.15  # light further (RMS) from what a solid and its ground would be is that of something else

PIXELS = DOWN * ACROSS
BLOCK = 96  # rows of a matrix product
# Of two glyphs that explain a cell alike the earlier is taken, by this part of its weight for each place.
# Else how a sum is rounded would decide: that hangs on the processor, and on where the cell stands.
EARLIER = 4e-6
_RICHER: tuple[GlyphSet, ...] = ("sextants", "slanted")  # than quadrants: only where there is an edge


def fit(pixels: Floats32, glyphs: GlyphSet = "quadrants", solids: Sequence[Solid] = ()) -> Cells:
    """The cells that come nearest to a picture.

    Parameters
    ----------
    pixels : (rows * DOWN, cols * ACROSS, 3) float32
        Linear light, 0 to 1.
    glyphs : GlyphSet
        See :mod:`~trainer.pictures.cells`. What is richer than quadrants is kept for cells with an
        edge in them: on a smooth shade, as inside a ball, slants would be facets.
    solids : sequence of Solid
        What is to be seen with a clean outline: there a cell has the solid's colour and that of its ground,
        and none between.

    Returns
    -------
    Cells
        Glyphs are chosen on the square root of the light, nearer to what the eye sees; colours are
        fitted in linear light. One-coloured cells are spaces.
    """
    rows, cols = pixels.shape[0] // DOWN, pixels.shape[1] // ACROSS
    slices = np.ascontiguousarray(pixels, np.float32).reshape(rows, DOWN, cols, ACROSS * 3)
    paper = encode(slices[:, 0, :, :3]).reshape(-1, 3)
    busy, light, ends = _busy(slices, paper, FINE_STRAY if glyphs in _RICHER else STRAY)
    ink = paper.copy()
    names = np.full(rows * cols, " ", "<U1")
    if len(busy):
        letters = np.array(list(coverages(glyphs)[0]))
        best = _best(np.sqrt(light), glyphs)
        colours = _colours(light, best, glyphs)
        if glyphs in _RICHER:
            # Glyphs that cut pixels ask for colours beyond any in the cell: a halo beside an edge.
            np.clip(colours, *ends, out=colours)
        ink[busy], paper[busy] = encode(colours)
        differ = (ink[busy] != paper[busy]).any(axis=1)
        names[busy[differ]] = letters[best[differ]]
    edges = _edges(solids, rows, cols)
    if edges is not None:
        places, cover = edges
        kept, *found = _outlined(_taken(slices, places), cover, glyphs)
        names[places[kept]], ink[places[kept]], paper[places[kept]] = (part[kept] for part in found)
    shape = (rows, cols, 3)
    return Cells(names.reshape(rows, cols), ink.reshape(shape), paper.reshape(shape))


def _busy(
    slices: Floats32, paper: NDArray[np.uint8], stray: float
) -> tuple[NDArray[np.intp], Floats32, tuple[Floats32, Floats32]]:
    """Cells that need a glyph, their pixels and the least and most of them a channel.

    The other cells get their ``paper``.

    A cell out of which less than ``stray`` pixels stick out is left flat: no glyph is small enough
    to show them, and the nearest ones would be smudges beside every slanting line.
    """
    # Most cells are of one colour: find the others before anything is copied. A cell's answers for
    # each column are 3 * ACROSS bytes, read as three numbers.
    first = np.tile(slices[:, :1, :, :3], ACROSS)
    unlike = (slices != first).any(axis=1).view(f"u{ACROSS}").reshape(-1, 3)
    differs = np.flatnonzero(unlike[:, 0] | unlike[:, 1] | unlike[:, 2])
    light = _taken(slices, differs)
    ordered = np.sort(light, axis=2)
    common = ordered[..., PIXELS // 2]
    paper[differs] = encode(common)
    away = np.sqrt(light) - np.sqrt(common)[..., None]
    away *= away
    away = away.sum(axis=1)
    most = away.max(axis=1)
    busy = np.flatnonzero((most >= FLAT**2) & (away.sum(axis=1) >= stray * most))
    return differs[busy], light[busy], (ordered[busy, :, 0], ordered[busy, :, -1])


def _taken(slices: Floats32, places: NDArray[np.intp]) -> Floats32:
    """The pixels of some cells, counted row by row, (cells, 3, pixels)."""
    cols, wide = slices.shape[2:]
    row, col = np.divmod(places, cols)
    at = (row * DOWN * cols + col)[:, None] + np.arange(DOWN) * cols
    active = slices.reshape(-1, wide).take(at, axis=0).reshape(-1, PIXELS, 3)
    return np.ascontiguousarray(active.transpose(0, 2, 1))


def _edges(solids: Sequence[Solid], rows: int, cols: int) -> tuple[NDArray[np.intp], Floats32] | None:
    """The cells that one solid's outline alone goes through, and how much it covers of their pixels."""
    if not solids:
        return None
    crossed = np.zeros((rows, cols), np.int8)  # by how many solids
    found = []
    for (down, across), cover, clean in solids:
        top, left = down.start // DOWN, across.start // ACROSS
        high, wide = -(-down.stop // DOWN) - top, -(-across.stop // ACROSS) - left
        y, x = down.start - top * DOWN, across.start - left * ACROSS
        whole = np.zeros((high * DOWN, wide * ACROSS), np.float32)
        whole[y : y + cover.shape[0], x : x + cover.shape[1]] = cover
        lines = whole.reshape(high, DOWN, wide * ACROSS)
        share = lines.sum(axis=1).reshape(high, wide, ACROSS).sum(axis=2)
        crossed[top : top + high, left : left + wide] += share > 0
        if clean:
            row, col = np.nonzero((share > 0) & (share < PIXELS))
            parted = lines.reshape(high, DOWN, wide, ACROSS)[row, :, col].reshape(-1, PIXELS)
            found.append(((row + top) * cols + col + left, parted))
    if not found:
        return None
    places, covers = (np.concatenate(part) for part in zip(*found, strict=True))
    alone = crossed.ravel()[places] == 1
    return places[alone], covers[alone]


def _outlined(
    light: Floats32, cover: Floats32, glyphs: GlyphSet
) -> tuple[NDArray[np.bool_], NDArray[np.str_], NDArray[np.uint8], NDArray[np.uint8]]:
    """Of cells (cells, 3, pixels) that an outline goes through: whether that is all in it, and the cell.

    The glyph is the one nearest to what the solid covers; ink and paper are the colours of the pixels that it
    covers most, and least.
    """
    letters, masks, squares = _shapes(glyphs)
    best = (squares - 2.0 * _product(cover, masks)).argmin(axis=1)
    # What is half covered hardly counts: a sixteenth power.
    solid, ground = (
        _mean(light, np.square(np.square(np.square(np.square(part))))) for part in (cover, 1.0 - cover)
    )
    off = light - (ground[..., None] + cover[:, None] * (solid - ground)[..., None])
    off *= off
    alone = off.mean(axis=(1, 2)) < OTHER**2
    ink, paper = encode(solid), encode(ground)
    turned = (best >= len(letters))[:, None]
    ink, paper = np.where(turned, paper, ink), np.where(turned, ink, paper)
    names = np.where((ink == paper).all(axis=1), " ", letters[best % len(letters)])
    return alone, names, np.where((names == " ")[:, None], paper, ink), paper


def _mean(light: Floats32, weight: Floats32) -> Floats32:
    """The mean light of cells' pixels (cells, 3, pixels) by the pixels' weights (cells, pixels)."""
    total = np.maximum(weight.sum(axis=1), np.float32(1e-9))[:, None]
    return np.asarray(np.einsum("cjp,cp->cj", light, weight) / total)


@cache
def _shapes(glyphs: GlyphSet) -> tuple[NDArray[np.str_], Floats32, Floats32]:
    """Glyphs, none first; what each covers, and after that what each leaves free, (pixels, 2 glyphs)."""
    every, masks = coverages(glyphs)
    letters = [letter for letter in every if letter not in SPIKES]
    kept = masks.reshape(-1, PIXELS)[[every.index(letter) for letter in letters]]
    ink = np.concatenate([np.zeros((1, PIXELS), np.float32), kept])
    both = np.concatenate([ink, 1.0 - ink])
    weight = 1.0 + EARLIER * np.arange(len(both), dtype=np.float32)
    return np.array([" ", *letters]), np.ascontiguousarray(both.T), (both * both).sum(axis=1) * weight


def _best(root: Floats32, glyphs: GlyphSet) -> NDArray[np.intp]:
    """As :func:`search`, but slants and thirds only where there is an edge."""
    if glyphs not in _RICHER:
        return search(root, glyphs)
    best = search(root, "quadrants")  # they come first in the richer sets too
    edges = np.flatnonzero(_has_edge(root))
    best[edges] = search(root[edges], glyphs)
    return best


def search(root: Floats32, glyphs: GlyphSet) -> NDArray[np.intp]:
    """Index of the glyph that explains most of each cell; ``root`` (cells, 3, pixels) is the light's root."""
    probes = _probes(glyphs)
    found = _product(root - root[..., :1], probes)  # small numbers are rounded less
    found *= found
    channels = found.reshape(len(root), 3, probes.shape[1])
    return np.asarray((channels[:, 0] + channels[:, 1] + channels[:, 2]).argmax(axis=1))


def _has_edge(root: Floats32) -> NDArray[np.bool_]:
    """Whether a cell is more than a shade that changes evenly across it."""
    smooth = _product(root, _shades()).reshape(len(root), -1)
    flat = root.reshape(len(root), -1)
    rest = np.einsum("cp,cp->c", flat, flat) - np.einsum("cp,cp->c", smooth, smooth)
    return np.asarray(rest > PIXELS * EDGE**2)


def _product(cells: Floats32, basis: Floats32) -> Floats32:
    """Each channel of each cell (cells, 3, pixels), or what is known of its pixels, by columns of ``basis``.

    (3 cells, columns), or (cells, columns).

    In blocks too small to be shared among threads: the whole takes hardly longer so, and on a busy
    machine threads that wait for one another make it last a hundred times as long.
    """
    rows = cells.reshape(-1, PIXELS)
    found = np.empty((len(rows), basis.shape[1]), np.float32)
    whole = len(rows) - len(rows) % BLOCK
    np.matmul(
        rows[:whole].reshape(-1, BLOCK, PIXELS), basis, out=found[:whole].reshape(-1, BLOCK, basis.shape[1])
    )
    np.matmul(rows[whole:], basis, out=found[whole:])
    return found


def _colours(light: Floats32, best: NDArray[np.intp], glyphs: GlyphSet) -> Floats32:
    """Ink and paper, linear light, of each cell under its glyph, shape (2, cells, 3)."""
    share, slopes = _slopes(glyphs)
    mean = _product(light, np.full((PIXELS, 1), 1 / PIXELS, np.float32)).reshape(-1, 3)
    step = np.einsum("cp,cjp->cj", slopes[best], light)
    own = share[best, None]
    return np.stack([mean + step * (1 - own), mean - step * own])


@cache
def _probes(glyphs: GlyphSet) -> Floats32:
    """Coverages less their means, of length one but for ``EARLIER``, shape (pixels, glyphs)."""
    masks = coverages(glyphs)[1].reshape(-1, PIXELS)
    centred = masks - masks.mean(axis=1, keepdims=True)
    size = np.linalg.norm(centred, axis=1, keepdims=True)
    weight = 1 - EARLIER * np.arange(len(masks), dtype=np.float32)[:, None]
    return np.ascontiguousarray((centred / np.where(size > 0, size, 1) * weight).T)


@cache
def _slopes(glyphs: GlyphSet) -> tuple[Floats32, Floats32]:
    """What each glyph covers in all, and what to weigh pixels with to get ink less paper."""
    masks = coverages(glyphs)[1].reshape(-1, PIXELS)
    share = masks.mean(axis=1)
    centred = masks - share[:, None]
    square = np.einsum("gp,gp->g", centred, centred)[:, None]
    return share, centred / np.where(square > 0, square, 1)


@cache
def _shades() -> Floats32:
    """Even shades: none, across and down, each of length one, shape (pixels, 3)."""
    down, across = np.indices((DOWN, ACROSS), np.float32).reshape(2, PIXELS)
    shades = np.stack([np.ones(PIXELS, np.float32), across - across.mean(), down - down.mean()], axis=1)
    return np.asarray(shades / np.linalg.norm(shades, axis=0), np.float32)
