"""The ball that a player makes round: it is, where the cells are shaped as was said, and not elsewhere."""

import numpy as np
import pytest
from looking import as_pixels, middle, spreads

from trainer.pictures import colours
from trainer.pictures.inset import FILLED, painted_ball
from trainer.pictures.painted import in_cells
from trainer.pictures.projection import Viewport

SIZES = [(36, 23), (76, 39), (156, 59)]  # as on screens of 80x24, 120x40, 200x60


def seen(size, said, true, glyphs="quadrants"):
    """Diameters across and down, and what a disc of the same area has, in columns.

    The cells were drawn for the shape that was said, and are looked at in their true one. A solid disc
    has a standard deviation of a quarter of its diameter either way.
    """
    ball = np.where(as_pixels(in_cells(painted_ball(Viewport(size, said)), glyphs))[..., 0] > 0.12, 1.0, 0.0)
    step = true / 2
    across, down = spreads(ball, step)
    x, y = middle(ball, step)
    assert (x, y) == pytest.approx((size[0] * 2.0, size[1] * 4.0 * step), rel=0.01)
    return across, down, np.sqrt(ball.sum() * step / np.pi) * 2 / 4


@pytest.mark.parametrize("aspect", [1.3, 1.6, 2.0, 2.5, 3.2])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("glyphs", ["halves", "quadrants"])
def test_it_is_round_where_the_cells_are_as_was_said(size, aspect, glyphs):
    across, down, of_area = seen(size, aspect, aspect, glyphs)
    assert across / down == pytest.approx(1, abs=0.03)
    assert across == pytest.approx(of_area, rel=0.03)
    assert of_area == pytest.approx(FILLED * min(size[0], size[1] * aspect), rel=0.03)


@pytest.mark.parametrize("size", SIZES)
def test_it_shows_by_how_much_what_was_said_is_wrong(size):
    for said, true in ((2.0, 2.2), (2.4, 2.0), (1.6, 1.7)):
        across, down, _ = seen(size, said, true)
        assert across / down == pytest.approx(said / true, rel=0.03)


def test_the_smallest_picture_can_be_drawn():
    cells = in_cells(painted_ball(Viewport((1, 1), 3.2)))
    assert cells.size == (1, 1)
    assert tuple(in_cells(painted_ball(Viewport((40, 20)))).paper[0, 0]) == colours.CLOTH_DARK
