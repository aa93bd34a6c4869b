import math

import numpy as np
import pytest
from looking import likeness, middle, spreads

from trainer.pictures import colours
from trainer.pictures.projection import Viewport

STEPS = (0.75, 0.9, 1.0, 1.1, 1.25)


def blank(step, size=(40, 20)):
    return Viewport(size, 2 * step).canvas(colours.CLOTH)


def painted(canvas):
    return likeness(canvas.pixels, colours.CUE_BALL, colours.CLOTH)


def area(canvas):
    return painted(canvas).sum() * canvas.step


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("radius", [3.0, 7.3, 20.0])
def test_a_disc_is_round_where_it_is_and_as_large_as_it_is(step, radius):
    canvas = blank(step)
    x, y = 71.37, 63.81
    canvas.disc(x, y, radius, colours.CUE_BALL)
    assert area(canvas) == pytest.approx(math.pi * radius**2, rel=0.03)
    assert middle(painted(canvas), step) == pytest.approx((x, y), abs=0.05)
    across, down = spreads(painted(canvas), step)
    assert across == pytest.approx(down, rel=0.03)
    softened = math.sqrt(radius**2 / 4 + 1 / 12)  # a pixel's own width is in it
    assert across == pytest.approx(softened, rel=0.03)


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("angle", np.radians([0, 3, 17, 45, 72, 90, 133, 181, 260]))
def test_a_line_has_the_same_width_at_every_angle(step, angle):
    canvas = blank(step)
    x, y, run, width = 80.3, 70.7, 50.0, 2.0
    wx, wy = math.cos(angle) * run / 2, math.sin(angle) * run / 2
    canvas.line((x - wx, y - wy), (x + wx, y + wy), width, colours.CUE_BALL)
    assert area(canvas) == pytest.approx(run * width, rel=0.05)
    assert middle(painted(canvas), step) == pytest.approx((x, y), abs=0.15)
    across, down = spreads(painted(canvas), step)
    assert math.hypot(across, down) == pytest.approx(run / math.sqrt(12), rel=0.03)


def test_a_line_in_bands_is_the_line_in_one():
    canvas = blank(1.0)
    canvas.line((2, 3), (150, 130), 3.0, colours.CUE_BALL, opacity=0.5)
    light, px, py = painted(canvas), *np.meshgrid(np.arange(160) + 0.5, np.arange(160) + 0.5)
    run = math.hypot(148, 127)
    aside = np.abs((px - 2) * 127 - (py - 3) * 148) / run
    along = ((px - 2) * 148 + (py - 3) * 127) / run
    expected = np.clip(2.0 - aside, 0, 1) * np.clip(run / 2 + 0.5 - np.abs(along - run / 2), 0, 1)
    assert light == pytest.approx(0.5 * expected, abs=1e-4)


def test_dashes_are_half_the_line():
    solid, dashed = blank(1.0), blank(1.0)
    solid.line((10, 80), (138, 90), 2.0, colours.CUE_BALL)
    dashed.line((10, 80), (138, 90), 2.0, colours.CUE_BALL, dash=8.0)
    assert area(dashed) == pytest.approx(area(solid) / 2, rel=0.05)
    assert painted(dashed)[:, 10:17].max(axis=0) == pytest.approx(painted(solid)[:, 10:17].max(axis=0))
    assert painted(dashed)[:, 20:24].max() < 0.01


def test_dashes_run_on_through_the_corners_of_a_path():
    straight, bent = blank(1.0), blank(1.0)
    straight.line((10, 80), (130, 80), 2.0, colours.CUE_BALL, dash=8.0)
    bent.path([(10, 80), (21, 80), (85, 80), (130, 80)], 2.0, colours.CUE_BALL, dash=8.0)
    assert np.abs(painted(straight) - painted(bent)).max() < 0.3
    assert area(straight) == pytest.approx(area(bent), rel=0.01)


@pytest.mark.parametrize("step", STEPS)
def test_a_ring_is_a_line_round_a_circle(step):
    canvas = blank(step)
    canvas.ring(80, 70, 30, 2.0, colours.CUE_BALL)
    assert area(canvas) == pytest.approx(2 * math.pi * 30 * 2.0, rel=0.03)
    dashed = blank(step)
    dashed.ring(80, 70, 30, 2.0, colours.CUE_BALL, dash=6.0)
    assert area(dashed) == pytest.approx(area(canvas) / 2, rel=0.06)
    half = blank(step)
    half.ring(80, 70, 30, 2.0, colours.CUE_BALL, half=(-1.0, 0.0))
    assert area(half) == pytest.approx(area(canvas) / 2, rel=0.04)
    assert painted(half)[:, 82:].max() < 0.01


@pytest.mark.parametrize(
    "step", [STEPS[1], *(pytest.param(s, marks=pytest.mark.slow) for s in STEPS if s != STEPS[1])]
)
def test_rectangles_and_polygons_have_their_areas(step):
    upright, tilted = blank(step), blank(step)
    upright.rectangle(10.3, 20.6, 90.8, 70.25, colours.CUE_BALL)
    assert area(upright) == pytest.approx(80.5 * 49.65, rel=1e-3)
    corners = [(30.0, 20.0), (100.0, 35.0), (80.0, 90.0), (25.0, 60.0)]
    tilted.convex(corners, colours.CUE_BALL)
    twice = sum(
        x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
    )
    assert area(tilted) == pytest.approx(abs(twice) / 2, rel=0.01)
    other = blank(step)
    other.convex(corners[::-1], colours.CUE_BALL)
    assert other.pixels == pytest.approx(tilted.pixels, abs=1e-5)


def test_a_thin_rectangle_is_its_share_of_a_pixel():
    canvas = blank(1.0)
    canvas.rectangle(10.25, 10.25, 10.75, 60.0, colours.CUE_BALL)
    assert area(canvas) == pytest.approx(0.5 * 49.75, rel=1e-3)


def test_a_ball_is_brighter_toward_the_light_and_lets_the_ground_through():
    canvas, glass = blank(1.0), blank(1.0)
    canvas.ball(80, 80, 30, colours.OBJECT_BALL)
    glass.ball(80, 80, 30, colours.OBJECT_BALL, opacity=0.5)
    assert canvas.pixels[68, 68].sum() > 2 * canvas.pixels[92, 92].sum()
    ground = blank(1.0).pixels
    assert glass.pixels == pytest.approx((canvas.pixels + ground) / 2, abs=1e-5)
    assert canvas.pixels.min() >= 0
    assert canvas.pixels.max() <= 1.0


def test_a_shadow_only_darkens():
    canvas = blank(1.0)
    before = canvas.pixels.copy()
    canvas.shadow(80, 80, 20, 5, 0.5)
    assert (canvas.pixels <= before).all()
    assert canvas.pixels[80, 80] == pytest.approx(before[80, 80] / 2, rel=0.05)


@pytest.mark.parametrize("where", [(-500.0, 50.0), (50.0, 900.0), (math.nan, 5.0), (math.inf, 5.0)])
def test_what_lies_outside_or_nowhere_changes_nothing(where):
    x, y = where
    canvas = blank(1.0)
    before = canvas.pixels.copy()
    canvas.disc(x, y, 5, colours.CUE_BALL)
    canvas.ball(x, y, 5, colours.CUE_BALL)
    canvas.ring(x, y, 5, 2, colours.CUE_BALL, dash=3)
    canvas.shadow(x, y, 5, 5, 0.5)
    canvas.line((x, y), (x + 3, y + 3), 2, colours.CUE_BALL)
    canvas.convex([(x, y), (x + 3, y), (x, y + 3)], colours.CUE_BALL)
    canvas.rectangle(x, y, x + 5, y + 5, colours.CUE_BALL)
    canvas.line((5.0, 5.0), (5.0, 5.0), 2, colours.CUE_BALL)
    assert (canvas.pixels == before).all()


@pytest.mark.parametrize("size", [(0, 5), (5, 0), (-1, 3)])
def test_a_picture_has_at_least_one_cell(size):
    with pytest.raises(ValueError, match="at least 1 x 1"):
        Viewport(size).canvas(colours.ROOM)


@pytest.mark.parametrize("step", [0.9, 1.0, 1.1])
def test_an_ellipse_is_a_tilted_polygon_of_many_corners(step):
    """The conic of a turned, stretched circle, against the polygon of its points, and as a line."""
    rng = np.random.default_rng(8)
    for _ in range(12):
        a, b = rng.uniform(4, 30), rng.uniform(1.5, 12)
        turn, x, y = rng.uniform(0, np.pi), rng.uniform(20, 60), rng.uniform(20, 50)
        c, s = np.cos(turn), np.sin(turn)
        ways = np.array([[c, -s], [s, c]])
        form = ways @ np.diag([1 / a**2, 1 / b**2]) @ ways.T
        middle = np.array([x, y])
        edge = -form @ middle
        conic = np.block([[form, edge[:, None]], [edge[None], np.array([[middle @ form @ middle - 1]])]])
        t = np.linspace(0, 2 * np.pi, 400, endpoint=False)
        corners = middle + (np.stack([a * np.cos(t), b * np.sin(t)], 1)) @ ways.T
        one, other, line = (Viewport((20, 10), 2 * step).canvas((0, 0, 0)) for _ in range(3))
        one.ellipse(conic * rng.uniform(0.1, 9), (255, 255, 255))
        other.convex([tuple(p) for p in corners], (255, 255, 255))
        assert np.abs(one.pixels - other.pixels).max() < 0.12
        assert np.abs(one.pixels - other.pixels).mean() < 0.002
        line.ellipse(conic, (255, 255, 255), width=2.0)
        round_it = np.hypot(*np.diff(np.vstack([corners, corners[:1]]), axis=0).T).sum()
        assert line.pixels[..., 0].sum() * step == pytest.approx(2.0 * round_it, rel=0.06)


def test_a_convex_polygon_is_the_same_painted_at_once_or_in_rows():
    """Against the plain rule: how deep a pixel's middle lies inside the nearest edge."""
    rng = np.random.default_rng(9)
    for _ in range(40):
        turn = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 7)))
        x, y, far = rng.uniform(-10, 90), rng.uniform(-10, 90), rng.uniform(5, 80)
        corners = [(x + far * np.cos(t), y + far * np.sin(t)) for t in turn]
        canvas = Viewport((20, 10), 2.0).canvas((0, 0, 0))
        canvas.convex(corners, (255, 255, 255), 0.7)
        px, py = np.arange(80) + 0.5, (np.arange(80) + 0.5)[:, None]
        depth = np.full((80, 80), np.inf)
        for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
            size = np.hypot(x1 - x0, y1 - y0)
            depth = np.minimum(depth, ((px - x0) * (y0 - y1) + (py - y0) * (x1 - x0)) / size)
        low, high = np.min(corners, axis=0) - 1, np.max(corners, axis=0) + 1
        # Past a sharp corner the rule goes on for ever; painting ends a pixel past it.
        boxed = (px > low[0]) & (px < high[0]) & (py > low[1]) & (py < high[1])
        want = np.where(boxed, np.clip(depth + 0.5, 0, 1), canvas.pixels[..., 0] / 0.7) * 0.7
        np.testing.assert_allclose(canvas.pixels[..., 0], want, atol=2e-4)


def test_polygons_at_once_are_those_one_by_one_and_touched_holds_them():
    rng = np.random.default_rng(12)
    shades = [(200, 30, 30), (30, 200, 30), (30, 30, 200)]
    for opacity in (1.0, 0.4):
        polygons = []
        for k in range(9):
            turn = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 7)))
            x, y, far = rng.uniform(-40, 120), rng.uniform(-40, 120), rng.uniform(2, 60)
            corners = [(x + far * np.cos(t), y + far * np.sin(t)) for t in turn.tolist()]
            polygons.append((corners, shades[k % 3]))
        one, other = blank(1.1, (20, 10)), blank(1.1, (20, 10))
        before = one.pixels.copy()
        one.convexes(polygons, opacity)
        for corners, colour in polygons:
            other.convex(corners, colour, opacity)
        assert (one.pixels == other.pixels).all()
        rows, cols = one.touched
        outside = np.ones(before.shape[:2], bool)
        outside[rows, cols] = False
        assert (one.pixels[outside] == before[outside]).all()
        assert one.copy().touched is None


def test_a_bend_is_as_full_as_the_lines_it_joins():
    """Two lines that meet at a small angle leave neither gap nor knot."""
    straight, bent = blank(1.0), blank(1.0)
    straight.path([(10.3, 80.2), (130.6, 80.9)], 2.0, colours.CUE_BALL, 0.5)
    bent.path([(10.3, 80.2), (70.45, 80.55), (130.6, 80.9)], 2.0, colours.CUE_BALL, 0.5)
    assert np.abs(painted(straight) - painted(bent)).max() < 1e-4


def test_other_pictures_come_back_only_where_the_cover_is():
    canvas, other, cover = blank(1.0), blank(1.0), Viewport((10, 5)).canvas((0, 0, 0))
    canvas.rectangle(0, 0, 160, 160, colours.CUE_BALL)
    cover.rectangle(4, 8, 20, 24, (255, 255, 255))
    canvas.veil(other, cover, (16, 40), 0.6)
    share = painted(canvas)
    assert share[24:40, 44:60] == pytest.approx(0.4, abs=1e-5)
    share[24:40, 44:60] = 1.0
    assert share == pytest.approx(1.0, abs=1e-5)
