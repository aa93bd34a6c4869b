"""What a call tells, and what draws it."""

import math

import numpy as np
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


def test_a_free_answer_at_full_or_at_a_graze_is_open_to_that_side() -> None:
    assert (call(0.02, 0.02).low, call(0.02, 0.02).high) == (0.02, math.inf)
    assert (call(-0.02, 0.02).low, call(-0.02, 0.02).high) == (0.02, math.inf)
    assert (call(0.9, -0.1).low, call(0.9, -0.1).high) == (-math.inf, -0.1)
    # Past the centre, beside the ball, or a hair before it: it was meant so. So was what has an interval.
    for sine, error in ((0.02, 0.03), (0.9, -0.12), (0.02, 0.019)):
        assert call(sine, error).measures
    assert call(0.02, 0.02, low=0.0, high=0.04).high == 0.04


def test_whoever_never_calls_more_than_full_is_not_taken_to_see_full_balls_thin() -> None:
    rng = np.random.default_rng(12)
    belief, cut_off = Belief(), []
    for number in range(400):
        sine = float(rng.uniform(0.0, 0.15) * rng.choice([-1.0, 1.0]))
        error = min(float(rng.normal(0.0, 0.08)), abs(sine))
        belief.update(call(sine, error, set_id=str(number // 20)))
        cut_off.append(error)
    assert np.mean(cut_off) < -0.01  # whoever takes answers for what was seen is off by this
    assert abs(belief.average(np.linspace(-0.15, 0.15, 9)).mean) < 0.008


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
