"""How hard shots and levels are, and drawing by how much a shot forgives."""

import dataclasses

import numpy as np
import pytest
from scipy import stats

from trainer.geometry.tables import TABLES
from trainer.levels.level import level_chance
from trainer.levels.reading import read_level
from trainer.levels.toml_reader import FileError
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import Limits, NoSuchShot
from trainer.shots.tolerance import chance, chances
from trainer.shots.truth import Truths, work_out

LEVEL = """
title = "Fine ones"
teaches = "Something."
drill = "aim"
[shots]
cuts = [5, 50]
cue_distance = [250, 1200]
pocket_distance = [150, 1200]
forgives = {}
"""


def half_of(truths: Truths) -> np.ndarray:
    return (truths.margin[:, 1] - truths.margin[:, 0]) / 2


def test_chance_against_the_normal_distribution() -> None:
    rng = np.random.default_rng(0)
    fullness = rng.random(5000)
    margin = np.stack([fullness - 0.2 * rng.random(5000), fullness + 0.2 * rng.random(5000)], axis=-1)
    noise = 10 ** rng.uniform(-3, 0.3, 5000)
    want = stats.norm.cdf(margin[:, 1], fullness, noise) - stats.norm.cdf(margin[:, 0], fullness, noise)
    found = chance(margin, fullness, noise)
    np.testing.assert_allclose(found, want, rtol=0, atol=1e-12)
    assert (found >= 0).all()
    assert (found <= 1).all()


def test_chance_against_calls_thrown_at_random() -> None:
    margin, fullness, noise = np.array([0.42, 0.55]), 0.5, 0.05
    calls = np.random.default_rng(1).normal(fullness, noise, 400_000)
    potted = ((calls >= margin[0]) & (calls <= margin[1])).mean()
    assert float(chance(margin, fullness, noise)) == pytest.approx(potted, abs=0.003)


def test_chance_shapes_and_noise() -> None:
    margin = np.tile([0.4, 0.6], (4, 1))
    assert chance(margin, np.full(4, 0.5)).shape == (4,)
    assert chance(margin[:, None], np.full((4, 1), 0.5), np.array([0.01, 0.1, 1.0])).shape == (4, 3)
    for noise in (0.0, -1.0, np.nan):
        with pytest.raises(ValueError, match="above 0"):
            chance(margin, np.full(4, 0.5), noise)


def test_a_shot_that_cant_be_potted_has_no_chance() -> None:
    truths = work_out(draw(np.random.default_rng(2), 50, Limits()))
    assert (chances(truths) > 0).all()
    assert (chances(dataclasses.replace(truths, can_pot=np.zeros(50, bool))) == 0).all()


# --- Drawing by how much a shot forgives ------------------------------------------------------------

EACH_TABLE = pytest.mark.parametrize("name", ["snooker", "pool-9", "small-ball"])


@EACH_TABLE
@pytest.mark.parametrize("forgives", [(1 / 64, 1 / 32), (1 / 32, 1 / 16), (1 / 20, 1 / 8)])
def test_every_shot_forgives_what_was_asked_and_has_its_offset(
    name: str, forgives: tuple[float, float]
) -> None:
    limits = Limits(
        TABLES[name],
        (0.0, 45.0),
        cue_distance=(200.0, 1400.0),
        pocket_distance=(150.0, 1300.0),
        forgives=forgives,
    )
    offsets = even_offsets(np.random.default_rng(3), 300, limits)
    shots = draw(np.random.default_rng(4), 300, limits, offsets)
    truths = work_out(shots)
    half = half_of(truths)
    assert half.min() >= forgives[0]
    assert half.max() <= forgives[1]
    # The cuts stay as even as they were asked for: nothing is traded for the limit.
    np.testing.assert_allclose(truths.offset, offsets, atol=1e-9)
    apart = np.hypot(*(shots.cue_ball - shots.object_ball).T)
    assert apart.min() >= 200
    assert apart.max() <= 1400


def test_the_places_keep_their_odds_among_those_left() -> None:
    """Against the plain way: draw shots of one cut without the limit, and throw away the others."""
    limits = Limits(cuts=(0.0, 75.0), pocket_distance=(200.0, 1000.0))
    kept = dataclasses.replace(limits, forgives=(1 / 40, 1 / 16))
    offset = np.full(12_000, 0.5)
    every = draw(np.random.default_rng(5), 12_000, limits, offset)
    half = half_of(work_out(every))
    fits = (half >= 1 / 40) & (half <= 1 / 16)
    some = draw(np.random.default_rng(6), 3000, kept, offset[:3000])
    for of in (
        lambda shots: shots.object_ball[:, 0],
        lambda shots: shots.object_ball[:, 1],
        lambda shots: np.hypot(*(shots.cue_ball - shots.object_ball).T),
    ):
        assert stats.ks_2samp(of(every)[fits], of(some)).pvalue > 1e-3


def test_a_limit_on_what_shots_forgive_leaves_the_other_seeds_alone() -> None:
    """A limit that every shot meets gives the very same shots as none."""
    for seed in range(5):
        free = draw(np.random.default_rng(seed), 20, Limits())
        met = draw(np.random.default_rng(seed), 20, dataclasses.replace(Limits(), forgives=(0.0, 10.0)))
        np.testing.assert_array_equal(free.cue_ball, met.cue_ball)
        np.testing.assert_array_equal(free.object_ball, met.object_ball)


@pytest.mark.parametrize("forgives", [(0.5, 1.0), (0.0, 1e-5)])
def test_limits_without_such_a_shot_say_so_and_what_there_is(
    forgives: tuple[float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)  # why there is none is found out afterwards
    limits = Limits(cuts=(10.0, 20.0), forgives=forgives)
    with pytest.raises(NoSuchShot) as caught:
        draw(np.random.default_rng(0), 4, limits)
    said = str(caught.value)
    assert f"forgives of {forgives[0]:g} to {forgives[1]:g} balls" in said
    low, high = (float(part) for part in said.rpartition("forgive ")[2].split(" to "))
    half = half_of(work_out(draw(np.random.default_rng(1), 2000, Limits(cuts=(10.0, 20.0)))))
    assert low == pytest.approx(half.min(), rel=0.5)
    assert high == pytest.approx(half.max(), rel=0.3)


def test_another_limit_in_the_way_is_still_the_one_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)  # why there is none is found out afterwards
    limits = Limits(cue_distance=(4000.0, 5000.0), forgives=(0.01, 0.1))
    with pytest.raises(NoSuchShot, match="cue_distance of 4000"):
        draw(np.random.default_rng(0), 4, limits)


@pytest.mark.parametrize("forgives", [(0.1, 0.01), (-0.1, 0.1), (float("nan"), 1.0)])
def test_a_range_that_means_nothing_is_refused(forgives: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match=r"forgives .*allowed"):
        Limits(forgives=forgives)


def test_a_level_may_ask_for_it() -> None:
    level = read_level(LEVEL.format('["1/64", "1/16"]'), "mine", "mine.toml")
    assert level.limits.forgives == (1 / 64, 1 / 16)
    easier = read_level(LEVEL.format('["1/24", "1/8"]'), "mine", "mine.toml")
    assert level_chance(easier) > level_chance(level)
    assert read_level(LEVEL.replace("forgives = {}", ""), "mine", "m").limits.forgives is None


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ('["1/8", "1/64"]', "the first smaller"),
        ('["1/8", "1/8"]', "the first smaller"),
        ('["1/64"]', '["low", "high"] in balls'),
        ('["0/1", "1/8"]', "from 1/1024 to 1"),
        ('["1/64", "3/2"]', "from 1/1024 to 1"),
        ('["1/0", "1/8"]', "in balls"),
        ("[0.01, 0.1]", "in balls"),
        ('["1/99999999", "1/8"]', "in balls"),
        ('["-1/8", "1/4"]', "in balls"),
        ('["\u0661/8", "1/4"]', "in balls"),
        ('"1/8"', "in balls"),
    ],
)
def test_what_it_may_be_is_said(value: str, said: str) -> None:
    with pytest.raises(FileError) as caught:
        read_level(LEVEL.format(value), "mine", "mine.toml")
    (problem,) = caught.value.problems
    assert problem.startswith("mine.toml: shots.forgives: ")
    assert said in problem


def test_a_level_whose_thinnest_cuts_cant_forgive_so_much_is_refused_when_it_is_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Every cut of a level may come up, so each must have its shot; some having it isn't enough."""
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)  # why there is none is found out afterwards
    text = LEVEL.replace("cuts = [5, 50]", "cuts = [5, 78]").format('["1/10", "1/4"]')
    with pytest.raises(FileError, match=r"forgives of 0\.1 to 0\.25 balls is not to be had at cuts of"):
        read_level(text, "mine", "mine.toml")
