"""The drill *aim*: which of a row of points must the cue ball's centre be sent at?"""

from collections.abc import Iterator

import numpy as np

from trainer.drills import words
from trainer.drills.drill import AimedDrill, Shown
from trainer.drills.mark import Mark
from trainer.drills.question import Choice, Eye, Problem, Question, Task, numbered
from trainer.geometry.fullness import band_name
from trainer.shots.shot import Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth

WIDEST = 1.25  # ball widths: farther out the cue ball misses by more than anyone would call
# The best candidate lies within this part of the margin, so it pots with something to spare.
PART_OF_MARGIN = 0.8
PART_OF_STEP = 0.45


class Aim(AimedDrill):
    """Pick the aim point."""

    name = "aim"
    title = "Pick the aim point"
    help = (
        "Pick the point to send the cue ball's centre at, out of the row on and beside the object ball. "
        "The points are numbered from left to right as you see them from behind the cue ball. "
        "Half a ball is the object ball's very edge; for thinner cuts the point lies outside the ball."
    )
    names_answers = False

    keys = ("step", "choices")
    among_others = True

    def problems(self, task: Task) -> Iterator[Problem]:
        """A row that is wider than anyone would call."""
        answers = task.answers
        if answers.choices * answers.step > 2 * WIDEST:
            yield Problem(
                "answers.choices",
                f"{answers.choices} candidates a step of {band_name(answers.step)} apart are "
                "wider than the ball and its surroundings",
                "choices x step up to 2 1/2 balls",
            )

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """A row of evenly spaced candidates; the true point is anywhere in it, and rarely on one."""
        step, n = float(task.answers.step), task.answers.choices
        residue = _residue(truth, shot.table.reach, step, rng)
        nearest = truth.offset + residue
        # Places in the row that keep it within reach; the middle one where the row is too wide for any.
        places = [
            k for k in range(n) if nearest - k * step >= -WIDEST and nearest + (n - 1 - k) * step <= WIDEST
        ]
        best = places[int(rng.random() * len(places))] if places else n // 2
        values = [nearest + (i - best) * step for i in range(n)]
        return Question(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt="Where do you send the cue ball's centre?",
            choices=numbered([(words.point_name(value), value) for value in values]),
            best=best,
            width=step,
        )

    def is_right(self, question: Question, choice: Choice, potted: bool) -> bool:
        """Any point is from which the ball drops."""
        return potted

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The row of points, and the line of aim at the one that is considered."""
        marks = [c.value for c in question.choices]
        if choice is None:
            return Shown(marks=marks)
        return Shown(line=choice.value, marks=marks, selected=question.choices.index(choice))

    def pointed(self, question: Question, offset: float, near: float) -> Choice | None:
        """The nearest candidate, if it isn't far."""
        nearest = min(question.choices, key=lambda choice: abs(choice.value - offset))
        return nearest if abs(nearest.value - offset) <= near else None

    def hint(self, question: Question, choice: Choice | None) -> str:
        """Where the points are, or where the one considered is."""
        return choice.name if choice is not None else "numbered in the picture on the right"

    def headline(self, mark: Mark, style: Style) -> str:
        """``In, a hair thick.``, ``You said 3, it is 4: 1/8 ball thin.``"""
        best = mark.question.choices[mark.question.best]
        return words.aimed(mark, style, f"You said {mark.choice.key}, it is {best.key}: ")


def _residue(truth: Truth, reach: float, step: float, rng: np.random.Generator) -> float:
    """How far the best candidate lies from the true point, in ball widths."""
    low, high = (PART_OF_MARGIN * (end - truth.fullness) * reach for end in truth.margin)
    most = PART_OF_STEP * step
    thick = max(low, -most) + (min(high, most) - max(low, -most)) * rng.random()
    return float(-truth.sign * thick)
