"""Leaves against brute force: every place of a grid, its cut by complex numbers; areas by shapely."""

import numpy as np
import pytest
import shapely

from trainer.geometry.aiming import Stroke, hit_for
from trainer.geometry.fullness import fullness_from_cut
from trainer.geometry.leave import leave_line, leave_region
from trainer.geometry.tables import TABLES
from trainer.geometry.vectors import unit

SNOOKER, SMALL = TABLES["snooker"], TABLES["small-ball"]
CASES = [
    (SNOOKER, (2676.0, 889.0), (3569.0, 1778.0), (0.4, 0.6), 1.0),
    (SNOOKER, (2676.0, 889.0), (3569.0, 0.0), (0.4, 0.6), -1.0),
    (SNOOKER, (3245.0, 889.0), (3569.0, 0.0), (0.0, 1.0), 1.0),
    (SNOOKER, (3530.0, 600.0), (3569.0, 0.0), (0.2, 0.9), -1.0),
    (SMALL, (900.0, 200.0), (914.4, 0.0), (0.5, 0.75), 1.0),
    (SMALL, (100.0, 500.0), (0.0, 0.0), (0.0, 0.3), 1.0),
]
EACH_CASE = pytest.mark.parametrize(("table", "ball", "pocket", "wanted", "side"), CASES)


def grid(table, step=23.0):  # type: ignore[no-untyped-def]
    r = table.balls.cue_radius
    x, y = np.meshgrid(np.arange(r, table.length - r, step), np.arange(r, table.width - r, step))
    return np.stack([x.ravel(), y.ravel()], axis=-1)


def brute(table, ball, way, places):  # type: ignore[no-untyped-def]
    """Fullness (NaN where it can't be hit) and side of every place, by complex numbers."""
    o, w = complex(*ball), complex(*way)
    touching = o - w * table.contact
    cue = places[:, 0] + 1j * places[:, 1]
    cut = np.angle(w / (touching - cue))
    return np.where(np.abs(cut) < np.pi / 2, 1 - np.abs(np.sin(cut)), np.nan), np.sign(cut)


@EACH_CASE
def test_region_by_brute_force(table, ball, pocket, wanted, side) -> None:  # type: ignore[no-untyped-def]
    way = unit(np.subtract(pocket, ball))
    region = leave_region(table, ball, way, wanted, side)
    places = grid(table)
    full, sides = brute(table, ball, way, places)
    apart = np.hypot(*(places - ball).T) >= table.contact
    expected = (full >= wanted[0]) & (full <= wanted[1]) & (sides == side) & apart
    assert expected.sum() > 50
    shape = shapely.Polygon(region)
    marks = shapely.points(places)
    np.testing.assert_array_equal(shapely.intersects(shape, marks)[apart], expected[apart])


@EACH_CASE
def test_lines_give_their_fullness(table, ball, pocket, wanted, side) -> None:  # type: ignore[no-untyped-def]
    way = unit(np.subtract(pocket, ball))
    fullness = np.linspace(max(wanted[0], 0.01), wanted[1] - 0.01, 7)
    line = leave_line(table, ball, way, fullness, side)
    r = table.balls.cue_radius
    for share in (0.01, 0.5, 1.0):
        some = ~line.is_empty
        place = line.place(line.first + share * (line.last - line.first))[some]
        full, sides = brute(table, ball, way, place)
        np.testing.assert_allclose(full, fullness[some], atol=1e-9)
        assert (sides == side).all()
        if share == 1.0:  # the far end is on a nose
            edges = np.concatenate([place - r, np.array(table.size) - r - place], axis=-1)
            np.testing.assert_allclose(edges.min(axis=-1), 0.0, atol=1e-9)


@pytest.mark.parametrize("stroke", [Stroke(0.8, 0.0), Stroke(1.5, 1.0, 0.6), Stroke(1.0, 0.0, -0.5)], ids=str)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_region_with_throw(stroke: Stroke, side: float) -> None:
    """The outline agrees with each place's own cut with throw, to a micrometre of its tip."""
    ball = np.array([2676.0, 889.0])
    way = unit(np.array([3569.0, 1778.0]) - ball)
    region = leave_region(SNOOKER, ball, way, (0.35, 0.65), side, stroke)
    places = grid(SNOOKER)
    places = places[np.hypot(*(places - ball).T) > 1.2 * SNOOKER.contact]
    hit = hit_for(places, ball, way, SNOOKER.contact, stroke)
    full = fullness_from_cut(hit.cut)
    held = (full >= 0.35) & (full <= 0.65) & (side * hit.cut > 0)
    assert held.sum() > 50
    outline = shapely.Polygon(region)
    inside = shapely.contains(outline, shapely.points(places))
    near = shapely.distance(outline.exterior, shapely.points(places)) < 0.01
    np.testing.assert_array_equal(held[~near], inside[~near])
    line = leave_line(SNOOKER, ball, way, 0.5, side, stroke)
    cut = hit_for(line.place(400.0), ball, way, SNOOKER.contact, stroke).cut
    assert float(fullness_from_cut(cut)) == pytest.approx(0.5, abs=1e-12)
    assert np.sign(cut) == side


BALL = np.array([2676.0, 889.0])
WAY = unit(np.array([3569.0, 1778.0]) - BALL)


def test_nowhere_on_the_table() -> None:
    """A ball frozen to the cushion behind it leaves no room for the cue ball."""
    r = SNOOKER.balls.object_radius
    region = leave_region(SNOOKER, [r, 900.0], [1.0, 0.0], (0.5, 1.0), 1.0)
    assert region.shape == (0, 2)
    assert bool(leave_line(SNOOKER, [r, 900.0], [1.0, 0.0], 0.5, 1.0).is_empty)
    with pytest.raises(ValueError, match="0 to 1"):
        leave_region(SNOOKER, [500.0, 900.0], [1.0, 0.0], (0.5, 1.5), 1.0)
