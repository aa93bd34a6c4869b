"""A call compared with the truth: how far off, potted or not, and where the ball goes."""

from dataclasses import dataclass

import numpy as np

from trainer.drills import aim, band
from trainer.drills.question import Choice, Drill, Question
from trainer.geometry.acceptance import table_window
from trainer.geometry.aiming import send
from trainer.geometry.meetings import Meeting, meeting
from trainer.geometry.tables import POCKETS
from trainer.geometry.vectors import dot, length
from trainer.shots.shot import Point

DRILLS: dict[str, Drill] = {drill.NAME: drill for drill in (band, aim)}


@dataclass(frozen=True)
class Mark:
    """A call and what is true of it.

    ``offset`` is the signed offset that the call plays (ball widths); ``error`` called less true
    fullness in ball widths, + thick, - thin; ``right`` whether it was the answer to give;
    ``potted`` whether the ball drops when the call is played exactly; ``miss_mm`` how far from the
    pocket's target the object ball's way passes (all the way there, if it isn't hit at all).
    ``aim`` and ``way`` are unit directions of the cue ball and the object ball, ``touching`` the
    cue ball's centre at contact; ``way`` and ``touching`` are None where the cue ball misses, and
    so is ``met``.
    """

    question: Question
    choice: Choice
    offset: float
    error: float
    right: bool
    potted: bool
    miss_mm: float
    aim: Point
    touching: Point | None
    way: Point | None
    met: Meeting | None


def mark(question: Question, choice: Choice) -> Mark:
    """Mark a call by playing it: line of aim, contact, throw where it counts, and the ball's way."""
    drill, shot, truth = DRILLS[question.drill], question.shot, question.truth
    offset = drill.called_offset(question, choice.value)
    sent = send(
        np.array(shot.cue_ball),
        np.array(shot.object_ball),
        offset,
        shot.table.balls.object_radius,
        shot.table.contact,
        shot.stroke,
    )
    target, ball = np.array(truth.target), np.array(shot.object_ball)
    met: Meeting | None = None
    touching: Point | None = None
    way: Point | None = None
    miss = float(length(target - ball))
    potted = False
    # An aim that just grazes moves the ball next to nowhere, but it has a way.
    if bool(sent.hits):
        met = meeting(shot.table, ball, sent.way)
        opening = table_window(shot.table, ball, POCKETS.index(shot.pocket))
        potted = bool(opening.holds(sent.way))
        along = max(float(dot(target - ball, sent.way)), 0.0)
        miss = float(length(ball + sent.way * along - target))
        touching, way = _point(sent.touching), _point(sent.way)
    best = question.choices[question.best]
    return Mark(
        question=question,
        choice=choice,
        offset=offset,
        error=drill.error(question, choice.value),
        # A band is right or it isn't; an aim is right where the ball drops.
        right=choice == best if question.drill == band.NAME else potted,
        potted=potted,
        miss_mm=miss,
        aim=_point(sent.aim),
        touching=touching,
        way=way,
        met=met,
    )


def _point(array: np.ndarray) -> Point:
    x, y = array.tolist()
    return float(x), float(y)
