"""Marks and what a projection makes of them: in order, in any number of pixels, and text beside them."""

from dataclasses import replace

import numpy as np
import pytest
from looking import marked, one_shot

from trainer.names import VIEWS
from trainer.pictures import colours
from trainer.pictures import projection as projecting
from trainer.pictures.marks import (
    APPEARANCES,
    Ball,
    GhostBall,
    Label,
    Line,
    Meaning,
    Region,
    Ring,
    Role,
    Spot,
    balls_of,
    call_marks,
    truth_marks,
)
from trainer.pictures.projection import Projection, Viewport, draw, paint, painted
from trainer.pictures.views import nearest, projection_of

EACH_VIEW = pytest.mark.parametrize("view", VIEWS)
SIZE = (60, 22)


def seen(view: str, cell: tuple[int, int] = (4, 8)) -> tuple[Projection, list]:
    """A projection of a shot, and all that may be laid over one."""
    shot, truth = one_shot(2, cuts=(20.0, 40.0))
    (x, y), wide = truth.touching, 100.0
    corners = [(x - wide, y - wide), (x + wide, y - wide), (x + wide, y + wide), (x - wide, y + wide)]
    laid = [
        Region(corners, Meaning.ASKED),
        *marked(shot, truth.target, truth.touching, truth.touching, way=[truth.target]),
        Spot(shot.cue_ball, Meaning.CHOICE),
        Label(shot.object_ball, "3", Meaning.BALL),
        *balls_of(shot),
    ]
    return projection_of(view, shot, truth.target, Viewport(SIZE, 2.0, cell)), laid


@EACH_VIEW
@pytest.mark.parametrize("cell", [(8, 16), (12, 24), (9, 18)])
def test_the_picture_is_the_same_in_more_pixels(
    view: str, cell: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As many pixels as a terminal's cells really have show the same: cell by cell the mean light agrees.

    But for the width of lines, which is that of the fewest pixels here.
    """
    monkeypatch.setattr(projecting, "THIN", projecting.LEAST_THIN)
    monkeypatch.setattr(projecting, "LINE", projecting.LEAST_LINE)
    (coarse, laid), (fine, _) = seen(view), seen(view, cell)
    means = []
    for projection, (across, down) in ((coarse, (4, 8)), (fine, cell)):
        pixels = paint(projection, laid).pixels
        assert pixels.shape == (SIZE[1] * down, SIZE[0] * across, 3)
        means.append(pixels.reshape(SIZE[1], down, SIZE[0], across, 3).mean(axis=(1, 3)))
    off = np.abs(means[0] - means[1])
    assert off.mean() < 0.004
    assert np.quantile(off, 0.99) < 0.06


def test_lines_are_thinner_in_more_pixels_but_never_broken() -> None:
    widths = []
    for cell in ((4, 8), (8, 17), (10, 20), (20, 40)):
        viewport = Viewport(SIZE, 2.0, cell)
        assert 1.0 <= viewport.thin < viewport.line
        widths.append((viewport.thin / viewport.unit, viewport.line / viewport.unit))
    for more, fewer in zip(widths[1:], widths, strict=False):
        assert more[0] < fewer[0]
        assert more[1] <= fewer[1]
    assert widths[1][1] < 0.7 * widths[0][1]


@EACH_VIEW
def test_each_kind_of_mark_is_seen(view: str) -> None:
    projection, laid = seen(view)
    balls = balls_of(projection.shot)
    bare = paint(projection, balls).pixels
    for mark in laid:
        if isinstance(mark, Ball | Label):
            continue
        assert (paint(projection, [mark, *balls]).pixels != bare).any(), mark
    kinds = {Ball, GhostBall, Label, Line, Region, Ring, Spot}
    assert {type(mark) for mark in laid} == kinds


@EACH_VIEW
def test_what_is_not_there_is_not_painted(view: str) -> None:
    projection, _ = seen(view)
    empty = paint(projection, []).pixels
    assert (empty == projection.background().pixels).all() or view != "plan"
    nothing = [
        Line((), Meaning.CALL),
        Line((projection.shot.cue_ball,), Meaning.CALL),
        Region((), Meaning.HELP),
    ]
    assert (paint(projection, nothing).pixels == empty).all()
    assert not (paint(projection, balls_of(projection.shot)).pixels == empty).all()


@EACH_VIEW
def test_labels_are_text_and_never_pixels(view: str) -> None:
    projection, laid = seen(view)
    without = [mark for mark in laid if not isinstance(mark, Label)]
    assert (paint(projection, laid).pixels == paint(projection, without).pixels).all()
    (text,) = painted(projection, laid).texts
    x, y = projection.seen_at(projection.shot.object_ball)
    assert (text.column, text.row) == (int(x // 4), int(y // 8))
    assert (text.text, text.ink, text.ground) == ("3", colours.POCKET, colours.OBJECT_BALL)
    cells = draw(projection, laid)
    assert cells.glyphs[text.row, text.column] == "3"


@EACH_VIEW
def test_a_click_on_a_ball_means_it_and_one_far_off_means_none(view: str) -> None:
    projection, _ = seen(view)
    places = [projection.shot.cue_ball, projection.shot.object_ball]
    for i, place in enumerate(places):
        assert nearest(projection, places, projection.viewport.cell_at(projection.seen_at(place))) == i
    assert nearest(projection, places, (0, SIZE[1] - 1)) is None
    assert nearest(projection, [], (30, 10)) is None


@EACH_VIEW
def test_a_place_is_found_again_where_it_is_seen(view: str) -> None:
    projection, _ = seen(view)
    shot = projection.shot
    back = projection.place_at(projection.seen_at(shot.object_ball))
    assert back is not None
    # A ball's middle is seen a ball's radius above the cloth: from the eye the cloth behind it.
    assert np.hypot(*np.subtract(back, shot.object_ball)) < (1e-6 if view == "plan" else 200.0)


def test_balls_that_are_not_on_the_table_are_left_out() -> None:
    shot = replace(one_shot(1)[0], others=((500.0, 500.0), (900.0, 400.0)))
    roles = [mark.role for mark in balls_of(shot) if isinstance(mark, Ball)]
    assert roles == [Role.OTHER, Role.OTHER, Role.OBJECT, Role.CUE]
    alike = balls_of(shot, cue_ball=False, object_ball=False, chosen_from=[(900.0, 400.0)])
    assert alike == [Ball((500.0, 500.0), Role.OTHER), Ball((900.0, 400.0), Role.OBJECT)]


def test_the_truth_leads_to_the_pocket_or_where_none_is_called_after_contact() -> None:
    shot, truth = one_shot(4)
    way, after = (shot.cue_ball, truth.touching), ((1.0, 2.0), (3.0, 4.0))
    called = truth_marks(shot, truth.target, way, after)
    assert called["way"] == Line((shot.object_ball, truth.target), Meaning.POT)
    assert truth_marks(shot, None, way, after)["way"] == Line(after, Meaning.AIM)
    assert called["touching"] == GhostBall(truth.touching)
    assert call_marks([way], None) == [Line(way, Meaning.CALL)]
    assert call_marks([], truth.touching) == [Ring(truth.touching, Meaning.CALL)]


def test_only_what_was_called_and_what_follows_is_dashed() -> None:
    assert {meaning for meaning, look in APPEARANCES.items() if look.dashed} == {Meaning.CALL, Meaning.AFTER}
    assert set(APPEARANCES) == set(Meaning)
