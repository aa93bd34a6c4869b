"""The drill *pick*: which of a few balls can be potted?"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from trainer.drills import words
from trainer.drills.drill import ANYWHERE, Drill, Shown, run_at
from trainer.drills.mark import Mark, Run
from trainer.drills.question import MOST_BALLS, Asked, Choice, Eye, Problem, Question, Task, numbered
from trainer.drills.words import Step, construction
from trainer.geometry.tables import POCKETS
from trainer.shots.obstacles import Hindrance, hindrance, unpottable
from trainer.shots.shot import Point, Shot, point
from trainer.shots.style import Style, as_full
from trainer.shots.truth import Truth, truth_of

THINNEST = 0.97  # of the balls' reach: how a ball is hit that can't be cut thin enough
ALMOST = math.radians(89.0)


@dataclass(frozen=True, kw_only=True)
class PickQuestion(Question):
    """``balls`` are the places (mm) of the object balls to choose from."""

    balls: tuple[Point, ...] = ()


class Pick(Drill):
    """Pick the ball that goes.

    A value is how many ball widths of a ball's surest way are barred: no two are equal.
    """

    name = "pick"
    title = "Which one goes"
    help = (
        "Several balls lie about, and one of them alone can be potted in the lit pocket: say which. "
        "The others have a ball in their way, or in the cue ball's way to them, "
        "or would have to be cut thinner than any hit can. "
        "Look along each ball's line to the pocket first, then at where the cue ball must touch it."
    )
    skill = "pick"
    looked_at_twice = False
    names_answers = False
    balls = 3
    needs_inset = False

    def problems(self, task: Task) -> Iterator[Problem]:
        """Fewer balls than two."""
        if task.balls < 2:
            yield Problem("shots.balls", f"{task.balls} leaves nothing to pick", f"2 to {MOST_BALLS}")

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """Which of the shot's own ball and some others, laid so that they can't be potted?"""
        balls = [shot.object_ball, *unpottable(rng, shot, truth, task.balls - 1)]
        balls = [balls[k] for k in np.argsort(rng.random(len(balls))).tolist()]
        # Shown about the ball in the middle, whichever that is, and not about the one that goes.
        middle = sorted(balls, key=lambda ball: _round(shot, balls, ball))[(len(balls) - 1) // 2]
        posed = _of(shot, balls, middle)
        barred = [hindrance(_of(posed, balls, ball)).amount for ball in balls]
        return PickQuestion(
            drill=self.name,
            shot=posed,
            truth=replace(truth, target=_mouth(shot)),
            prompt="Which ball goes into the pocket?",
            choices=numbered([(f"ball {k}", amount) for k, amount in enumerate(barred, 1)]),
            best=balls.index(shot.object_ball),
            balls=tuple(balls),
        )

    def settled(self, question: Question, choice: Choice) -> Question:
        """The shot of the ball that goes, whichever was called."""
        if not balls_to_choose(question):  # out of the history: it is that shot already
            return question
        shot = self.laid(question)
        return replace(question, shot=shot, truth=truth_of(shot))

    def laid(self, question: Question) -> Shot:
        """The shot of the ball that goes, the others about it."""
        balls = balls_to_choose(question)
        return _of(question.shot, balls, balls[question.best])

    def played_shot(self, question: Question, value: float) -> Shot:
        """The shot of the ball that was called."""
        values = [choice.value for choice in question.choices]
        balls = balls_to_choose(question)
        return _of(question.shot, balls, balls[values.index(value)])

    def called_offset(self, question: Question, value: float) -> float:
        """That of the ball that goes: no line of aim is called here."""
        return question.truth.offset

    def error(self, question: Question, value: float) -> float:
        """How many ball widths of the called ball's surest way are barred; 0 for the ball that goes."""
        return max(value, 0.0)

    def barred(self, question: Question, value: float) -> Hindrance:
        """What stands in the way of the called ball."""
        return hindrance(self.played_shot(question, value))

    def run(self, question: Question, value: float) -> Run:
        """The called ball's own pot, as far as it gets; the thinnest hit where it can't be cut so thin."""
        shot = self.played_shot(question, value)
        truth = truth_of(shot)
        possible = abs(truth.cut) < ALMOST
        return run_at(shot, truth.offset if possible else truth.sign * THINNEST * shot.table.reach)

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """Which ball goes tells nothing of how full a shot is seen."""
        return ANYWHERE

    def answer(self, question: Question, error: float) -> Choice:
        """The ball that goes, for an eye that isn't off; else the one whose way is barred about so much."""
        return min(question.choices, key=lambda c: abs(self.error(question, c.value) - abs(error)))

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The balls' numbers; those are shown by the pictures themselves."""
        return Shown()

    def in_view(self, question: Question) -> tuple[Point, ...]:
        """All of the balls."""
        return balls_to_choose(question)

    def hint(self, question: Question, choice: Choice | None) -> str:
        """How it is done."""
        return "press its number, or click on it" if choice is None else f"considered: {choice.name}"

    def headline(self, mark: Mark, style: Style) -> str:
        """``2 it is.``, ``3 does not go: 1 lies in its way. 2 goes.``"""
        question = mark.question
        best = question.choices[question.best].key
        if mark.right:
            return f"{best} it is."
        return f"{mark.choice.key} does not go: {self._why_not(mark)}. {best} goes."

    def _why_not(self, mark: Mark) -> str:
        found = self.barred(mark.question, mark.choice.value)
        if found.by < 0:
            return "no hit sends it there"
        by = self.played_shot(mark.question, mark.choice.value).others[found.by]
        named = dict(zip(balls_to_choose(mark.question), mark.question.choices, strict=True))
        who = named[by].key if by in named else "another ball"
        whose = "the cue ball's" if found.aim else "its"
        return f"{who} lies in {whose} way"

    def why(self, mark: Mark, style: Style) -> tuple[Step, ...]:
        """The construction of the pot, and what stands in the way of the ball that was called."""
        if mark.right:
            return construction(mark, style, "Nothing lies in its way, nor in the cue ball's to it: it goes.")
        return construction(mark, style, f"{self.headline(mark, style)} {self.detail(mark, style)}")

    def detail(self, mark: Mark, style: Style) -> str:
        """How much is barred, or how full and how fine the pot is."""
        truth, barred = mark.question.truth, self.barred(mark.question, mark.choice.value)
        goes = f"It is {as_full(truth.fullness)} full, cut to the {truth.side}."
        if mark.right:
            return f"{goes} {words.how_hard(mark, style)}"
        best = mark.question.choices[mark.question.best].key
        much = ""
        if barred.by >= 0:
            size = f"{style.ball_part(barred.amount)}, {words.at_ball(mark, style, barred.amount)}"
            much = f"Even its best way is blocked by {size}. "
        return f"{much}{best} is {as_full(truth.fullness)} full, cut to the {truth.side}."


def balls_to_choose(question: Question) -> tuple[Point, ...]:
    """The object balls that a question's choices are, mm; none where they aren't balls."""
    return question.balls if isinstance(question, PickQuestion) else ()


def _of(shot: Shot, balls: list[Point] | tuple[Point, ...], ball: Point) -> Shot:
    """The shot with one of the balls as its object ball, the others about it."""
    about = tuple(place for place in shot.others if place not in balls)
    return replace(shot, object_ball=ball, others=(*(b for b in balls if b != ball), *about))


def _round(shot: Shot, balls: list[Point], ball: Point) -> float:
    """How far round to the left of all the balls' middle one of them is, seen from the cue ball."""
    (cx, cy), (mx, my) = shot.cue_ball, np.mean(balls, axis=0).tolist()
    ahead, off = (mx - cx, my - cy), (ball[0] - cx, ball[1] - cy)
    return math.atan2(ahead[0] * off[1] - ahead[1] * off[0], ahead[0] * off[0] + ahead[1] * off[1])


def _mouth(shot: Shot) -> Point:
    """The middle of the pocket's mouth, mm: where a shot's own target lies would tell the ball."""
    return point(shot.table.jaws[POCKETS.index(shot.pocket)].mean(axis=0))
