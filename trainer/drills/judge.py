"""The drill *judge*: a line of aim is shown; is it thick, does it pot, or is it thin?"""

import math
from dataclasses import dataclass

import numpy as np

from trainer.drills import words
from trainer.drills.drill import ANYWHERE, Drill, Shown, offset_of
from trainer.drills.mark import Mark
from trainer.drills.question import Asked, Choice, Eye, Question, Task, numbered
from trainer.shots.shot import Shot
from trainer.shots.style import HAIR, Style
from trainer.shots.truth import Truth

THICK, POTS, THIN = "thick", "pots", "thin"
PART_OF_NOISE = 0.6  # how far beyond the margin's ends a line may be, so that none of the answers is rare
# So many lines lie about the true margin, not the one this player sees: else a player with a large bias
# would soon know the answer without a look.
ABOUT_TRUTH = 1 / 4
SLIVER = 1 / 64  # balls: a line that passes the object ball altogether is no question


@dataclass(frozen=True, kw_only=True)
class JudgeQuestion(Question):
    """``line`` is the signed offset (ball widths) of the line of aim that is shown."""

    line: float


class Judge(Drill):
    """Judge the line that is shown.

    A value is the fullness that the pot is taken to need: that of the line where it is said to pot, a
    margin less where it is called thick, a margin more where it is called thin. The line itself is what is
    played, whatever is called.
    """

    name = "judge"
    title = "Thick, pots or thin"
    help = (
        "The cue ball is sent along the line drawn, and its outline shows how it meets the object ball: "
        "say whether that is thick, pots, or is thin. "
        "Thick is fuller than the pot needs, past the object ball's centre too; thin is less full. "
        "Lines are shown where you yourself are in doubt, so look where your own line would be first."
    )
    played = "the line shown"
    among_others = True
    needs_inset = False

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """What would happen on a line near those at which this player begins to doubt?"""
        shown = _fullness_shown(truth, eye, rng)
        low, high = truth.margin
        width = high - low
        return JudgeQuestion(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt="What happens on this line?",
            choices=numbered([(THICK, shown - width), (POTS, shown), (THIN, shown + width)]),
            best=0 if shown > high else 2 if shown < low else 1,
            width=width,
            line=truth.sign * (1.0 - shown) * shot.table.reach,
        )

    def called_offset(self, question: Question, value: float) -> float:
        """The line that was shown."""
        return offset_of(question, _line(question.asked))

    def error(self, question: Question, value: float) -> float:
        """The fullness that the pot is taken to need, less the one that it needs."""
        return value - question.truth.fullness

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """Between which errors the margin is seen so that the line lies in it, above it or below it."""
        line, (low, high) = dict(asked.answers).get(POTS), sorted(asked.margin)
        if line is None or choice.name not in (THICK, POTS, THIN):
            return ANYWHERE
        least = -math.inf if choice.name == THICK else line - (high if choice.name == POTS else low)
        most = math.inf if choice.name == THIN else line - (low if choice.name == POTS else high)
        return least, most

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The line in the large picture, the cue ball on it in the inset."""
        assert isinstance(question, JudgeQuestion)
        return Shown(line=question.line, ghost=question.line)

    def hint(self, question: Question, choice: Choice | None) -> str:
        """Where the ball goes that is hit thick or thin on this shot."""
        thick, thin = ("right", "left") if question.truth.sign > 0 else ("left", "right")
        sides = {THICK: f"thick: the ball goes wide {thick}", THIN: f"thin: wide {thin}", POTS: "it goes in"}
        return f"{sides[THICK]}, {sides[THIN]}" if choice is None else sides[choice.name]

    def headline(self, mark: Mark, style: Style) -> str:
        """``Thin it is, by 1/16 ball.``, ``You said thick, but it pots: 1/32 ball thick is still in.``"""
        question = mark.question
        off, true = _line(question.asked) - question.truth.fullness, question.choices[question.best].name
        part, centre = style.ball_part(off), abs(off) < HAIR
        if mark.right and true == POTS:
            return "It pots, dead centre." if centre else f"It pots, though {style.thick_or_thin(off)}."
        if mark.right:
            return f"{words.capital(true)} it is, by {part}."
        if true == POTS:
            still = ", dead centre" if centre else f": {style.thick_or_thin(off)} is still in"
            return f"You said {mark.choice.name}, but it pots{still}."
        said = "it pots" if mark.choice.name == POTS else mark.choice.name
        return f"You said {said}, it is {true} by {part}."


def _fullness_shown(truth: Truth, eye: Eye, rng: np.random.Generator) -> float:
    """How full the line is: anywhere in or near the margin, mostly as this player sees it."""
    low, high = truth.margin
    room = (high - low) / 2 + PART_OF_NOISE * eye.noise
    middle = (low + high) / 2 + (0.0 if rng.random() < ABOUT_TRUTH else eye.bias)
    least = min(max(middle - room, SLIVER), 1.0)
    most = max(min(middle + room, 2.0 - SLIVER), least)
    return least + (most - least) * float(rng.random())


def _line(asked: Asked) -> float:
    """How full the line is that was shown: what is said to pot."""
    return dict(asked.answers)[POTS]
