"""When a kind of shot comes back: the gaps grow each time that it does."""

import pytest

from trainer.learner.call import Call
from trainer.learner.spacing import GAPS, Practised, look_is_due
from trainer.learner.tally import Tally
from trainer.learner.verdicts import FEWEST, NOT_YET, THICK, TRUE, KindVerdict, due, weak

TODAY = 1000


def day(ago: int, right: int = FEWEST, wrong: int = 0) -> list[Call]:
    """Calls of a day so long ago."""
    each = [True] * right + [False] * wrong
    return [Call(0.5, 0.0, 0.0, 0.0, ok, "aim down", str(ago), TODAY - ago) for ok in each]


def days(*ago: int) -> list[Call]:
    return [call for one in ago for call in day(one)]


def kind(verdict: str, bias: float = 0.0, band: str = "1/2") -> KindVerdict:
    return KindVerdict(band, "left", bias, bias, bias, 0.05, 9, verdict, False, 0, 0.8)


@pytest.mark.parametrize(
    ("calls", "expected"),
    [
        ([], None),
        (day(1, right=1), None),
        (day(1, right=2), Practised(1, 3)),
        (days(2), Practised(2, 3)),
        (days(3), Practised(3, 3)),
        # Back too soon: the gap stays.
        (days(4, 2), Practised(2, 3)),
        # Back after each gap, and seen well: it grows, up to the last.
        (days(10, 7), Practised(7, 7)),
        (days(24, 21, 14), Practised(14, 14)),
        (days(52, 49, 42, 28), Practised(28, 28)),
        (days(109, 106, 99, 85, 57, 29), Practised(29, 28)),
        # Pots don't matter: what is seen true may miss.
        ([*days(40, 37), *day(30, 0, 5)], Practised(30, 14)),
        # A single call on the way changes nothing.
        ([*days(10, 7), *day(1, 1)], Practised(7, 7)),
    ],
)
def test_the_gap_follows_from_the_days(calls: list[Call], expected: Practised | None) -> None:
    assert Tally(calls).kinds["1/2", "left"].practice(TODAY) == expected


def test_it_is_due_on_the_day_that_the_gap_is_over() -> None:
    for gap in GAPS:
        assert not Practised(gap - 1, gap).due
        assert Practised(gap, gap).due


def test_what_is_seen_true_comes_back_the_longest_overdue_first() -> None:
    one, other, late, wrong = kind(TRUE), kind(TRUE, 0.01), kind(TRUE, 0.02), kind(THICK)
    when = Practised(5, 3), Practised(2, 3), Practised(20, 14), Practised(40, 3)
    found = due([*zip((one, other, late, wrong), when, strict=True), (kind(TRUE), None)])
    assert [row for row, _ in found] == [late, one]


def test_what_is_seen_wrong_comes_once_a_day_the_longest_ago_first_then_the_worse() -> None:
    never, today, two, worse = (kind(THICK, bias) for bias in (0.02, 0.2, 0.03, 0.05))
    rows = [(two, Practised(2, 3)), (worse, Practised(2, 3)), (kind(NOT_YET, 0.3), None), (kind(TRUE), None)]
    assert [row for row, _ in weak(rows)] == [worse, two]
    assert [row for row, _ in weak([*rows, (never, None)])] == [never, worse]
    # Two a day: one was practised today, so one more comes.
    assert [row for row, _ in weak([*rows, (today, Practised(0, 3))])] == [worse]
    assert weak([*rows, *[(today, Practised(0, 3))] * 2]) == []


def test_what_has_healed_is_looked_at_after_1_3_7_14_and_28_days() -> None:
    looks, looked = [], 0
    for day in range(60):
        if look_is_due(day, looked):
            looks.append(day)
            looked = day
    assert looks == [1, 3, 7, 14, 28]
    assert look_is_due(9, 0)  # who was away looks once, and not once for every gap
    assert not look_is_due(10, 9)
