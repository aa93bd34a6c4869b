"""Playing an offset and asking for it: inverse of each other, whatever the frame of the table."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import strategies as st
from laws import law

from trainer.geometry.aiming import Stroke, line_for, offset_for, send, signed_throw
from trainer.geometry.contact import cut_angle, touching_position
from trainer.geometry.throw import FRICTION

coordinates = st.tuples(st.floats(0, 3500), st.floats(0, 1700))
angles = st.floats(-math.pi, math.pi)
cuts = st.one_of(
    st.floats(-math.radians(89.9), math.radians(89.9)),
    st.sampled_from([0.0, 1e-12, -1e-9, math.radians(30), -math.radians(30)]),
)
radii = st.sampled_from([(26.25, 26.25), (28.575, 28.575), (23.8125, 25.4), (30.0, 20.0)])
strokes = st.builds(
    Stroke,
    speed=st.floats(0.2, 8.0),
    roll=st.floats(-1.0, 1.0),
    side_spin=st.floats(-1.0, 1.0),
)
travels = st.floats(250, 2500)


def polar(angle: float) -> np.ndarray:
    return np.array([math.cos(angle), math.sin(angle)])


def balls(
    ball: tuple[float, float], aim: float, cut: float, travel: float, size: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray, float]:
    """Cue ball, object ball, and the distance at contact, of a shot with this cut."""
    d = 2 * math.sqrt(size[0] * size[1])
    at = np.array(ball)
    cue = at - d * polar(aim + cut) - travel * polar(aim)
    return cue, at, d


@law(coordinates, angles, cuts, travels, radii, some=50, many=150)
def test_asking_undoes_playing(ball, aim, cut, travel, size) -> None:  # type: ignore[no-untyped-def]
    cue, at, d = balls(ball, aim, cut, travel, size)
    offset = d / (2 * size[1]) * math.sin(cut)
    sent = send(cue, at, offset, size[1], d)
    assert bool(sent.hits)
    # near a graze a bit of the offset is many bits of the cut
    slack = 1e-12 / math.cos(cut)
    np.testing.assert_allclose(sent.way, polar(aim + cut), atol=1e-12 + slack)
    back = float(offset_for(cue, at, sent.way, size[1], d))
    assert back == pytest.approx(offset, abs=1e-11)


@law(coordinates, angles, cuts, travels, radii, strokes, some=50, many=150)
def test_asking_undoes_playing_with_throw(ball, aim, cut, travel, size, stroke) -> None:  # type: ignore[no-untyped-def]
    cut *= 80 / 90
    # with more outside side than this a thin cut has several hits for one way
    stroke = replace(stroke, side_spin=0.65 * stroke.side_spin)
    cue, at, d = balls(ball, aim, cut, travel, size)
    offset = d / (2 * size[1]) * math.sin(cut)
    sent = send(cue, at, offset, size[1], d, stroke)
    back = float(offset_for(cue, at, sent.way, size[1], d, stroke))
    assert back == pytest.approx(offset, abs=1e-9)
    # the line of centres that was found is the one that was played
    centres = line_for(cue, at, sent.way, np.array(d), stroke)
    np.testing.assert_allclose(centres, polar(aim + cut), atol=1e-9)


@law(coordinates, angles, cuts, travels, radii, strokes, some=50, many=150)
def test_throw_stays_within_friction(ball, aim, cut, travel, size, stroke) -> None:  # type: ignore[no-untyped-def]
    """No pull beyond the highest friction: atan(a + b), 6.7 degrees, well inside the search's range."""
    assert abs(float(signed_throw(cut, stroke))) <= math.atan(FRICTION[0] + FRICTION[1])


@law(coordinates, angles, cuts, travels, radii, st.one_of(st.none(), strokes), some=50, many=150)
def test_mirror(ball, aim, cut, travel, size, stroke) -> None:  # type: ignore[no-untyped-def]
    """Mirror the table across its length: cut, offset and side spin change sign, all else stays."""
    cut *= 0.85
    cue, at, d = balls(ball, aim, cut, travel, size)
    flip = np.array([1.0, -1.0])
    twin = stroke and Stroke(stroke.speed, stroke.roll, -stroke.side_spin)
    way = polar(aim + cut)
    offset = float(offset_for(cue, at, way, size[1], d, stroke))
    mirrored = float(offset_for(cue * flip, at * flip, way * flip, size[1], d, twin))
    assert mirrored == pytest.approx(-offset, abs=1e-10)
    sent = send(cue, at, offset, size[1], d, stroke)
    other = send(cue * flip, at * flip, -offset, size[1], d, twin)
    for a, b in ((sent.way, other.way), (sent.aim, other.aim), (sent.touching, other.touching)):
        np.testing.assert_allclose(a, b * flip, atol=1e-9)


@law(coordinates, angles, cuts, travels, radii, st.one_of(st.none(), strokes), angles, some=50, many=150)
def test_rotation(ball, aim, cut, travel, size, stroke, turn) -> None:  # type: ignore[no-untyped-def]
    cut *= 0.85
    cue, at, d = balls(ball, aim, cut, travel, size)
    spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    offset = d / (2 * size[1]) * math.sin(cut)
    sent = send(cue, at, offset, size[1], d, stroke)
    turned = send(spin @ cue, spin @ at, offset, size[1], d, stroke)
    np.testing.assert_allclose(turned.way, spin @ sent.way, atol=1e-10)
    np.testing.assert_allclose(turned.touching, spin @ sent.touching, atol=1e-8)
    asked = offset_for(spin @ cue, spin @ at, spin @ sent.way, size[1], d, stroke)
    assert float(asked) == pytest.approx(offset, abs=1e-9)


@law(coordinates, angles, cuts, travels, radii, st.floats(0.01, 100), some=30, many=60)
def test_scale(ball, aim, cut, travel, size, scale) -> None:  # type: ignore[no-untyped-def]
    """In inches, or metres, or anything else, the angles and the offset in ball widths are the same."""
    cue, at, d = balls(ball, aim, cut, travel, size)
    way = polar(aim + cut)
    one = float(offset_for(cue, at, way, size[1], d))
    other = float(offset_for(cue * scale, at * scale, way, size[1] * scale, d * scale))
    assert other == pytest.approx(one, abs=1e-11)
    touching = touching_position(at, way, np.array(d))
    assert float(cut_angle(cue * scale, at * scale, touching * scale)) == pytest.approx(
        float(cut_angle(cue, at, touching)), abs=1e-11
    )


@law(coordinates, angles, st.floats(math.radians(91), math.radians(150)), travels, radii, some=30, many=60)
def test_past_a_right_angle_it_is_the_graze_of_that_side(ball, aim, cut, travel, size) -> None:  # type: ignore[no-untyped-def]
    _, at, d = balls(ball, aim, 0.0, travel, size)
    cue = at - (travel + d) * polar(aim)
    reach = math.sqrt(size[0] / size[1])
    for sign in (1, -1):
        got = float(offset_for(cue, at, polar(aim + sign * cut), size[1], d))
        assert got == pytest.approx(sign * reach, abs=1e-12)


def test_throw_turns_the_ball_toward_the_cue_balls_motion() -> None:
    cue, ball = np.array([0.0, 0.0]), np.array([800.0, 0.0])
    for offset in (0.5, -0.5):
        plain = send(cue, ball, offset, 26.25, 52.5)
        thrown = send(cue, ball, offset, 26.25, 52.5, Stroke(1.0, 0.0))
        np.testing.assert_allclose(thrown.touching, plain.touching)
        toward = [math.acos(float(s.way @ s.aim)) for s in (plain, thrown)]
        assert toward[1] < toward[0]
        # so the same pot needs a thinner hit
        need = float(offset_for(cue, ball, plain.way, 26.25, 52.5, Stroke(1.0, 0.0)))
        assert abs(need) > abs(offset)
