"""The eye views: perspective against a pinhole worked out by matrices, and balls found in the cells."""

import math
from dataclasses import replace

import numpy as np
import pytest
from looking import (
    aim_of,
    as_pixels,
    draw_eye_view,
    draw_view,
    eye_for,
    marked,
    middle,
    one_shot,
    paint_eye_view,
    way_of,
    white,
)
from observer import ball_orange, errors, patch

from trainer.geometry.tables import POCKETS, TABLES
from trainer.pictures import colours
from trainer.pictures.eye import DOWN, FRAME, STANDS, USUAL, framed, looking
from trainer.pictures.eye_table import paint_cloth, paint_far, paint_near, wall_height
from trainer.pictures.mouth import LEAST_DEEP, LEAST_WIDE, way_in
from trainer.pictures.plan_table import mouths
from trainer.pictures.projection import Viewport, paint
from trainer.pictures.reduced import ansi
from trainer.pictures.views import (
    BACK,
    MOST_TURN,
    TURNED,
    UP,
    EyeView,
    Look,
    neutral_turn,
    stand_of,
)
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of, work_out

SIZES = ((52, 19), (79, 34), (150, 54))
EACH_VIEW = pytest.mark.parametrize("view", STANDS)
ASPECTS = (1.8, 2.0, 2.2)
SIDES = {"left": "right", "right": "left"}
MIRRORED = {name: f"{end}-{SIDES[side]}" for name in POCKETS for end, side in [name.split("-")]}


def by_matrices(eye, points):
    """The textbook pinhole: camera matrix times rotation and translation, homogeneous division.

    As in Hartley & Zisserman, *Multiple View Geometry in Computer Vision* (2nd ed., 2004), ch. 6:
    ``x = K [R | -R C] X``, with the camera's axes right, down, ahead.
    """
    rotation = np.stack([eye.right, -eye.up, eye.ahead])
    camera = np.array([[eye.lens, 0, eye.middle[0]], [0, eye.lens, eye.middle[1]], [0, 0, 1]])
    projection = camera @ np.hstack([rotation, -(rotation @ eye.place)[:, None]])
    homogeneous = np.hstack([points, np.ones((len(points), 1))]) @ projection.T
    return homogeneous[:, :2] / homogeneous[:, 2:]


@EACH_VIEW
def test_perspective_agrees_with_the_textbook_pinhole(view):
    rng = np.random.default_rng(3)
    for seed in range(20):
        shot, truth = one_shot(seed)
        eye = eye_for(shot, truth.target, (316.0, 272.0), stand_of(view, shot))
        axes = np.stack([eye.right, eye.up, eye.ahead])
        np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
        assert eye.right[2] == 0.0  # upright
        assert np.linalg.det(np.stack([eye.right, eye.up, -eye.ahead])) == pytest.approx(1.0)
        points = eye.place + eye.ray(rng.uniform(0, 316, 50), rng.uniform(0, 272, 50)) * rng.uniform(
            100, 5000, (50, 1)
        )
        np.testing.assert_allclose(eye.see(points), by_matrices(eye, points), atol=1e-6)


def test_rays_go_back_where_points_were_seen():
    balls = [([1500.0, 200.0, 26.0], 26.0), ([2500.0, -400.0, 0.0], 60.0)]
    eye = framed([0.0, 0.0, 400.0], [1500.0, 200.0, 0.0], balls, (400, 300))
    places = np.random.default_rng(4).uniform(0, 300, (200, 2))
    seen = eye.see(eye.place + 777.0 * eye.ray(places[:, 0], places[:, 1]))
    np.testing.assert_allclose(seen, places, atol=1e-9)


def test_the_frame_just_holds_the_balls():
    """Points all over the balls lie inside the frame, and some of them touch it on two sides."""
    rng = np.random.default_rng(5)
    for _ in range(30):
        balls = [(rng.uniform([800, -600, 0], [3000, 600, 200]), rng.uniform(20, 80)) for _ in range(4)]
        eye = framed([0.0, 0.0, rng.uniform(300, 1500)], balls[0][0], balls, (316.0, 272.0))
        ways = rng.normal(size=(20_000, 3))
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        seen = eye.see(np.concatenate([c + r * ways for c, r in balls]))
        low, high = seen.min(axis=0), seen.max(axis=0)
        room = np.array([316.0, 272.0])
        assert (low > 0.04 * room - 1e-6).all()
        assert (high < 0.96 * room + 1e-6).all()
        assert ((high - low) / (0.92 * room)).max() > 0.995
        np.testing.assert_allclose((low + high) / 2, room / 2, atol=0.6)


@EACH_VIEW
@pytest.mark.parametrize("size", SIZES)
def test_balls_and_pocket_are_in_the_picture_however_thin_the_cut(view, size):
    for seed in range(40):
        shot, truth = one_shot(seed, cuts=(0.0, 80.0), cue_distance=(60.0, 2500.0))
        room = size[0] * 4.0, size[1] * 8.0
        for look in (Look(), Look(0.5, 0.6, 2.0), Look(-0.5, 2.0, 0.5)):
            eye = eye_for(shot, truth.target, room, stand_of(view, shot, look))
            balls = shot.table.balls
            for place, r in (
                (shot.cue_ball, balls.cue_radius),
                (shot.object_ball, balls.object_radius),
                (truth.touching, balls.cue_radius),
                (truth.target, 0.0),
            ):
                x, y = eye.see([*place, r]).tolist()
                wide = r * eye.lens / float(eye.depth([*place, r]))
                assert wide < x < room[0] - wide
                assert wide < y < room[1] - wide


@pytest.mark.parametrize("aspect", ASPECTS)
def test_balls_are_round(aspect):
    """Seen small and near the picture's middle a ball is a circle, in pixels and in cells."""
    for seed in range(6):
        shot, truth = one_shot(seed, cuts=(0.0, 20.0), cue_distance=(400.0, 500.0))
        size = (120, round(90 / aspect))
        canvas = paint_eye_view(shot, truth.target, size, STANDS["down"], aspect)
        eye = eye_for(shot, truth.target, (canvas.width, canvas.height), STANDS["down"])
        radius = shot.table.balls.object_radius
        at = [*shot.object_ball, radius]
        wide = radius * eye.lens / float(eye.depth(at))
        cells = draw_eye_view(shot, truth.target, size, STANDS["down"], cell_aspect=aspect)
        for pixels, within in ((canvas.pixels, 0.03), (as_pixels(cells), 0.05)):
            mine = patch(ball_orange(pixels), eye.see(at).tolist(), 1.6 * wide, canvas.step)
            ys, xs = np.nonzero(mine)
            across = xs.max() - xs.min() + 1
            down = (ys.max() - ys.min() + 1) * canvas.step
            # to the pixel, which is part of what can be told here
            assert down / across == pytest.approx(1.0, abs=within + 1.0 / across + canvas.step / down)
            assert across / 2 == pytest.approx(wide, abs=0.03 * wide + 1.5)


def test_the_view_tells_nothing_of_the_cut():
    """The small turn of each view is spread evenly and goes with neither side nor size of the cut."""
    shots = draw(np.random.default_rng(6), 800, Limits())
    truths = work_out(shots)
    turns = np.array([neutral_turn(shots[i]) for i in range(len(shots))])
    assert np.abs(turns).max() <= TURNED
    assert np.abs(np.quantile(turns / TURNED, [0.25, 0.5, 0.75]) - [-0.5, 0, 0.5]).max() < 0.12
    for known in (truths.cut, np.abs(truths.cut), truths.offset):
        assert abs(np.corrcoef(turns, known)[0, 1]) < 0.12


def test_looking_around_stays_within_what_a_player_can_do():
    shot, _ = one_shot(1)
    assert stand_of("down", shot) == replace(DOWN, turn=neutral_turn(shot))
    far = stand_of("down", shot, Look(9.0, 99.0, 99.0))
    assert (far.back, far.up) == (BACK[1], UP[1])
    assert far.turn == pytest.approx(MOST_TURN + neutral_turn(shot))
    near = stand_of("standing", shot, Look(-9.0, 0.01, 0.01))
    assert (near.back, near.up) == (BACK[0], UP[0])


ROOMS = ((316.0, 280.0), (208.0, 152.0))
READ = Limits(cuts=(3.0, 70.0), cue_distance=(300.0, 1500.0), pocket_distance=(200.0, 1400.0))


def eyes(view, shots, room):
    """The shots, signed cuts (n,) and the eyes of their pictures."""
    truths = work_out(shots)
    targets = [tuple(target) for target in truths.window.target.tolist()]
    each = [shots[i] for i in range(len(shots))]
    found = [eye_for(s, t, room, stand_of(view, s)) for s, t in zip(each, targets, strict=True)]
    return each, truths.cut, found


def ball_of(shot):
    """The object ball's foot, mm."""
    return np.array([*shot.object_ball, 0.0])


@EACH_VIEW
@pytest.mark.parametrize("room", ROOMS)
def test_each_view_has_one_lens(view, room):
    """Whatever the shot, and however far the player has looked around."""
    shots, _, found = eyes(view, draw(np.random.default_rng(1), 200, READ), room)
    for look in (Look(0.5, 0.6, 2.0), Look(-0.5, 2.0, 0.5)):
        found += [eye_for(s, truth_of(s).target, room, stand_of(view, s, look)) for s in shots[:20]]
    across = [2 * math.atan(room[0] / 2 / eye.lens) for eye in found]
    np.testing.assert_allclose(across, STANDS[view].across, rtol=1e-9)


@EACH_VIEW
def test_one_slant_in_the_picture_is_one_angle_on_the_table(view):
    """A way from the object ball slants by its angle to the line of sight, and by nothing else."""
    rng = np.random.default_rng(2)
    tilt = math.atan2(STANDS[view].up, STANDS[view].back + USUAL)
    shots, _, found = eyes(view, draw(rng, 200, READ), ROOMS[0])
    for shot, eye in zip(shots, found, strict=True):
        ball, angle = ball_of(shot), rng.uniform(-1.4, 1.4)
        sight = ball[:2] - eye.place[:2]
        sight /= np.linalg.norm(sight)
        way = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]]) @ sight
        here, there = eye.see([ball, ball + 100.0 * np.array([*way, 0.0])])
        x, y = (there - here).tolist()
        assert x / -y == pytest.approx(math.tan(angle) / math.sin(tilt), rel=1e-6)


@EACH_VIEW
@pytest.mark.parametrize("room", ROOMS)
def test_the_eye_steps_back_no_farther_than_it_must(view, room):
    """It stands where the player's head is, or the picture has no room left in some direction."""
    own, stepped = STANDS[view], 0
    shots, _, found = eyes(view, draw(np.random.default_rng(3), 100, READ), room)
    for shot, eye in zip(shots, found, strict=True):
        back = np.linalg.norm(np.array(shot.cue_ball) - eye.place[:2])
        if back == pytest.approx(own.back):
            continue
        stepped += 1
        balls, target = shot.table.balls, truth_of(shot).target
        mouth = mouths(shot.table)[shot.pocket]
        rc, ro = balls.cue_radius, balls.object_radius
        # Points all round each ball that must be seen, as the picture shows them.
        ways = np.random.default_rng(4).normal(size=(4000, 3))
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        must = (
            ([*shot.cue_ball, rc], 1.4 * rc),
            ([*shot.object_ball, ro], ro + 2 * rc),
            ([*target, 2 * ro], 2.6 * ro),
            ([*mouth.hole, 0.0], mouth.radius),
        )
        seen = eye.see(np.concatenate([np.array(c) + r * ways for c, r in must]))
        room_left = (1 - 2 * FRAME) - (seen.max(axis=0) - seen.min(axis=0)) / room
        assert -1e-3 < room_left.min() < 0.02
    assert stepped > 5


def test_the_object_ball_is_large_enough_to_be_judged():
    shots, _, found = eyes("down", draw(np.random.default_rng(5), 300, READ), ROOMS[0])
    radius = shots[0].table.balls.object_radius
    cells = [
        2 * radius * eye.lens / float(eye.depth([*shot.object_ball, radius])) / 4.0
        for shot, eye in zip(shots, found, strict=True)
    ]
    assert np.median(cells) >= 5.0
    assert min(cells) >= 2.0


def framing(shot, eye):
    """What is known of a picture's frame without the balls and the pocket: turn, back, up, tilt, lens."""
    cue, ball = np.array(shot.cue_ball), np.array(shot.object_ball)
    way = (ball - cue) / math.dist(cue, ball)
    x, y = (cue - eye.place[:2]).tolist()
    turn = math.atan2(way[0] * y - way[1] * x, way[0] * x + way[1] * y)
    off = ball_of(shot) - eye.place
    return turn, math.hypot(x, y), eye.place[2], math.atan2(-off[2], math.hypot(off[0], off[1])), eye.lens


@EACH_VIEW
@pytest.mark.parametrize("half", [1000, pytest.param(10_000, marks=pytest.mark.long)])
def test_no_number_of_the_frame_tells_the_answer(view, half):
    """Over shots and their mirror images, so that more thin cuts to one side by chance count for nothing."""
    shots = draw(np.random.default_rng(6), half, READ)
    over = np.array([0.0, shots.table.size[1]]), np.array([1.0, -1.0])
    other = np.array([POCKETS.index(MIRRORED[name]) for name in POCKETS])
    mirrored = replace(
        shots,
        cue_ball=over[0] + over[1] * shots.cue_ball,
        object_ball=over[0] + over[1] * shots.object_ball,
        pocket=other[shots.pocket],
    )
    cuts, numbers = [], []
    for each in (shots, mirrored):
        drawn, cut, found = eyes(view, each, ROOMS[0])
        cuts.append(cut)
        numbers += [framing(shot, eye) for shot, eye in zip(drawn, found, strict=True)]
    np.testing.assert_allclose(cuts[1], -cuts[0], atol=1e-6)
    for number in np.array(numbers).T:
        spread = number.std()
        if spread > 1e-9 * abs(number.mean()):
            assert abs(np.corrcoef(number, np.concatenate(cuts))[0, 1]) < 0.05


@pytest.mark.parametrize("view", ["plan", *STANDS])
@pytest.mark.parametrize("size", [*SIZES[:2], pytest.param(SIZES[2], marks=pytest.mark.slow)])
@pytest.mark.parametrize("shots", [15, pytest.param(500, marks=pytest.mark.long)])
def test_the_answer_can_be_read_off_the_cells(view, size, shots):
    """An observer of the drawn cells alone reads the true fullness to 1/32 ball, and the side always."""
    limits = Limits(TABLES["snooker"], cue_distance=(300.0, 1200.0), pocket_distance=(200.0, 1200.0))
    drawn = draw(np.random.default_rng(11), shots, limits)
    off, wrong_side = errors(view, drawn, size)
    assert np.isfinite(off).all()
    assert math.sqrt((off**2).mean()) <= 1 / 64
    assert not wrong_side.any()


@EACH_VIEW
def test_helps_and_results_are_drawn_and_change_nothing_else(view):
    shot, truth = one_shot(2, cuts=(20.0, 40.0))
    plain = draw_view(view, shot, truth.target, (79, 34))
    assert plain == draw_view(view, shot, truth.target, (79, 34))
    way = draw_view(view, shot, truth.target, (79, 34), [way_of(shot, truth.target)])
    aim = draw_view(view, shot, truth.target, (79, 34), [aim_of(shot, truth.offset)])
    called = marked(shot, truth.target, truth.touching, truth.touching, way=[truth.target])
    result = draw_view(view, shot, truth.target, (79, 34), called)
    for other in (way, aim, result):
        share = (other.glyphs != plain.glyphs).mean()
        assert 0 < share < 0.15
    # The cue ball at contact is seen through, where it must be.
    eye = eye_for(shot, truth.target, (316.0, 272.0), stand_of(view, shot))
    at = [*truth.touching, 26.25]
    wide = 26.25 * eye.lens / float(eye.depth(at))
    pale = np.where(as_pixels(result).min(axis=-1) > as_pixels(plain).min(axis=-1) + 0.02, 1.0, 0.0)
    seen = patch(pale, eye.see(at).tolist(), 1.2 * wide, 1.0)
    assert np.abs(np.array(middle(seen, 1.0)) - eye.see(at)).max() < 0.6 * wide
    assert white(as_pixels(result)).sum() > 0


@pytest.mark.parametrize("size", [(1, 1), (2, 1), (1, 9), (300, 80)])
@EACH_VIEW
def test_any_size_can_be_drawn(view, size):
    shot, truth = one_shot(3)
    cells = draw_view(view, shot, truth.target, size, marked(shot, truth.target, truth.touching))
    assert cells.size == size
    assert ansi(cells).count("\n") == size[1] - 1


def test_what_is_behind_the_eye_is_not_drawn():
    eye = looking([0.0, 0.0, 300.0], [1000.0, 0.0, 0.0], 300.0)
    assert eye.before([-100.0, 0.0, 0.0], [-500.0, 0.0, 0.0]) is None
    assert eye.outline([[-100.0, 0.0, 0.0], [-500.0, 0.0, 0.0], [-500.0, 90.0, 0.0]]) == []
    start, end = eye.before([-500.0, 0.0, 0.0], [900.0, 50.0, 0.0])
    assert float(eye.depth(start)) == pytest.approx(60.0)
    assert end.tolist() == [900.0, 50.0, 0.0]


@EACH_VIEW
def test_circles_and_balls_are_where_their_points_are_seen(view):
    """The ellipses against points of the circles, and of the balls where a ray just touches them."""
    rng = np.random.default_rng(21)
    turn = np.linspace(0.0, 2 * np.pi, 50)
    for seed in range(10):
        shot, truth = one_shot(seed)
        eye = eye_for(shot, truth.target, (316.0, 272.0), stand_of(view, shot))
        centres, radii = rng.uniform(0, 1, (6, 2)) * shot.table.size, rng.uniform(5, 80, 6)
        for (x, y), radius, conic in zip(centres, radii, eye.circles(centres, radii, 30.0), strict=True):
            rim = np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn), turn * 0 + 30.0], axis=1)
            if conic is None:
                assert eye.depth(rim).min() < 60.0 + 1e-6
                continue
            p = np.concatenate([eye.see(rim), np.ones((50, 1))], axis=1)
            size = np.abs(p[:, :, None] * conic * p[:, None]).sum(axis=(1, 2))
            assert np.abs(np.einsum("ni,ij,nj->n", p, conic, p) / size).max() < 1e-9
        ball = np.array([*shot.object_ball, 26.25])
        off = ball - eye.place
        far = np.linalg.norm(off)
        first = np.cross(off, [0.0, 0.0, 1.0])
        first /= np.linalg.norm(first)
        second = np.cross(off / far, first)
        wide = 26.25 * np.sqrt(1 - (26.25 / far) ** 2)
        ways = np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * second
        p = eye.see(ball - off * (26.25 / far) ** 2 + wide * ways)
        p, conic = np.concatenate([p, np.ones((50, 1))], axis=1), eye.globe(ball, 26.25)
        size = np.abs(p[:, :, None] * conic * p[:, None]).sum(axis=(1, 2))
        assert np.abs(np.einsum("ni,ij,nj->n", p, conic, p) / size).max() < 1e-9


def amber(pixels):
    """Which pixels are lit amber, half seen through included: much red and green, less blue."""
    r, g, b = np.moveaxis(pixels, -1, 0)
    return (r > 0.25) & (r > 1.1 * g) & (g > 1.4 * b) & (r < 2.2 * g)


@EACH_VIEW
@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.slow] * (k % 2)) for k, name in enumerate(sorted(TABLES))]
)
def test_the_way_into_the_called_pocket_is_marked_from_every_side(view, name):
    """No cushion, wood or other pocket hides it: all across what is amber, and nowhere else."""
    for seed in range(12):
        shot = draw(np.random.default_rng(seed), 1, Limits(TABLES[name]))[0]
        truth = truth_of(shot)
        stand = stand_of(view, shot, Look(0.4 * (seed % 5 - 2)))
        canvas = paint(EyeView(shot, truth.target, Viewport((120, 40)), stand), [])
        eye = eye_for(shot, truth.target, (480.0, 320.0), stand)
        lit = np.argwhere(amber(canvas.pixels))[:, ::-1] + 0.5
        right, left, far_left, far_right = np.array(way_in(shot, truth.target))
        ends = np.array([(right + far_right) / 2, (left + far_left) / 2])
        for part in np.linspace(0.0, 1.0, 5):
            place = eye.see([*(ends[0] + part * (ends[1] - ends[0])), 0.0])
            assert np.abs(lit - place).max(axis=1).min() < 1.5
        middle = eye.see([*ends.mean(axis=0), 0.0])
        reach = max(np.linalg.norm(np.diff(eye.see(np.c_[ends, [0.0, 0.0]]), axis=0)), LEAST_WIDE) / 2
        assert np.linalg.norm(lit - middle, axis=1).max() < 1.3 * reach + LEAST_DEEP


@EACH_VIEW
def test_between_its_jaws_a_pocket_beyond_the_cloth_is_dark(view):
    seen = 0
    for seed in range(40):
        shot, truth = one_shot(seed)
        stand = stand_of(view, shot)
        eye = eye_for(shot, truth.target, (480.0, 320.0), stand)
        viewport = Viewport((120, 40))
        canvas = viewport.canvas(colours.ROOM)
        paint_cloth(canvas, eye, shot.table, viewport)
        for part in (paint_far, paint_near):
            part(canvas, eye, shot.table)
        for mouth in mouths(shot.table).values():
            jaws, hole = np.array(mouth.jaws), np.array(mouth.hole)
            middle = jaws.mean(axis=0)
            inward, toward = middle - hole, eye.place[:2] - middle
            facing = inward @ toward / np.linalg.norm(inward) / np.linalg.norm(toward)
            x, y = eye.see([*hole, 0.5 * wall_height(shot.table)]).tolist()
            if facing < 0.8 or not (2 < x < 478 and 2 < y < 318):
                continue
            seen += 1
            assert canvas.pixels[int(y), int(x)].max() < 0.02
    assert seen > 20


def test_a_ball_over_a_near_pocket_or_cushion_is_seen():
    """Nothing between the eye and a ball hides it."""
    shot, truth = one_shot(23)
    length, width = shot.table.size
    for place in ((30.0, 30.0), (30.0, width / 2), (30.0, width - 30.0), (length / 2, 30.0)):
        cue_ball = (place[0] + 1.0, place[1])
        near = replace(shot, cue_ball=cue_ball, object_ball=(length / 2, width / 2))
        eye = eye_for(near, truth.target, (480.0, 320.0), stand_of("down", near))
        canvas = paint_eye_view(near, truth.target, (120, 40), stand_of("down", near))
        x, y = eye.see([*cue_ball, 26.25]).tolist()
        assert canvas.pixels[int(y), int(x)].min() > 0.12
        # All of it, but for the cushion's edge: it is as bright as with nothing before it.
        free = replace(near, cue_ball=(length / 3, width / 2))
        own = eye_for(free, truth.target, (480.0, 320.0), stand_of("down", free))
        alone = paint_eye_view(free, truth.target, (120, 40), stand_of("down", free))
        lights = []
        for seen, pixels, at in ((eye, canvas.pixels, cue_ball), (own, alone.pixels, free.cue_ball)):
            wide = 26.25 * seen.lens / float(seen.depth([*at, 26.25]))
            place = seen.see([*at, 26.25]).tolist()
            bright = np.where(pixels.min(axis=-1) > 0.12, 1.0, 0.0)
            lights.append(patch(bright, place, 1.1 * wide, 1.0).sum() / (np.pi * wide**2))
        assert lights[0] > 0.93 * lights[1]


@pytest.mark.parametrize("view", ["plan", *STANDS])
def test_a_picture_stays_as_it_was_when_the_next_is_drawn(view):
    """Pictures are painted on memory that is used again; what was handed out keeps nothing of it."""
    (one, its), (other, others) = one_shot(4), one_shot(5)
    first = draw_view(view, one, its.target, (60, 20))
    glyphs, ink, paper = first.glyphs.copy(), first.ink.copy(), first.paper.copy()
    assert draw_view(view, other, others.target, (60, 20)) != first
    assert (first.glyphs == glyphs).all()
    assert (first.ink == ink).all()
    assert (first.paper == paper).all()
    assert draw_view(view, one, its.target, (60, 20)) == first
