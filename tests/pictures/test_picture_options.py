"""A few small plans in a grid: where they lie, and what stands in them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from looking import draw_plan, plan_frame

from trainer.pictures import colours
from trainer.pictures.options import Option, painted_options, places
from trainer.pictures.painted import in_cells
from trainer.pictures.plan import MARKER
from trainer.pictures.projection import Viewport
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of


def options(count: int, **more: object) -> list[Option]:
    shots = draw(np.random.default_rng(5), count, Limits(pocket_distance=(300, 900)))
    return [
        Option(shots[i], truth_of(shots[i]).target, f"{i + 1} label", **more)  # type: ignore[arg-type]
        for i in range(count)
    ]


@given(st.integers(1, 4), st.integers(1, 120), st.integers(1, 60), st.floats(1.0, 3.0, allow_subnormal=False))
def test_places_lie_inside_and_apart_and_a_cell_belongs_to_one_at_most(
    count: int, wide: int, high: int, aspect: float
) -> None:
    found = places(count, Viewport((wide, high), aspect))
    assert len(found) == count
    for place in found:
        if place.columns and place.rows:
            assert 0 <= place.left <= place.left + place.columns <= wide
            assert 0 <= place.top <= place.top + place.rows <= high
    owners = np.array([[sum(p.holds(x, y) for p in found) for x in range(wide)] for y in range(high)])
    assert owners.max() <= 1
    assert owners.sum() == sum(p.columns * p.rows for p in found)


@pytest.mark.parametrize(("size", "across"), [((41, 19), 2), ((62, 34), 2), ((160, 12), 4), ((20, 60), 1)])
def test_the_grid_is_as_wide_as_gives_most_room(size: tuple[int, int], across: int) -> None:
    assert len({p.left for p in places(4, Viewport(size))}) == across


def test_each_picture_is_the_plan_of_its_shot_below_its_label() -> None:
    asked = options(4, ink=colours.ROOM, paper=colours.AMBER)
    cells = in_cells(painted_options(asked, Viewport((62, 34))))
    for option, place in zip(asked, places(4, Viewport((62, 34))), strict=True):
        plan = draw_plan(option.shot, option.target, (place.columns, place.rows - 1), small=True)
        down, across = (
            slice(place.top + 1, place.top + place.rows),
            slice(place.left, place.left + place.columns),
        )
        assert (cells.glyphs[down, across] == plan.glyphs).all()
        assert (cells.paper[down, across] == plan.paper).all()
        assert "".join(cells.glyphs[place.top, across]).strip() == option.label
        assert (cells.paper[place.top, across] == colours.AMBER).all()


@pytest.mark.parametrize("size", [(1, 1), (3, 3), (7, 2), (2, 30)])
def test_where_there_is_no_room_nothing_breaks(size: tuple[int, int]) -> None:
    assert in_cells(painted_options(options(4), Viewport(size))).size == size


@pytest.mark.parametrize("size", [(19, 8), (20, 8), (30, 16)])
def test_in_a_small_picture_balls_are_whole(size: tuple[int, int]) -> None:
    shots = draw(np.random.default_rng(2), 200, Limits())
    room = (size[0] * 4.0, size[1] * 8.0)
    for i in range(200):
        view = plan_frame(shots[i], truth_of(shots[i]).target, room, small=True)
        for ball in (shots[i].cue_ball, shots[i].object_ball):
            x, y = view.at(ball)
            assert MARKER - 1e-6 <= x <= room[0] - MARKER + 1e-6
            assert MARKER - 1e-6 <= y <= room[1] - MARKER + 1e-6
