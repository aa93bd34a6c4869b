"""The gaps after which what is seen true comes back, against what is published about spacing.

* N. J. Cepeda, E. Vul, D. Rohrer, J. T. Wixted, H. Pashler, "Spacing effects in learning: a temporal
  ridgeline of optimal retention", Psychological Science 19, 2008, 1095-1102: the best gap falls from about 20
  to 40 % of a delay of one week to about 5 to 10 % of one year; abstract at
  https://digitalcommons.usf.edu/psy_facpub/1766 . The version in press has about 20 % for a few weeks,
  https://eric.ed.gov/?id=ED505660 .

For which delay a gap is meant isn't published: a week, a month, a quarter, a year are the trainer's choice.
From memory: in the article the best gaps for recall are 43, 23, 17 and 8 % of 7, 35, 70 and 350 days.
"""

import math
from itertools import pairwise

import pytest

from trainer.geometry.fullness import Kind
from trainer.learner.call import Call
from trainer.learner.tally import Tally
from trainer.learner.verdicts import FEWEST

DELAYS = (7, 30, 91, 365)  # days
RECALLED = {7: 0.43, 35: 0.23, 70: 0.17, 350: 0.08}
KIND, FIRST = Kind("1/2", "left"), 739_000


def gaps() -> list[int]:
    """The days between those on which somebody who comes each day, and sees well, is asked again."""
    tally, asked = Tally(), list[int]()
    for day in range(FIRST, FIRST + 150):
        practised = tally.kinds[KIND].practice(day)
        if practised is None or practised.due:
            for _ in range(FEWEST):
                tally.take(Call(0.5, 0.0, 0.0, 0.0, True, "aim down", str(day), day))
            asked.append(day)
    return [later - earlier for earlier, later in pairwise(asked)]


def test_the_first_and_the_last_gap_are_the_published_part_of_a_week_and_of_a_year() -> None:
    found = gaps()
    assert found[: len(DELAYS)] == sorted(set(found))  # they grow, up to the last
    assert set(found[len(DELAYS) :]) == {found[3]}
    # In whole days: 20 to 40 % of a week are 1.4 to 2.8 of them.
    assert math.floor(0.2 * 7) <= found[0] <= math.ceil(0.4 * 7)
    assert 0.05 <= found[3] / 365 <= 0.10


def test_the_second_is_about_a_fifth_of_a_few_weeks() -> None:
    assert gaps()[1] / DELAYS[1] == pytest.approx(0.2, abs=0.05)


def test_from_memory_each_is_the_part_that_was_best_for_recall() -> None:
    """The part falls evenly with the logarithm of the delay, near enough, between the delays measured."""
    known = sorted(RECALLED.items())
    for gap, delay in zip(gaps(), DELAYS, strict=False):
        part = gap / delay
        (near, more), (far, less) = next(
            (a, b) for a, b in pairwise(known) if delay <= b[0] or b == known[-1]
        )
        along = math.log(delay / near) / math.log(far / near)
        assert part == pytest.approx(more * (less / more) ** along, rel=0.12)
