"""What a kept attempt tells the learner."""

import math
from datetime import date
from sys import intern

from trainer.drills import DRILLS, Asked, Choice
from trainer.drills.straight import WAYS, Straight
from trainer.history.attempt import Attempt
from trainer.learner.call import Call


def skill_of(drill: str) -> str:
    """The skill that a drill's calls tell of; one that isn't known here is a skill of its own."""
    return DRILLS[drill].skill if drill in DRILLS else drill


def call_of(attempt: Attempt) -> Call:
    """What the learner needs of an attempt."""
    asked, drill = _asked(attempt), DRILLS.get(attempt.drill)
    choice, sine = Choice(attempt.key, attempt.call, attempt.value), math.sin(math.radians(attempt.cut_deg))
    # Anywhere where the drill isn't known here.
    low, high = drill.meant(asked, choice, attempt.error) if drill else (-math.inf, math.inf)
    return Call(
        sine=drill.looked_at(sine, attempt.error, attempt.called_offset) if drill else sine,
        low=low,
        high=high,
        error=attempt.error,
        right=attempt.right,
        condition=intern(f"{attempt.drill} {attempt.view}"),
        set_id=attempt.set_id,
        day=date.fromisoformat(attempt.local_day).toordinal(),
        against=drill.against(asked, choice) if drill else None,
    )


def sighted_of(attempt: Attempt) -> tuple[float, float]:
    """What a shot called straight or not needs, signed offset in balls, and which way it was called a cut."""
    sign = -1.0 if attempt.cut_deg < 0 else 1.0
    middle = (attempt.margin_low + attempt.margin_high) / 2  # of what pots
    return attempt.offset - sign * (middle - attempt.fullness), WAYS[attempt.call]


def is_sighted(drill: str, call: str) -> bool:
    """Whether a call of a drill tells where the ball's centre is seen."""
    return drill == Straight.name and call in WAYS


def _asked(attempt: Attempt) -> Asked:
    """What was asked, as far as it says what the answer tells."""
    return Asked(
        answers=tuple((name, value) for _, name, value in attempt.choices),
        sign=-1.0 if attempt.cut_deg < 0 else 1.0,
        fullness=attempt.fullness,
        margin=(attempt.margin_low, attempt.margin_high),
    )
