import math

import numpy as np
import pytest
from looking import (
    aim_of,
    as_pixels,
    axes,
    draw_plan,
    likeness,
    marked,
    middle,
    one_shot,
    orange,
    paint_plan,
    plan_frame,
    spreads,
    way_of,
    white,
)

from trainer.geometry.tables import POCKETS, TABLES
from trainer.names import VIEWS
from trainer.pictures import colours
from trainer.pictures.plan import Plan
from trainer.pictures.plan_table import Frame
from trainer.pictures.projection import Viewport
from trainer.pictures.reduced import ansi
from trainer.pictures.views import projection_of
from trainer.shots.shot import Shot

NEAR = {"cue_distance": (300.0, 500.0), "pocket_distance": (200.0, 400.0)}
ASPECTS = (1.8, 2.0, 2.2)


def room(size, aspect):
    return size[0] * 4.0, size[1] * 4.0 * aspect


def only(weights, x, y, radius, step):
    """The weights within ``radius`` of a place."""
    ys, xs = np.indices(weights.shape)
    return np.where(np.hypot(xs + 0.5 - x, (ys + 0.5) * step - y) < radius, weights, 0.0)


@pytest.mark.parametrize("aspect", [1.8, *(pytest.param(a, marks=pytest.mark.slow) for a in ASPECTS[1:])])
def test_balls_are_round_to_scale_and_in_their_places(aspect):
    size, step, shapes = (150, 54), aspect / 2, []
    for seed in range(6):
        shot, truth = one_shot(seed, **NEAR)
        view = plan_frame(shot, truth.target, room(size, aspect))
        radius = 26.25 * view.scale
        canvas = paint_plan(shot, truth.target, size, cell_aspect=aspect)
        pixels = as_pixels(draw_plan(shot, truth.target, size, cell_aspect=aspect), 2)
        for see, ball in ((white, shot.cue_ball), (orange, shot.object_ball)):
            x, y = view.at(ball)
            painted = only(see(canvas.pixels), x, y, 1.4 * radius, step)
            assert middle(painted, step) == pytest.approx((x, y), abs=0.3)
            across, down = spreads(painted, step)
            assert across == pytest.approx(down, rel=0.03)
            assert 2 * across == pytest.approx(radius, rel=0.06)
            drawn = only(see(pixels), 2 * x, 2 * y, 2.8 * radius, step)
            assert middle(drawn, step) == pytest.approx((2 * x, 2 * y), abs=1.2)
            shapes.append(axes(pixels, 2 * x, 2 * y, 2 * radius, step) / (2 * radius))
    # Eight cells wide, an outline comes a twentieth of a cell to one side or the other.
    assert shapes == pytest.approx(np.ones((12, 2)), abs=0.04)
    across, down = np.mean(shapes, axis=0)
    assert across == pytest.approx(down, rel=0.02)


@pytest.mark.parametrize("aspect", ASPECTS)
@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("seed", [*range(3), *(pytest.param(s, marks=pytest.mark.slow) for s in range(3, 8))])
def test_the_cut_can_be_measured_in_the_cells(seed, whole, aspect):
    """Ball centres and the marked mouth, found in the cells, give the shot again: scale, side, cut."""
    shot, truth = one_shot(seed)
    size = (120, 45)
    pixels = as_pixels(draw_plan(shot, truth.target, size, whole=whole, cell_aspect=aspect))
    step = aspect / 2
    view = plan_frame(shot, truth.target, room(size, aspect), whole=whole)
    amber = np.where((pixels[..., 1] > 0.45) & (pixels[..., 2] < 0.4), 1.0, 0.0)
    cue = middle(only(white(pixels), *view.at(shot.cue_ball), max(6, 40 * view.scale), step), step)
    mark = view.at(truth.target)
    ball = middle(only(orange(pixels), *view.at(shot.object_ball), max(6, 40 * view.scale), step), step)
    assert only(amber, *mark, 5, step).sum() > 12
    dx, dy = ball[0] - cue[0], cue[1] - ball[1]
    tx, ty = mark[0] - ball[0], ball[1] - mark[1]
    seen = math.atan2(dx * ty - dy * tx, dx * tx + dy * ty)
    (cx, cy), (ox, oy), (gx, gy) = shot.cue_ball, shot.object_ball, truth.target
    a, b = (ox - cx, oy - cy), (gx - ox, gy - oy)
    real = math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
    shortest = min(math.hypot(dx, dy), math.hypot(tx, ty))
    assert seen == pytest.approx(real, abs=2.5 / shortest)
    assert math.hypot(dx, dy) == pytest.approx(math.hypot(*a) * view.scale, abs=2.0)


def test_the_whole_table_lies_with_baulk_left_and_the_left_hand_up():
    table = TABLES["snooker"]
    shot = Shot(table, (737.0, 300.0), (3000.0, 1500.0), "top-left")
    target = (3540.0, 1749.0)
    pixels = as_pixels(draw_plan(shot, target, (120, 40), whole=True))
    cue, ball = middle(white(pixels), 1.0), middle(only(orange(pixels), 390, 90, 80, 1.0), 1.0)
    assert cue[0] < ball[0]
    assert cue[1] > ball[1]
    view = plan_frame(shot, target, room((120, 40), 2.0), whole=True)
    assert view.turn == 0
    assert cue == pytest.approx(view.at(shot.cue_ball), abs=1.0)
    baulk = pixels[:, round(view.at((737.0, 0.0))[0])]
    quarter = pixels[:, round(view.at((1500.0, 0.0))[0])]
    line = likeness(baulk, colours.CLOTH_LINE, colours.CLOTH)
    assert (
        (line > 0.1).mean() > 0.6 > 0.3 > (likeness(quarter, colours.CLOTH_LINE, colours.CLOTH) > 0.1).mean()
    )


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_no_turn_mirrors(turn):
    view = Frame(0.3, turn, 17.0, 90.0)
    (ax, ay), (bx, by) = view.way((1.0, 0.0)), view.way((0.0, 1.0))
    assert ax * by - ay * bx == pytest.approx(-(0.3**2))  # y points down: a turn, not a mirror
    rng = np.random.default_rng(turn)
    for point in rng.uniform(0, 3000, (20, 2)).tolist():
        assert view.table(view.at(tuple(point))) == pytest.approx(point)


def test_left_is_up_and_right_is_right_without_a_turn():
    view = Frame(0.5, 0, 0.0, 0.0)
    assert view.way((10.0, 0.0)) == (5.0, 0.0)
    assert view.way((0.0, 10.0)) == (0.0, -5.0)
    assert Frame(0.5, 1, 0.0, 0.0).way((10.0, 0.0)) == (0.0, -5.0)


@pytest.mark.parametrize("seed", range(30))
def test_the_crop_is_large_goes_up_and_holds_the_shot(seed):
    shot, truth = one_shot(seed)
    space = room((79, 34), 2.0)
    view = plan_frame(shot, truth.target, space)
    scales = [plan_frame(shot, truth.target, space, turned=k).scale for k in range(4)]
    assert view.scale >= 0.9 * max(scales)
    assert view.at(shot.cue_ball)[1] >= view.at(shot.object_ball)[1] - 1e-6
    jaws = shot.table.jaws[POCKETS.index(shot.pocket)].tolist()
    for point, radius in (
        (shot.cue_ball, 26.25),
        (shot.object_ball, 3 * 26.25),
        (truth.target, 0.0),
        (tuple(jaws[0]), 0.0),
        (tuple(jaws[1]), 0.0),
    ):
        x, y = view.at(point)
        spare = radius * view.scale
        assert spare <= x <= space[0] - spare
        assert spare <= y <= space[1] - spare


@pytest.mark.parametrize("name", TABLES)
@pytest.mark.parametrize("pocket", POCKETS)
def test_only_the_called_pocket_is_marked(name, pocket):
    shot, truth = one_shot(3, table=TABLES[name], pockets=(pocket,))
    size = (100, 34)
    pixels = as_pixels(draw_plan(shot, truth.target, size, whole=True))
    view = plan_frame(shot, truth.target, room(size, 2.0), whole=True)
    amber = np.where((pixels[..., 0] > 0.5) & (pixels[..., 1] > 0.4) & (pixels[..., 2] < 0.5), 1.0, 0.0)
    found = {}
    for other, jaws in zip(POCKETS, shot.table.jaws, strict=True):
        found[other] = only(amber, *view.at(tuple(jaws.mean(axis=0).tolist())), 9, 1.0).sum()
    assert found.pop(pocket) > 25
    assert max(found.values()) < 5  # the gleam of a ball near by, at most


def test_the_called_pocket_changes_the_picture():
    table = TABLES["snooker"]
    shots = [Shot(table, (1000.0, 800.0), (1700.0, 900.0), name) for name in POCKETS]
    targets = [tuple(j.mean(axis=0).tolist()) for j in table.jaws]
    drawn = [draw_plan(s, t, (60, 20), whole=True) for s, t in zip(shots, targets, strict=True)]
    for i in range(6):
        for j in range(i):
            assert drawn[i] != drawn[j]


def test_the_same_call_gives_the_same_cells():
    shot, truth = one_shot(11)
    over = [way_of(shot, truth.target), aim_of(shot, 0.4)]
    first, second = (draw_plan(shot, truth.target, (79, 34), over) for _ in range(2))
    assert first == second
    assert ansi(first) == ansi(second)
    assert first != draw_plan(shot, truth.target, (79, 34))


def along(pixels, view, start, end, colour, ground=colours.CLOTH):
    """How much of ``colour`` there is along a line, and at its sides."""
    (x0, y0), (x1, y1) = view.at(start), view.at(end)
    t = np.linspace(0.2, 0.8, 200)
    xs, ys = x0 + t * (x1 - x0), y0 + t * (y1 - y0)
    return likeness(pixels[ys.astype(int), xs.astype(int)], colour, ground)


def test_truth_is_solid_and_the_call_is_dashed():
    shot = Shot(TABLES["snooker"], (1000.0, 400.0), (1700.0, 700.0), "top-left")
    target, touching, called = (3540.0, 1749.0), (1655.0, 673.0), (1648.0, 690.0)
    missed = (2600.0, 1778.0 - 26.25)
    result = marked(shot, target, touching, called, way=(missed,))
    canvas = paint_plan(shot, target, (150, 54), result)
    view = plan_frame(shot, target, (canvas.width, canvas.height))
    amber = along(canvas.pixels, view, shot.object_ball, target, colours.AMBER)
    assert amber.min() > 0.5
    chalk = along(canvas.pixels, view, shot.object_ball, missed, colours.CHALK)
    assert (chalk > 0.6).mean() == pytest.approx(0.5, abs=0.12)
    assert (chalk < 0.2).mean() == pytest.approx(0.5, abs=0.15)
    before = paint_plan(shot, target, (150, 54))
    for place in (shot.cue_ball, shot.object_ball):  # no line hides a ball
        x, y = (round(v) for v in view.at(place))
        assert canvas.pixels[y - 2 : y + 2, x - 2 : x + 2] == pytest.approx(
            before.pixels[y - 2 : y + 2, x - 2 : x + 2], abs=1e-6
        )


def test_the_touching_ball_is_half_seen_through_and_the_call_an_outline():
    shot, truth = one_shot(2, **NEAR)
    size = (150, 54)
    (tx, ty), (ox, oy) = truth.touching, shot.object_ball
    other = (2 * ox - tx, 2 * oy - ty)  # across the object ball, clear of the true one
    plain = paint_plan(shot, truth.target, size)
    shown = paint_plan(shot, truth.target, size, marked(shot, truth.target, truth.touching, other))
    view = plan_frame(shot, truth.target, (plain.width, plain.height))
    radius = 26.25 * view.scale
    x, y = (int(v) for v in view.at(truth.touching))
    assert 0.2 < shown.pixels[y, x].min() < 0.9
    cx, cy = view.at(other)
    ys, xs = np.indices(plain.pixels.shape[:2])
    far = np.hypot(xs + 0.5 - cx, (ys + 0.5) * plain.step - cy)
    rim = (far > radius - 1.5) & (far < radius - 0.5)
    assert (likeness(shown.pixels[rim], colours.CHALK, colours.CLOTH) > 0.6).mean() > 0.9


def test_a_call_that_misses_is_drawn_to_where_it_ends():
    shot = Shot(TABLES["snooker"], (1000.0, 400.0), (1700.0, 700.0), "top-left")
    target, past = (3540.0, 1749.0), (1900.0, 650.0)
    shown = paint_plan(shot, target, (150, 54), marked(shot, target, (1655.0, 673.0), past=past))
    view = plan_frame(shot, target, (shown.width, shown.height))
    chalk = along(shown.pixels, view, shot.cue_ball, past, colours.CHALK)
    assert (chalk > 0.6).mean() > 0.3


def test_the_crop_does_not_move_at_the_call():
    shot, truth = one_shot(5)
    before = draw_plan(shot, truth.target, (79, 34))
    after = draw_plan(shot, truth.target, (79, 34), marked(shot, truth.target, truth.touching))
    assert (before.paper == after.paper).all(axis=2).mean() > 0.85


@pytest.mark.parametrize("offset", [0.7, -0.3, 0.0])
def test_a_line_of_aim_passes_on_the_side_of_its_offset(offset):
    shot, _ = one_shot(6)
    x, y = shot.abreast(offset)
    (cx, cy), (ox, oy) = shot.cue_ball, shot.object_ball
    ax, ay, bx, by = x - cx, y - cy, ox - cx, oy - cy
    across = ax * by - ay * bx  # + : the ball lies to the left of the line
    assert across / math.hypot(ax, ay) == pytest.approx(offset * 52.5, abs=1e-6)
    assert ax * (ox - x) + ay * (oy - y) == pytest.approx(0.0, abs=1e-4)


def test_an_aim_wider_than_the_shot_draws_no_line():
    shot, truth = one_shot(6)
    plain = draw_plan(shot, truth.target, (79, 34))
    assert draw_plan(shot, truth.target, (79, 34), [aim_of(shot, 500.0)]) == plain


@pytest.mark.parametrize("aspect", [1.5, 1.83, 2.0, 2.5])
@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("glyphs", ["quadrants", "halves"])
def test_every_size_draws(aspect, whole, glyphs):
    shot, truth = one_shot(4)
    result = marked(shot, truth.target, truth.touching, truth.touching, way=(truth.target,))
    over = [way_of(shot, truth.target), aim_of(shot, 0.5), *result]
    for size in ((1, 1), (1, 9), (13, 1), (2, 2), (5, 3), (27, 8), (300, 80)):
        cells = draw_plan(
            shot,
            truth.target,
            size,
            over,
            whole=whole,
            cell_aspect=aspect,
            glyphs=glyphs,
        )
        assert cells.size == size
        assert set(np.unique(cells.glyphs)) <= set(" ▄▘▝▖▗▚▁▂▃▅▆▇▎▍▌▋▊"[: 2 if glyphs == "halves" else None])


@pytest.mark.parametrize("name", TABLES)
def test_every_table_draws_turned(name):
    shot, truth = one_shot(8, table=TABLES[name])
    drawn = [draw_plan(shot, truth.target, (60, 30), turned=k, whole=w) for k in range(4) for w in (0, 1)]
    for i, cells in enumerate(drawn):
        assert all(cells != other for other in drawn[:i])


@pytest.mark.parametrize("view", VIEWS)
def test_the_whole_table_lies_as_the_large_picture_shows_it(view):
    """What goes away up the large picture goes up the small one, as near as quarter turns come."""
    for seed in range(20):
        shot, truth = one_shot(seed)
        large = projection_of(view, shot, truth.target, Viewport((79, 34)))
        small = Plan(shot, truth.target, Viewport((40, 16)), whole=True, turned=large.turns)
        (x, y), (dx, dy) = shot.cue_ball, np.subtract(shot.object_ball, shot.cue_ball)
        seen, on = (
            np.subtract(each.seen_at(shot.object_ball), each.seen_at((x, y))) for each in (large, small)
        )
        if view == "plan":
            np.testing.assert_allclose(seen / np.hypot(*seen), on / np.hypot(*on), atol=1e-9)
        else:
            rises = [Frame(1.0, turn, 0.0, 0.0).way((dx, dy))[1] for turn in range(4)]
            assert on[1] / small.frame.scale <= min(rises) + 0.15 * np.hypot(dx, dy)
