from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from looking import as_pixels, axes, likeness, middle, orange

from trainer.pictures import colours
from trainer.pictures.cells import ACROSS
from trainer.pictures.inset import Hit, inset_view, paint_inset, painted_inset
from trainer.pictures.painted import in_cells
from trainer.pictures.projection import Viewport

SIZES = ((27, 10), (38, 17), (48, 22))
ROWS = {
    "quarters right": [0.0, 0.25, 0.5, 0.75, 1.0],
    "eighths right": [0.2 + 0.125 * i for i in range(8)],
    "eighths left": [-1.07 + 0.125 * i for i in range(8)],
    "eighths across": [-0.5 + 0.125 * i for i in range(8)],
    "sixteenths": [0.31 + 0.0625 * i for i in range(9)],
    "one": [0.4],
}
LETTERS = "123456789"


@pytest.mark.parametrize("aspect", [1.5, 2.0, 2.5])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("row", ROWS)
def test_the_whole_row_fits_and_the_ball_is_wide(row, size, aspect):
    candidates = ROWS[row]
    hit = Hit(1.0, candidates, LETTERS[: len(candidates)])
    view = inset_view(hit, Viewport(size, aspect))
    columns = view.columns
    assert view.scale / 4 >= 12
    assert columns[0] >= 1
    assert columns[-1] <= size[0] - 2
    for before, after in pairwise(columns):
        assert after - before >= 2
    cells = in_cells(painted_inset(hit, Viewport(size, aspect)))
    bottom = "".join(cells.glyphs[-1])
    assert bottom.split() == list(LETTERS[: len(candidates)])
    for column, label in zip(columns, LETTERS, strict=False):
        assert bottom[column] == label
        assert cells.glyphs[view.marks, column] == "│"
        assert 4 * column <= view.across(candidates[columns.index(column)]) <= 4 * column + 4


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("row", ["quarters right", "eighths left", "eighths across", "sixteenths"])
def test_an_even_row_lies_in_the_middles_of_cells(row, size):
    candidates = ROWS[row]
    view = inset_view(Hit(1.0, candidates), Viewport(size))
    for candidate in candidates:
        assert view.across(candidate) / 4 % 1 == pytest.approx(0.5, abs=1e-6)


def test_too_many_candidates_still_draw_in_order_and_inside():
    candidates = [-1 + i / 32 for i in range(65)]
    columns = inset_view(Hit(1.0, candidates), Viewport((27, 10))).columns
    assert len(columns) == len(candidates)
    assert list(columns) == sorted(columns)
    assert columns[0] >= 0
    assert columns[-1] < 27
    in_cells(painted_inset(Hit(1.0, candidates, ["x"] * 65), Viewport((27, 10))))


@pytest.mark.parametrize("aspect", [1.8, 2.0, 2.2])
def test_the_ball_is_round(aspect):
    view = inset_view(Hit(1.0), Viewport((48, 22), aspect))
    canvas = paint_inset(Hit(1.0), view)
    for pixels in (canvas.pixels, as_pixels(in_cells(painted_inset(Hit(1.0), Viewport((48, 22), aspect))))):
        ball = np.where(pixels[..., 0] > 0.12, 1.0, 0.0)
        wide = ball.any(axis=0).sum()
        high = ball.any(axis=1).sum() * canvas.step
        assert wide == pytest.approx(view.scale, abs=2.5)
        assert high == pytest.approx(view.scale, abs=2.5)
        area = ball.sum() * canvas.step
        assert area == pytest.approx(np.pi * view.scale**2 / 4, rel=0.03)
        assert middle(ball, canvas.step) == pytest.approx((view.x, view.y), abs=0.5)


def covered(size, offset, **more):
    """Columns of pixels, at the ball's middle height, of the object ball alone and behind the cue ball."""
    plain, shown = (
        as_pixels(in_cells(painted_inset(Hit(1.0, true=true), Viewport(size)), **more))
        for true in (None, offset)
    )
    view = inset_view(Hit(1.0), Viewport(size))
    row = int(view.y)
    differs = np.abs(plain[row] - shown[row]).max(axis=1) > 0.02
    return np.flatnonzero(orange(plain)[row] > 0), np.flatnonzero(differs), view


@pytest.mark.parametrize("offset", [0.25, 0.5, 0.875, -0.125, -0.5, -0.75])
def test_what_the_cue_ball_covers_is_the_fullness(offset):
    ball, cue, view = covered((80, 40), offset)
    overlap = len(np.intersect1d(np.arange(ball.min(), ball.max() + 1), cue)) / view.scale
    assert overlap == pytest.approx(1 - abs(offset), abs=0.03)
    assert (cue.mean() > ball.mean()) == (offset > 0)  # + is to the right


def test_a_smaller_cue_ball_rests_on_the_same_cloth():
    hit = Hit(np.sqrt(0.9))
    view = inset_view(hit, Viewport((48, 22)))
    without = paint_inset(hit, view)
    canvas = paint_inset(replace(hit, true=1.0), view)
    rows = np.flatnonzero((np.abs(canvas.pixels - without.pixels).max(axis=2) > 0.05).any(axis=1))
    radius = view.scale / 2
    assert rows.max() + 1 == pytest.approx(view.y + radius, abs=1.5)
    assert rows.min() == pytest.approx(view.y + radius - 1.8 * radius, abs=1.5)


def test_the_selected_candidate_stands_out():
    candidates = ROWS["eighths right"]
    calm = in_cells(painted_inset(Hit(1.0, candidates, "12345678"), Viewport((38, 17))))
    view = inset_view(Hit(1.0, candidates), Viewport((38, 17)))
    for k in range(8):
        cells = in_cells(painted_inset(Hit(1.0, candidates, "12345678", selected=k), Viewport((38, 17))))
        assert [int(c) for c in np.flatnonzero(cells.glyphs[view.marks] == "┃")] == [view.columns[k]]
        assert tuple(cells.ink[-1, view.columns[k]]) == colours.MARK
        assert cells != calm


def test_the_call_is_a_dashed_outline():
    hit = Hit(1.0, called=0.6)
    view = inset_view(hit, Viewport((60, 26)))
    canvas = paint_inset(hit, view)
    radius = view.scale / 2
    turn = np.linspace(-1.2, 1.2, 300)  # the half that lies on the cloth
    xs = view.across(0.6) + (radius - 1) * np.cos(turn)
    ys = (view.y + (radius - 1) * np.sin(turn)) / canvas.step
    chalk = likeness(canvas.pixels[ys.astype(int), xs.astype(int)], colours.CHALK, colours.CLOTH_DARK)
    assert (chalk > 0.5).mean() == pytest.approx(0.5, abs=0.15)
    assert (chalk < 0.1).mean() > 0.25


def test_a_ghost_moves_and_the_ball_stays():
    drawn = [
        in_cells(painted_inset(Hit(1.0, outlined=at), Viewport((38, 17))))
        for at in ((), (-0.5,), (0.0,), (0.5,))
    ]
    for i in range(4):
        for j in range(i):
            assert drawn[i] != drawn[j]
    assert (drawn[1].paper[:, -8:] == drawn[0].paper[:, -8:]).all()
    assert drawn[0] == in_cells(painted_inset(Hit(1.0), Viewport((38, 17))))


@pytest.mark.parametrize("aspect", [1.5, 2.0, 2.5])
@pytest.mark.parametrize("glyphs", ["quadrants", "halves"])
def test_every_size_draws(aspect, glyphs):
    for size in ((1, 1), (1, 6), (9, 1), (2, 2), (4, 3), (7, 30), (300, 80)):
        hit = Hit(0.968, ROWS["eighths right"], "12345678", selected=3, called=0.3, true=0.45)
        cells = in_cells(painted_inset(hit, Viewport(size, aspect)), glyphs)
        assert cells.size == size


def test_labels_must_match_the_candidates():
    with pytest.raises(ValueError, match="2 labels for 3 candidates"):
        Hit(1.0, [0.1, 0.3, 0.5], ["1", "2"])


@pytest.mark.parametrize(
    "aspect", [1.6, 2.0, 2.5, *(pytest.param(aspect, marks=pytest.mark.slow) for aspect in (1.8, 2.2))]
)
@pytest.mark.parametrize("size", [(31, 14), (38, 18), (41, 19), (47, 23), (56, 26)])
def test_the_ball_is_round_whatever_the_shape_of_a_cell(size, aspect):
    view = inset_view(Hit(1.0), Viewport(size, aspect))
    pixels = as_pixels(in_cells(painted_inset(Hit(1.0), Viewport(size, aspect))), 4)
    across, down = axes(pixels, 4 * view.x, 4 * view.y, 2 * view.scale, aspect / 2) / (2 * view.scale)
    assert view.scale >= 11 * ACROSS
    assert across == pytest.approx(down, rel=0.03)
    assert across == pytest.approx(1.0, rel=0.03)


def test_a_side_that_isn_t_to_be_told_is_not_shown():
    both = in_cells(painted_inset(Hit(1.0, outlined=(0.5, -0.5)), Viewport((40, 20))))
    assert both == in_cells(painted_inset(Hit(1.0, outlined=(-0.5, 0.5)), Viewport((40, 20))))
    one = in_cells(painted_inset(Hit(1.0, outlined=(0.5,)), Viewport((40, 20))))
    assert both != one
    assert (both.glyphs[:, 22:] == one.glyphs[:, 22:]).mean() > 0.9  # the right half is that of one alone
