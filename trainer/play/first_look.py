"""The first ten calls of all: a look at the player's eye, and what can honestly be said after it.

Each call's error is the fullness that was said less the true one, in balls. Whether their mean is off from
none is told by Student's t with one chance in a hundred of telling what isn't so: an eye is thick or thin on
the whole or it isn't known yet. Which kinds of shot are seen wrong, no ten calls can tell.
"""

import math
from collections.abc import Sequence
from statistics import mean, stdev

from trainer.history.attempt import Attempt
from trainer.levels.level import Level
from trainer.shots.shot import Limits
from trainer.shots.style import Style

NAME = "first"
SHOTS = 10
# By degrees of freedom the value of Student's t that is passed, to either side, once in a hundred times: the
# standard table (from memory; a test works it out).
ONCE_IN_100 = {4: 4.604, 5: 4.032, 6: 3.707, 7: 3.499, 8: 3.355, 9: 3.250}
LEAST = 1 / 32  # balls: less isn't worth telling
LEAST_SCATTER = 0.01  # balls: ten calls that scatter less than this are an accident
A_WEEK = "Which angles you see wrong takes about 150 calls to tell: four days of forty."
USUAL = "Most players do at first: they forget the room that the cue ball itself takes up."

LEVEL = Level(
    name=NAME,
    title="A first look",
    teaches="Ten shots, to see how you see angles.",
    drill="band",
    views=("down", "plan"),
    line_to_pocket=True,
    adaptive=False,
    limits=Limits(cuts=(0.0, 60.0), cue_distance=(300.0, 700.0), pocket_distance=(150.0, 370.0)),
    shots=SHOTS,
    passed=None,
)


def bias_of(errors: Sequence[float]) -> float | None:
    """The mean of so many errors, in balls, + thick; None where it may as well be none."""
    if len(errors) - 1 not in ONCE_IN_100:
        return None
    middle, scatter = mean(errors), max(stdev(errors), LEAST_SCATTER)
    sure = abs(middle) > ONCE_IN_100[len(errors) - 1] * scatter / math.sqrt(len(errors))
    return middle if sure and abs(middle) >= LEAST else None


def finding(attempts: Sequence[Attempt], style: Style) -> tuple[str, ...]:
    """What can be said after the first look: some sentences."""
    errors = [attempt.error for attempt in attempts]
    right = sum(attempt.right for attempt in attempts)
    thick = sum(not attempt.right and attempt.error > 0 for attempt in attempts)
    thin = len(errors) - right - thick
    counted = f"{right} right, {thick} too thick, {thin} too thin."
    bias = bias_of(errors)
    if bias is None:
        return (counted, f"Too few calls to say more. {A_WEEK}")
    way = "thicker" if bias > 0 else "thinner"
    said = f"One thing shows already: you see hits {style.ball_part(bias)} {way} than they are."
    return (counted, said, *((USUAL,) if bias > 0 else ()), A_WEEK)
