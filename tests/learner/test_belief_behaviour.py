"""What the belief makes of players: faults, fading, drills, pulls, noise; and numbers that hold."""

import math
from itertools import pairwise

import numpy as np
import pytest
from practising import FIRST_DAY, PLACE_SINES, PLACES, answer, believe, one_model, practise, prior

from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.verdicts import is_sure as surely
from trainer.simulate.players import Bump, Nature, Player

SINE_35 = [math.sin(math.radians(35.0))]


def sine(cut: float) -> float:
    return math.sin(math.radians(cut))


def accusations(belief: Belief) -> np.ndarray:
    """Cuts at which a bias is told."""
    mean, sd = belief.curve(PLACE_SINES)
    return PLACES[surely(mean, sd)]


# Faults


@pytest.mark.parametrize(
    "nature",
    [
        pytest.param(Nature(noise=0.05), marks=pytest.mark.slow),
        pytest.param(Nature(noise=0.08, lapse=0.03), marks=pytest.mark.slow),
        Nature(noise=0.05, growth=0.5, lapse=0.03, central=0.1, serial=0.1),
    ],
    ids=["plain", "lapses", "pulled"],
)
def test_nobody_without_a_fault_is_accused_though_looked_at_after_every_call(nature: Nature) -> None:
    # The goal is 5 % of players, once in 300 calls. Here there are 8 players with 90 calls: none or one.
    accused = 0
    for seed in range(8):
        accused += any(len(accusations(belief)) > 0 for belief, _ in practise(nature, seed, sets=3))
    assert accused <= 1


@pytest.mark.long
@pytest.mark.parametrize("free", [True, False], ids=["aim", "band"])
@pytest.mark.parametrize("lapse", [0.0, 0.03])
def test_of_many_players_without_a_fault_few_are_ever_accused(free: bool, lapse: float) -> None:
    accused = sum(
        any(
            len(accusations(belief)) > 0
            for belief, _ in practise(Nature(noise=0.05, lapse=lapse), seed, sets=10, free=free)
        )
        for seed in range(100)
    )
    assert accused <= 10  # 5 % asked for: eleven or more of a hundred then have a chance of 1.1 %


@pytest.mark.parametrize("free", [True, False], ids=["aim", "band"])
def test_a_bump_is_found_where_it_is_with_its_sign_and_nowhere_else(free: bool) -> None:
    found, elsewhere = 0, 0
    for seed in range(8):
        cut, size = (-38.0, 0.06) if seed % 2 else (20.0 + 3 * seed, -0.06)
        nature = Nature(noise=0.05, bumps=(Bump(cut, size),))
        *_, (belief, _) = practise(nature, seed, sets=4 if free else 6, sides=(int(math.copysign(1, cut)),))
        mean, sd = belief.curve(PLACE_SINES)
        told = surely(mean, sd)
        right = told & (np.sign(mean) == np.sign(size)) & (np.abs(PLACES - cut) <= 7.5)
        found += bool(right.any())
        elsewhere += bool((told & (np.abs(PLACES - cut) > 15)).any())
    assert found >= 7
    assert elsewhere <= 1


def test_two_bumps_are_both_found() -> None:
    nature = Nature(noise=0.04, bumps=(Bump(-25, 0.08), Bump(50, -0.08)))
    *_, (belief, _) = practise(nature, 3, sets=10)
    mean, sd = belief.curve([sine(-25), sine(50), sine(5), sine(-60)])
    assert surely(mean, sd).tolist() == [True, True, False, False]
    assert mean[0] > 0 > mean[1]


# Days


def fading(seed: int, days: int = 25) -> tuple[list[float], list[float], int]:
    """Errors of the bias told on days 1 to 14, its z scores, and the last day it is sure, after the 14th."""
    rng, belief = np.random.default_rng([6, seed]), Belief()
    at, errors, scores, sure = np.sin(np.radians(np.linspace(34.5, 43, 9))), [], [], 0
    for day in range(days):
        bias = 0.06 * max(0.0, 1 - day / 14)
        player = Player(Nature(noise=0.05, everywhere=bias), rng)
        for _ in range(8):
            belief.update(
                answer(player, sine(rng.uniform(34.3, 43.4)), True, "aim", str(day), FIRST_DAY + day)
            )
        told = belief.average(at)
        if 1 <= day <= 14:
            errors.append(told.mean - bias)
            scores.append((told.mean - bias) / told.sd)
        mean, sd = belief.curve(at)
        if day > 14 and surely(mean, sd).any():
            sure = day - 14
    return errors, scores, sure


@pytest.mark.slow
def test_a_fault_that_fades_is_followed_and_soon_not_told_any_more() -> None:
    # From .06 ball to none over 14 days, 8 calls a day.
    players = [fading(seed) for seed in range(30)]
    errors = np.array([errors for errors, _, _ in players])
    scores = np.array([scores for _, scores, _ in players])
    assert math.sqrt(float((errors**2).mean())) <= 0.012
    assert max(sure for _, _, sure in players) <= 3
    assert (np.abs(scores) < 1.96).mean() > 0.9


def test_days_without_play_make_it_less_sure_and_never_surer_of_more() -> None:
    calls = [Call(sine(30), 0.06, 0.06, 0.06, False, "aim", "a", FIRST_DAY) for _ in range(40)]
    after = {}
    for days in (0, 1, 10, 100, 3000):
        belief = believe(
            [*calls, Call(sine(-60), -math.inf, math.inf, 0.0, True, "aim", "b", FIRST_DAY + days)]
        )
        after[days] = belief.average([sine(30)], "aim")
    usual = Belief().average([sine(30)]).sd
    sds, means = [told.sd for told in after.values()], [told.mean for told in after.values()]
    assert all(a < b for a, b in pairwise(sds))
    assert all(a > b for a, b in pairwise(means))
    assert after[3000].sd == pytest.approx(usual, rel=0.1)  # as nobody had ever called
    assert after[3000].mean < 0.02  # what the drill's own part keeps


def test_a_clock_that_goes_back_changes_nothing() -> None:
    forth, back = Belief(), Belief()
    for belief, day in ((forth, 5), (back, 4)):
        for k in range(6):
            belief.update(Call(sine(30), 0.05, 0.05, 0.05, True, "aim", "a", 5 if k < 5 else day))
    assert forth.average([sine(30)]) == back.average([sine(30)])


# Drills and views


def two_drills(above: float, down: float, calls: int = 400) -> Belief:
    rng, belief = np.random.default_rng(12), Belief()
    players = {name: Player(Nature(noise=0.05, everywhere=e), rng) for name, e in (("a", above), ("d", down))}
    for k in range(calls):
        name = "ad"[k // 20 % 2]
        belief.update(answer(players[name], rng.uniform(-0.9, 0.9), True, name, str(k // 20)))
    return belief


def test_what_is_seen_from_above_is_not_taken_for_what_is_seen_down_on_the_shot() -> None:
    belief = two_drills(0.05, -0.02)
    at = np.sin(np.radians(np.linspace(-60, 60, 41)))
    above, down = belief.average(at, "a"), belief.average(at, "d")
    assert above.mean == pytest.approx(0.05, abs=0.012)
    assert down.mean == pytest.approx(-0.02, abs=0.012)
    assert above.mean - down.mean == pytest.approx(0.07, abs=0.012)
    both = belief.average(at)  # in their shares of late: some more of what came last
    assert down.mean < both.mean < above.mean


def test_what_both_share_is_learnt_from_either() -> None:
    bump = (Bump(30.0, 0.1),)
    *_, (belief, _) = practise(Nature(noise=0.04, bumps=bump), 4, sets=6, where="a")
    other = belief.curve([sine(30)], "d")[0][0]
    assert other == pytest.approx(0.1, abs=0.03)


def test_each_drill_has_its_own_noise() -> None:
    rng, belief = np.random.default_rng(2), Belief()
    for k in range(300):
        name, noise = (("fine", 0.03), ("coarse", 0.1))[k % 2]
        belief.update(answer(Player(Nature(noise=noise), rng), rng.uniform(-0.9, 0.9), True, name, str(k)))
    fine, coarse = (float(belief.noise(SINE_35, where)[0]) for where in ("fine", "coarse"))
    assert fine == pytest.approx(0.03, rel=0.15)
    assert coarse == pytest.approx(0.1, rel=0.2)
    # Told for both in their shares, as a mean of the logarithms.
    assert belief.noise(SINE_35)[0] == pytest.approx(math.sqrt(fine * coarse), rel=0.05)


# Pulls


@pytest.mark.parametrize(("serial", "central"), [(0.15, 0.0), (0.0, 0.15), (-0.1, 0.1)])
def test_pulls_are_recovered_and_make_no_bias(serial: float, central: float) -> None:
    nature = Nature(noise=0.04, serial=serial, central=central)
    *_, (belief, _) = practise(nature, 5, sets=20)
    to_last, to_mean = belief.context_effects()
    # A simulated player's mean of what was shown is a leaky one, in which the shot before counts most; the
    # belief's is plain, so a part of the one pull is is_sure as the other.
    assert to_last.mean == pytest.approx(serial, abs=0.06)
    assert to_mean.mean == pytest.approx(central, abs=0.06)
    mean, sd = belief.curve(PLACE_SINES)
    assert not surely(mean, sd).any()
    assert np.abs(mean).max() < 0.03


# Noise and lapses


@pytest.mark.slow  # the quick ones: test_belief.py of the noise alone, test_simulation.py of the whole
@pytest.mark.parametrize("growth", [-0.3, 0.0, 0.4])
def test_noise_and_its_growth_are_recovered(growth: float) -> None:
    for free in (True, False):
        found = []
        for seed in (6, 7, 8):
            *_, (belief, _) = practise(Nature(noise=0.06, growth=growth), seed, sets=16, free=free)
            found.append(belief.noise([sine(35), sine(5), sine(-65)]))
        at_35, at_5, at_65 = np.mean(found, axis=0)
        assert at_35 == pytest.approx(0.06, rel=0.12)
        assert at_5 == pytest.approx(0.06 * (1 - growth * 30 / 35), rel=0.25)
        assert at_65 == pytest.approx(0.06 * (1 + growth * 30 / 35), rel=0.25)


def test_one_lapse_moves_it_little() -> None:
    belief, lapsed = Belief(), Belief()
    rng = np.random.default_rng(1)
    for error in rng.normal(0, 0.04, 30):
        for b in (belief, lapsed):
            b.update(Call(sine(30), error, error, error, True, "aim", str(error)))
    lapsed.update(Call(sine(30), 0.6, 0.6, 0.6, False, "aim", "x"))
    assert abs(lapsed.average([sine(30)]).mean - belief.average([sine(30)]).mean) < 0.001
    assert lapsed.noise(SINE_35)[0] == pytest.approx(belief.noise(SINE_35)[0], rel=0.02)


def test_were_there_no_lapses_one_would_be_taken_for_noise(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.learner.belief.LAPSE_RATE", 1e-300)
    belief = Belief()
    for error in np.random.default_rng(1).normal(0, 0.04, 30):
        belief.update(Call(sine(30), error, error, error, True, "aim", str(error)))
    before = belief.noise(SINE_35)[0]
    belief.update(Call(sine(30), 0.6, 0.6, 0.6, False, "aim", "x"))
    assert belief.noise(SINE_35)[0] > 1.5 * before


def test_forecasts_are_chances() -> None:
    # The chances of all answers in a row add up to one, before each call.
    edges = [-math.inf, *np.linspace(-0.3, 0.3, 7), math.inf]
    *_, (_, _) = made = list(practise(Nature(noise=0.05), 7, sets=1))
    calls = [call for _, call in made]
    total = 0.0
    for low, high in pairwise(edges):
        middle = min(max((max(low, -0.4) + min(high, 0.4)) / 2, -0.35), 0.35)
        score = believe(calls).update(Call(sine(40), low, high, middle, True, "aim", "new"))
        total += math.exp(score)
    # A lapse spreads over two balls; of the open ends the learner counts half a ball beyond an answer.
    assert total == pytest.approx(1.0, abs=0.025)


# Numbers that hold


def check_sound(belief: Belief) -> None:
    for cov, mean in zip(belief._cov, belief._mean, strict=True):
        assert np.isfinite(cov).all()
        assert np.isfinite(mean).all()
        assert np.abs(cov - cov.T).max() < 1e-12
        assert np.linalg.eigvalsh((cov + cov.T) / 2).min() > -1e-9
    assert (belief.curve(PLACE_SINES)[1] > 0).all()
    assert np.isfinite(belief.noise(PLACE_SINES)).all()
    assert np.isfinite(belief.sample(np.random.default_rng(1), PLACE_SINES)).all()


@pytest.mark.slow
def test_thousands_of_calls_leave_it_sound() -> None:
    rng, belief = np.random.default_rng(3), Belief()
    for k in range(3000):
        error = rng.normal(0.03, 0.02)
        low, high = [(error, error), (error - 0.06, error + 0.06), (-math.inf, error + 0.06)][k % 3]
        at = float(rng.uniform(-1, 1))
        belief.update(Call(at, low, high, error, True, f"w{k % 5}", str(k // 40), FIRST_DAY + k // 40))
    check_sound(belief)


@pytest.mark.slow
def test_the_same_call_three_thousand_times() -> None:
    belief = Belief()
    for _ in range(3_000):
        belief.update(Call(0.5, 0.04, 0.04, 0.04, True, "aim", "a", FIRST_DAY))
    check_sound(belief)
    assert belief.average([0.5]).mean == pytest.approx(0.04, abs=1e-3)
    assert belief.noise([0.5])[0] < 0.02  # the least there is


@pytest.mark.parametrize(
    "at", [-1.0, 0.0, *(pytest.param(at, marks=pytest.mark.slow) for at in (-0.9999, 0.9999, 1.0))]
)
@pytest.mark.parametrize(
    ("low", "high", "error"),
    [
        (1e3, 1e3, 1e3),
        (-1e3, -1e3, -1e3),
        (999.0, 1001.0, 1000.0),
        (-math.inf, -999.0, -1000.0),
        (999.0, math.inf, 1000.0),
        (-math.inf, math.inf, 0.0),
        (0.0, 1e-12, 0.0),
        (0.1, 0.1, 0.1),
    ],
)
def test_extreme_calls_leave_it_sound(at: float, low: float, high: float, error: float) -> None:
    belief = Belief()
    for k in range(60):
        score = belief.update(Call(at, low, high, error, False, "aim", str(k // 30), FIRST_DAY + k))
        assert math.isfinite(score)
    check_sound(belief)
    if abs(error) > 100:  # a thousand balls off is a lapse, and nothing else
        assert np.abs(belief.curve(PLACE_SINES)[0]).max() < 0.05


def test_an_answer_that_could_be_anything_teaches_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    one_model(monkeypatch)
    belief = Belief()
    score = belief.update(Call(0.5, -math.inf, math.inf, 0.0, True, "aim", "a"))
    assert belief.average([0.5]).mean == 0.0
    before = float(prior(np.array([30.0]))[0, 0])
    assert belief.curve([0.5], "aim")[1][0] == pytest.approx(math.hypot(math.sqrt(before), 0.03), rel=1e-3)
    assert score == pytest.approx(0.0, abs=0.03)
