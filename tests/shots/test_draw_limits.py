"""Limits that leave nothing: one clear line that names the limit in the way, and is right about it."""

import dataclasses
import math

import numpy as np
import pytest

from trainer.geometry.tables import TABLES
from trainer.shots import draw as module
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, NoSuchShot

SMALL, SNOOKER = TABLES["small-ball"], TABLES["snooker"]


@pytest.fixture
def _soon_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """What stands in the way is found out afterwards, however many rounds were drawn in vain."""
    monkeypatch.setattr(module, "ROUNDS", 40)


def refused(limits: Limits, n: int = 3) -> str:
    with pytest.raises(NoSuchShot) as caught:
        draw(np.random.default_rng(0), n, limits)
    message = str(caught.value)
    assert "\n" not in message
    return message


@pytest.mark.usefixtures("_soon_given_up")
@pytest.mark.parametrize(
    ("changed", "named", "shown"),
    [
        ({"cue_distance": (10.0, 50.0)}, "cue_distance", "10 to 50 mm"),
        ({"cue_distance": (4000.0, 5000.0)}, "cue_distance", "4000 to 5000 mm"),
        ({"pocket_distance": (5000.0, 6000.0)}, "pocket_distance", "5000 to 6000 mm"),
        ({"pocket_distance": (3905.0, 3925.0)}, "pocket_distance", "3905 to 3925 mm"),
        (
            {"pockets": ("middle-right",), "pocket_distance": (1.0, 5.0)},
            "pocket_distance",
            "1 to 5 mm",
        ),
        (
            {"pockets": ("middle-left",), "pocket_distance": (3000.0, 4000.0)},
            "pocket_distance",
            "3000 to 4000 mm",
        ),
    ],
)
def test_the_limit_is_named(changed: dict[str, object], named: str, shown: str) -> None:
    message = refused(dataclasses.replace(Limits(), **changed))  # type: ignore[arg-type]
    assert named in message
    assert shown in message


@pytest.mark.usefixtures("_soon_given_up")
@pytest.mark.parametrize("cue_distance", [(10.0, 40.0), (2100.0, 2500.0)])
@pytest.mark.parametrize("pocket_distance", [(150.0, 300.0), (300.0, 600.0), (880.0, 900.0)])
def test_a_limit_that_can_be_met_is_not_blamed(
    cue_distance: tuple[float, float], pocket_distance: tuple[float, float]
) -> None:
    """On its own the pocket distance is fine, so it's the cue distance that stands in the way."""
    fine = Limits(SMALL, cue_distance=(200.0, 900.0), pocket_distance=pocket_distance)
    assert len(draw(np.random.default_rng(0), 50, fine)) == 50
    message = refused(dataclasses.replace(fine, cue_distance=cue_distance), n=50)
    assert "cue_distance" in message


def test_an_offset_that_misses_is_named_with_its_size() -> None:
    for offset in (1.0, -1.2, 5.0):
        with pytest.raises(NoSuchShot, match=f"{abs(offset):g} ball widths"):
            draw(np.random.default_rng(0), 3, Limits(), offset)
    # 1.0 is a hit on no table, 0.98 is one where the balls are equal only
    draw(np.random.default_rng(0), 3, Limits(cuts=(0.0, 80.0)), 0.98)
    with pytest.raises(NoSuchShot, match=r"0\.98 ball widths"):
        draw(np.random.default_rng(0), 3, Limits(SMALL, pocket_distance=(150.0, 800.0)), 0.98)
    with pytest.raises(NoSuchShot):
        draw(np.random.default_rng(0), 3, Limits(), np.array([0.1, np.nan, 0.2]))


@pytest.mark.parametrize("n", [0, 1])
def test_none_and_one(n: int) -> None:
    shots = draw(np.random.default_rng(0), n, Limits())
    assert len(shots) == n
    assert shots.cue_ball.shape == shots.object_ball.shape == (n, 2)


@pytest.mark.parametrize("pocket_distance", [(500.0, 505.0), (1000.0, 1005.0), (400.0, 400.5)], ids=str)
def test_one_shot_within_narrow_limits_is_found_for_every_seed(
    pocket_distance: tuple[float, float],
) -> None:
    """Limits that hold a shot give one, however few tries a small batch makes a round."""
    limits = Limits(pocket_distance=pocket_distance)
    for seed in range(60):
        assert len(draw(np.random.default_rng(seed), 1, limits)) == 1, seed


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("sides", ()),
        ("sides", ("up",)),
        ("pockets", ()),
        ("pockets", ("middle",)),
        ("cuts", (60.0, 30.0)),
        ("cuts", (0.0, 90.0)),
        ("cuts", (0.0, math.nan)),
        ("cue_distance", (1500.0, 300.0)),
        ("pocket_distance", (-1.0, 300.0)),
        ("pocket_distance", (math.nan, 300.0)),
    ],
)
def test_limits_that_mean_nothing_are_one_clear_error(field: str, value: object) -> None:
    with pytest.raises(ValueError, match=f"{field} .*allowed"):
        dataclasses.replace(Limits(), **{field: value})  # type: ignore[arg-type]
