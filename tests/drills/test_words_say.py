"""What words say of a shot where they once said less: which cushion, which way of throw, how full 7/8 is."""

import math
from dataclasses import replace

import numpy as np
import pytest

from trainer import drills
from trainer.commands.shot import _more
from trainer.drills import DRILLS, words
from trainer.drills.back import _Ring
from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import TABLES
from trainer.levels.level import free_practice, narrowed
from trainer.shots.along_cushion import along_cushion
from trainer.shots.describe import at_speeds
from trainer.shots.draw import draw
from trainer.shots.shot import Shot
from trainer.shots.style import USUAL, as_full
from trainer.shots.truth import truth_of


@pytest.mark.parametrize("ask", ["place", "way"])
def test_cushion_first_names_the_cushion_in_question_and_mark(ask: str) -> None:
    level, rng = free_practice("cushion"), np.random.default_rng(6)
    level = replace(level, answers=replace(level.answers, ask=ask))
    batch, named = draw(rng, 24, narrowed(level)), set()
    for i in range(24):
        question, lie = level.question(batch[i], truth_of(batch[i]), rng), along_cushion(batch[i])
        assert lie is not None
        cushion = f"the {lie.by.cushion} cushion"
        assert cushion in question.prompt
        named.add(lie.by.cushion)
        if ask == "place":
            for error in (0.0, 0.06, -0.3):
                mark = drills.mark(question, DRILLS["cushion"].answer(question, error))
                said = drills.headline(mark, USUAL)
                assert cushion in said or said == "The object ball is met before the cushion."
        else:
            mark = drills.mark(question, question.choices[0])
            assert f"{lie.by.cushion} cushion" in DRILLS["cushion"].detail(mark, USUAL)
    assert len(named) > 2


@pytest.mark.parametrize(("side_spin", "said"), [(0.0, "degrees, aim"), (1.0, "degrees the other way, aim")])
def test_throw_that_goes_the_other_way_is_said_to(side_spin: float, said: str) -> None:
    """Outside side spin that outruns the cut: the object ball is thrown to the other side."""
    shot = Shot(TABLES["pool-9"], (900.0, 500.0), (1600.0, 420.0), "top-right", None)
    found = truth_of(replace(shot, stroke=Stroke(1.0)))
    spin = -side_spin * found.sign
    stroke = next(
        Stroke(1.0, 1.0, value)
        for value in (spin, -spin)
        if side_spin == 0 or truth_of(replace(shot, stroke=Stroke(1.0, 1.0, value))).throw < 0
    )
    spun = replace(shot, stroke=stroke)
    truth = truth_of(spun)
    assert (truth.throw < 0) == (side_spin != 0)
    lines = [line for line in _more(spun, truth, USUAL) if "played" in line]
    for one, line in zip(at_speeds(spun), lines, strict=True):
        assert one.truth is not None
        degrees = math.degrees(one.truth.throw)
        assert f"thrown {abs(degrees):.1f} degrees{words.other_way(degrees)}, aim" in line
    assert words.other_way(-5.15) == " the other way"
    assert words.other_way(5.15) == words.other_way(-0.04) == ""
    assert any(said in line for line in lines)


def test_seven_eighths_reads_the_same_however_rounding_falls() -> None:
    for noise in (-1e-12, 0.0, 1e-12):
        assert as_full(0.875 + noise) == "0.88"
        assert as_full(0.125 + noise) == "0.13"
    assert as_full(0.8749) == "0.87"


def test_a_laid_shot_from_the_right_is_cut_right() -> None:
    shot = Shot(TABLES["pool-9"], (900.0, 500.0), (1600.0, 620.0), "top-right", None)
    ring = _Ring(shot, truth_of(shot).target, 400.0)
    way = ring.way
    for degrees, side in ((20.0, "right"), (-20.0, "left")):
        laid = ring.at(degrees)
        rel = np.subtract(laid.cue_ball, shot.object_ball)
        assert (way[0] * rel[1] - way[1] * rel[0] < 0) == (side == "right")  # where the cue ball lies
        assert truth_of(laid).side == side
