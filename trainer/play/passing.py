"""When a level is passed."""

from dataclasses import dataclass
from typing import Self

from trainer.history.streaks import best_run
from trainer.levels.level import Level


@dataclass
class Passing:
    """A level's rule for passing, and how far its calls have come.

    Only calls asked with one of the ``drills`` count. The level is passed once ``right`` of the last ``of``
    calls were right, ``in_a_row`` of them in a row. A second look at a shot counts only where the level
    itself asks for it (``both``): for whoever plays every level so, nothing gets easier to pass.
    """

    drills: tuple[str, ...]
    right: int
    of: int
    in_a_row: int
    both: bool
    passed: bool = False
    last: tuple[bool, ...] = ()

    @classmethod
    def of_level(cls, level: Level) -> Self:
        """Before the first call of a level that can be passed."""
        assert level.passed is not None
        return cls(level.drills, level.passed.right, level.passed.of, level.passed.in_a_row, level.routine)

    @property
    def key(self) -> str:
        """What tells one rule from another."""
        return f"{'+'.join(self.drills)} {self.right}/{self.of}/{self.in_a_row}{'+' * self.both}"

    def take(self, drill: str, right: bool, *, second: bool = False) -> None:
        """Take in one more call; ``second``: of a shot that was called just before."""
        if self.passed or drill not in self.drills or (second and not self.both):
            return
        self.last = (*self.last, right)[-self.of :]
        self.passed = sum(self.last) >= self.right and best_run(self.last) >= self.in_a_row
