"""The drill *band*: how full is it?"""

import numpy as np

from trainer.drills.question import Question, numbered
from trainer.geometry.fullness import offset_from_fullness
from trainer.shots.level import Level
from trainer.shots.shot import Shot
from trainer.shots.truth import Truth

NAME = "band"
TITLE = "Name the fullness"
HELP = (
    "Say how much of the object ball the cue ball covers at contact, seen along the line of aim: "
    "full is straight in, 1/2 is half a ball, thinner is next to nothing. "
    "Think of where the cue ball's centre must be when the balls touch, not of the point they touch at. "
    "The bands are the words for which shots go wrong; most pots need a finer aim than they can say."
)


def ask(level: Level, shot: Shot, truth: Truth, rng: np.random.Generator) -> Question:
    """Which of the level's bands is this shot? Nothing here is random, the bands are fixed."""
    asked = level.bands()
    best = min(range(len(asked)), key=lambda i: abs(asked[i].value - truth.fullness))
    for i, band in enumerate(asked):  # inside a band's own stretch that band is right
        if not level.answers.named and band.low <= truth.fullness < band.high:
            best = i
    return Question(
        drill=NAME,
        shot=shot,
        truth=truth,
        prompt="How full is it?",
        choices=numbered([(band.name, band.value) for band in asked]),
        best=best,
        width=float(level.answers.step),
    )


def called_offset(question: Question, value: float) -> float:
    """The signed offset of a called fullness, on the side that the shot is cut to."""
    return float(offset_from_fullness(value, question.truth.sign, question.shot.table.reach))


def error(question: Question, value: float) -> float:
    """Called fullness less true fullness: + thick, - thin, in ball widths."""
    return value - question.truth.fullness
