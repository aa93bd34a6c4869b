"""A call compared with the truth: how far off, potted or not, and where the ball goes."""

import numpy as np

from trainer.drills.drill import miss_of
from trainer.drills.mark import Mark
from trainer.drills.question import Choice, Question
from trainer.drills.registry import DRILLS
from trainer.geometry.acceptance import table_window
from trainer.geometry.meetings import Meeting, meeting
from trainer.geometry.tables import POCKETS


def mark(question: Question, choice: Choice) -> Mark:
    """Mark a call by playing it: line of aim, contact, throw where it counts, and the ball's way."""
    drill = DRILLS[question.drill]
    question = drill.settled(question, choice)
    run = drill.run(question, choice.value)
    shot, ball = question.shot, np.array(question.shot.object_ball)
    met: Meeting | None = None
    potted = False
    if run.way is not None:
        way = np.array(run.way)
        met = meeting(shot.table, ball, way)
        potted = bool(table_window(shot.table, ball, POCKETS.index(shot.pocket)).holds(way))
    return Mark(
        question=question,
        choice=choice,
        offset=drill.called_offset(question, choice.value),
        error=drill.error(question, choice.value),
        right=drill.is_right(question, choice, potted),
        potted=potted,
        miss_mm=miss_of(shot, question.truth.target, run.way),
        run=run,
        met=met,
    )


def headline(mark: Mark) -> str:
    """The mark in a few words."""
    return DRILLS[mark.question.drill].headline(mark)


def detail(mark: Mark) -> str:
    """Where the ball goes, and how fine the pot is, in one or two sentences."""
    return DRILLS[mark.question.drill].detail(mark)
