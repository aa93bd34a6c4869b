"""What a call tells, and what draws it."""

import math

import pytest

from trainer.learner.belief import Belief
from trainer.learner.call import Call, Context


def call(sine: float = 0.5, error: float = 0.1, set_id: str = "a", day: int = 1, **more: float) -> Call:
    return Call(sine, more.get("low", error), more.get("high", error), error, True, "aim down", set_id, day)


@pytest.mark.parametrize(
    ("low", "high", "tells", "measures"),
    [
        (0.1, 0.1, True, True),
        (0.0, 0.2, True, True),
        (-math.inf, 0.2, True, False),  # the end of a row
        (0.0, math.inf, True, False),
        (-math.inf, math.inf, False, False),
    ],
)
def test_which_calls_tell_of_seeing(low: float, high: float, tells: bool, measures: bool) -> None:
    one = call(low=low, high=high)
    assert (one.tells, one.measures) == (tells, measures)
    compared = Call(0.5, low, high, 0.1, True, against=-0.5)
    assert not compared.tells
    assert not compared.measures


def test_what_was_before_draws_a_call_in_its_set_and_day_alone() -> None:
    context = Context()
    first, second = call(0.25, 0.1), call(0.5, 0.0)
    context.begin(first)
    assert context.distances(first) == (0.0, 0.0)
    context.take(first)
    context.begin(second)
    assert context.distances(second) == pytest.approx((0.85 - 0.5, 0.75 - 0.5))
    context.take(second)
    third = call(0.5)
    context.begin(third)
    assert context.distances(third) == pytest.approx((0.0, (0.75 + 0.5) / 2 - 0.5))
    for other in (call(0.5, set_id="b"), call(0.5, day=2)):
        context.take(third)
        context.begin(other)
        assert context.distances(other) == (0.0, 0.0)


def test_a_set_that_is_gone_on_with_on_another_day_draws_nothing_over_night() -> None:
    """The belief learns the same of a set's second day as of a new set's first."""
    same, new = Belief(), Belief()
    for day, sine in enumerate([0.2, 0.7, 0.4, 0.6], start=10):
        same.update(call(sine, set_id="a", day=day))
        new.update(call(sine, set_id=str(day), day=day))
    assert same.curve([0.1, 0.5, 0.9])[0].tolist() == new.curve([0.1, 0.5, 0.9])[0].tolist()
    assert same.context_effects() == new.context_effects()
