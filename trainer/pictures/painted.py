"""A picture as it is painted, pixels and the text over them, before it is known what a terminal shows.

What a terminal gets of it is cells (:func:`in_cells`), or the pixels themselves
(:mod:`~trainer.pictures.pixels`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from trainer.pictures import GlyphSet
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import Cells, write
from trainer.pictures.colours import Colour
from trainer.pictures.fit import fit


class Text(NamedTuple):
    """Characters that a terminal writes over a picture, from a cell (column, row) on.

    Without a ``ground`` they stand on what is there. ``plain`` are others for a terminal that has plain
    characters only.
    """

    column: int
    row: int
    text: str
    ink: Colour
    ground: Colour | None = None
    plain: str = ""


@dataclass(frozen=True, eq=False)
class Painted:
    """Pixels, and what is written over them. The canvas may be painted on again later."""

    canvas: Canvas
    texts: Sequence[Text] = ()


def in_cells(painted: Painted, glyphs: GlyphSet = "quadrants") -> Cells:
    """A picture in cells.

    Parameters
    ----------
    painted : Painted
        Its cells have as many pixels as :func:`~trainer.pictures.fit.fit` takes.
    glyphs : GlyphSet
        See :func:`~trainer.pictures.fit.fit`.
    """
    cells = fit(painted.canvas.pixels, glyphs, painted.canvas.solids)
    for text in painted.texts:
        said = text.plain if text.plain and glyphs == "plain" else text.text
        cells = write(cells, text.row, text.column, said, text.ink, text.ground)
    return cells
