"""Whether a level is passed, from all of its calls at once."""

from collections.abc import Sequence

from trainer.levels.level import Level
from trainer.play.passing import Passing


def is_passed(level: Level, right: Sequence[bool]) -> bool:
    """Whether the calls of a level (right or not, in order) pass it.

    A level without a pass, such as free practice, is never passed.
    """
    if level.passed is None:
        return False
    passing = Passing.of_level(level)
    for each in right:
        passing.take(level.drill, each)
    return passing.passed
