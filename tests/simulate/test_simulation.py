"""Simulated players: they play what the game plays, and what is said of them is true of them."""

import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from failing import dies, raises
from scipy.stats import binomtest

from trainer.drills.question import Answers
from trainer.learner import verdicts
from trainer.learner.call import Call
from trainer.levels.level import free_practice, narrowed
from trainer.levels.shelf import open_shelf
from trainer.play.calls import call_of
from trainer.play.game import Game
from trainer.shots.shot import Limits
from trainer.simulate import cores
from trainer.simulate.crowd import Crowd, likely_share, outcomes, summary
from trainer.simulate.players import Bump, Nature, Player
from trainer.simulate.simulation import Outcome, answer, call_made, outcome, places_of, practise, with_bump

AIM, BAND = free_practice("aim"), free_practice("band")
LEVELS = [*open_shelf().levels, AIM, BAND]
SOME_LEVELS = [pytest.param(v, marks=[pytest.mark.slow] * (k % 3 > 0)) for k, v in enumerate(LEVELS)]
NUMBERS = dict.fromkeys(("low", "high", "error", "sine", "thrown"), 0.0)
FINE = replace(AIM, answers=Answers(step=Fraction(1, 16), choices=9))
LEFT = replace(AIM, limits=Limits(cuts=(20.0, 60.0), sides=("left",)))


def calls(nature: Nature, *, days: int = 1, shots: int = 300, free: bool = True) -> list[Call]:
    level = replace(AIM, adaptive=False)
    return [m.call for m in practise(level, nature, days=days, shots=shots, seed=5, free=free)]


@pytest.mark.parametrize("level", SOME_LEVELS, ids=lambda level: f"{level.name} {level.drill}")
def test_a_simulated_call_is_what_the_game_makes_of_the_same_choice(game: Game, level: object) -> None:
    player = Player(Nature(noise=0.15, lapse=0.1), np.random.default_rng(4))
    played = game.begin(level, shots=4, seed=11)
    while not played.done:
        question = played.question()
        chosen = answer(question, player)
        played.call(chosen, 1.0)
        kept = call_of(game.attempts[-1])
        made = call_made(question, chosen, kept.condition, kept.set_id, kept.day)
        assert replace(made, **NUMBERS) == replace(kept, **NUMBERS)
        numbers = [(c.low, c.high, c.error, c.sine, c.thrown) for c in (made, kept)]
        assert numbers[0] == pytest.approx(numbers[1], abs=1e-12)


def test_thinner_is_said_of_what_is_nearer_to_none_than_to_an_eighth(game: Game) -> None:
    played = game.begin(BAND, shots=60, seed=2)
    sharp = Player(Nature(noise=1e-6), np.random.default_rng(1))
    for _ in range(60):
        question = played.question()
        chosen = answer(question, sharp)
        assert chosen == question.choices[question.best], question.truth.fullness
        played.call(chosen)


def test_without_adapting_every_fullness_comes_as_often_on_either_side() -> None:
    fullness = np.array([call.fullness * math.copysign(1, call.sine) for call in calls(Nature(), shots=400)])
    counts, _ = np.histogram(fullness, [-1, -0.75, -0.5, -0.25, 0, 0.25, 0.5, 0.75, 1])
    share = np.array([0.25, 0.25, 0.25, 0.216, 0.216, 0.25, 0.25, 0.25]) / 1.932
    off = (counts - 400 * share) / np.sqrt(400 * share)
    assert (off**2).sum() < 26  # chi squared with 7 degrees of freedom: 1 in 2000


@pytest.mark.parametrize("lapse", [0.0, 0.2])
def test_so_many_calls_are_lapses(lapse: float) -> None:
    wild = sum(abs(call.error) > 0.02 for call in calls(Nature(noise=0.002, lapse=lapse)))
    # A lapse lands within .02 of the truth now and then: of answers over 1.1 balls, 4 in 110.
    assert wild == pytest.approx(300 * lapse * 0.96, abs=3.5 * math.sqrt(300 * lapse) + 1e-9)


def test_calls_scatter_by_the_noise_and_by_more_where_it_grows() -> None:
    made = calls(Nature(noise=0.05, growth=0.6), shots=500)
    cuts = np.degrees(np.arcsin(np.abs([call.sine for call in made])))
    sizes = np.array([call.error for call in made]) / (0.05 * (1 + 0.6 * (cuts - 35) / 35))
    for part in (cuts < 25, (cuts >= 25) & (cuts < 45), cuts >= 45):
        assert sizes[part].std() == pytest.approx(1.0, abs=3.5 / math.sqrt(2 * part.sum()))


def test_the_middle_and_the_last_call_draw() -> None:
    made = calls(Nature(noise=0.01, serial=0.2))
    last = np.array([one.fullness + one.error - two.fullness for one, two in pairwise(made)])
    assert np.polyfit(last, [call.error for call in made[1:]], 1)[0] == pytest.approx(0.2, abs=0.01)
    drawn = calls(Nature(noise=0.01, central=0.2))
    slope = np.polyfit([call.fullness for call in drawn], [call.error for call in drawn], 1)[0]
    assert slope == pytest.approx(-0.2, abs=0.03)


def test_what_is_learnt_goes_and_what_drifts_wanders() -> None:
    bump = (Bump(40.0, 0.1),)
    *_, last = practise(AIM, Nature(bumps=bump, learns=0.5), days=4, shots=1, seed=1)
    assert last.player.nature.bumps[0].size == pytest.approx(0.1 / 8)
    *_, last = practise(AIM, Nature(bumps=bump, drift=0.01), days=10, shots=1, seed=1)
    assert 0.002 < abs(last.player.nature.bumps[0].size - 0.1) < 0.12
    assert last.player.nature.everywhere != 0


@pytest.mark.slow
def test_a_large_bump_is_found_by_nearly_all() -> None:
    crowd = Crowd(AIM, Nature(noise=0.04, lapse=0.02), 0.1, 0.0, days=4, shots=40, seed=3)
    whole = summary(crowd, outcomes(crowd, 6, 1, print_nothing))
    assert whole.found is not None
    assert whole.found >= 5
    assert whole.median_calls is not None
    assert 5 <= whole.median_calls <= 120
    assert whole.accused <= 1


@pytest.mark.slow
def test_noise_is_recovered() -> None:
    # An eighth between answers says little of so small a noise.
    crowd = Crowd(FINE, Nature(noise=0.05, lapse=0.02), 0.0, 0.0, days=4, shots=50, seed=4)
    whole = summary(crowd, outcomes(crowd, 4, 1, print_nothing))
    assert whole.median_noise == pytest.approx(0.05, rel=0.15)
    assert whole.noise_near >= 3


@pytest.mark.slow
def test_players_without_a_fault_are_not_accused() -> None:
    crowd = Crowd(AIM, Nature(noise=0.05), 0.0, 0.0, days=4, shots=30, seed=4)
    whole = summary(crowd, outcomes(crowd, 8, 1, print_nothing))
    assert whole.found is None
    assert whole.accused <= 1


def test_a_bias_that_the_player_has_is_no_accusation_and_one_of_the_other_sign_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    thick = Nature(noise=0.03, everywhere=0.08)
    monkeypatch.setattr(verdicts, "SURE", 2.0)
    seen = outcome(AIM, thick, days=2, shots=30, seed=1)
    *_, last = practise(AIM, thick, days=2, shots=30, seed=1)
    mean, sd = last.belief.curve(places_of(AIM))
    assert (mean > 2 * sd).any()
    assert seen.accused is None
    monkeypatch.setattr(verdicts, "SURE", 1e-3)  # so that everything is told, and some of it is wrong
    monkeypatch.setattr(verdicts, "LEAST_BIAS", 0.0)
    assert outcome(AIM, replace(thick, everywhere=0.0), days=1, shots=3, seed=1).accused == 1


def test_what_a_player_has_learnt_to_see_may_be_told_a_little_longer() -> None:
    bumps = (Bump(40.0, 0.12),)
    faded = Nature(noise=0.03, bumps=bumps, learns=1.0)  # gone after a night
    level = replace(LEFT, adaptive=False)
    accused = outcome(level, faded, days=3, shots=40, seed=2)
    assert accused.found[0] is not None
    assert accused.accused is None


def test_the_same_seed_gives_the_same_and_another_one_another() -> None:
    one, two, three = (outcome(BAND, Nature(), days=2, shots=12, seed=seed) for seed in (7, 7, 8))
    assert one == two
    assert one != three


@pytest.mark.parametrize("level", [*LEVELS, LEFT], ids=lambda level: f"{level.name} {level.drill}")
def test_bumps_and_places_lie_where_a_level_asks(level: object) -> None:
    limits, rng = narrowed(level), np.random.default_rng(1)
    inside = [(math.degrees(math.asin(low)), math.degrees(math.asin(high))) for low, high in limits.sines]
    signs = [{"left": 1, "right": -1}[side] for side in limits.sides]
    bumps = [with_bump(Nature(), level, 0.1, rng).bumps[0] for _ in range(40)]
    places = np.degrees(np.arcsin(places_of(level)))
    assert len(places)
    for cut in [bump.cut for bump in bumps] + places.tolist():
        assert any(low - 1e-6 <= abs(cut) <= high + 1e-6 for low, high in inside)
        assert np.sign(cut) in signs
    assert {bump.size for bump in bumps} == {0.1, -0.1}
    assert {with_bump(Nature(), level, 0.1, rng, sign=-1.0).bumps[0].size for _ in range(9)} == {-0.1}


# Many players


def print_nothing(calls: int) -> None:
    pass


def test_results_do_not_depend_on_the_number_of_processes_nor_of_players() -> None:
    crowd = Crowd(BAND, Nature(lapse=0.1), 0.08, 0.0, days=2, shots=8, seed=9)
    told: list[int] = []
    alone = outcomes(crowd, 4, 1, print_nothing)
    spread = outcomes(crowd, 4, 3, told.append)
    assert alone == spread
    assert sum(told) == 4 * 16
    assert outcomes(crowd, 2, 1, print_nothing) == alone[:2]
    assert len({one.rmse for one in alone}) == 4


def test_what_goes_wrong_in_a_process_is_raised_here() -> None:
    with pytest.raises(LookupError, match="number 2 is not here"):
        cores.spread(raises, 4, 2, print_nothing)


def test_a_process_that_is_ended_from_outside_is_told_of() -> None:
    with pytest.raises(cores.ProcessEnded, match="ended from outside"):
        cores.spread(dies, 4, 2, print_nothing)
    assert cores.spread(dies, 2, 2, print_nothing) == [0, 1]


def test_the_summary_counts_those_who_are_never_found_too() -> None:
    crowd = Crowd(AIM, Nature(noise=0.05), 0.06, 0.0, days=1, shots=100, seed=1)
    found = [
        Outcome(100, (n if n <= 19 else None,), 7 if n == 3 else None, 0.05 + n / 1000, n / 1000)
        for n in range(1, 21)
    ]
    whole = summary(crowd, found)
    assert (whole.players, whole.found, whole.accused) == (20, 19, 1)
    assert (whole.median_calls, whole.p95_calls) == (10, 19)
    assert whole.noise_near == 7  # .0575 is the last within 15 % of .05
    assert whole.median_rmse == pytest.approx(0.0105)
    fewer = summary(crowd, found[:-2] + [found[-1]] * 2)
    assert (fewer.found, fewer.p95_calls) == (18, None)


@pytest.mark.parametrize(("hits", "of"), [(0, 1), (0, 100), (3, 100), (7, 9), (400, 400)])
def test_the_likely_share_is_wilsons(hits: int, of: int) -> None:
    told = binomtest(hits, of).proportion_ci(0.95, method="wilson")
    assert likely_share(hits, of) == pytest.approx((told.low, told.high), abs=1e-6)


def test_answers_of_a_level_matter() -> None:
    coarse, finer = (
        [m.call for m in practise(level, Nature(), days=1, shots=10, seed=1)] for level in (AIM, FINE)
    )
    for made, step in ((coarse, 1 / 8), (finer, 1 / 16)):
        inner = [c.high - c.low for c in made if math.isfinite(c.high - c.low)]
        assert inner == pytest.approx([step] * len(inner))
