"""A set in which each shot is called standing, and then again down on it; only then is anything told of it.

At the table a line is chosen standing and trusted when down. So the second question begins at the first
answer: it can be confirmed or changed.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from trainer import drills
from trainer.drills import Choice, Eye, Mark, Question
from trainer.history.attempt import Attempt
from trainer.play.pair import DOWN, STANDING, Pair, pairs_in, two_looks
from trainer.play.set_in_play import SetInPlay, shot_of
from trainer.shots.shot import Shot
from trainer.shots.truth import truth_of

LOOK = 1  # tells the numbers that a question draws from those that its shot was drawn with


def begun_so(attempts: Sequence[Attempt]) -> bool:
    """Whether a set may have been begun in this way: it goes on as it began, whatever is chosen since."""
    return not attempts or any(pairs_in(attempts)) or [a.view for a in attempts] == [STANDING]


class Routine(SetInPlay):
    """Such a set under way. ``number`` and ``of`` count calls, two a shot.

    Whoever shows it tells nothing of a call while ``chosen`` is there: it is asked for again.
    """

    @property
    def first(self) -> Attempt | None:
        """The first call of the shot, where its second is asked for now."""
        last = self.attempts[-1] if self.attempts else None
        waits = last is not None and last.number == self.number - 1 and last.view == STANDING
        return last if waits and not self.done else None

    @property
    def chosen(self) -> Choice | None:
        """What was called standing, where it is asked for again."""
        first = self.first
        return None if first is None else Choice(first.key, first.call, first.value)

    @property
    def told(self) -> Sequence[Attempt]:
        """The calls whose marks have been told: not the first of a shot before its second."""
        return self.attempts if self.first is None else self.attempts[:-1]

    @property
    def findings(self) -> tuple[str, ...]:
        """How often the two looks agreed, and which was nearer."""
        looks = two_looks(pairs_in(self.attempts))
        return () if looks is None else (looks.of_a_set(self.game.style),)

    @property
    def view(self) -> str:
        """How the shot is looked at now; '' where only one call is left: it is seen as usual, and marked."""
        if self.first is not None:
            return DOWN
        return STANDING if self.number < self.of else ""

    @property
    def views(self) -> tuple[str, ...]:
        """The one view of the present look."""
        return (self.view,) if self.view else self.level.views

    def shot_of_call(self, number: int) -> int:
        """Which shot the call of a number is about: one call may have been taken back."""
        first = next((a for a in self.attempts if a.number == number - 1 and a.view == STANDING), None)
        return ((number if first is None else first.number) + 1) // 2

    def _ask(self) -> Question:
        first = self.first
        if first is None:
            return self._look(super()._ask().shot, self.number)
        question = self._look(shot_of(first, self.level), first.number)
        if question.dial is None:
            return question
        return replace(question, dial=replace(question.dial, start=first.value))

    def _look(self, shot: Shot, number: int) -> Question:
        """The question of a shot, the same at both looks: the belief has changed between them."""
        rng = np.random.default_rng([self.kept.seed, number, LOOK])
        shot = replace(shot, table=self.level.limits.table)  # as the history gives it back
        return self.level.question(shot, truth_of(shot), rng, Eye())

    def call(self, choice: Choice, seconds: float | None = None, view: str | None = None) -> Mark:
        """Answer the present question; after the second look ``pair`` has both marks."""
        chosen, question = self.chosen, self.question()
        mark = super().call(choice, seconds, view)
        self.pair = None if chosen is None else Pair(drills.mark(question, chosen), mark)
        return mark
