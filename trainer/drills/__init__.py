"""Drills: the question each asks of a shot, the choices it gives, and how a call is marked."""

from trainer.drills.drill import ANGLE, Drill, Shown
from trainer.drills.mark import Mark
from trainer.drills.marking import detail, headline, mark
from trainer.drills.question import Asked, CallError, Choice, Dial, Eye, Option, Question
from trainer.drills.registry import DRILLS

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
    "detail",
    "headline",
    "mark",
]
