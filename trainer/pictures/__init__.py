"""Pictures of a shot, in numpy: marks -> pixels -> terminal cells.

A projection paints marks on a :class:`~trainer.pictures.canvas.Canvas`; :func:`~trainer.pictures.fit.fit`
turns pixels into cells and knows nothing of the projection. Nothing here knows the screen.
"""

from typing import Literal, get_args

GlyphSet = Literal["plain", "halves", "quadrants", "sextants", "slanted"]
GLYPH_SETS: tuple[GlyphSet, ...] = get_args(GlyphSet)  # from the poorest to the richest
MOST_SIZE = (1000, 500)  # columns and rows of a picture, at most
