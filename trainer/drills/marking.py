"""A call compared with the truth: how far off, potted or not, and where the ball goes."""

import math

import numpy as np

from trainer.drills.drill import miss_of, point
from trainer.drills.mark import Mark
from trainer.drills.question import Choice, Question
from trainer.drills.registry import DRILLS
from trainer.geometry.meetings import Meeting, Met, meeting
from trainer.shots.obstacles import first_ball
from trainer.shots.shot import Point, Shot
from trainer.shots.style import Style
from trainer.shots.truth import opening_of


def mark(question: Question, choice: Choice) -> Mark:
    """Mark a call by playing it: line of aim, contact, throw where it counts, and the ball's way."""
    drill = DRILLS[question.drill]
    question = drill.settled(question, choice)
    run, shot = drill.run(question, choice.value), drill.played_shot(question, choice.value)
    met, drops = _end(shot, run.way)
    reached = drill.reached(question, run)
    potted, miss = reached or (drops, _miss(shot, question.truth.target, run.way, met))
    offset, error = drill.called_offset(question, choice.value), drill.error(question, choice.value)
    right = drill.is_right(question, choice, potted)
    return Mark(
        question=question,
        choice=choice,
        offset=offset,
        error=error,
        right=right,
        potted=potted,
        miss_mm=miss,
        run=run,
        met=met,
        drops=drops,
        played=shot,
        told=drill.told(question.asked, choice, error, offset, right),
    )


def _end(shot: Shot, way: Point | None) -> tuple[Meeting | None, bool]:
    """What the object ball meets, and whether it drops in the shot's pocket."""
    if way is None:
        return None, False
    ball, wide = np.array(shot.object_ball), 2.0 * shot.table.balls.object_radius
    met = meeting(shot.table, ball, way)
    stands = first_ball(shot.object_ball, way, shot.others, wide)
    if stands is not None and stands[0] < math.dist(shot.object_ball, met.at):
        return Meeting(Met.BALL, "", point(ball + np.array(way) * stands[0])), False
    return met, bool(opening_of(shot).holds(np.array(way)).all())


def _miss(shot: Shot, target: Point, way: Point | None, met: Meeting | None) -> float:
    """How far from the target the object ball's way passes, or ends where another ball stops it, mm."""
    if met is not None and met.met is Met.BALL:
        return math.dist(met.at, target)
    return miss_of(shot, target, way)


def headline(mark: Mark, style: Style) -> str:
    """The mark in a few words."""
    return DRILLS[mark.question.drill].headline(mark, style)


def detail(mark: Mark, style: Style) -> str:
    """Where the ball goes, and how fine the pot is, in one or two sentences."""
    return DRILLS[mark.question.drill].detail(mark, style)
