"""Whether a fault is told to have become smaller: never without reason, and with the calls that it takes."""

import math
from dataclasses import replace

import numpy as np
import pytest
from changing import halved, told_better, unchanged
from misjudging import MIXED, Misjudging, Playing

from trainer.learner.call import Call
from trainer.learner.change import Change, changes

TODAY = 740_000
NOISE = 0.05
KIND = ("3/8", "left")


def seen(rng: np.random.Generator, days_ago: int, bias: float, count: int) -> list[Call]:
    """A day's calls: so many of fullness 3/8 to the left, seen with a bias, and thrice as many others."""
    sines = [*rng.uniform(0.57, 0.68, count), *rng.uniform(-0.95, 0.3, 3 * count)]
    found = []
    for sine in rng.permutation(sines).tolist():
        error = float(rng.normal(bias if sine > 0.5 else 0.0, NOISE))
        found.append(Call(sine, error, error, error, True, "aim down", str(days_ago), TODAY - days_ago))
    return found


def player(seed: int, then: float, now: float, early: int, late: int) -> list[Call]:
    """Ten days a month ago and five of late, with so many calls of the kind in all."""
    rng = np.random.default_rng(seed)
    before = [c for day in range(40, 30, -1) for c in seen(rng, day, then, early // 10)]
    return before + [c for day in range(4, -1, -1) for c in seen(rng, day, now, late // 5)]


def of_the_kind(found: list[Change]) -> Change:
    return next(change for change in found if (change.band, change.side) == KIND)


def test_a_fault_that_is_gone_is_told_and_one_that_halves_with_enough_calls() -> None:
    told = dict.fromkeys((0.0, 0.05), 0)
    for seed in range(20):
        for now, count in ((0.0, 60), (0.05, 150)):
            found = of_the_kind(changes(player(seed, 0.1, now, count, count), TODAY))
            told[now] += found.better
            if found.better:  # else what was and what is are taken for one
                assert found.then == pytest.approx(0.1, abs=0.04)
                assert found.now == pytest.approx(now, abs=0.035)
                assert found.until is not None
                assert 25 <= TODAY - found.until <= 40
    assert told[0.0] >= 19
    assert told[0.05] >= 17


def test_a_fault_that_stays_is_not_told_to_be_smaller() -> None:
    found = [changes(player(seed, 0.08, 0.08, 80, 80), TODAY) for seed in range(60)]
    assert sum(any(each.better for each in row) for row in found) <= 1
    assert sum((each.band, each.side) == KIND for row in found for each in row) >= 50


def test_few_calls_say_how_many_are_missing_and_that_many_do() -> None:
    told = asked = 0
    for seed in range(20):
        found = of_the_kind(changes(player(seed, 0.1, 0.05, 200, 10), TODAY))
        if not found.better:
            assert found.missing is not None
            assert 1 <= found.missing < 300
            more = 10 + 5 * math.ceil(found.missing / 5)
            asked += 1
            told += of_the_kind(changes(player(seed, 0.1, 0.05, 200, more), TODAY)).better
    assert asked >= 5
    assert told >= 0.75 * asked


def test_what_was_never_sure_or_too_long_ago_says_nothing() -> None:
    rng = np.random.default_rng(2)
    assert changes([], TODAY) == []
    assert changes(seen(rng, 30, 0.0, 30), TODAY) == []
    assert changes(seen(rng, 400, 0.1, 30), TODAY) == []
    assert changes(seen(rng, 30, 0.1, 1), TODAY) == []


def test_a_lapse_changes_little_and_a_fault_turned_over_is_no_better() -> None:
    calls = player(4, 0.1, 0.0, 60, 60)
    plain = of_the_kind(changes(calls, TODAY))
    stray = [Call(0.62, e, e, e, False, "aim down", "s", TODAY - ago) for e, ago in ((-0.9, 30), (0.8, 2))]
    lapsed = of_the_kind(changes([*calls[:60], stray[0], *calls[60:], stray[1]], TODAY))
    assert lapsed.then == pytest.approx(plain.then, abs=0.005)
    assert lapsed.now == pytest.approx(plain.now, abs=0.005)
    assert plain.better
    assert not of_the_kind(changes(player(4, 0.08, -0.12, 60, 60), TODAY)).better


@pytest.mark.parametrize(
    ("player", "field", "cause", "size"),
    [
        (Misjudging(contact=0.6), "contact", "ball-width", 0.15),
        (Misjudging(right=0.07), "right", "line-shift", 0.07),
        (Misjudging(fuller=-0.07), "fuller", "overall", -0.07),
    ],
)
def test_a_cause_that_heals_is_told_as_one_and_not_kind_by_kind(
    player: Misjudging, field: str, cause: str, size: float
) -> None:
    def healed(day: int) -> Misjudging:
        return replace(player, **{field: getattr(player, field) * (7 / 8) ** day})

    playing, calls = Playing(player, 1, replace(MIXED, a_day=30)), list[Call]()
    for day in range(28):
        playing.player = healed(day)
        calls += [playing.call(playing.sine()) for _ in range(30)]
    first, *others = changes(calls, calls[-1].day)
    assert (first.cause, first.better) == (cause, True)
    assert first.then == pytest.approx(size, abs=abs(size) / 3)
    assert abs(first.now) < abs(size) / 3
    assert first.since is not None
    assert all(not each.cause and not each.better for each in others)
    assert len(others) <= 2


def test_nothing_of_late_is_no_number() -> None:
    found = of_the_kind(changes(player(1, 0.1, 0.0, 60, 0), TODAY))
    assert math.isnan(found.now)
    assert not found.better


def test_answers_of_any_fineness_give_the_same_biases() -> None:
    def coarse(call: Call, step: float, off: float) -> Call:
        at = round((call.error - off) / step) * step + off
        return Call(call.sine, at - step / 2, at + step / 2, at, True, "aim down", call.set_id, call.day)

    rng, calls = np.random.default_rng(6), player(6, 0.1, 0.02, 150, 150)
    rough = [coarse(c, 1 / 8, float(rng.uniform(0, 1 / 8))) for c in calls]
    fine, wide = of_the_kind(changes(calls, TODAY)), of_the_kind(changes(rough, TODAY))
    assert wide.then == pytest.approx(fine.then, abs=0.012)
    assert wide.now == pytest.approx(fine.now, abs=0.012)


@pytest.mark.long
def test_players_who_stay_as_they_are_are_told_nothing_whatever_drills_they_go_over_to() -> None:
    told = [told_better(unchanged(number, days=40, shots=20), every=3) for number in range(8, 16)]
    assert sum(day is not None for day in told) <= 1


@pytest.mark.long
def test_large_faults_that_halve_are_told_and_none_before_they_do() -> None:
    told = [told_better(halved(number, days=56, shots=40, sizes=(0.1,)), every=6) for number in range(3)]
    assert sum(day is not None for day in told) >= 1
    assert all(day > 28 for day in told if day is not None)


@pytest.mark.long
def test_of_a_thousand_players_who_stay_as_they_are_one_in_twenty_is_told_at_the_most() -> None:
    told = sum(told_better(unchanged(number, days=56, shots=20)) is not None for number in range(1000))
    assert told <= 50
    half = sum(told_better(halved(n, days=56, shots=40, sizes=(0.1,))) is not None for n in range(40))
    assert half >= 24
