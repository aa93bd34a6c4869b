"""The drill *aim*: which of a row of points must the cue ball's centre be sent at?"""

import numpy as np

from trainer.drills.question import Question, numbered
from trainer.shots.level import Level
from trainer.shots.shot import Shot
from trainer.shots.truth import Truth

NAME = "aim"
TITLE = "Pick the aim point"
HELP = (
    "Pick the point to send the cue ball's centre at, out of the row on and beside the object ball. "
    "The points are numbered from left to right as you see them from behind the cue ball. "
    "Half a ball is the object ball's very edge; for thinner cuts the point lies outside the ball."
)

WIDEST = 1.25  # ball widths: farther out the cue ball misses by more than anyone would call
# The best candidate lies within this part of the margin, so it pots with something to spare.
PART_OF_MARGIN = 0.8
PART_OF_STEP = 0.45


def ask(level: Level, shot: Shot, truth: Truth, rng: np.random.Generator) -> Question:
    """A row of evenly spaced candidates; the true point is anywhere in it, and rarely on one."""
    step, n = float(level.answers.step), level.answers.choices
    residue = _residue(truth, shot.table.reach, step, rng)
    nearest = truth.offset + residue
    # Places in the row that keep it within reach; the middle one where the row is too wide for any.
    places = [k for k in range(n) if nearest - k * step >= -WIDEST and nearest + (n - 1 - k) * step <= WIDEST]
    best = places[int(rng.random() * len(places))] if places else n // 2
    values = [nearest + (i - best) * step for i in range(n)]
    return Question(
        drill=NAME,
        shot=shot,
        truth=truth,
        prompt="Where do you send the cue ball's centre?",
        choices=numbered([(point_name(value), value) for value in values]),
        best=best,
        width=step,
    )


def _residue(truth: Truth, reach: float, step: float, rng: np.random.Generator) -> float:
    """How far the best candidate lies from the true point, in ball widths."""
    low, high = (PART_OF_MARGIN * (end - truth.fullness) * reach for end in truth.margin)
    most = PART_OF_STEP * step
    thick = max(low, -most) + (min(high, most) - max(low, -most)) * rng.random()
    return float(-truth.sign * thick)


def point_name(value: float) -> str:
    """A point's name: its distance from the object ball's centre in hundredths of a ball."""
    if abs(value) < 0.005:
        return "centre"
    return f"{abs(value):.2f} {'right' if value > 0 else 'left'} of centre"


def called_offset(question: Question, value: float) -> float:
    """A point's value is its offset."""
    return value


def error(question: Question, value: float) -> float:
    """The sign of the cut times (true - called offset): + thick, - thin, in ball widths."""
    truth = question.truth
    if truth.offset == 0:  # straight in: any other point is thin
        return -abs(value)
    return truth.sign * (truth.offset - value)
