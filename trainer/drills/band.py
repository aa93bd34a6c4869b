"""The drill *band*: how full is it?"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import numpy as np

from trainer.drills import words
from trainer.drills.drill import Drill, Shown, offset_of
from trainer.drills.mark import Mark
from trainer.drills.question import MOST_CHOICES, Answers, Choice, Eye, Problem, Question, Task, numbered
from trainer.geometry.fullness import THINNER, band_name
from trainer.shots.shot import Limits, Shot
from trainer.shots.style import Style
from trainer.shots.truth import Truth


class Band(Drill):
    """Name the fullness."""

    name = "band"
    title = "Name the fullness"
    help = (
        "Say how much of the object ball the cue ball covers at contact, seen along the line of aim: "
        "full is straight in, 1/2 is half a ball, thinner is next to nothing. "
        "Think of where the cue ball's centre must be when the balls touch, not of the point they touch at. "
        "The bands are the words for which shots go wrong; most pots need a finer aim than they can say."
    )

    keys = ("step", "bands", "within")
    usual = Answers(within=Fraction(1, 64))  # so that the right name pots, and the next ones miss
    among_others = True
    needs_inset = False

    def narrowed(self, task: Task) -> Limits:
        """Near to the bands asked for, where they are named or every shot has to be."""
        return near_bands(task)

    def problems(self, task: Task) -> Iterator[Problem]:
        """One key of the keyboard each, and more than one answer."""
        asked = len(task.bands())
        if not 2 <= asked <= MOST_CHOICES:
            yield Problem(
                "answers",
                f"step {band_name(task.answers.step)} over these cuts makes {asked} answers",
                f"2 to {MOST_CHOICES}: take a coarser step, fewer cuts, or name the bands",
            )

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """Which of the level's bands is this shot? Nothing here is random, the bands are fixed."""
        asked = task.bands()
        best = min(range(len(asked)), key=lambda i: abs(asked[i].value - truth.fullness))
        for i, band in enumerate(asked):  # inside a band's own stretch that band is right
            if not task.answers.named and band.low <= truth.fullness < band.high:
                best = i
        return Question(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt="How full must the hit be?",
            choices=numbered([(band.name, band.value) for band in asked]),
            best=best,
            width=float(task.answers.step),
        )

    def called_offset(self, question: Question, value: float) -> float:
        """The signed offset of a called fullness, on the side that the shot is cut to."""
        return offset_of(question, value)

    def error(self, question: Question, value: float) -> float:
        """Called fullness less true fullness."""
        return value - question.truth.fullness

    def stands_for(self, name: str, value: float) -> float:
        """The answer "thinner" is said of all that is nearer to none than to the next band."""
        return 0.0 if name == THINNER else value

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The cue ball where the band would have it."""
        return Shown(ghost=None if choice is None else offset_of(question, choice.value))

    def hint(self, question: Question, choice: Choice | None) -> str:
        """What is asked, in other words."""
        return "how much of the ball must the cue ball cover?"

    def headline(self, mark: Mark, style: Style) -> str:
        """``5/8 it is.``, ``Too thin: you said 1/4, it needs about 5/8.``"""
        question = mark.question
        true = _in_words(question, question.best)
        if mark.right:
            return f"{words.capital(true)} it is."
        said = _in_words(question, question.choices.index(mark.choice))
        about = "" if question.choices[question.best].name == THINNER else "about "
        return f"Too {'thick' if mark.error > 0 else 'thin'}: you said {said}, it needs {about}{true}."

    def detail(self, mark: Mark, style: Style) -> str:
        """What becomes of the ball if it is hit as called."""
        said = words.comes_to_as_called(mark, style, f"Played at {mark.choice.name} it")
        return f"{said} {words.how_hard(mark, style)}{words.thrown(mark)}"


def near_bands(task: Task) -> Limits:
    """A task's limits, narrowed to what is near to its bands, if they are named or it says how near."""
    within = task.answers.within
    if within is None and not task.answers.named:
        return task.limits
    near = float(within) if within is not None else float(task.answers.step) / 2
    stretches = tuple((band.value - near, band.value + near) for band in task.bands())
    return replace(task.limits, fullness=stretches)


def _in_words(question: Question, index: int) -> str:
    """A band's name inside a sentence: ``1/2``, ``thinner than 1/8``."""
    name = question.choices[index].name
    return f"{name} than {question.choices[index - 1].name}" if name == THINNER and index else name
