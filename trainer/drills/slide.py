"""The drill *slide*: set the line of aim yourself, anywhere."""

import numpy as np

from trainer.drills import words
from trainer.drills.drill import AimedDrill, Shown
from trainer.drills.mark import Mark
from trainer.drills.question import Choice, Dial, Eye, Question, Task
from trainer.geometry.vectors import cross, dot, unit
from trainer.shots.shot import Point, Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth

WIDEST = 1.25  # ball widths, as in the drill aim
STEPS = (1 / 8, 1 / 64, 1 / 512)  # ball widths: coarse, fine, a hair
JUMPS = tuple(k / 4 for k in range(-4, 5))  # ball widths: the keys 1 to 9, from left to right


class Slide(AimedDrill):
    """Slide the line of aim."""

    name = "slide"
    title = "Slide the line of aim"
    help = (
        "Slide the line of aim over the object ball to where the cue ball's centre must go, and call it. "
        "You can move it in large steps, in small ones, or by a hair (keys below). "
        "There is no row to choose from: how far off you are is told to the hair."
    )

    among_others = True
    needs_inset = False

    prompt = "Slide the line of aim to where it pots."

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """A line to slide; where it starts has nothing to do with where it belongs."""
        return Question(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt=self.prompt,
            dial=offset_dial(rng, WIDEST),
        )

    def inset(self, question: Question) -> float:
        """How far what is called lies inside the line of aim, ball widths: nothing, where that is called."""
        return 0.0

    def called_offset(self, question: Question, value: float) -> float:
        """A value is its offset; where an edge of the cue ball is called, the centre lies beyond it."""
        return value + self.inset(question)

    def answer(self, question: Question, error: float) -> Choice:
        """The line that is off by this."""
        assert question.dial is not None
        truth = question.truth
        return question.dial.at(truth.offset - truth.sign * error - self.inset(question))

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The line in the large picture, the cue ball on it in the inset."""
        offset = None if choice is None else self.called_offset(question, choice.value)
        return Shown(line=offset, ghost=offset)

    def pointed(self, question: Question, offset: float, near: float) -> Choice | None:
        """The line goes where it is pointed at."""
        return None if question.dial is None else question.dial.at(offset)

    def pointed_on_table(self, question: Question, place: Point) -> Choice | None:
        """The line goes through the place, if that is ahead of the cue ball."""
        cue, ball = np.array(question.shot.cue_ball), np.array(question.shot.object_ball)
        way = np.array(place) - cue
        if question.dial is None or float(dot(way, ball - cue)) <= 0.0:
            return None
        offset = float(cross(unit(way), ball - cue)) / question.shot.table.ball_width
        return question.dial.at(offset - self.inset(question))

    def hint(self, question: Question, choice: Choice | None) -> str:
        """How else it is moved."""
        return "or click where it must go"

    def headline(self, mark: Mark, style: Style) -> str:
        """``In, a hair thick.``, ``Aimed at 0.44 left, it pots at 0.31 left: 1/8 ball thin.``"""
        went, needed = words.missed(mark.offset, mark.question.truth.offset)
        return words.aimed(mark, style, f"aimed at {went}, {needed}: ")


def offset_dial(rng: np.random.Generator, widest: float) -> Dial:
    """A dial of signed offsets that starts anywhere on the object ball or a little beside it."""
    return Dial(
        low=-widest,
        high=widest,
        start=round(2.0 * rng.random() - 1.0, 3),
        steps=STEPS,
        unit="ball widths right of the object ball's centre (left below 0)",
        name=words.point_name,
        jumps=JUMPS,
    )
