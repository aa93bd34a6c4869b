"""When a level is passed."""

from dataclasses import dataclass
from typing import Self

from trainer.history.streaks import best_run
from trainer.levels.level import Level


@dataclass
class Passing:
    """A level's rule for passing, and how far its calls have come.

    Only calls asked with one of the ``drills`` count. The level is passed once ``right`` of the last ``of``
    calls were right, ``in_a_row`` of them in a row.
    """

    drills: tuple[str, ...]
    right: int
    of: int
    in_a_row: int
    passed: bool = False
    last: tuple[bool, ...] = ()

    @classmethod
    def of_level(cls, level: Level) -> Self:
        """Before the first call of a level that can be passed."""
        assert level.passed is not None
        return cls(level.drills, level.passed.right, level.passed.of, level.passed.in_a_row)

    @property
    def key(self) -> str:
        """What tells one rule from another."""
        return f"{'+'.join(self.drills)} {self.right}/{self.of}/{self.in_a_row}"

    def take(self, drill: str, right: bool) -> None:
        """Take in one more call."""
        if self.passed or drill not in self.drills:
            return
        self.last = (*self.last, right)[-self.of :]
        self.passed = sum(self.last) >= self.right and best_run(self.last) >= self.in_a_row
