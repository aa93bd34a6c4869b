"""One large ball alone, to see whether it comes out round."""

from trainer.pictures import GlyphSet, colours
from trainer.pictures.cells import Cells
from trainer.pictures.fit import fit
from trainer.pictures.projection import Viewport

FILLED = 0.92  # of the narrower way through the picture


def draw_ball(size: tuple[int, int], *, cell_aspect: float = 2.0, glyphs: GlyphSet = "quadrants") -> Cells:
    """A ball in the middle of the cloth, as large as there is room.

    Parameters
    ----------
    size : (int, int)
        Columns and rows, 1 x 1 at least.
    cell_aspect, glyphs
        As in :func:`~trainer.pictures.plan.draw_plan`.
    """
    canvas = Viewport(size, cell_aspect).canvas(colours.CLOTH_DARK)
    radius = FILLED * min(canvas.width, canvas.height) / 2
    canvas.ball(canvas.width / 2, canvas.height / 2, radius, colours.OBJECT_BALL)
    return fit(canvas.pixels, glyphs)
