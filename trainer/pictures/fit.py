"""Pixels to cells: for each cell the glyph and the two colours that come nearest to its pixels.

A glyph is a coverage ``m`` of its cell, 0 to 1 a pixel, and shows ``paper + m (ink - paper)``. The
best ink and paper for a glyph are a straight-line fit of the pixels on ``m``, and what such a fit
explains is ``|<m - mean, pixels>|^2 / |m - mean|^2``: one matrix product tells it for every glyph
and every cell, so the search is exhaustive. Coverages need not be 0 or 1, so a glyph may cut a
pixel in two (left eighths on four pixels; thirds and slants likewise).
"""

from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from trainer.pictures.cells import Cells
from trainer.pictures.colours import Floats32, encode

GlyphSet = Literal["quadrants", "halves"]

ACROSS, DOWN = 4, 8  # pixels a cell: square where a cell is twice as high as wide
FLAT = 0.012  # a cell whose pixels differ by less (square root of light) is one colour
STRAY = 3.2  # pixels: a thin line across a cell is 4, a corner that a line just touches 1 or 2

_LOWER = "▁▂▃▄▅▆▇"  # lower: one to seven eighths
# On four pixels the first and seventh left eighth would be their neighbours in other colours.
_LEFT = {2: "▎", 3: "▍", 4: "▌", 5: "▋", 6: "▊"}
_QUADRANTS = {"▘": (1, 0, 0, 0), "▝": (0, 1, 0, 0), "▖": (0, 0, 1, 0), "▗": (0, 0, 0, 1)} | {
    "▚": (1, 0, 0, 1)
}


@cache
def coverages(glyphs: GlyphSet) -> tuple[str, Floats32]:
    """The glyphs of a set and what each covers of its cell, shape (glyphs, DOWN, ACROSS), 0 to 1.

    A glyph's complement needs no place of its own: ink and paper change roles.
    """
    named: dict[str, Floats32] = {"▄": _lower(4)}
    if glyphs == "quadrants":
        for name, corners in _QUADRANTS.items():
            quarter = np.array(corners, np.float32).reshape(2, 2)
            named[name] = quarter.repeat(DOWN // 2, axis=0).repeat(ACROSS // 2, axis=1)
        named |= {name: _lower(k) for k, name in enumerate(_LOWER, 1)}
        named |= {name: _left(k) for k, name in _LEFT.items()}
    return "".join(named), np.stack(list(named.values()))


def _lower(eighths: int) -> Floats32:
    rows = np.clip(eighths / 8 * DOWN - np.arange(DOWN)[::-1], 0, 1).astype(np.float32)
    return np.repeat(rows[:, None], ACROSS, axis=1)


def _left(eighths: int) -> Floats32:
    columns = np.clip(eighths / 8 * ACROSS - np.arange(ACROSS), 0, 1).astype(np.float32)
    return np.repeat(columns[None, :], DOWN, axis=0)


def fit(pixels: Floats32, glyphs: GlyphSet = "quadrants") -> Cells:
    """The cells that come nearest to a picture.

    Parameters
    ----------
    pixels : (rows * DOWN, cols * ACROSS, 3) float32
        Linear light, 0 to 1.
    glyphs : "quadrants" or "halves"
        Quadrants and eighths (U+2580 to U+259F), or half blocks alone.

    Returns
    -------
    Cells
        Glyphs are chosen on the square root of the light, nearer to what the eye sees; colours are
        fitted in linear light. One-coloured cells are spaces.
    """
    rows, cols = pixels.shape[0] // DOWN, pixels.shape[1] // ACROSS
    blocks = pixels.reshape(rows, DOWN, cols, ACROSS, 3).transpose(0, 2, 1, 3, 4)
    light = blocks.reshape(rows * cols, DOWN * ACROSS, 3)
    paper = light[:, 0].copy()
    busy = _busy(light, paper)
    ink = paper.copy()
    names = np.full(rows * cols, " ", "<U1")
    if len(busy):
        active = light[busy]
        best = choose(active, glyphs)
        letters, masks = coverages(glyphs)
        names[busy] = np.array(list(letters))[best]
        ink[busy], paper[busy] = _colours(active, masks.reshape(len(letters), -1)[best])
    ink_bytes, paper_bytes = encode(ink), encode(paper)
    names[(ink_bytes == paper_bytes).all(axis=1)] = " "
    shape = (rows, cols, 3)
    return Cells(names.reshape(rows, cols), ink_bytes.reshape(shape), paper_bytes.reshape(shape))


def _busy(light: Floats32, paper: Floats32) -> NDArray[np.intp]:
    """Rows of ``light`` (cells, pixels, 3) that need a glyph; the others get their ``paper``.

    A cell out of which less than ``STRAY`` pixels stick out is left flat: no glyph is small enough
    to show them, and the nearest ones would be smudges beside every slanting line.
    """
    differs = np.flatnonzero((light != light[:, :1]).any(axis=(1, 2)))
    active = light[differs]
    common = np.partition(active, DOWN * ACROSS // 2, axis=1)[:, DOWN * ACROSS // 2]
    paper[differs] = common
    away = np.square(np.sqrt(active) - np.sqrt(common)[:, None]).sum(axis=2)
    most = away.max(axis=1)
    return np.asarray(differs[(most >= FLAT**2) & (away.sum(axis=1) >= STRAY * most)])


def choose(light: Floats32, glyphs: GlyphSet) -> NDArray[np.intp]:
    """Index of the best glyph of each cell; ``light`` is (cells, DOWN * ACROSS, 3), linear."""
    masks = coverages(glyphs)[1].reshape(-1, DOWN * ACROSS)
    probes = masks - masks.mean(axis=1, keepdims=True)
    probes /= np.linalg.norm(probes, axis=1, keepdims=True)
    root = np.sqrt(light).transpose(1, 0, 2).reshape(DOWN * ACROSS, -1)
    found = (probes @ root).reshape(len(masks), len(light), 3)
    return np.asarray(np.einsum("kcj,kcj->kc", found, found).argmax(axis=0))


def _colours(light: Floats32, masks: Floats32) -> tuple[Floats32, Floats32]:
    """Ink and paper (cells, 3) of each cell under its own mask (cells, pixels)."""
    share = masks.mean(axis=1, keepdims=True)
    centred = masks - share
    centred /= np.einsum("cp,cp->c", centred, centred)[:, None]
    step = np.einsum("cp,cpj->cj", centred, light)
    mean = light.mean(axis=1)
    return mean + step * (1 - share), mean - step * share
