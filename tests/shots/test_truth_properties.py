"""What must hold of every truth: mirrored, turned, scaled, thicker, farther away, and played."""

import math
from dataclasses import replace

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st
from laws import law
from numpy.typing import NDArray

from trainer.geometry.aiming import Stroke, hit_for, offset_for, send
from trainer.geometry.contact import cut_angle, touching_position
from trainer.geometry.pockets import on_cloth
from trainer.geometry.tables import POCKETS, TABLES, Balls, Jaw, Table
from trainer.geometry.vectors import Floats, angle_between, cross, dot, length, turn_by, unit
from trainer.shots.shot import Shots
from trainer.shots.truth import Truths, work_out

ALL = np.arange(len(POCKETS), dtype=np.intp)
HELPS = ("none", "both")
CLEAR = 0.01  # mm of daylight: nearer, rounding of the balls' places alone turns the line of aim
# With a stroke and the centres nearer than this many contact distances (slow stun: 7/6), throw turns
# the ball faster than the cut does, so that several hits may pot; the truth is one of them.
ONE_HIT = 1.2
NOT_A_GRAZE = math.radians(88)  # thinner, a bit of the offset is many bits of the cut
OPEN = 1e-6  # rad: a narrower window may be open here and shut in its mirror image, by rounding
HELP_TRUE_TO = 0.2  # mm of a real table: edges of jaw help are worked out at steps that don't scale

angles = st.floats(-math.pi, math.pi)
strokes = st.builds(
    Stroke, speed=st.floats(0.3, 5.0), roll=st.floats(-0.5, 1.0), side_spin=st.floats(-0.9, 0.9)
)
no_side = st.builds(Stroke, speed=st.floats(0.3, 5.0), roll=st.floats(-0.5, 1.0))
any_stroke = st.one_of(st.none(), strokes)


@st.composite
def shots_anywhere(
    draw: st.DrawFn,
    helps: tuple[str, ...] = HELPS,
    played: st.SearchStrategy[Stroke | None] = any_stroke,
) -> Shots:
    """Two balls anywhere on the cloth of a table, and each of its pockets."""
    name, help = draw(st.sampled_from(list(TABLES))), draw(st.sampled_from(helps))
    table, stroke = replace(TABLES[name], help=help), draw(played)
    places = []
    for radius in (table.balls.cue_radius, table.balls.object_radius):
        place = [draw(st.floats(radius, size - radius)) for size in table.size]
        assume(bool(on_cloth(table, place, radius)))
        places.append(np.array(place))
    cue, ball = places
    least = table.contact + CLEAR if stroke is None else ONE_HIT * table.contact
    assume(math.dist(cue, ball) >= least)
    return Shots(table, np.tile(cue, (6, 1)), np.tile(ball, (6, 1)), ALL, stroke)


def plain_rows(truths: Truths) -> NDArray[np.bool_]:
    """Pots that are neither grazes nor into a window that only rounding holds open."""
    opening = truths.window
    wide = cross(opening.right, opening.left) > OPEN
    return np.asarray(truths.can_pot & (np.abs(truths.cut) < NOT_A_GRAZE) & wide)


def kept(shots: Shots, rows: NDArray[np.bool_]) -> Shots:
    """The shots of these rows, at least one."""
    assume(bool(rows.any()))
    return replace(
        shots, cue_ball=shots.cue_ball[rows], object_ball=shots.object_ball[rows], pocket=shots.pocket[rows]
    )


def moved(shots: Shots, ends: bool, sides: bool) -> Shots:
    """The same shots with the table's ends swapped, or its sides, or both (half a turn)."""
    twin = {"left": "right", "right": "left", "top": "baulk", "baulk": "top", "middle": "middle"}
    names = []
    for k in shots.pocket:
        end, side = POCKETS[k].split("-")
        names.append(f"{twin[end] if ends else end}-{twin[side] if sides else side}")
    stroke = shots.stroke
    if stroke is not None and ends != sides:
        stroke = replace(stroke, side_spin=-stroke.side_spin)
    return Shots(
        shots.table,
        swapped(shots.table, shots.cue_ball, ends, sides),
        swapped(shots.table, shots.object_ball, ends, sides),
        np.array([POCKETS.index(name) for name in names], np.intp),
        stroke,
    )


def swapped(table: Table, points: Floats, ends: bool, sides: bool) -> Floats:
    return np.asarray(np.where([ends, sides], np.array(table.size) - points, points))


def check_moved(shots: Shots, ends: bool, sides: bool) -> None:
    table, one, two = shots.table, work_out(shots), work_out(moved(shots, ends, sides))
    clear = cross(one.window.right, one.window.left) > OPEN
    near_90 = np.abs(np.abs(one.cut) - np.pi / 2) < 1e-6
    sure = clear & ~near_90
    np.testing.assert_array_equal(two.can_pot[sure], one.can_pot[sure])
    rows = plain_rows(one)
    assume(bool(rows.any()))
    sign = 1.0 if ends == sides else -1.0
    for name in ("cut", "offset"):
        got, want = getattr(two, name)[rows], getattr(one, name)[rows]
        np.testing.assert_allclose(got, sign * want, rtol=0, atol=1e-9, err_msg=name)
    for name in ("fullness", "margin"):
        got, want = getattr(two, name)[rows], getattr(one, name)[rows]
        if name == "margin":  # a straight shot has no side: its two ends may change places
            straight = np.abs(one.cut[rows]) < 1e-9
            got = np.where(straight[:, None], np.sort(np.abs(got - 1.0)), got)
            want = np.where(straight[:, None], np.sort(np.abs(want - 1.0)), want)
        np.testing.assert_allclose(got, want, rtol=0, atol=1e-8, err_msg=name)
    not_straight = rows & (np.abs(one.cut) > 1e-9)
    np.testing.assert_allclose(two.throw[not_straight], one.throw[not_straight], rtol=0, atol=1e-9)
    np.testing.assert_allclose(np.abs(two.throw[rows]), np.abs(one.throw[rows]), rtol=0, atol=1e-9)
    for got, want in ((two.touching, one.touching), (two.window.target, one.window.target)):
        want = swapped(table, want, ends, sides)
        np.testing.assert_allclose(got[rows], want[rows], rtol=0, atol=1e-6)
    mirrored = ends != sides
    edges = (two.window.left, two.window.right) if mirrored else (two.window.right, two.window.left)
    flip = np.where([ends, sides], -1.0, 1.0)
    for got, want in zip(edges, (one.window.right, one.window.left), strict=True):
        np.testing.assert_allclose(got[rows], want[rows] * flip, rtol=0, atol=1e-9)


@law(shots_anywhere())
def test_mirrored_about_the_long_axis(shots: Shots) -> None:
    check_moved(shots, ends=False, sides=True)


@law(shots_anywhere())
def test_mirrored_about_the_short_axis(shots: Shots) -> None:
    check_moved(shots, ends=True, sides=False)


@law(shots_anywhere())
def test_half_a_turn_changes_nothing(shots: Shots) -> None:
    check_moved(shots, ends=True, sides=True)


@law(
    shots_anywhere(),
    angles,
    st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000)),
    st.floats(-0.995, 0.995),
)
def test_contact_knows_no_place_and_no_direction(
    shots: Shots, angle: float, by: tuple[float, float], part: float
) -> None:
    """Turned by any angle and moved by any vector, the contact is the same."""
    table, stroke = shots.table, shots.stroke
    radius, d = table.balls.object_radius, table.contact
    cue, ball = shots.cue_ball[0], shots.object_ball[0]
    offset = part * table.reach

    def turned(points: Floats) -> Floats:
        return np.asarray(turn_by(points, angle) + np.array(by), float)

    sent = send(cue, ball, offset, radius, d, stroke)
    other = send(turned(cue), turned(ball), offset, radius, d, stroke)
    assert bool(sent.hits)
    assert bool(other.hits)
    np.testing.assert_allclose(other.aim, turn_by(sent.aim, angle), rtol=0, atol=1e-9)
    np.testing.assert_allclose(other.way, turn_by(sent.way, angle), rtol=0, atol=1e-9)
    np.testing.assert_allclose(other.touching, turned(sent.touching), rtol=0, atol=1e-7)
    touching = touching_position(ball, sent.way, d)
    np.testing.assert_allclose(
        touching_position(turned(ball), other.way, d), turned(touching), rtol=0, atol=1e-7
    )
    one = float(cut_angle(cue, ball, sent.touching))
    two = float(cut_angle(turned(cue), turned(ball), turned(sent.touching)))
    assert abs(two - one) < 1e-8
    way = turn_by(sent.way, angle)
    for a, b in zip(
        (hit_for(cue, ball, sent.way, d, stroke).cut, offset_for(cue, ball, sent.way, radius, d, stroke)),
        (
            hit_for(turned(cue), turned(ball), way, d, stroke).cut,
            offset_for(turned(cue), turned(ball), way, radius, d, stroke),
        ),
        strict=True,
    ):
        assert bool(np.isfinite(a))
        assert abs(float(a) - float(b)) < 1e-8


def scaled_table(table: Table, by: float) -> Table:
    def jaw(one: Jaw) -> Jaw:
        return Jaw(one.facing, one.depth * by, one.rounding * by)

    balls = table.balls
    return replace(
        table,
        length=table.length * by,
        width=table.width * by,
        balls=Balls(balls.cue_radius * by, balls.object_radius * by, balls.cue_mass, balls.object_mass),
        corner=table.corner * by,
        middle=table.middle * by,
        corner_jaw=jaw(table.corner_jaw),
        middle_jaw=jaw(table.middle_jaw),
        baulk=table.baulk * by,
        d_radius=table.d_radius * by,
        spots=tuple((x * by, y * by) for x, y in table.spots),
    )


def check_scaled(shots: Shots, by: float, ends_within: float) -> None:
    twin = replace(
        shots,
        table=scaled_table(shots.table, by),
        cue_ball=shots.cue_ball * by,
        object_ball=shots.object_ball * by,
    )
    one, two = work_out(shots), work_out(twin)
    rows = plain_rows(one)
    assume(bool(rows.any()))
    assert two.can_pot[rows].all()
    for name in ("cut", "fullness", "throw"):
        got, want = getattr(two, name)[rows], getattr(one, name)[rows]
        np.testing.assert_allclose(np.abs(got), np.abs(want), rtol=0, atol=1e-9, err_msg=name)
    np.testing.assert_allclose(two.touching[rows], one.touching[rows] * by, rtol=0, atol=1e-6 * max(by, 1))
    far = shots.table.contact / length(one.window.target - shots.object_ball)[rows]
    straight = np.abs(one.cut[rows]) < 1e-9
    off = np.abs(two.margin - one.margin)[rows].max(axis=1)
    assert (off <= 1e-8 + ends_within * far)[~straight].all()


@law(shots_anywhere(helps=("none",)), st.floats(0.01, 100))
def test_scale(shots: Shots, by: float) -> None:
    """In inches, metres or any other unit angles, fullness and margin are the same; throw knows speeds."""
    check_scaled(shots, by, 0.0)


@law(shots_anywhere(helps=("both",)), st.sampled_from([1 / 25.4, 2.0]), some=8, many=60)
def test_scale_with_help_from_the_jaws(shots: Shots, by: float) -> None:
    check_scaled(shots, by, HELP_TRUE_TO)


@law(shots_anywhere(), st.booleans(), st.lists(st.floats(0.001, 1.0), min_size=2, max_size=8))
def test_thicker_never_cuts_more_ideal_balls(shots: Shots, left: bool, fullnesses: list[float]) -> None:
    check_thicker(replace(shots, stroke=None), left, fullnesses)


@law(
    shots_anywhere(helps=("none",), played=no_side),
    st.booleans(),
    st.lists(st.floats(0.001, 1.0), min_size=2, max_size=8),
)
def test_thicker_never_cuts_more_with_throw(shots: Shots, left: bool, fullnesses: list[float]) -> None:
    assume(math.dist(shots.cue_ball[0], shots.object_ball[0]) > 1.3 * shots.table.contact)
    check_thicker(shots, left, fullnesses)


def check_thicker(shots: Shots, left: bool, fullnesses: list[float]) -> None:
    """Neither off the line of aim nor off the line between the balls does a fuller hit send it farther."""
    table, cue, ball = shots.table, shots.cue_ball[0], shots.object_ball[0]
    thicker = np.sort(np.concatenate([fullnesses, np.linspace(0.01, 1.0, 40)]))
    offset = (1.0 if left else -1.0) * (1.0 - thicker) * table.reach
    sent = send(cue, ball, offset, table.balls.object_radius, table.contact, shots.stroke)
    assert sent.hits.all()
    for line in (sent.aim, np.broadcast_to(ball - cue, (len(thicker), 2))):
        turned = np.abs(angle_between(line, sent.way))
        # Hits an ulp of fullness apart may come out the other way round.
        assert (np.diff(turned) <= 1e-9).all()
        assert turned[-1] < turned[0]


def offsets(shots: Shots, truths: Truths) -> Floats:
    """The signed offsets that still pot, low to high, (n, 2)."""
    sign = np.where(truths.cut < 0, -1.0, 1.0)[:, None]
    return np.sort(sign * (1.0 - truths.margin) * shots.table.reach)


@law(shots_anywhere(helps=("none",)), st.floats(0.0, 1.0))
def test_a_farther_pocket_leaves_less_margin(shots: Shots, part: float) -> None:
    """Both balls moved back along the object ball's way: no call pots that didn't before.

    The way stays the same line, so the window seen along it only narrows; its middle may shift.
    """
    one = work_out(shots)
    rows = plain_rows(one)
    near, one = kept(shots, rows), work_out(kept(shots, rows))
    table, way = near.table, one.window.middle
    radius, size = table.balls.object_radius, np.array(table.size)
    back = np.where(way > 0, near.object_ball - radius, size - radius - near.object_ball)
    room = (back / np.maximum(np.abs(way), 1e-12)).min(axis=1)
    shift = -way * (part * room)[:, None]
    far = replace(near, cue_ball=near.cue_ball + shift, object_ball=near.object_ball + shift)
    two = work_out(far)  # the cue ball may be moved off the cloth: contact doesn't know the cloth
    before, after = offsets(near, one), offsets(far, two)
    assert two.window.is_open.all()
    assert (after[:, 0] >= before[:, 0] - 1e-9).all()
    assert (after[:, 1] <= before[:, 1] + 1e-9).all()
    assert (np.ptp(two.margin, axis=1) <= np.ptp(one.margin, axis=1) + 1e-9).all()


@law(shots_anywhere(helps=("none",)), st.floats(1.0, 3000.0))
def test_a_farther_cue_ball_must_be_aimed_more_finely(shots: Shots, back: float) -> None:
    """The cue ball moved back along its line of aim: the truth stays, the angle of aim allowed shrinks."""
    rows = plain_rows(work_out(shots))
    near = kept(shots, rows)
    one = work_out(near)
    aim = unit(one.touching - near.cue_ball)
    far = replace(near, cue_ball=near.cue_ball - back * aim)
    two = work_out(far)
    np.testing.assert_allclose(two.cut, one.cut, rtol=0, atol=1e-8)
    np.testing.assert_allclose(two.touching, one.touching, rtol=0, atol=1e-6)

    def allowed(shots: Shots, truths: Truths) -> Floats:
        apart = length(shots.object_ball - shots.cue_ball)[:, None]
        wide = offsets(shots, truths) * 2.0 * shots.table.balls.object_radius
        return np.asarray(np.ptp(np.arcsin(wide / apart), axis=1))

    assert (allowed(far, two) < allowed(near, one)).all()


def turns_one_way(shots: Shots) -> bool:
    """Whether the ball leaves farther left for each thinner hit, so that the calls that pot are one stretch.

    Not so for thin cuts with strong outside side, where throw falls off faster than the cut grows.
    """
    table = shots.table
    sines = np.sin(np.pi / 2 * np.sin(np.pi / 2 * np.linspace(-1.0, 1.0, 2001)))[1:-1]
    cue, ball = shots.cue_ball[0], shots.object_ball[0]
    radius, d = table.balls.object_radius, table.contact
    way = send(cue, ball, sines * table.reach, radius, d, shots.stroke).way
    return bool((np.diff(angle_between(ball - cue, way)) > -1e-13).all())


@law(shots_anywhere())
def test_the_truth_pots(shots: Shots) -> None:
    """The true offset, played, is a way down the middle of the window; cut and fullness say the same hit."""
    shots = kept(shots, plain_rows(work_out(shots)))
    truths, table = work_out(shots), shots.table
    sent = send(
        shots.cue_ball,
        shots.object_ball,
        truths.offset,
        table.balls.object_radius,
        table.contact,
        shots.stroke,
    )
    assert sent.hits.all()
    assert truths.window.holds(sent.way).all()
    np.testing.assert_allclose(sent.way, truths.window.middle, rtol=0, atol=1e-8)
    np.testing.assert_allclose(sent.touching, truths.touching, rtol=0, atol=1e-6)
    sine = np.sin(truths.cut)
    np.testing.assert_allclose(truths.offset, table.reach * sine, rtol=0, atol=1e-9)
    np.testing.assert_allclose(truths.fullness, 1.0 - np.abs(sine), rtol=0, atol=1e-12)
    to_target = unit(truths.window.target - shots.object_ball)
    np.testing.assert_allclose(dot(to_target, sent.way), 1.0, rtol=0, atol=1e-12)


@law(shots_anywhere(helps=("none",)))
def test_the_margin_ends_where_potting_ends(shots: Shots) -> None:
    assume(turns_one_way(shots))
    shots = kept(shots, plain_rows(work_out(shots)))
    truths, table = work_out(shots), shots.table
    low, high = truths.margin.T
    sign = np.where(truths.cut < 0, -1.0, 1.0)
    assert (low < truths.fullness).all()
    assert (truths.fullness < high).all()

    def pots(fullness: Floats) -> NDArray[np.bool_]:
        sent = send(
            shots.cue_ball,
            shots.object_ball,
            sign * (1.0 - fullness) * table.reach,
            table.balls.object_radius,
            table.contact,
            shots.stroke,
        )
        return np.asarray(sent.hits & truths.window.holds(sent.way))

    assert pots(low + 1e-9).all()
    assert pots(high - 1e-9).all()
    assert not pots(low - 1e-7).any()
    assert not pots(high + 1e-7).any()
