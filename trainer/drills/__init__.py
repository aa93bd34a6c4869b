"""Drills: the question each asks of a shot, the choices it gives, and how a call is marked."""

import numpy as np

from trainer.drills.marking import DRILLS, Mark, mark
from trainer.drills.question import CallError, Choice, Question
from trainer.shots.level import Level
from trainer.shots.shot import Shot
from trainer.shots.truth import Truth

__all__ = ["DRILLS", "CallError", "Choice", "Mark", "Question", "ask", "mark"]


def ask(level: Level, shot: Shot, truth: Truth, rng: np.random.Generator) -> Question:
    """The question that the level's drill asks of a shot."""
    return DRILLS[level.drill].ask(level, shot, truth, rng)
