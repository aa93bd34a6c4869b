"""The mark of the way in: as wide as a pot forgives, and large enough to be found."""

from dataclasses import replace

import numpy as np
import pytest
from looking import one_shot

from trainer.geometry.tables import POCKETS, TABLES
from trainer.geometry.vectors import unit
from trainer.pictures import colours
from trainer.pictures.mouth import LEAST_DEEP, LEAST_WIDE, paint_way_in, way_in
from trainer.pictures.projection import Viewport
from trainer.shots.truth import opening_of

CELLS = ((4, 8), (8, 17), (10, 20))


def ends_of(corners):
    """The right and the left end, (2, 2) mm."""
    right, left, far_left, far_right = np.array(corners)
    return np.array([(right + far_right) / 2, (left + far_left) / 2])


@pytest.mark.parametrize("name", TABLES)
def test_it_is_as_wide_as_the_pot_forgives(name):
    """Ways of the ball across the mark drop, and ways beside it don't."""
    for seed in range(30):
        shot, truth = one_shot(seed, table=TABLES[name])
        right, left = ends_of(way_in(shot, truth.target))
        jaws = shot.table.jaws[POCKETS.index(shot.pocket)]
        for part, drops in ((-0.05, False), (0.02, True), (0.5, True), (0.98, True), (1.05, False)):
            place = right + part * (left - right)
            line = np.array([*(jaws[1] - jaws[0]), 0.0])
            assert abs(np.cross(line, [*(place - jaws[0]), 0.0])[2]) < 1e-6 * line @ line  # on the mouth
            way = unit(place - shot.object_ball)
            assert bool(opening_of(shot).at(0).holds(way)) == drops


def test_it_holds_the_target_and_half_a_ball_of_depth():
    for seed in range(30):
        shot, truth = one_shot(seed)
        corners = np.array(way_in(shot, truth.target))
        right, left = ends_of(corners)
        along = (np.array(truth.target) - right) @ (left - right) / ((left - right) @ (left - right))
        assert 0.0 < along < 1.0
        radius = shot.table.balls.object_radius
        assert np.linalg.norm(corners[3] - corners[0]) == pytest.approx(radius)
        middle = np.array(shot.table.size) / 2  # its first side is the table's
        assert np.linalg.norm(corners[0] - middle) < np.linalg.norm(corners[3] - middle)


def test_of_a_target_that_is_not_the_balls_own_it_tells_nothing_of_the_ball():
    shot, _ = one_shot(3)
    target = tuple(shot.table.jaws[POCKETS.index(shot.pocket)].mean(axis=0).tolist())
    other = replace(shot, object_ball=(1500.0, 700.0))
    assert way_in(shot, target) == way_in(other, target)


@pytest.mark.parametrize("cell", CELLS)
@pytest.mark.parametrize("turn", np.linspace(0.0, np.pi, 7))
@pytest.mark.parametrize("size", [(0.0, 0.0), (2.0, 1.0), (20.0, 6.0)])
def test_it_is_never_too_small_to_be_found(cell, turn, size):
    """Its area is that of what is seen of it, but not less than that of the smallest, in every direction."""
    viewport = Viewport((20, 10), cell=cell)
    canvas, unit = viewport.canvas(colours.SHADOW), viewport.unit
    way = np.array([np.cos(turn), np.sin(turn)])
    across, deep = way * size[0] * unit / 2, np.array([-way[1], way[0]]) * size[1] * unit / 2
    middle = np.array(viewport.room) / 2
    corners = [middle + a * across + b * deep for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
    paint_way_in(canvas, [tuple(corner) for corner in corners], unit)
    lit = canvas.pixels[..., 0].sum() / colours.linear(colours.AMBER)[0] * canvas.step
    wanted = max(size[0], LEAST_WIDE) * max(size[1], LEAST_DEEP) * unit**2
    assert lit == pytest.approx(wanted, rel=0.06)
