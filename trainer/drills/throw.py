"""The drill *throw*: the aim that pots once friction between the balls is counted."""

import math
from dataclasses import replace

import numpy as np

from trainer.drills import words
from trainer.drills.drill import run_at
from trainer.drills.mark import Mark
from trainer.drills.question import Eye, Question
from trainer.drills.slide import WIDEST, Slide, offset_dial
from trainer.geometry.vectors import dot, length
from trainer.shots.level import Level
from trainer.shots.shot import Shot
from trainer.shots.truth import Truth, truth_of


class Throw(Slide):
    """Allow for throw."""

    name = "throw"
    title = "Allow for throw"
    help = (
        "Friction at contact throws the object ball a little along the cue ball's way, so a cut must be hit "
        "thinner than it looks: most at slow speed and with stun. "
        "The speed and the spin are said above; slide the line of aim to where the ball pots with them. "
        "The mark says how far the plain line, without throw, would have gone wrong."
    )
    skill = "throw"

    def ask(self, level: Level, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """A line to slide; the stroke is the shot's own."""
        return Question(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt="Slide the line to where it pots with throw.",
            dial=offset_dial(rng, WIDEST),
        )

    def detail(self, mark: Mark) -> str:
        """Where it goes, and what the plain line would have done."""
        said = f"It {words.goes(mark)}. " if not mark.potted or words.off_what(mark) else ""
        more = f" {words.forgives(mark)}" if mark.potted else ""
        return f"{said}{plain_line(mark.question)}{more}"


def plain_line(question: Question) -> str:
    """``Straightened by 1/20 ball (2.9 degrees): the plain line goes 41 mm wide.``"""
    shot, truth = question.shot, question.truth
    if shot.stroke is None:
        return "Throw isn't counted here."
    plain = truth_of(replace(shot, stroke=None)).offset
    by = words.one_over(truth.offset - plain)
    way = run_at(shot, plain).way
    ball, target = np.array(shot.object_ball), np.array(truth.target)
    wide = float(length(target - ball))
    if way is not None:
        along = max(float(dot(target - ball, np.array(way))), 0.0)
        wide = float(length(ball + np.array(way) * along - target))
    degrees = math.degrees(truth.throw)
    done = "Straightened" if truth.throw >= 0 else "Cut more"
    said = f"{done} by {by} ball ({abs(degrees):.1f} degrees)"
    return f"{said}: the plain line goes {words.wide(wide)} wide."
