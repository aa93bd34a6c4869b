"""Drills: the question each asks of a shot, the choices it gives, and how a call is marked."""

from trainer import names
from trainer.drills.aim import Aim
from trainer.drills.back import Back
from trainer.drills.band import Band
from trainer.drills.cushion import Cushion
from trainer.drills.drill import ANGLE, Drill, Shown
from trainer.drills.edge import Edge
from trainer.drills.judge import Judge
from trainer.drills.leave import Leave
from trainer.drills.mark import Mark
from trainer.drills.pick import Pick
from trainer.drills.question import Asked, CallError, Choice, Dial, Eye, Question
from trainer.drills.same import Same
from trainer.drills.send import Send
from trainer.drills.slide import Slide
from trainer.drills.straight import Straight
from trainer.drills.throw import Throw
from trainer.shots.style import Style

__all__ = [
    "ANGLE",
    "DRILLS",
    "EVERY",
    "Asked",
    "CallError",
    "Choice",
    "Dial",
    "Drill",
    "Eye",
    "Mark",
    "Question",
    "Shown",
    "detail",
    "headline",
    "mark",
]

# In the order in which messages list them.
EVERY: tuple[Drill, ...] = (
    *(Band(), Aim(), Slide(), Judge(), Same(), Edge(), Throw()),
    *(Straight(), Back(), Leave(), Cushion(), Send(), Pick()),
)
# In the order of the commands' help.
DRILLS: dict[str, Drill] = {
    drill.name: drill for drill in sorted(EVERY, key=lambda drill: names.DRILLS.index(drill.name))
}


def mark(question: Question, choice: Choice) -> Mark:
    """Mark a call, as the question's drill does."""
    return DRILLS[question.drill].mark(question, choice)


def headline(mark: Mark, style: Style) -> str:
    """The mark in a few words."""
    return DRILLS[mark.question.drill].headline(mark, style)


def detail(mark: Mark, style: Style) -> str:
    """Where the ball goes, and how fine the pot is, in one or two sentences."""
    return DRILLS[mark.question.drill].detail(mark, style)
