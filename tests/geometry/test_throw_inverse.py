"""The hit that sends the ball along a way: against looking at every cut there is."""

import numpy as np
import pytest

from trainer.geometry.aiming import Stroke, hit_for, line_for, offset_for, send, signed_throw
from trainer.geometry.roots import root_between, turning_point
from trainer.geometry.throw import throw_angle

D = 52.5
STROKES = [
    Stroke(0.5, 0.0),
    Stroke(1.0, 1.0),
    Stroke(3.0, 0.0),
    Stroke(0.2, -1.0, 0.3),
    Stroke(1.5, 0.3, -0.5),
    Stroke(1.0, 0.0, 0.78),
    Stroke(1.0, 0.0, -0.9),
    Stroke(4.0, 1.0, 1.0),
]
EACH_STROKE = pytest.mark.parametrize("stroke", STROKES, ids=str)


def leaving(cut: np.ndarray, apart: np.ndarray | float, stroke: Stroke) -> np.ndarray:
    """Angle off the line between the balls at which the object ball leaves, from the drawing of it."""
    # cue ball at the origin, object ball at `apart` on the x axis: the line of aim comes from its offset
    aim = -np.arcsin(D * np.sin(cut) / apart)
    right = throw_angle(cut, stroke.speed, stroke.roll, stroke.side_spin) * np.where(cut < 0, -1, 1)
    return np.asarray(aim + cut - right)


@EACH_STROKE
@pytest.mark.parametrize("apart", [1.001, 1.02, 1.1, 7 / 6, 1.3, 2.0, 20.0])
def test_playing_and_asking_over_a_grid(stroke: Stroke, apart: float) -> None:
    """Whatever was played, asking for where the ball went finds a hit that sends it there, to 1e-10."""
    rng = np.random.default_rng(5)
    n = 400
    cut = np.radians(np.linspace(-89.5, 89.5, n))
    cue, turn = rng.uniform(0, 3000, (n, 2)), rng.uniform(-np.pi, np.pi, n)
    ball = cue + apart * D * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    sent = send(cue, ball, np.sin(cut), D / 2, D, stroke)
    hit = hit_for(cue, ball, sent.way, D, stroke)
    assert hit.exists.all()
    leaves = leaving(hit.cut, apart * D, stroke)
    went = np.arctan2(sent.way[:, 1], sent.way[:, 0]) - turn
    assert np.abs(np.sin(leaves - went)).max() < 1e-10
    np.testing.assert_allclose(np.hypot(*(ball - hit.touching).T), D, rtol=1e-12)
    back = send(cue, ball, offset_for(cue, ball, sent.way, D / 2, D, stroke), D / 2, D, stroke)
    off = sent.way[:, 0] * back.way[:, 1] - sent.way[:, 1] * back.way[:, 0]
    assert np.abs(off).max() < (1e-10 if apart > 1.01 else 1e-9)  # 0.05 mm of metres: fewer digits left


@EACH_STROKE
@pytest.mark.parametrize("apart", [1.005, 1.05, 1.12, 1.2, 1.5, 10.0])
def test_which_hit_is_taken(stroke: Stroke, apart: float) -> None:
    """Against all hits there are, found by looking at 40,001 cuts."""
    cuts = np.linspace(-np.pi / 2, np.pi / 2, 40_001)
    ways = leaving(cuts, apart * D, stroke)
    span = ways.max() - ways.min()
    wanted = np.linspace(ways.min() - 0.1 * span, ways.max() + 0.1 * span, 161)
    wanted = wanted[np.abs(wanted) > 1e-6]
    direction = np.stack([np.cos(wanted), np.sin(wanted)], axis=-1)
    hit = hit_for([0.0, 0.0], [apart * D, 0.0], direction, D, stroke)
    several = 0
    for i, w in enumerate(wanted):
        at = np.flatnonzero((ways[:-1] - w) * (ways[1:] - w) <= 0)
        assert bool(hit.exists[i]) == (at.size > 0)
        if not at.size:
            assert np.isnan(hit.cut[i])
            assert np.isnan(hit.centres[i]).all()
            continue
        several += at.size > 1
        farther = at[(ways[at + 1] > ways[at]) & (np.sign(cuts[at] + 1e-9) == np.sign(w))]
        pick = farther if farther.size else at
        best = pick[np.abs(cuts[pick]).argmin()]
        if not np.isclose(hit.cut[i], cuts[best], atol=1e-4):
            # next to a turning point the look is too coarse to tell two hits from one or none
            assert leaving(hit.cut[i], apart * D, stroke) == pytest.approx(w, abs=1e-10)
            assert np.abs(np.gradient(ways, cuts)[np.searchsorted(cuts, hit.cut[i]) - 1]) < 1e-2
    if apart < 7 / 6 and stroke.roll == 0 and stroke.side_spin == 0:
        assert several > 0


@pytest.mark.parametrize("apart", [1.001, 1.05, 1.15])
@pytest.mark.parametrize("way", [0.002, 0.02, 0.1])
def test_close_balls_are_cut_to_the_side_they_go(apart: float, way: float) -> None:
    """Slow stun and balls closer than 7/6: several hits; the one taken is on the way's own side."""
    for sign in (1, -1):
        direction = [np.cos(way), sign * np.sin(way)]
        hit = hit_for([0.0, 0.0], [apart * D, 0.0], direction, D, Stroke(0.4, 0.0))
        if bool(hit.exists):
            best = leaving(np.linspace(0, np.pi / 2, 9001), apart * D, Stroke(0.4, 0.0)).max()
            assert (np.sign(hit.cut) == sign) == (way <= best)


def test_straight_is_full_whatever_the_distance() -> None:
    for apart in (1.0, 1.001, 1.1, 1.16, 1.18, 3.0):
        hit = hit_for([0.0, 0.0], [apart * D, 0.0], [1.0, 0.0], D, Stroke(0.4, 0.0))
        assert float(hit.cut) == 0.0
        for noise in (1e-13, -1e-13):  # what rounding leaves of a straight shot is no side
            hit = hit_for([0.0, 0.0], [apart * D, 0.0], [1.0, noise], D, Stroke(0.4, 0.0))
            assert float(hit.cut) == pytest.approx(0.0, abs=1e-8)


def test_frozen_balls_are_thrown() -> None:
    """Balls that touch keep their line of centres; only throw turns the object ball, and not far."""
    ball = [D, 0.0]
    hit = hit_for([0.0, 0.0], ball, [np.cos(0.05), np.sin(0.05)], D, Stroke(0.5, 0.0))
    assert bool(hit.exists)
    np.testing.assert_allclose(hit.centres, [1.0, 0.0], atol=1e-12)
    assert float(signed_throw(hit.cut, Stroke(0.5, 0.0))) == pytest.approx(-0.05, abs=1e-12)
    far = hit_for([0.0, 0.0], ball, [np.cos(0.15), np.sin(0.15)], D, Stroke(0.5, 0.0))
    assert not bool(far.exists)


@pytest.mark.parametrize("stroke", [None, *STROKES], ids=str)
def test_no_hit_is_said(stroke: Stroke | None) -> None:
    cue, ball = np.zeros(2), np.array([500.0, 0.0])
    angle = np.radians([100.0, -100.0, 179.0, 88.0])
    ways = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    hit = hit_for(cue, ball, ways, D, stroke)
    assert not hit.exists.any()
    assert np.isnan(hit.cut).all()
    assert np.isnan(hit.touching).all()
    graze = offset_for(cue, ball, ways, D / 2, D, stroke)
    np.testing.assert_array_equal(graze, [1.0, -1.0, 1.0, 1.0])
    overlap = hit_for(cue, [D * 0.99, 0.0], [1.0, 0.0], D, stroke)
    assert not bool(overlap.exists)
    if stroke is not None:
        assert np.isnan(line_for(cue, ball, ways, D, stroke)).all()


def test_outside_side_that_beats_the_cut_throws_the_other_way() -> None:
    """A straight shot with right-hand side goes left, so it is hit a little to the other side."""
    cut = np.radians(10.0)
    assert throw_angle(cut, 1.0, 0.0, 1.0) < 0 < throw_angle(cut, 1.0, 0.0, 0.1)
    assert throw_angle(-cut, 1.0, 0.0, -1.0) == throw_angle(cut, 1.0, 0.0, 1.0)
    hit = hit_for([0.0, 0.0], [800.0, 0.0], [1.0, 0.0], D, Stroke(1.0, 1.0, 0.8))
    assert bool(hit.exists)
    assert -0.1 < float(hit.cut) < -0.01
    assert float(leaving(hit.cut, 800.0, Stroke(1.0, 1.0, 0.8))) == pytest.approx(0.0, abs=1e-12)


def test_many_strokes_at_once() -> None:
    """Arrays of speeds broadcast like everything else, and rows don't touch each other."""
    speed = np.array([0.3, 1.0, 4.0])
    direction = np.stack([np.cos([0.2, -0.5]), np.sin([0.2, -0.5])], axis=-1)[:, None]
    for apart in (1.05, 12.0):
        both = hit_for([0.0, 0.0], [apart * D, 0.0], direction, D, Stroke(speed, 0.2, 0.1))  # type: ignore[arg-type]
        assert both.cut.shape == (2, 3)
        for i in range(2):
            for k in range(3):
                one = hit_for(
                    [0.0, 0.0], [apart * D, 0.0], direction[i, 0], D, Stroke(float(speed[k]), 0.2, 0.1)
                )
                np.testing.assert_allclose(both.cut[i, k], one.cut, rtol=0, atol=1e-12)


def test_roots_and_turning_points_of_known_functions() -> None:
    target = np.linspace(-0.99, 0.99, 199)
    got = root_between(lambda x: np.tanh(20 * x) - target, np.full(199, -9.0), np.full(199, 4.0))
    np.testing.assert_allclose(got, np.arctanh(target) / 20, rtol=1e-13, atol=1e-16)
    ends = root_between(lambda x: x - np.array([0.0, 1.0]), np.zeros(2), np.ones(2))
    np.testing.assert_array_equal(ends, [0.0, 1.0])
    corner = np.array([0.3, -0.7])
    at, value = turning_point(lambda x: -np.abs(x - corner) + 2, -np.ones(2), np.ones(2), np.ones(2))
    np.testing.assert_allclose(at, corner, atol=1e-8)
    np.testing.assert_allclose(value, 2.0, atol=1e-8)
