"""Drills: the question each asks of a shot, the choices it gives, and how a call is marked."""

import numpy as np

from trainer.drills.drill import ANGLE, Drill, Shown
from trainer.drills.mark import Mark
from trainer.drills.marking import detail, headline, mark
from trainer.drills.question import Asked, CallError, Choice, Dial, Eye, Option, Question
from trainer.drills.registry import DRILLS
from trainer.shots.level import Level
from trainer.shots.shot import Shot
from trainer.shots.truth import Truth

__all__ = [
    "ANGLE",
    "DRILLS",
    "Asked",
    "CallError",
    "Choice",
    "Dial",
    "Drill",
    "Eye",
    "Mark",
    "Option",
    "Question",
    "Shown",
    "ask",
    "detail",
    "headline",
    "mark",
]


def ask(level: Level, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye | None = None) -> Question:
    """The question that the level's drill asks of a shot; ``eye`` is what is thought of the player's."""
    return DRILLS[level.drill].ask(level, shot, truth, rng, eye or Eye())
