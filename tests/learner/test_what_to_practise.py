"""Which kinds of shot are worth practising first."""

from dataclasses import replace

from trainer.geometry.fullness import bands
from trainer.learner.belief import Belief
from trainer.learner.tally import Tally
from trainer.learner.verdicts import (
    NOT_YET,
    SPREAD,
    THICK,
    THIN,
    TRUE,
    KindVerdict,
    kind_verdicts,
    weak_kinds,
)

NONE = KindVerdict("1/2", "left", 0.0, -0.1, 0.1, 0.05, 0, NOT_YET, False, 9, 0.3)


def test_without_calls_the_kinds_come_in_a_spread_that_holds_them_all() -> None:
    rows = kind_verdicts(Belief(), Tally())
    assert weak_kinds(rows) == list(SPREAD)
    assert sorted(SPREAD) == sorted((band.name, side) for band in bands() for side in ("left", "right"))


def test_wrong_ones_come_first_then_unsure_then_new_then_true_ones() -> None:
    rows = [
        replace(NONE, band="7/8", verdict=TRUE, attempts=40, low=-0.02, high=0.02),
        replace(NONE, band="3/4", verdict=TRUE, attempts=30, low=-0.04, high=0.04),
        replace(NONE, band="5/8", attempts=9, low=-0.05, high=0.07),
        replace(NONE, band="1/2", attempts=0, low=-0.3, high=0.3),
        replace(NONE, band="3/8", attempts=3, low=-0.1, high=0.1),
        replace(NONE, band="1/4", verdict=THICK, attempts=30, bias=0.04, low=0.02, high=0.06),
        replace(NONE, band="1/8", verdict=THIN, attempts=20, bias=-0.08, low=-0.1, high=-0.06),
    ]
    order = ["1/8", "1/4", "3/8", "5/8", "1/2", "3/4", "7/8"]
    assert [band for band, _ in weak_kinds(rows)] == order
    assert [band for band, _ in weak_kinds(rows[::-1])] == order
