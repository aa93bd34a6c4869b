"""The cue ball's way against integrated equations of motion, and its momentum and energy."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from trainer.geometry.aiming import Stroke
from trainer.geometry.cue_path import (
    GRAVITY,
    NO_CUSHION,
    contact,
    cue_path,
    points,
    rolling_velocity,
    separation,
)
from trainer.geometry.cushion import CUSHIONS
from trainer.geometry.tables import TABLES
from trainer.geometry.vectors import on_table

quick = settings(max_examples=60, deadline=None, derandomize=True, database=None)
SNOOKER = TABLES["snooker"]
MU, MU_ROLL = 0.2, 0.01
UP = np.array([0.0, 0.0, 1.0])


def integrated(table, start, velocity, spin, radius):  # type: ignore[no-untyped-def]
    """Slide, then roll, with solve_ivp: where rolling begins, which nose is met, where and when, or the rest.

    State in metres: place (3), velocity (3), angular velocity (3). Friction acts at the foot of the
    ball, against the foot's velocity; once the foot stands still, rolling resistance alone is left.
    """
    size = np.array(table.size) / 1000
    r = radius / 1000

    def foot(y):  # type: ignore[no-untyped-def]
        return y[3:6] + np.cross(y[6:9], -r * UP)

    def slide(_, y):  # type: ignore[no-untyped-def]
        u = foot(y)
        force = -MU * GRAVITY * u / np.linalg.norm(u)
        return np.concatenate([y[3:6], force, np.cross(-r * UP, force) / (0.4 * r * r)])

    def roll(_, y):  # type: ignore[no-untyped-def]
        slow = -MU_ROLL * GRAVITY * y[3:6] / np.linalg.norm(y[3:6])
        return np.concatenate([y[3:6], slow, np.cross(UP, slow) / r])

    def nose(axis, low):  # type: ignore[no-untyped-def]
        def room(_, y):  # type: ignore[no-untyped-def]
            return y[axis] - r if low else size[axis] - r - y[axis]

        room.terminal, room.direction = True, -1  # type: ignore[attr-defined]
        return room

    noses = [nose(0, True), nose(0, False), nose(1, True), nose(1, False)]  # as CUSHIONS
    y = np.concatenate([start / 1000, [r], velocity, [0.0], spin])
    first = foot(y)
    rolling_from, clock = None, 0.0
    if np.linalg.norm(first) > 1e-9:
        first = first / np.linalg.norm(first)

        def rolls(_, y):  # type: ignore[no-untyped-def]
            return foot(y) @ first - 1e-11

        rolls.terminal = True  # type: ignore[attr-defined]
        got = solve_ivp(slide, (0, 60), y, events=[*noses, rolls], rtol=1e-10, atol=1e-13, max_step=0.01)
        y = got.y[:, -1]
        hit = [k for k in range(4) if got.t_events[k].size]
        if hit:
            return None, hit[0], y[:2] * 1000, got.t[-1]
        clock = got.t[-1]
    rolling_from = y[:2] * 1000

    def rests(_, y):  # type: ignore[no-untyped-def]
        return y[3:6] @ y[3:6] - 1e-12

    rests.terminal = True  # type: ignore[attr-defined]
    if y[3:6] @ y[3:6] <= 1e-12:
        return rolling_from, NO_CUSHION, y[:2] * 1000, clock
    got = solve_ivp(roll, (0, 200), y, events=[*noses, rests], rtol=1e-10, atol=1e-13, max_step=2.0)
    hit = [k for k in range(4) if got.t_events[k].size]
    return rolling_from, hit[0] if hit else NO_CUSHION, got.y[:2, -1] * 1000, clock + got.t[-1]


@pytest.mark.parametrize("name", ["small-ball", pytest.param("snooker", marks=pytest.mark.long)])
@pytest.mark.parametrize("n", [30, pytest.param(60, marks=pytest.mark.slow)])
def test_the_way_by_integration(name: str, n: int) -> None:
    """End of the slide, first cushion or rest, over cuts, speeds and spins, from all over the table."""
    table = TABLES[name]
    rng = np.random.default_rng(8)
    radius = table.balls.cue_radius
    start = rng.uniform(radius, np.array(table.size) - radius, (n, 2))
    start[: n // 6, 1] = radius + 1.0  # all but on the cushion
    turn = rng.uniform(-np.pi, np.pi, n)
    aim = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    cut = np.radians(rng.uniform(-85, 85, n))
    strokes = [
        Stroke(0.3, 1.0),
        Stroke(1.0, 0.0),
        Stroke(2.5, -0.8, 0.5),
        Stroke(5.0, 1.0),
        Stroke(4.0, -1.2),
    ]
    seen = set()
    for k, stroke in enumerate(strokes):
        rows = slice(k, n, len(strokes))
        path = cue_path(table, start[rows], aim[rows], cut[rows], stroke, sliding=MU, rolling=MU_ROLL)
        for i in range(len(start[rows])):
            mass = table.balls.cue_mass, table.balls.object_mass
            along = aim[rows][i]
            c, s = np.cos(cut[rows][i]), np.sin(cut[rows][i])
            centres = np.array([along[0] * c - along[1] * s, along[0] * s + along[1] * c])
            # two bodies with nothing lost: the part along the centres is (m - M) / (m + M) of itself
            before = stroke.speed * along
            velocity = before - 2 * mass[1] / (mass[0] + mass[1]) * (before @ centres) * centres
            spin = np.cross(UP, [*along, 0.0]) * stroke.roll * stroke.speed / (radius / 1000)
            rolls_at, cushion, end, clock = integrated(table, start[rows][i], velocity, spin, radius)
            np.testing.assert_allclose(path.end[i], end, rtol=0, atol=2e-3 if cushion < 0 else 2e-4)
            assert path.cushion[i] == cushion
            assert path.end_time[i] == pytest.approx(clock, abs=1e-4 if cushion < 0 else 1e-6)
            assert bool(path.while_sliding[i]) == (rolls_at is None)
            if rolls_at is not None:
                np.testing.assert_allclose(path.slide_end[i], rolls_at, rtol=0, atol=2e-4)
            seen.add((int(cushion), rolls_at is None))
    assert {c for c, _ in seen} == {NO_CUSHION, 0, 1, 2, 3}
    assert (NO_CUSHION, False) in seen
    assert sum(sliding for _, sliding in seen) >= 2


CUTS = st.floats(-1.55, 1.55)
STROKES = st.builds(Stroke, st.floats(0.1, 8.0), st.floats(-1.5, 1.5), st.floats(-1.0, 1.0))


@quick
@given(CUTS, STROKES, st.floats(0.5, 1.0), st.floats(0.5, 2.0), st.booleans())
def test_momentum_and_energy_at_contact(cut, stroke, e, ratio, rubs) -> None:  # type: ignore[no-untyped-def]
    after = contact(cut, stroke, restitution=e, mass_ratio=ratio, with_friction=rubs)
    total = ratio * after.velocity + after.object_velocity
    np.testing.assert_allclose(total, [ratio * stroke.speed, 0.0], atol=1e-12 * (1 + stroke.speed))
    normal = np.array([np.cos(cut), np.sin(cut)])
    parting = (after.object_velocity - after.velocity) @ normal
    assert parting == pytest.approx(e * stroke.speed * np.cos(cut), abs=1e-12)

    def energy(mass, v, roll, side):  # type: ignore[no-untyped-def]
        return mass / 2 * (v @ v + 0.4 * (roll @ roll + side * side))

    v = stroke.speed
    side = 1.25 * stroke.side_spin * v
    before = energy(ratio, np.array([v, 0.0]), np.array([stroke.roll * v, 0.0]), side)
    twist = float(after.side) - side  # both balls are turned the same way by friction, as gears aren't
    got = energy(ratio, after.velocity, after.roll, float(after.side))
    got += energy(1.0, after.object_velocity, after.object_roll, twist * ratio)
    lost = 0.5 * ratio / (1 + ratio) * (1 - e * e) * (v * np.cos(cut)) ** 2
    if rubs:
        assert got <= before - lost + 1e-12 * before
    else:
        assert got == pytest.approx(before - lost, rel=1e-12)


@quick
@given(CUTS, STROKES)
def test_friction_on_the_cloth_takes_what_the_slide_loses(cut, stroke) -> None:  # type: ignore[no-untyped-def]
    """Energy lost per mass is mu g times how far the foot slid, which slows evenly from its first speed."""
    big = replace(SNOOKER, length=1e9, width=1e9)
    after = contact(cut, stroke)
    path = cue_path(big, [5e8, 5e8], [1.0, 0.0], cut, stroke)
    slid = np.linalg.norm(after.velocity - after.roll) * float(path.slide_time) / 2
    before = (after.velocity @ after.velocity + 0.4 * after.roll @ after.roll) / 2
    final = path.rolling @ path.rolling * 0.7
    assert before - final == pytest.approx(MU * GRAVITY * slid, abs=1e-9)


@quick
@given(CUTS, STROKES, st.floats(-3.0, 3.0), st.booleans())
def test_mirror_and_turn(cut, stroke, turn, rubs) -> None:  # type: ignore[no-untyped-def]
    big = replace(SNOOKER, length=1e7, width=1e7)
    middle = np.array([5e6, 5e6])
    one = cue_path(big, middle, [1.0, 0.0], cut, stroke, with_friction=rubs)
    twin = replace(stroke, side_spin=-stroke.side_spin)
    other = cue_path(big, middle, [1.0, 0.0], -cut, twin, with_friction=rubs)
    np.testing.assert_allclose(other.end - middle, (one.end - middle) * [1, -1], atol=1e-6)
    c, s = np.cos(turn), np.sin(turn)
    turned = cue_path(big, middle, [c, s], cut, stroke, with_friction=rubs)
    spin = np.array([[c, -s], [s, c]])
    np.testing.assert_allclose(turned.end - middle, spin @ (one.end - middle), atol=1e-6)


def test_many_at_once_are_as_one_at_a_time_and_points_lie_on_the_way() -> None:
    rng = np.random.default_rng(2)
    start = rng.uniform(100, 1600, (50, 2))
    cut = rng.uniform(-1.5, 1.5, 50)
    stroke = Stroke(2.0, 0.5)
    many = cue_path(SNOOKER, start, [0.6, 0.8], cut, stroke)
    drawn = points(many, 20)
    assert drawn.shape == (50, 22, 2)
    np.testing.assert_array_equal(drawn[:, 0], start)
    np.testing.assert_array_equal(drawn[:, -1], many.end)
    assert on_table(drawn, SNOOKER.balls.cue_radius - 1e-6, np.array(SNOOKER.size)).all()
    for i in range(50):
        one = cue_path(SNOOKER, start[i], [0.6, 0.8], cut[i], stroke)
        np.testing.assert_array_equal(one.end, many.end[i])
        assert one.cushion == many.cushion[i]
        last = many.end[i] if many.while_sliding[i] else many.slide_end[i]
        np.testing.assert_allclose(drawn[i, 20], last, atol=1e-9)


def test_the_direction_it_rolls_in_has_a_closed_form() -> None:
    cut = np.radians(np.linspace(-85, 85, 69))
    for roll in (-0.5, 0.0, 0.4, 1.0):
        for e, ratio in ((1.0, 1.0), (0.93, 0.81)):
            after = contact(cut, Stroke(3.0, roll), restitution=e, mass_ratio=ratio)
            final = rolling_velocity(after.velocity, after.roll)
            # tan = sin cos / (sin^2 + 2/5 roll) for equal balls without loss (TP A.20)
            push = (1 + e) * np.cos(cut) / (1 + ratio)
            along = 5 * (1 - push * np.cos(cut)) + 2 * roll
            off = np.arctan2(-5 * push * np.sin(cut), along) - np.arctan2(final[:, 1], final[:, 0])
            np.testing.assert_allclose(np.sin(off), 0.0, atol=1e-14)
            np.testing.assert_allclose(np.cos(off), 1.0, atol=1e-14)
            cue, ball = (v[:, 0] + 1j * v[:, 1] for v in (after.velocity, after.object_velocity))
            moves = np.abs(cue) > 1e-9
            assert moves.sum() >= 68  # all but the full hit that stops dead
            apart = np.abs(np.angle(cue / ball))
            np.testing.assert_allclose(separation(cut, e, ratio)[moves], apart[moves], atol=1e-12)


def test_a_full_stun_hit_stops_dead() -> None:
    path = cue_path(SNOOKER, [1000.0, 800.0], [1.0, 0.0], 0.0, Stroke(2.0, 0.0))
    np.testing.assert_array_equal(path.end, [1000.0, 800.0])
    assert path.cushion == NO_CUSHION
    assert float(path.end_time) == 0.0


def test_a_pocket_in_the_way_is_said() -> None:
    """A thin stun along the centre line of a middle pocket, and one that passes it by."""
    stroke, cut = Stroke(3.0, 0.0), 1e-9
    across = np.array([0.0, 1.0])
    for x, open_there in ((SNOOKER.length / 2, True), (SNOOKER.length / 2 + 80.0, False), (30.0, True)):
        # a ball of twice the mass of the other goes straight on through a full hit
        heavy = replace(SNOOKER, balls=replace(SNOOKER.balls, cue_mass=282.0))
        path = cue_path(heavy, [x, 800.0], across, cut, stroke)
        assert CUSHIONS[int(path.cushion)] == "left"
        assert bool(path.at_pocket) == open_there


def test_no_touching_position_gives_no_way() -> None:
    path = cue_path(SNOOKER, [np.nan, np.nan], [1.0, 0.0], np.nan, Stroke(1.0))
    assert np.isnan(path.end).all()
    assert path.cushion == NO_CUSHION
    assert not bool(path.at_pocket)
