"""The first look at a player's eye: what is said after ten calls is so, or nothing is said."""

import numpy as np
import pytest
from scipy import stats

from trainer.geometry.fullness import band_of
from trainer.play.first_look import LEVEL, NAME, ONCE_IN_100, SHOTS, bias_of, finding
from trainer.play.game import Game
from trainer.play.today import plan
from trainer.shots.style import USUAL

PLAYERS = 2000


def errors_of(rng: np.random.Generator, bias: float, noise: float) -> list[float]:
    """Ten calls by eighths of one who sees hits so much too full."""
    cuts = np.radians(rng.uniform(0.0, 60.0, SHOTS))
    fullness = 1.0 - np.sin(cuts)
    seen = np.clip(fullness + bias + rng.normal(0.0, noise, SHOTS), 0.0, 1.0)
    named = np.array([band_of(float(one)).value for one in seen])
    return [float(error) for error in named - fullness]


def told(bias: float, noise: float, seed: int) -> list[float]:
    rng = np.random.default_rng(seed)
    found = (bias_of(errors_of(rng, bias, noise)) for _ in range(PLAYERS))
    return [one for one in found if one is not None]


def test_the_table_is_student_s() -> None:
    for freedom, value in ONCE_IN_100.items():
        assert stats.t.ppf(0.995, freedom) == pytest.approx(value, abs=5e-4)


def test_it_is_the_t_test_of_a_mean() -> None:
    rng = np.random.default_rng(4)
    for _ in range(300):
        errors = rng.normal(0.08, 0.1, SHOTS).tolist()
        sure = stats.ttest_1samp(errors, 0.0).pvalue < 0.01 and abs(np.mean(errors)) >= 1 / 32
        assert (bias_of(errors) is not None) == sure


@pytest.mark.parametrize("noise", [0.04, 0.08, 0.15])
def test_an_eye_without_a_fault_is_hardly_ever_told_of_one(noise: float) -> None:
    assert len(told(0.0, noise, 1)) <= 0.02 * PLAYERS


def test_a_fault_of_an_eighth_is_mostly_told_and_the_right_way() -> None:
    found = told(0.125, 0.07, 2)
    assert len(found) > 0.6 * PLAYERS
    assert min(found) > 0
    assert np.mean(found) == pytest.approx(0.125, abs=0.03)
    assert max(told(-0.125, 0.07, 3)) < 0


@pytest.mark.parametrize("errors", [[], [0.2] * 4, [0.0] * 10, [1 / 64] * 10])
def test_next_to_nothing_tells_nothing(errors: list[float]) -> None:
    assert bias_of(errors) is None


def play_first(game: Game, how: str) -> tuple[str, ...]:
    played = game.begin(LEVEL, seed=3)
    while not played.done:
        question = played.question()
        best = question.best
        played.call(question.choices[{"right": best, "thick": max(best - 2, 0)}[how]])
    return finding(played.attempts, USUAL)


def test_what_is_said(game: Game) -> None:
    assert plan(game).parts[0].level is LEVEL
    thick = play_first(game, "thick")
    assert "too thick" in thick[0]
    assert thick[1].startswith("One thing shows already: you see hits ")
    assert thick[1].endswith("ball thicker than they are.")
    assert plan(game).parts[0].level == game.shelf.levels[0]
    right = play_first(game, "right")
    assert right[0] == "10 right, 0 too thick, 0 too thin."
    assert right[1].startswith("Too few calls to say more.")
    assert game.level(NAME) is LEVEL
