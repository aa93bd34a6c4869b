"""The drill *straight*: is it straight, or a cut to the left or to the right?"""

import math

import numpy as np

from trainer.drills import words
from trainer.drills.drill import ANYWHERE, Drill
from trainer.drills.mark import Mark
from trainer.drills.question import Asked, Choice, Eye, Question, Task, numbered
from trainer.shots.shot import Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth

LEFT, STRAIGHT, RIGHT = "cut left", "straight", "cut right"
SAID = {LEFT: "a cut to the left", STRAIGHT: "straight", RIGHT: "a cut to the right"}  # in a sentence
WAYS = {LEFT: 1.0, STRAIGHT: 0.0, RIGHT: -1.0}


class Straight(Drill):
    """Say whether a shot is straight.

    A value is the signed offset that the shot is taken to need: none, or a margin's width to the side it is
    called a cut to. What is played is a full ball, whatever is called.
    """

    name = "straight"
    title = "Straight or not"
    help = (
        "Say whether a full ball, the cue ball sent at the object ball's very centre, pots: "
        "if it does the shot is straight, else it is a cut to the left or to the right. "
        "Cut left means that the object ball must go farther left than a full ball sends it. "
        "The answers tell whether you see the centre of the ball where it is, or a little aside."
    )
    played = "a full ball"
    cuts = (0.0, 8.0)
    most_cuts = (0.0, 16.0)
    turns_down = False
    evenly = True
    among_others = True
    needs_inset = False

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """Does a full ball pot? Nothing here is random, the answers are always the same."""
        low, high = truth.margin
        width = (high - low) * shot.table.reach
        wanted = STRAIGHT if high >= 1.0 else LEFT if truth.sign > 0 else RIGHT
        return Question(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt="Is it straight?",
            choices=numbered([(name, way * width) for name, way in WAYS.items()]),
            best=list(WAYS).index(wanted),
            width=width,
        )

    def called_offset(self, question: Question, value: float) -> float:
        """The ball's centre."""
        return 0.0

    def error(self, question: Question, value: float) -> float:
        """The sign of the cut times (true - called offset): + thick, - thin, in ball widths."""
        return question.truth.thick_by(value)

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """Between which errors the margin is seen so that a full ball lies in it, or on that side of it.

        In fullness; where the balls are of two sizes that is a few hundredths less than in offsets.
        """
        if choice.name not in WAYS:
            return ANYWHERE
        low, high = sorted(asked.margin)
        way = WAYS[choice.name] * asked.sign
        if not way:
            return 1.0 - high, 1.0 - low
        return (-math.inf, 1.0 - high) if way > 0 else (1.0 - low, math.inf)

    def hint(self, question: Question, choice: Choice | None) -> str:
        """What is asked, in other words."""
        if choice is None or choice.name == STRAIGHT:
            return "sent at the ball's very centre, does it drop?"
        return f"the cue ball must go {'right' if choice.name == LEFT else 'left'} of the centre"

    def headline(self, mark: Mark, style: Style) -> str:
        """``A cut to the left it is, by 1/16 ball.``, ``You said straight, it is a cut to the right, ...``"""
        question = mark.question
        true = question.choices[question.best].name
        by = "" if true == STRAIGHT else f", by {style.ball_part(question.truth.offset)}"
        if mark.right:
            return f"{words.capital(SAID[true])} it is{by}."
        return f"You said {SAID[mark.choice.name]}, it is {SAID[true]}{by}."

    def detail(self, mark: Mark, style: Style) -> str:
        """Where a full ball goes, and how fine the pot is."""
        return (
            f"{words.comes_to(mark, style, 'A full ball')} {words.how_hard(mark, style)}{words.thrown(mark)}"
        )
