"""What a kept attempt tells the learner."""

import math
from datetime import date
from sys import intern

from trainer.drills import DRILLS, Asked, Choice
from trainer.drills.drill import ANYWHERE
from trainer.drills.straight import WAYS, Straight
from trainer.history.attempt import Attempt
from trainer.learner.call import Call, thrown_by
from trainer.levels.level import MEASURE


def skill_of(drill: str) -> str:
    """The skill that a drill's calls tell of; one that isn't known here is a skill of its own."""
    return DRILLS[drill].skill if drill in DRILLS else drill


def skills_told_of(drill: str) -> tuple[str, ...]:
    """The skills that a drill's calls tell of, its own first."""
    return (skill_of(drill), *(DRILLS[drill].tells_of if drill in DRILLS else ()))


def learns_from(level: str) -> bool:
    """Whether calls of a level teach the learner anything: what practice is measured by doesn't."""
    return level != MEASURE


def call_of(attempt: Attempt) -> Call:
    """What the learner is told of an attempt out of the history: the same as when it was marked.

    An answer to a drill that isn't known here tells nothing.
    """
    return in_its_place(told_by(attempt), attempt)


def told_by(attempt: Attempt) -> Call:
    """The same without its place among others: its set, day and view, and throw."""
    a, drill = attempt, DRILLS.get(attempt.drill)
    answers = tuple((name, value) for _, name, value in a.choices)
    asked = Asked(answers, a.cut_deg, a.fullness, (a.margin_low, a.margin_high))
    if drill is None:
        return Call(asked.sine, *ANYWHERE, a.error, a.right)
    return drill.told(asked, Choice(a.key, a.call, a.value), a.error, a.called_offset, a.right)


def in_its_place(told: Call, attempt: Attempt) -> Call:
    """What is told of an attempt, with its drill and view, its set, its day, and what throw does to it."""
    day = date.fromisoformat(attempt.local_day).toordinal()
    thrown = thrown_by(math.radians(attempt.cut_deg), math.radians(attempt.throw_deg))
    return told.at(intern(f"{attempt.drill} {attempt.view}"), attempt.set_id, day, thrown)


def sighted_of(attempt: Attempt) -> tuple[float, float]:
    """What a shot called straight or not needs, signed offset in balls, and which way it was called a cut."""
    sign = -1.0 if attempt.cut_deg < 0 else 1.0
    middle = (attempt.margin_low + attempt.margin_high) / 2  # of what pots
    return attempt.offset - sign * (middle - attempt.fullness), WAYS[attempt.call]


def is_sighted(drill: str, call: str) -> bool:
    """Whether a call of a drill tells where the ball's centre is seen."""
    return drill == Straight.name and call in WAYS
