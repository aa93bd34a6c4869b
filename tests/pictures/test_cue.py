"""The cue: it lies along the line, behind the cue ball, and only where a player is down on it."""

import math
from itertools import pairwise

import numpy as np
import pytest

from trainer.app.scene import Scene
from trainer.drills import mark
from trainer.geometry.tables import TABLES
from trainer.levels.level import Level
from trainer.pictures.cue import parts_of
from trainer.pictures.marks import Cue, balls_of
from trainer.pictures.projection import Viewport, paint
from trainer.pictures.views import projection_of
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of

RADIUS = 26.25


@pytest.mark.parametrize("toward", [(1000.0, 400.0), (-300.0, 900.0), (500.0, 100.0)])
def test_it_lies_along_the_line_and_doesn_t_touch_the_ball(toward: tuple[float, float]) -> None:
    cue_ball = 500.0, 600.0
    parts = parts_of(cue_ball, toward, RADIUS)
    way = np.subtract(toward, cue_ball) / math.dist(toward, cue_ball)
    for part in parts:
        for end in part.ends:
            off = end[:2] - cue_ball
            assert off @ way < -RADIUS
            assert abs(off[0] * way[1] - off[1] * way[0]) < 1e-9
        assert part.widths[0] <= part.widths[1]
    for one, other in pairwise(parts):
        assert np.array_equal(one.ends[1], other.ends[0])
        assert one.widths[1] == other.widths[0]
    tip, butt = parts[0].ends[0], parts[-1].ends[1]
    assert np.linalg.norm(tip - [*cue_ball, RADIUS]) - RADIUS < 40.0
    assert np.linalg.norm(butt - tip) == pytest.approx(1470.0)
    assert butt[2] > tip[2] > RADIUS


def scene_of(view: str) -> Scene:
    rng, limits = np.random.default_rng(2), Limits(TABLES["snooker"])
    shot = draw(rng, 1, limits)[0]
    level = Level(name="line", title="", teaches="", drill="slide", limits=limits)
    return Scene(level.question(shot, truth_of(shot), rng), view)


def test_it_turns_with_the_line_that_is_considered_and_tells_nothing_else() -> None:
    scene = scene_of("down")
    dial = scene.question.dial
    assert dial is not None
    assert not [m for m in scene.marks if isinstance(m, Cue)]
    for value in (-0.7, 0.0, 0.4):
        considered = scene.considering(dial.at(value))
        (cue,) = (m for m in considered.marks if isinstance(m, Cue))
        assert cue == Cue(scene.shot.cue_ball, scene.shot.abreast(value))
    called = scene.marked(mark(scene.question, dial.at(0.4)))
    assert not [m for m in called.marks if isinstance(m, Cue)]
    for view in ("standing", "plan"):
        assert not [m for m in scene.considering(dial.at(0.4)).seen(view).marks if isinstance(m, Cue)]


def test_it_is_seen_below_the_cue_ball_and_hides_no_more_than_its_edge() -> None:
    scene = scene_of("down")
    shot = scene.shot
    viewport = Viewport((79, 35), cell=(10, 20))
    projection = projection_of("down", shot, scene.target, viewport)
    without = paint(projection, balls_of(shot)).pixels
    ahead = shot.object_ball
    drawn = paint(projection, [*balls_of(shot), Cue(shot.cue_ball, ahead)]).pixels
    rows, columns = np.nonzero((drawn != without).any(axis=2))
    x, y = projection.seen_at(shot.cue_ball)
    assert rows.max() == viewport.size[1] * 20 - 1  # out of the picture
    assert rows.min() > y
    first = columns[rows == rows.min()]
    assert abs(first.mean() - x) < 30
