"""When a level is passed."""

from collections.abc import Sequence

from trainer.records.streaks import best_run
from trainer.shots.level import Level


def is_passed(level: Level, right: Sequence[bool]) -> bool:
    """Whether the calls of a level (right or not, in order) pass it.

    At some moment ``passed.right`` of the last ``passed.of`` were right, ``passed.in_a_row`` of them
    in a row. A level without a pass, such as free practice, is never passed.
    """
    rule = level.passed
    if rule is None:
        return False
    for end in range(rule.right, len(right) + 1):
        last = right[max(0, end - rule.of) : end]
        if sum(last) >= rule.right and best_run(last) >= rule.in_a_row:
            return True
    return False
