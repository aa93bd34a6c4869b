"""The first ten calls of all: a look at the player's eye, and what can honestly be said after it.

It begins with three answers that are far apart, and gets finer only as the calls show that it may: whoever
is new ends with more right than wrong, and who sees well is at eighths within a few shots. What is wrong with
all shots may show in ten calls; which kinds of shot are seen wrong, no ten can tell.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from trainer.drills.question import Answers
from trainer.history.attempt import Attempt
from trainer.levels.level import Level
from trainer.play.diagnosis import Diagnosis
from trainer.play.set_in_play import SetInPlay
from trainer.shots.shot import Limits

NAME = "first"
SHOTS = 10
MORE = "Each set goes by what you called before it, and soon it can say which angles you see wrong."

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


# From three answers far apart to all eighths, each near enough to its name to pot.
STAGES = (
    Answers(Fraction(1, 4), named=("full", "1/2", "1/4"), within=Fraction(1, 16)),
    Answers(Fraction(1, 4), within=Fraction(1, 16)),
    Answers(Fraction(1, 8), within=Fraction(1, 64)),
)
IN_A_ROW = 2  # right ones, and it gets finer; wrong ones, and it gets coarser


class FirstLook(SetInPlay):
    """A first look under way."""

    @property
    def level_now(self) -> Level:
        """With answers as fine as the calls up to now show that they may be."""
        return replace(self.level, answers=STAGES[stage_after(self.rights)])

    @property
    def findings(self) -> tuple[str, ...]:
        """What can be said after it."""
        return finding(self.attempts, self.game.diagnosis)


def stage_after(rights: Sequence[bool]) -> int:
    """The place among ``STAGES`` of the next question, after calls that were right or not."""
    stage, run, before = 0, 0, True
    for right in rights:
        run = run + 1 if right == before else 1
        before = right
        if run == IN_A_ROW:
            stage = min(max(stage + (1 if right else -1), 0), len(STAGES) - 1)
            run = 0
    return stage


def finding(attempts: Sequence[Attempt], diagnosis: Diagnosis) -> tuple[str, ...]:
    """What can be said after the first look: some sentences."""
    right = sum(attempt.right for attempt in attempts)
    thick = sum(not attempt.right and attempt.error > 0 for attempt in attempts)
    counted = f"{right} right, {thick} too thick, {len(attempts) - right - thick} too thin."
    if diagnosis.worst is None:
        return (counted, f"Too few calls to say more. {MORE}")
    return (counted, f"One thing shows already. {diagnosis.worst.says}", diagnosis.worst.todo)
