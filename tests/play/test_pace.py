"""Each shot at a speed and a spin, where the player wants it: throw counts in what is true."""

import cmath
import math

import pytest

from trainer.drills import DRILLS
from trainer.geometry.aiming import ROLLS, SPEEDS
from trainer.levels.level import at_a_pace
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game

LEVELS = open_shelf().levels


def test_off_nothing_has_a_stroke_and_on_every_shot_has_one(game: Game) -> None:
    level = game.level("slide-the-line")
    assert game.begin(level, seed=1).question().shot.stroke is None
    game.paced = True
    found = set()
    for seed in range(40):
        question = game.begin(level, seed=seed).question()
        stroke, truth = question.shot.stroke, question.truth
        assert stroke is not None
        found.add((stroke.speed, stroke.roll))
        if abs(truth.cut) > 0.1:
            assert truth.throw != 0.0
        # What was drawn is a pot: by the line of centres the ball leaves as far off as throw drags it.
        assert truth.fullness == pytest.approx(1.0 - math.sin(abs(truth.cut)), abs=1e-9)
    assert found == {(speed, roll) for speed in SPEEDS.values() for roll in ROLLS.values()}


def test_every_shot_must_be_hit_thinner_than_the_line_to_the_pocket_says(game: Game) -> None:
    game.paced = True
    level, seen = game.level("slide-the-line"), 0
    for seed in range(40):
        question = game.begin(level, seed=seed).question()
        shot, truth = question.shot, question.truth
        cue, ball, target = (complex(*place) for place in (shot.cue_ball, shot.object_ball, truth.target))
        touching = complex(*truth.touching)
        # By complex numbers: how far the way to the pocket turns from the line of aim.
        turned = abs(cmath.phase((target - ball) / (touching - cue)))
        if turned > 0.1:
            assert abs(truth.cut) > turned + 1e-4
            seen += 1
    assert seen > 20


@pytest.mark.parametrize("level", LEVELS, ids=lambda level: level.name)
def test_every_level_can_be_played_so_or_stays_as_it_is(game: Game, level) -> None:
    paced = at_a_pace(level)
    game.paced = True
    question = game.begin(level, seed=3).question()
    assert (question.shot.stroke is not None) == bool(paced.strokes)
    assert bool(paced.strokes) == (bool(level.strokes) or DRILLS[level.drill].among_others)
    if level.strokes:
        assert paced is level


@pytest.mark.parametrize("name", ["first", "warmup", "place", "primer"])
def test_sets_of_their_own_stay_as_they_are(game: Game, name: str) -> None:
    level = game.level(name)
    asked = game.begin(level, shots=1 if name != "primer" else None, seed=2).question()
    game.paced = True
    assert game.begin(level, shots=1 if name != "primer" else None, seed=2).question() == asked
