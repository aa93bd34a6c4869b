"""How a ball comes off a cushion, against the tests' own integration of the impact."""

import numpy as np
import pytest
from impulses import in_one_go, model_of, out_of

from trainer.geometry.cushion import CUSHIONS, NORMALS
from trainer.geometry.rebound import OTHERS, PUBLISHED, RULES_NOSE, WAYS, Rubber, impact, rebound
from trainer.geometry.vectors import unit

UP = np.array([0.0, 1.0])
ANGLES = np.arange(10.0, 81.0, 5.0)


def ways(degrees: np.ndarray) -> np.ndarray:
    angle = np.radians(degrees)
    return np.stack([np.sin(angle), -np.cos(angle)], axis=-1)


def degrees_of(out: np.ndarray) -> np.ndarray:
    return np.degrees(np.arctan2(out[..., 0], out[..., 1]))


def test_it_agrees_with_impulses_in_small_steps_slow_and_fast() -> None:
    """Within .3 degrees was asked for; it is within .05, and the same at any speed."""
    cases = [{"roll": roll, "speed": speed} for roll in (1.0, 0.0, 0.5, -1.0) for speed in (0.5, 2.5)]
    for case, want in zip(cases, in_one_go(cases, ANGLES), strict=True):
        out, share = rebound(ways(ANGLES), UP, case["roll"])
        assert degrees_of(out) == pytest.approx(out_of(want), abs=0.05)
        assert share == pytest.approx(np.hypot(want[:, 0], want[:, 1]) / case["speed"], abs=0.002)


def test_with_side_too() -> None:
    angles = np.arange(-80.0, 81.0, 10.0)
    spins = ((1.0, 0.6), (0.3, -0.9), (0.0, 1.25), (0.0, -0.4))
    cases = [{"roll": roll, "side": side} for roll, side in spins]
    for case, want in zip(cases, in_one_go(cases, angles), strict=True):
        out, _ = rebound(ways(angles), UP, case["roll"], case["side"])
        assert degrees_of(out) == pytest.approx(out_of(want), abs=0.1)


def test_other_tables_too() -> None:
    here, _ = rebound(ways(ANGLES), UP)
    for rubber, want in zip(OTHERS, in_one_go([model_of(rubber) for rubber in OTHERS], ANGLES), strict=True):
        out, _ = rebound(ways(ANGLES), UP, rubber=rubber)
        assert degrees_of(out) == pytest.approx(out_of(want), abs=0.15)
        assert np.abs(degrees_of(out) - degrees_of(here)).max() > 0.25


def test_finer_steps_and_the_ways_between_those_looked_up_change_hardly_anything() -> None:
    """What is looked up against the integration itself, between its places too, in 16 times finer steps."""
    half = (np.linspace(-1, 1, 8 * WAYS)[1:-1]).clip(-0.98, 0.98)
    along = 2 * half / (1 + half * half)
    for roll in (1.0, 0.0):
        found = impact(along, roll, steps=1024)
        out, _ = rebound(np.stack([-along, -np.sqrt(1 - along * along)], axis=-1), UP, roll)
        want = np.degrees(np.arctan2(-found.along, found.away))
        assert degrees_of(out) == pytest.approx(want, abs=0.05)


def test_without_friction_and_loss_it_is_a_mirror() -> None:
    smooth = Rubber(restitution=1.0, friction=0.0, cloth=0.0)
    angles = np.array([-60.0, -20.0, 0.0, 45.0])
    out, speed = rebound(ways(angles), UP, rubber=smooth)
    assert degrees_of(out) == pytest.approx(angles, abs=0.02)
    assert speed == pytest.approx(1.0, abs=2e-4)


def test_it_is_the_same_at_every_cushion_and_mirrored_on_the_other_side() -> None:
    turns = {"right": 0.0, "top": np.pi / 2, "left": np.pi, "baulk": -np.pi / 2}
    for cushion, turn in turns.items():
        normal = NORMALS[CUSHIONS.index(cushion)]
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        assert rotation @ UP == pytest.approx(normal, abs=1e-12)
        way = unit(np.array([0.5, -1.0]))
        out, _ = rebound(way, UP, 1.0, 0.3)
        assert rebound(rotation @ way, normal, 1.0, 0.3)[0] == pytest.approx(rotation @ out, abs=1e-12)
        mirrored, _ = rebound(way * [-1, 1], UP, 1.0, -0.3)
        assert mirrored == pytest.approx(out * [-1, 1], abs=1e-12)


def test_it_is_the_published_table_and_not_the_height_that_rules_of_pool_give() -> None:
    assert Rubber(restitution=0.98, friction=0.14, cloth=0.212, nose=0.7) == PUBLISHED
    assert PUBLISHED.nose > RULES_NOSE
    along = np.sin(np.radians([0.0, 30.0]))
    assert impact(along).away[0] > 0.85  # it comes back
    # Along the nose nothing pushes: the last ways of the table are those.
    out, share = rebound(np.array([[1.0, 0.0], [-1.0, 0.0]]), UP)
    assert out == pytest.approx(np.array([[1.0, 0.0], [-1.0, 0.0]]), abs=1e-12)
    assert share == pytest.approx(1.0, abs=1e-12)
