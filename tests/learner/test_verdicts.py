"""What a player is told: verdicts, what is settled and rests, calls to go, what five in a row is worth."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from practising import FIRST_DAY, answer, believe
from runs import chance_of_run

from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.tally import Tally
from trainer.learner.verdicts import (
    MOST_TO_GO,
    NOT_YET,
    THICK,
    THIN,
    TRUE,
    KindVerdict,
    forgiven,
    is_sure,
    kind_verdicts,
    resting,
    to_go,
    verdict,
)
from trainer.simulate.players import Nature, Player

NAMES = ("full", "7/8", "3/4", "5/8", "1/2", "3/8", "1/4", "1/8")
BANDS = [(name, (8 - k) / 8 - 1 / 16, (8 - k) / 8 + 1 / 16) for k, name in enumerate(NAMES)]
BANDS.append(("thinner", 0.0, 1 / 16))
HALF_LEFT = (0.4375, 0.5625)  # sines of the cuts that are 1/2, to the left


def calls_of(sine: float, errors: list[float], right: bool, day: int = FIRST_DAY) -> list[Call]:
    """Free answers to shots of the band about a sine, each in a set of its own."""
    places = sine + np.random.default_rng(4).uniform(-1 / 16, 1 / 16, len(errors))
    return [
        Call(float(at), e, e, e, right, "aim", f"{day} {k}", day)
        for k, (at, e) in enumerate(zip(places, errors, strict=True))
    ]


def quiet(count: int, sine: float = 0.5, day: int = FIRST_DAY, right: bool = True) -> list[Call]:
    """Calls of a player without bias and with little noise."""
    errors = np.random.default_rng(3).normal(0, 0.02, count).tolist()
    return calls_of(sine, errors, right, day)


def row(rows: list[KindVerdict], band: str = "1/2", side: str = "left") -> KindVerdict:
    return next(r for r in rows if (r.band, r.side) == (band, side))


# Verdicts


@pytest.mark.parametrize(
    ("mean", "sd", "attempts", "said"),
    [
        ([0.1], [0.02], 4, NOT_YET),
        ([0.1], [0.02], 5, THICK),
        ([-0.1], [0.02], 5, THIN),
        ([0.060], [0.02], 50, NOT_YET),
        ([0.062], [0.02], 50, THICK),  # by 2.8 deviations and a hair
        ([0.0], [0.015], 50, TRUE),  # within what pots forgive
        ([0.01], [0.015], 50, NOT_YET),
        ([0.0, 0.0], [0.015, 0.02], 50, TRUE),  # on the whole it is
        ([0.035, -0.035], [0.015, 0.015], 50, NOT_YET),  # small on the whole isn't small at each place
        ([0.0, 0.08], [0.02, 0.02], 50, THICK),  # one place is enough
        ([0.08, -0.09], [0.02, 0.02], 50, THIN),  # the surer one
        ([0.08, -0.09], [0.01, 0.02], 50, THICK),
        ([0.04], [0.01], 50, THICK),  # sure goes before small
    ],
)
def test_verdicts(mean: list[float], sd: list[float], attempts: int, said: str) -> None:
    assert verdict(mean, np.diag(np.square(sd)), attempts, 0.03) == said


@given(st.lists(st.floats(-0.2, 0.2), min_size=1, max_size=5), st.floats(1e-3, 0.1), st.integers(0, 60))
def test_a_verdict_mirrors(mean: list[float], sd: float, attempts: int) -> None:
    mirror = {THICK: THIN, THIN: THICK, TRUE: TRUE, NOT_YET: NOT_YET}
    if len({abs(m) for m in mean}) == len(mean):  # else which of two is the surer is a toss
        sds = np.eye(len(mean)) * sd**2
        assert verdict([-m for m in mean], sds, attempts, 0.03) == mirror[verdict(mean, sds, attempts, 0.03)]


def test_a_verdict_is_that_of_the_curve_over_the_band() -> None:
    rng, calls = np.random.default_rng(1), []
    for k in range(120):
        sine = float(rng.uniform(-0.9, 0.9))
        error = (0.09 if HALF_LEFT[0] < sine < HALF_LEFT[1] else 0.0) + rng.normal(0, 0.03)
        calls.append(Call(sine, error, error, error, True, "aim", str(k)))
    belief = believe(calls)
    for kind in kind_verdicts(belief, Tally(calls)):
        low, high = next(b for b in BANDS if b[0] == kind.band)[1:]
        sign = 1 if kind.side == "left" else -1
        places = sign * (1 - np.linspace(min(high, 1), low, 9))
        (mean, sd), room = belief.curve(places), forgiven(places)
        if kind.attempts < 5:
            assert kind.verdict == NOT_YET
        elif kind.verdict in (THICK, THIN):
            assert is_sure(mean, sd).any()
            assert kind.low > 0 or kind.high < 0
            assert (mean[np.abs(mean / sd).argmax()] > 0) == (kind.verdict == THICK)
        elif is_sure(mean, sd).any():  # somewhere, but not on the whole: a neighbour's fault
            assert kind.low <= 0 <= kind.high
            assert kind.verdict == NOT_YET
        else:
            surely = abs(kind.bias) + (kind.high - kind.low) / 2 < room.mean()
            assert (kind.verdict == TRUE) == bool(surely and np.all(np.abs(mean) < room))
    assert row(kind_verdicts(belief, Tally(calls))).verdict == THICK


def test_kinds_are_all_bands_and_sides_and_count_their_own_calls() -> None:
    rng = np.random.default_rng(2)
    sines = [0.0, 1.0, -1.0, *rng.uniform(-1, 1, 300).tolist()]
    calls = [Call(s, 0.0, 0.0, 0.0, True, "aim", str(k)) for k, s in enumerate(sines)]
    rows = kind_verdicts(believe(calls), Tally(calls))
    assert [(r.band, r.side) for r in rows] == [(b[0], s) for b in BANDS for s in ("left", "right")]
    for r in rows:
        _, low, high = next(b for b in BANDS if b[0] == r.band)
        mine = [s for s in sines if low <= 1 - abs(s) < high and (s >= 0) == (r.side == "left")]
        assert r.attempts == len(mine)
    assert sum(r.attempts for r in rows) == len(calls)


def test_before_any_call_nothing_is_told() -> None:
    rows = kind_verdicts(Belief(), Tally())
    assert {r.verdict for r in rows} == {NOT_YET}
    assert not any(r.settled for r in rows)
    assert all(r.to_go is None or r.to_go >= 5 for r in rows)
    assert all(r.low < 0 < r.high for r in rows)


def test_bias_and_interval_are_the_average_over_the_band() -> None:
    calls = quiet(40)
    belief = believe(calls)
    r = row(kind_verdicts(belief, Tally(calls)))
    is_sure = belief.average(np.linspace(*HALF_LEFT, 9))
    assert (r.bias, r.low, r.high) == pytest.approx((is_sure.mean, is_sure.low, is_sure.high))
    assert is_sure.high - is_sure.low == pytest.approx(2 * 1.96 * is_sure.sd)


# Settled and resting


@pytest.mark.parametrize(
    ("calls", "settled"),
    [
        (quiet(60), True),
        (quiet(56, right=False) + quiet(4), False),  # four in a row
        (quiet(55, right=False) + quiet(5), True),
        (quiet(60) + quiet(1, right=False), False),
        (quiet(5), False),  # five in a row, but who knows
        (quiet(60) + quiet(5, sine=-0.5, right=False), True),  # the other side's are the other side's
    ],
    ids=["all right", "four", "five", "then one wrong", "too few", "wrong elsewhere"],
)
def test_settled_is_true_and_five_in_a_row(calls: list[Call], settled: bool) -> None:
    r = row(kind_verdicts(believe(calls), Tally(calls)))
    assert r.settled == settled
    if settled:
        assert r.verdict == TRUE


def test_a_fault_is_never_settled_however_many_were_right() -> None:
    errors = np.random.default_rng(3).normal(0.06, 0.01, 60).tolist()
    calls = calls_of(0.5, errors, True)
    r = row(kind_verdicts(believe(calls), Tally(calls)))
    assert r.verdict == THICK
    assert not r.settled


def rests(calls: list[Call], today: int) -> bool:
    """Whether 1/2 to the left rests."""
    return HALF_LEFT in [pytest.approx(ends) for ends in resting(believe(calls), Tally(calls), today)]


def test_what_is_settled_rests_for_days_and_comes_back() -> None:
    calls = quiet(60)
    assert [rests(calls, FIRST_DAY + k) for k in range(5)] == [False, True, True, False, False]


def test_what_is_not_settled_does_not_rest() -> None:
    assert not rests(quiet(60) + quiet(1, right=False), FIRST_DAY + 1)


def test_what_is_settled_today_is_played_on_today_though_it_was_played_yesterday() -> None:
    calls = quiet(30) + quiet(30, day=FIRST_DAY + 1)
    assert not rests(calls, FIRST_DAY + 1)
    assert rests(calls, FIRST_DAY + 2)


def test_single_calls_that_cover_the_level_do_not_let_it_rest_for_ever() -> None:
    calls, rested = quiet(60), []
    for day in range(FIRST_DAY + 1, FIRST_DAY + 8):
        rested.append(rests(calls, day))
        calls += quiet(1, day=day)
    assert rested == [True, True, False, False, False, False, False]


# Calls to go


def to_verdict(seed: int, bias: float, noise: float, free: bool) -> tuple[int | None, int] | None:
    """After 12 calls of one kind: how many more it is said to take, and how many it takes."""
    rng = np.random.default_rng([3, seed])
    player, belief, calls = Player(Nature(noise=noise, everywhere=bias), rng), Belief(), list[Call]()

    def play() -> None:
        calls.append(answer(player, rng.uniform(*HALF_LEFT), free, "aim", str(len(calls))))
        belief.update(calls[-1])

    def is_sure() -> bool:
        places = np.linspace(*HALF_LEFT, 9)
        return verdict(*belief.joint(places), len(calls), forgiven(places)) != NOT_YET

    for _ in range(12):
        play()
    if is_sure():
        return None
    said, took = row(kind_verdicts(belief, Tally(calls))).to_go, 0
    while not is_sure() and took < 2 * MOST_TO_GO:
        play()
        took += 1
    return said, took


@pytest.mark.parametrize(
    ("bias", "noise", "free"),
    [
        (0.01, 0.05, True),
        *[
            pytest.param(*row, marks=pytest.mark.slow)
            for row in ((0.0, 0.06, True), (0.0, 0.05, False), (0.06, 0.08, False))
        ],
    ],
)
def test_about_so_many_calls_as_are_said_to_be_to_go_suffice(bias: float, noise: float, free: bool) -> None:
    pairs = [to_verdict(seed, bias, noise, free) for seed in range(24)]
    counts = [(said or MOST_TO_GO, took) for said, took in (p for p in pairs if p)]
    assert len(counts) >= 12
    said, took = np.array(counts, float).T
    # A guess from 12 calls: right in sum within a factor of 3, and for most players within one of 4.
    assert 1 / 3 < took.sum() / said.sum() < 3
    assert (np.abs(np.log(took / said)) < math.log(4)).mean() >= 0.6


def test_to_go_is_what_the_textbook_says_for_one_place() -> None:
    # Precision grows by 1 / spread^2 a call; enough is 1.96 SDs within what a pot forgives, or 2.8 of the
    # bias less a hair.
    for mean, sd, spread in ((0.0, 0.06, 0.1), (0.01, 0.04, 0.07), (0.045, 0.03, 0.06), (-0.045, 0.03, 0.06)):
        enough = max((abs(mean) - 0.005) / 2.8, (0.05 - abs(mean)) / 1.96)
        wanted = math.floor((1 / enough**2 - 1 / sd**2) * spread**2) + 1
        assert to_go([mean], [[sd**2]], spread, 50, 0.05) == wanted


def test_to_go_has_limits() -> None:
    assert to_go([0.0], [[0.05**2]], 5.0, 50, 0.05) is None
    assert to_go([0.0], [[0.02**2]], 0.001, 1, 0.05) == 4  # five at least


@settings(max_examples=60, deadline=None)
@given(st.floats(-0.1, 0.1), st.floats(0.01, 0.1), st.floats(0.02, 0.3))
def test_after_so_many_calls_of_one_place_the_verdict_is_there(mean: float, sd: float, spread: float) -> None:
    count = to_go([mean], [[sd**2]], spread, 50, 0.05)

    def after(calls: int) -> str:
        return verdict([mean], [[1 / (1 / sd**2 + calls / spread**2)]], 50, 0.05)

    if count is None:
        assert after(MOST_TO_GO) == NOT_YET
    else:
        assert after(count) != NOT_YET
        assert count == 1 or after(count - 1) == NOT_YET


# Five in a row


def has_run(rights: tuple[bool, ...], run: int) -> bool:
    return any(all(rights[k : k + run]) for k in range(len(rights) - run + 1))


@pytest.mark.parametrize("right", [0.0, 0.3, 0.7, 1.0])
@pytest.mark.parametrize("run", [1, 2, 3, 5])
@pytest.mark.parametrize("calls", [0, 1, 4, 5, 9, 11])
def test_chance_of_a_run_by_counting_all_there_are(right: float, run: int, calls: int) -> None:
    total = sum(
        math.prod(right if r else 1 - right for r in rights)
        for rights in itertools.product([True, False], repeat=calls)
        if has_run(rights, run)
    )
    assert chance_of_run(right, run, calls) == pytest.approx(total, abs=1e-12)


def test_chance_of_a_run_by_trying() -> None:
    rng = np.random.default_rng(1)
    rights = rng.random((20_000, 40)) < 0.6
    runs, ever = np.zeros(20_000, int), np.zeros(20_000, bool)
    for k in range(40):
        runs = np.where(rights[:, k], runs + 1, 0)
        ever |= runs >= 5
    assert chance_of_run(0.6, 5, 40) == pytest.approx(ever.mean(), abs=4 * math.sqrt(0.25 / 20_000))


def test_a_call_scatters_by_noise_the_answers_width_and_lapses() -> None:
    """A uniform answer's variance is a twelfth of its width squared (any textbook)."""
    rng = np.random.default_rng(4)
    calls = [Call(0.5, -1 / 16, 1 / 16, 0.0, True, "band down", str(k)) for k in range(40)]
    tally = Tally(calls)
    wide = row(kind_verdicts(Belief(), tally))
    free = row(kind_verdicts(Belief(), Tally([replace(c, low=0.0, high=0.0) for c in calls])))
    noise = wide.noise
    ratio = (noise**2 + float(rng.uniform(-1 / 16, 1 / 16, 200_000).var())) / noise**2
    assert wide.to_go is not None
    assert free.to_go is not None
    assert wide.to_go / free.to_go == pytest.approx(ratio, rel=0.15)
