"""The first look at a player's eye: what is said after ten calls is so, or nothing is said."""

from pathlib import Path

import numpy as np
import pytest
from misjudging import Misjudging, Seeing

from trainer.geometry.fullness import bands
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.diagnosis import Looks
from trainer.levels.shelf import open_shelf
from trainer.play.first_look import LEVEL, NAME, SHOTS, finding, stage_after
from trainer.play.game import Game
from trainer.play.today import plan
from trainer.simulate.simulation import answer

NAMES = np.array([band.value for band in bands()])


def told(bias: float, width: float, noise: float, seed: int) -> set[str]:
    """What is told after ten calls by eighths of one who sees hits too full, the thinner the more."""
    rng, belief, looks = np.random.default_rng(seed), Belief(), Looks()
    for number in range(1, SHOTS + 1):
        sine = float(np.sin(np.radians(rng.uniform(0.0, 60.0)))) * float(rng.choice((-1.0, 1.0)))
        fullness = 1.0 - abs(sine)
        seen = fullness + bias + width * abs(sine) + rng.normal(0.0, noise)
        said = int(np.abs(NAMES - seen).argmin())
        error = float(NAMES[said] - fullness)
        high = np.inf if said == 0 else error + 1 / 16
        low = -np.inf if said == len(NAMES) - 1 else error - 1 / 16
        belief.update(Call(sine, low, high, error, False, "band down", NAME))
        looks.look(belief, number)
    return set(looks.since)


@pytest.mark.parametrize("noise", [0.04, 0.08, pytest.param(0.15, marks=pytest.mark.slow)])
def test_an_eye_without_a_fault_is_hardly_ever_told_of_one(noise: float) -> None:
    assert sum(bool(told(0.0, 0.0, noise, seed)) for seed in range(60)) <= 2


def test_whoever_aims_at_the_contact_point_is_told_so() -> None:
    found = [told(0.0, 0.5, 0.05, seed) for seed in range(30)]
    assert sum("ball-width" in each for each in found) >= 27


def play_first(game: Game, how: str) -> tuple[str, ...]:
    played = game.begin(LEVEL, seed=3)
    while not played.done:
        question = played.question()
        best = question.best
        played.call(question.choices[{"right": best, "thick": max(best - 2, 0)}[how]])
    return finding(played.attempts, game.diagnosis)


def test_what_is_said(game: Game) -> None:
    assert plan(game).parts[0].level is LEVEL
    thick = play_first(game, "thick")
    assert "too thick" in thick[0]
    assert thick[1].startswith("One thing shows already. Your cuts go too thick, the thinner the more: ")
    assert thick[2] == "See where the middle of the cue ball must be: Slide the line."
    # That comes next: first why it is so, on a page, then the cure.
    assert [part.level.name for part in plan(game, 30).parts[:2]] == ["space", "slide-the-line"]
    right = play_first(game, "right")
    assert right[0] == "10 right, 0 too thick, 0 too thin."


def test_nothing_more_is_said_after_ten_right_ones(game: Game) -> None:
    assert play_first(game, "right")[1].startswith("Too few calls to say more.")


def test_it_begins_with_three_answers_and_gets_finer_only_as_the_calls_show_that_it_may(game: Game) -> None:
    played, answers = game.begin(LEVEL, seed=3), []
    while not played.done:
        question = played.question()
        answers.append(len(question.choices))
        played.call(question.choices[question.best])
    assert answers[:2] == [3, 3]
    assert 4 <= answers[2] == answers[3] <= 5
    assert set(answers[4:]) == {len(played.level.bands())}  # all eighths, half of the shots still to come


@pytest.mark.parametrize(
    ("rights", "stage"),
    [
        ("", 0),
        ("+", 0),
        ("++", 1),
        ("++++", 2),
        ("++++++", 2),
        ("++-+", 1),
        ("++--", 0),
        ("--++", 1),
        ("++++--", 1),
        ("+-+-+-", 0),
    ],
)
def test_two_right_ones_make_it_finer_and_two_wrong_ones_coarser(rights: str, stage: int) -> None:
    assert stage_after([sign == "+" for sign in rights]) == stage


@pytest.mark.parametrize(("contact", "noise"), [(0.0, 0.1), (0.5, 0.08)])
def test_whoever_is_new_ends_with_more_right_than_wrong(tmp_path: Path, contact: float, noise: float) -> None:
    rights = []
    for seed in range(12):
        player = Seeing(Misjudging(contact=contact, noise=noise), np.random.default_rng(seed))
        with History.open(tmp_path / str(seed), FixedClock("2026-03-01T12:00:00+00:00")) as history:
            played = Game(history, open_shelf()).begin(LEVEL, seed=seed)
            while not played.done:
                question = played.question()
                played.call(answer(question, player))  # type: ignore[arg-type]
            rights.append(sum(played.rights))
    assert np.mean(rights) > SHOTS / 2
    assert sum(right > SHOTS / 2 for right in rights) >= 6


def test_a_set_that_was_left_goes_on_as_fine_as_it_was(game: Game) -> None:
    played = game.begin(LEVEL, seed=3)
    for _ in range(5):
        question = played.question()
        played.call(question.choices[question.best])
    asked = played.question()
    again = game.begin(LEVEL)
    assert again.number == 6
    assert again.question() == asked
