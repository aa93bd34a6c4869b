"""The eye or the stroke over all cuts, for players whose stroke goes wrong in one known way at every shot.

The players are those of ``misjudging``; where their ball goes at the table is drawn shot by shot.
"""

import math
from functools import cache

import numpy as np
import pytest
from misjudging import FREE, Misjudging, Playing

from trainer.learner.belief import Belief
from trainer.learner.table_cause import LINE, WAYS, table_causes
from trainer.learner.table_verdict import MADE_UP, SEEING, STROKE, TableShot
from trainer.learner.verdicts import NOT_YET, TRUE

MARGIN, CUEING = 0.02, 0.03  # balls that a pot forgives either way, and that a stroke scatters by
NONE = Misjudging(noise=0.04)


@cache
def practised(eye_right: float) -> Belief:
    """What is thought after 300 calls."""
    belief, playing = Belief(), Playing(Misjudging(noise=0.04, right=eye_right), 3, FREE)
    for _ in range(300):
        belief.update(playing.call(playing.sine()))
    return belief


def noted(
    eye_right: float, stroke: Misjudging, seed: int = 1, notes: int = 60, side: float = 0.0
) -> list[TableShot]:
    """Notes of shots to both sides, or to one, each named to the nearest eighth."""
    rng, found = np.random.default_rng([4, seed]), []
    eye = Misjudging(right=eye_right)
    for _ in range(notes):
        sine = math.sin(math.radians(rng.uniform(5, 65))) * (side or rng.choice((-1.0, 1.0)))
        error = eye.bias(sine) + stroke.bias(sine) + math.hypot(0.04, CUEING) * rng.standard_normal()
        result = "potted" if abs(error) <= MARGIN else "thick" if error > 0 else "thin"
        found.append(TableShot(math.copysign(1 - round((1 - abs(sine)) * 8) / 8, sine), MARGIN, result))
    return found


@pytest.mark.parametrize(
    ("stroke", "cause", "way"),
    [
        (Misjudging(right=0.07), LINE, "right"),
        (Misjudging(right=-0.07), LINE, "left"),
        (Misjudging(fuller=0.07), "overall", "thick"),
        (Misjudging(fuller=-0.07), "overall", "thin"),
    ],
)
def test_a_stroke_that_goes_wrong_at_every_shot_is_one_cause(
    stroke: Misjudging, cause: str, way: str
) -> None:
    first, second = table_causes(practised(0.0), noted(0.0, stroke))
    assert (first.cause, first.verdict, first.stroke, first.table, first.way) == (
        cause,
        STROKE,
        way,
        way,
        way,
    )
    assert first.eye == TRUE
    assert first.mine > 0.7 * first.misses > first.expected * first.misses
    assert first.to_go == 0
    assert second.verdict == NOT_YET


def test_what_the_eye_explains_is_no_stroke() -> None:
    first, _ = table_causes(practised(0.07), noted(0.07, NONE))
    assert (first.cause, first.eye, first.table, first.stroke) == (LINE, "right", "right", NOT_YET)
    assert first.verdict == SEEING
    assert first.expected == pytest.approx(first.mine / first.misses, abs=0.15)


def test_a_stroke_may_make_up_for_the_eye() -> None:
    first, _ = table_causes(practised(0.07), noted(0.07, Misjudging(right=-0.07), notes=120))
    assert (first.cause, first.eye, first.stroke, first.verdict) == (LINE, "right", "left", MADE_UP)


@pytest.mark.parametrize("stroke", [NONE, Misjudging(bump=(30.0, 0.1, 16.0))])
@pytest.mark.parametrize("seed", range(6))
def test_no_cause_is_told_where_nothing_or_one_stretch_of_cuts_goes_wrong(
    stroke: Misjudging, seed: int
) -> None:
    played = noted(0.0, stroke, seed, notes=80)
    for n in (20, 40, 80):
        assert {each.verdict for each in table_causes(practised(0.0), played[:n])} == {NOT_YET}


def test_misses_to_one_side_alone_tell_no_cause_of_all_cuts() -> None:
    assert table_causes(practised(0.0), noted(0.0, Misjudging(right=0.07), side=1.0)) == []
    assert table_causes(practised(0.0), []) == []


def test_before_the_eye_is_known_the_stroke_is_not_blamed() -> None:
    first, _ = table_causes(Belief(), noted(0.0, Misjudging(right=0.05), notes=40))
    assert first.eye == NOT_YET
    assert first.verdict == NOT_YET


def test_how_many_more_misses_it_takes_is_said_until_it_is_told() -> None:
    played = noted(0.0, Misjudging(right=0.05), notes=200)
    misses = [one for one in played if one.result != "potted"]
    told = [table_causes(practised(0.0), misses[:n]) for n in (6, 120)]
    early, late = (next(each for each in found if each.cause == LINE) for found in told)
    assert early.verdict == NOT_YET
    assert early.to_go is not None
    assert 1 <= early.to_go <= 100
    assert (late.verdict, late.to_go) == (STROKE, 0)


def test_each_cause_has_two_ways() -> None:
    assert all(len(set(ways)) == 2 for ways in WAYS.values())
