import unicodedata
from itertools import pairwise

import numpy as np
import pytest
import shapely

from trainer.pictures.cells import ACROSS, DOWN, GLYPH_SETS, area, cover, coverages, outline

SEXTANTS = [chr(code) for code in range(0x1FB00, 0x1FB3C)]
WEDGES = [chr(code) for code in range(0x1FB3C, 0x1FB68)]
TRIANGLES = [chr(code) for code in range(0x1FB68, 0x1FB70)]

# Read off the pictures in the chart, not off the names: corners in halves across and thirds down.
DRAWN = {
    "\U0001fb3c": [(0, 2), (1, 3), (0, 3)],
    "\U0001fb40": [(0, 0), (1, 3), (0, 3)],
    "\U0001fb41": [(1, 0), (2, 0), (2, 3), (0, 3), (0, 1)],
    "\U0001fb46": [(0, 2), (2, 1), (2, 3), (0, 3)],
    "\U0001fb4b": [(2, 0), (2, 3), (1, 3)],
    "\U0001fb51": [(0, 1), (2, 2), (2, 3), (0, 3)],
    "\U0001fb56": [(0, 0), (2, 0), (2, 3), (1, 3)],
    "\U0001fb5c": [(0, 0), (2, 0), (2, 1), (0, 2)],
    "\U0001fb67": [(0, 0), (2, 0), (2, 2), (0, 1)],
    "\U0001fb68": [(0, 0), (2, 0), (2, 3), (0, 3), (1, 1.5)],
    "\U0001fb6d": [(0, 0), (2, 0), (1, 1.5)],
}


def as_shape(letter):
    return shapely.union_all([shapely.Polygon(part) for part in outline(letter)])


def areas(shape, across, down):
    """What a shape covers of each pixel, by another library."""
    found = np.empty((down, across))
    for j in range(down):
        for i in range(across):
            pixel = shapely.box(i / across, j / down, (i + 1) / across, (j + 1) / down)
            found[j, i] = shape.intersection(pixel).area * across * down
    return found


def pieces(name):
    """The corners that a wedge's name speaks of."""
    corner, line = name.split(" BLOCK DIAGONAL ")
    rows = {"UPPER": 0, "UPPER MIDDLE": 1 / 3, "LOWER MIDDLE": 2 / 3, "LOWER": 1}
    columns = {"LEFT": 0, "CENTRE": 0.5, "RIGHT": 1}
    places = [place.rsplit(" ", 1) for place in [corner, *line.split(" TO ")]]
    return [(columns[column], rows[row]) for row, column in places]


@pytest.mark.parametrize("letter", [*WEDGES, *TRIANGLES, *SEXTANTS[::7], *"▘▚▜▂▅▎▋"])
@pytest.mark.parametrize(("across", "down"), [(ACROSS, DOWN), (5, 7)])
def test_coverage_is_the_exact_area(letter, across, down):
    assert cover(letter, across, down) == pytest.approx(areas(as_shape(letter), across, down), abs=1e-6)


def test_wedges_lie_where_their_names_say():
    """Monte-Carlo: a point counts if it is on the named corner's side of the named line."""
    rng = np.random.default_rng(13)
    n = 200_000
    x, y = rng.random((2, n))
    pixel = (y * DOWN).astype(int) * ACROSS + (x * ACROSS).astype(int)
    shots = np.bincount(pixel, minlength=DOWN * ACROSS)
    for letter in WEDGES:
        corner, start, end = pieces(unicodedata.name(letter))

        def side(px, py, start=start, end=end):
            return (end[0] - start[0]) * (py - start[1]) - (end[1] - start[1]) * (px - start[0])

        inside = side(x, y) * side(*corner) > 0
        share = np.bincount(pixel[inside], minlength=DOWN * ACROSS) / shots
        exact = cover(letter).ravel()
        assert np.abs(share - exact).max() < 5 * 0.5 / np.sqrt(shots.min())
        assert inside.mean() == pytest.approx(exact.mean(), abs=5 * 0.5 / np.sqrt(n))


def test_glyphs_look_as_in_the_chart():
    for letter, corners in DRAWN.items():
        drawn = shapely.Polygon([(x / 2, y / 3) for x, y in corners])
        assert as_shape(letter).symmetric_difference(drawn).area < 1e-12


def test_parts_are_convex_turn_one_way_and_do_not_overlap():
    for letter in [*SEXTANTS, *WEDGES, *TRIANGLES, *"▘▚▜▂▅▎▋█"]:
        parts = outline(letter)
        whole = as_shape(letter)
        assert sum(area(part) for part in parts) == pytest.approx(whole.area, abs=1e-12)
        for part in parts:
            shape = shapely.Polygon(part)
            assert area(part) > 0
            assert shape.convex_hull.area == pytest.approx(shape.area, abs=1e-12)


def test_sextants_cover_their_sixths():
    for letter in SEXTANTS:
        digits = unicodedata.name(letter).removeprefix("BLOCK SEXTANT-")
        sixths = np.array([float(str(n) in digits) for n in range(1, 7)]).reshape(3, 2)
        assert cover(letter, 2, 3) == pytest.approx(sixths, abs=1e-6)
        assert cover(letter, 4, 6) == pytest.approx(sixths.repeat(2, axis=0).repeat(2, axis=1), abs=1e-6)


def test_every_glyph_left_out_is_the_complement_of_one():
    letters, masks = coverages("slanted")
    for letter in [*SEXTANTS, *WEDGES, *TRIANGLES, *"▀▐▙▛▜▞▟"]:
        here, there = (np.abs(masks - m).max(axis=(1, 2)).min() for m in (cover(letter), 1 - cover(letter)))
        assert min(here, there) < 1e-6
        assert (here < 1e-6) == (letter in letters) or letter == "▐"


def test_no_two_glyphs_of_a_set_are_the_same_or_complements():
    for glyphs in GLYPH_SETS[1:]:
        masks = coverages(glyphs)[1].reshape(-1, DOWN * ACROSS)
        centred = masks - masks.mean(axis=1, keepdims=True)
        centred /= np.linalg.norm(centred, axis=1, keepdims=True)
        alike = np.abs(centred @ centred.T) - np.eye(len(masks))
        assert alike.max() < 0.98


def test_each_set_holds_the_ones_before_in_the_same_places():
    assert coverages("plain")[0] == " "
    for poorer, richer in pairwise(GLYPH_SETS[1:]):
        assert coverages(richer)[0].startswith(coverages(poorer)[0])
        assert len(coverages(richer)[0]) > len(coverages(poorer)[0])
    added = coverages("slanted")[0].removeprefix(coverages("sextants")[0])
    assert set(added) <= {*WEDGES, *TRIANGLES}
    assert len(added) == 22 + 4


@pytest.mark.parametrize("letter", ["a", "é", "\U0001fb9a", "◢"])
def test_other_characters_are_no_glyphs(letter):
    with pytest.raises(ValueError, match="isn't a glyph of a picture"):
        cover(letter)
