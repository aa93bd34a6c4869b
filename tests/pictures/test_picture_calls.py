"""The chart of a set's calls: each where its cut and its error are, and what a pot forgives behind it."""

import math

import numpy as np
import pytest
from looking import as_pixels

from trainer.pictures import GLYPH_SETS
from trainer.pictures.charts import MARGIN, SCALES, painted_calls_chart, scale_of, side_by_side
from trainer.pictures.painted import in_cells
from trainer.pictures.projection import Viewport
from trainer.pictures.reduced import reduced
from trainer.pictures.terminal import Depth

SIZES = [(80, 9), (120, 16), (200, 24)]
WIDE = 0.04  # balls that a pot forgives to either side


def chart(size, calls, wide=WIDE):
    offsets, errors = zip(*calls, strict=True) if calls else ((), ())
    return in_cells(
        painted_calls_chart(
            Viewport(size), offsets=offsets, errors=errors, forgiven=[(-wide, wide)] * len(calls)
        )
    )


def found(cells, kind):
    """Rows and columns, in parts of the chart, of the pixels of a kind: amber, white, green."""
    pixels = as_pixels(cells)[: -8 if cells.size[1] >= 4 else None, 4 * MARGIN :]
    red, green, blue = np.moveaxis(pixels, -1, 0)
    chosen = {
        "amber": (red > 0.6) & (blue < 0.35),
        "white": (red > 0.7) & (blue > 0.6),
        "green": (green > 0.12) & (red < 0.1),
    }[kind]
    rows, columns = np.nonzero(chosen)
    return (rows + 0.5) / pixels.shape[0], (columns + 0.5) / pixels.shape[1]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("offset", [-0.6, 0.0, 0.7])
@pytest.mark.parametrize("error", [-0.1, 0.09])
def test_a_call_that_misses_lies_at_its_cut_and_error(size, offset, error):
    rows, columns = found(chart(size, [(offset, error)]), "amber")
    # The stalk is thin and pale; the ball's middle is what is bright.
    assert np.median(rows) == pytest.approx((1 - error / 0.125) / 2, abs=0.07)
    assert np.median(columns) == pytest.approx((1 - offset) / 2, abs=0.01)
    assert not len(found(chart(size, [(offset, error)]), "white")[0])


@pytest.mark.parametrize("size", SIZES)
def test_a_call_within_what_is_forgiven_is_white_and_on_green(size):
    cells = chart(size, [(0.5, 0.03)])
    rows, columns = found(cells, "white")
    at = np.abs(columns - 0.25) < 0.03  # the line of what is true is white, too, all along
    assert len(found(cells, "amber")[0]) == 0
    assert rows[at].min() < 0.45
    green, across = found(chart(size, [(0.5, 0.12)]), "green")
    assert green.min() == pytest.approx((1 - WIDE / 0.125) / 2, abs=0.05)
    assert green.max() == pytest.approx((1 + WIDE / 0.125) / 2, abs=0.05)
    assert across.mean() == pytest.approx(0.25, abs=0.01)


@pytest.mark.parametrize(
    ("errors", "scale"), [((), 1 / 8), ((0.125,), 1 / 8), ((0.01, -0.2), 1 / 4), ((3.0,), 1.0)]
)
def test_the_scale_is_the_first_that_holds_them_all(errors, scale):
    assert scale_of(errors) == scale
    assert scale in SCALES


@pytest.mark.parametrize("size", [(1, 1), (3, 2), (20, 4), (78, 8)])
@pytest.mark.parametrize("glyphs", GLYPH_SETS)
def test_any_size_is_drawn_and_what_is_beyond_lies_at_the_edge(size, glyphs):
    calls = [(-1.0, 4.0), (1.0, -4.0), (0.0, 0.0)]
    offsets, errors = zip(*calls, strict=True)
    cells = in_cells(
        painted_calls_chart(Viewport(size), offsets=offsets, errors=errors, forgiven=[(-0.1, 0.1)] * 3),
        glyphs,
    )
    assert cells.size == size
    if size == (78, 8):
        rows = ["".join(row) for row in cells.glyphs.tolist()]
        assert rows[0].lstrip().startswith("1 thick")
        assert rows[-2].lstrip().startswith("1 thin")
        if glyphs in ("halves", "quadrants"):  # whose shapes as_pixels knows
            top, _ = found(cells, "amber")
            assert top.min() < 0.2
            assert top.max() > 0.8


def test_without_colours_a_call_that_misses_can_be_told_from_one_that_pots():
    inside, outside = (reduced(chart((80, 9), [(0.5, error)]), Depth.NONE).glyphs for error in (0.03, 0.1))
    assert (inside != outside).any()
    assert "".join(outside[:4].ravel()).strip()


def test_no_call_hides_another_and_none_goes_far():
    rng = np.random.default_rng(1)
    for _ in range(50):
        xs, ys = rng.uniform(40, 70, 12).tolist(), rng.uniform(0, 60, 12).tolist()
        found = side_by_side(xs, ys, 8.0, (0.0, 400.0))
        assert max(abs(x - was) for x, was in zip(found, xs, strict=True)) <= 3 * 8.0
        for i in range(12):
            for k in range(i):
                assert math.dist((found[i], ys[i]), (found[k], ys[k])) >= 8.0 - 1e-9
    assert side_by_side([5.0, 50.0], [9.0, 9.0], 8.0, (10.0, 45.0)) == [10.0, 45.0]
    crowd = side_by_side([20.0] * 40, [9.0] * 40, 8.0, (0.0, 40.0))  # no place for all: they stay at theirs
    assert crowd[-1] == 20.0
