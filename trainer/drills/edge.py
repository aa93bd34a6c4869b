"""The drill *edge*: thin cuts by the inside edge of the cue ball."""

from dataclasses import dataclass, replace

import numpy as np

from trainer.drills import words
from trainer.drills.drill import Shown
from trainer.drills.mark import Mark
from trainer.drills.question import Choice, Dial, Eye, Question, Task
from trainer.drills.slide import JUMPS, STEPS, Slide
from trainer.drills.words import PARTS, Step
from trainer.shots.shot import ANY_CUT, CUT_LIMIT, Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth

WIDEST = 0.75  # ball widths: an edge farther out misses the ball by a quarter of it


@dataclass(frozen=True, kw_only=True)
class EdgeQuestion(Question):
    """``inset`` is how far the called edge lies inside the line of aim, ball widths, signed."""

    inset: float


class Edge(Slide):
    """Thin by the inside edge."""

    name = "edge"
    title = "Thin by the inside edge"
    help = (
        "Thinner than half ball there is nothing to aim the centre at, but the cue ball's inside edge, its "
        "side towards the object ball, still points at that: say where on it. "
        "Set the line of that edge and call it; half a ball sends it through the object ball's centre. "
        "You can move it in large steps, in small ones, or by a hair (keys below)."
    )

    cuts = (30.0, ANY_CUT[1])
    most_cuts = (30.0, CUT_LIMIT)
    needs_inset = True

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """The edge on the object ball's side; where it starts tells nothing of the answer."""
        return EdgeQuestion(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt=f"Where does the cue ball's {'left' if truth.sign > 0 else 'right'} edge go?",
            dial=Dial(
                low=-WIDEST,
                high=WIDEST,
                start=round(1.0 * rng.random() - 0.5, 3),
                steps=STEPS,
                unit="ball widths right of the object ball's centre (left below 0)",
                name=words.point_name,
                jumps=tuple(jump / 2 for jump in JUMPS),
            ),
            inset=truth.sign * shot.table.balls.cue_radius / shot.table.ball_width,
        )

    def inset(self, question: Question) -> float:
        """How far the edge lies inside the line of aim."""
        assert isinstance(question, EdgeQuestion)
        return question.inset

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The line that the edge runs along, and where it points on the ball."""
        if choice is None:
            return Shown()
        line = self.called_offset(question, choice.value)
        return Shown(edge=choice.value, path=question.shot.line(line, choice.value - line))

    def hint(self, question: Question, choice: Choice | None) -> str:
        """What is set."""
        return "its inside edge: set its line"

    def headline(self, mark: Mark, style: Style) -> str:
        """``Edge at 0.31 left, it pots at 0.17 left: 1/8 ball thick.``"""
        true = mark.question.truth.offset - self.inset(mark.question)
        went, needed = words.missed(mark.choice.value, true)
        return words.aimed(mark, style, f"edge at {went}, {needed}: ")

    def why(self, mark: Mark, style: Style) -> tuple[Step, ...]:
        """With the step from the cue ball's centre to its inside edge."""
        steps, question = list(super().why(mark, style)), mark.question
        edge = words.beside(question.truth.offset - self.inset(question))
        at = PARTS.index("offset")
        nearer = f" The inside edge runs {abs(self.inset(question)):.2f} nearer: {edge}."
        steps[at] = replace(steps[at], says=steps[at].says + nearer)
        return tuple(steps)
