"""The first ten calls of all: a look at the player's eye, and what can honestly be said after it.

What is wrong with all shots may show in ten calls; which kinds of shot are seen wrong, no ten can tell.
"""

from collections.abc import Sequence

from trainer.history.attempt import Attempt
from trainer.levels.level import Level
from trainer.play.diagnosis import Diagnosis
from trainer.shots.shot import Limits

NAME = "first"
SHOTS = 10
A_WEEK = "Which angles you see wrong takes about 150 calls to tell: four days of forty."

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


def finding(attempts: Sequence[Attempt], diagnosis: Diagnosis) -> tuple[str, ...]:
    """What can be said after the first look: some sentences."""
    right = sum(attempt.right for attempt in attempts)
    thick = sum(not attempt.right and attempt.error > 0 for attempt in attempts)
    counted = f"{right} right, {thick} too thick, {len(attempts) - right - thick} too thin."
    if diagnosis.worst is None:
        return (counted, f"Too few calls to say more. {A_WEEK}")
    return (counted, f"One thing shows already. {diagnosis.worst.says}", diagnosis.worst.todo)
