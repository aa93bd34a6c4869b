"""Simulated players are what they say they are, by the moments of many answers; and nobody's relatives."""

import ast
import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

import trainer
from trainer.simulate.players import Bump, Nature, Player

MANY = 20_000


def answers(nature: Nature, cut: float = 35.0, count: int = MANY, seed: int = 1) -> np.ndarray:
    """Errors of answers to one shot, each by a player with nothing on his mind."""
    player, fullness = Player(nature, np.random.default_rng(seed)), 1 - math.sin(math.radians(abs(cut)))
    found = []
    for _ in range(count):
        player.begin_set()
        found.append(player.sees(cut, fullness) - fullness)
    return np.array(found)


def within(values: np.ndarray, wanted: float) -> None:
    """The mean is the wanted one, within four standard errors."""
    assert values.mean() == pytest.approx(wanted, abs=4 * values.std() / math.sqrt(len(values)))


# Noise


def test_noise_is_normal_of_its_size() -> None:
    errors = answers(Nature(noise=0.05))
    within(errors, 0.0)
    assert errors.std() == pytest.approx(0.05, rel=0.02)
    assert stats.kstest(errors / 0.05, "norm").pvalue > 0.001


@pytest.mark.parametrize(
    ("cut", "times"), [(35.0, 1.0), (70.0, 1.5), (-70.0, 1.5), (0.0, 0.5), (-17.5, 0.75)]
)
def test_noise_grows_in_a_straight_line_with_the_cut(cut: float, times: float) -> None:
    assert answers(Nature(noise=0.04, growth=0.5), cut).std() == pytest.approx(0.04 * times, rel=0.025)


def test_noise_is_never_none() -> None:
    assert answers(Nature(noise=0.04, growth=2.0), 0.0).std() == pytest.approx(0.004, rel=0.03)


@pytest.mark.parametrize("skew", [0.5, 1.0, 2.0])
def test_skewed_noise_has_its_mean_spread_and_skewness(skew: float) -> None:
    errors = answers(Nature(noise=0.05, skew=skew), count=60_000)
    within(errors, 0.0)
    assert errors.std() == pytest.approx(0.05, rel=0.03)
    assert stats.skew(errors) == pytest.approx(skew, rel=0.1)


# Bias


@pytest.mark.parametrize(
    ("cut", "bias"),  # .01 everywhere, -.02 more beyond half ball; 8 degrees off a bump a quarter of it
    [(-70.0, -0.01), (-38.0, 0.05), (-26.0, 0.01), (-30.0, 0.025), (0.0, 0.01), (38.0, -0.01), (60.0, -0.06)],
)
def test_bias_is_what_the_answers_show(cut: float, bias: float) -> None:
    nature = Nature(noise=0.03, bumps=(Bump(-38.0, 0.06), Bump(60.0, -0.05)), everywhere=0.01, step=-0.02)
    within(answers(nature, cut), bias)


def test_a_bump_has_its_height_width_and_nothing_beyond() -> None:
    bump = Bump(20.0, -0.08, 12.0)
    assert bump.at(20.0) == -0.08
    assert bump.at(26.0) == pytest.approx(-0.04)
    assert bump.at(14.0) == pytest.approx(-0.04)
    assert [bump.at(cut) for cut in (8.0, 32.0, -20.0)] == [0.0, 0.0, 0.0]
    assert np.mean([bump.at(c) for c in np.linspace(8, 32, 4801)]) == pytest.approx(-0.04, rel=1e-3)


def test_a_step_is_of_cuts_thinner_than_half_ball() -> None:
    nature = Nature(step=0.05)
    assert [nature.bias(cut) for cut in (29.9, -29.9, 30.1, -30.1)] == [0.0, 0.0, 0.05, 0.05]


# Lapses


def test_lapses_are_as_many_as_it_says_and_have_nothing_to_do_with_the_shot() -> None:
    errors = answers(Nature(noise=0.01, lapse=0.1), cut=35.0)
    far = np.abs(errors) > 0.08
    fullness = 1 - math.sin(math.radians(35))
    # Of a lapse's answers (-.05 to 1.05) a part .16 / 1.1 lies near the shot by chance.
    assert far.mean() == pytest.approx(0.1 * (1 - 0.16 / 1.1), abs=4 * math.sqrt(0.09 / MANY))
    lapsed = errors[far] + fullness
    assert lapsed.min() == pytest.approx(-0.05, abs=0.01)
    assert lapsed.max() == pytest.approx(1.05, abs=0.01)
    assert (answers(Nature(noise=0.01), count=5000) > 0.08).sum() == 0


# Pulls


def pulled(nature: Nature, seed: int = 2) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Errors, the last answer less the shot, the leaky mean less the shot, over a long set."""
    rng, player = np.random.default_rng(seed), Player(nature, np.random.default_rng(seed + 1))
    errors, to_last, to_mean, mean, last = [], [], [], None, None
    for fullness in rng.uniform(0.1, 0.9, MANY):
        seen = player.sees(math.degrees(math.asin(1 - fullness)), fullness)
        if mean is not None and last is not None:
            errors.append(seen - fullness)
            to_last.append(last - fullness)
            to_mean.append(mean - fullness)
        mean = fullness if mean is None else 0.85 * mean + 0.15 * fullness
        last = round(8 * seen) / 8
        player.answered(last)
    return np.array(errors), np.array(to_last), np.array(to_mean)


@pytest.mark.parametrize(("serial", "central"), [(0.1, 0.0), (0.0, 0.1), (0.1, 0.2), (-0.1, 0.1)])
def test_pulls_are_what_a_regression_finds(serial: float, central: float) -> None:
    errors, *columns = pulled(Nature(noise=0.05, serial=serial, central=central))
    found, *_ = np.linalg.lstsq(np.column_stack(columns), errors, rcond=None)
    assert found == pytest.approx([serial, central], abs=0.008)


def test_a_new_set_begins_with_nothing_on_the_mind() -> None:
    player = Player(Nature(noise=1e-9, central=0.5, serial=0.5), np.random.default_rng(1))
    player.sees(0.0, 1.0)
    player.answered(1.0)
    assert player.sees(60.0, 0.134) > 0.5
    player.begin_set()
    assert player.sees(60.0, 0.134) == pytest.approx(0.134, abs=1e-6)


# Days


def test_drift_wanders_by_what_it_says() -> None:
    steps, over_ten = [], []
    for seed in range(600):
        player = Player(Nature(bumps=(Bump(20, 0.05),), drift=0.01), np.random.default_rng(seed))
        values = [player.nature.everywhere]
        for _ in range(10):
            player.sleep()
            values.append(player.nature.everywhere)
        steps += np.diff(values).tolist()
        over_ten.append(values[-1])
        assert player.nature.bumps[0].size != 0.05
    within(np.array(steps), 0.0)
    assert np.std(steps) == pytest.approx(0.01, rel=0.05)
    assert np.std(over_ten) == pytest.approx(0.01 * math.sqrt(10), rel=0.12)


def test_a_practised_day_takes_a_part_of_every_bias_away() -> None:
    player = Player(
        Nature(bumps=(Bump(20, 0.08),), everywhere=0.02, step=0.04, learns=0.1), np.random.default_rng(1)
    )
    for _ in range(5):
        player.sleep()
    kept = 0.9**5
    assert player.nature.bias(20.0) == pytest.approx(kept * 0.1)
    assert player.nature.bias(60.0) == pytest.approx(kept * 0.06)


# Answers


def test_the_nearest_answer_is_given() -> None:
    player, rng = Player(Nature(), np.random.default_rng(1)), np.random.default_rng(2)
    for seen in rng.uniform(-0.2, 1.2, 500):
        names: Sequence[float] = [k / 8 for k in range(1, 9)]
        nearest = min(range(8), key=lambda k: abs(names[k] - seen))
        assert player.answers(float(seen), np.array(names)) == nearest


def test_a_seed_makes_the_same_player() -> None:
    nature = Nature(lapse=0.1, skew=1.0, growth=0.3)
    assert answers(nature, count=50).tolist() == answers(nature, count=50).tolist()
    assert answers(nature, count=50).tolist() != answers(nature, count=50, seed=2).tolist()


# Nobody's relatives


def imported(file: Path) -> set[str]:
    """What a module imports of the program."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return {name for name in found if name.startswith("trainer")}


def test_players_and_learner_share_nothing() -> None:
    # Names of types are no formulas; anything else would let one prove the other right.
    package = Path(trainer.__path__[0])
    assert imported(package / "simulate" / "players.py") <= {"trainer.geometry.vectors.Floats"}
    modules = {file.stem: file for file in (package / "learner").glob("*.py")}
    assert {"belief", "priors", "censored", "choice", "verdicts", "call"} <= set(modules)
    for file in modules.values():
        assert not any("simulate" in name for name in imported(file)), file
