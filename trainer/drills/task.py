"""What a drill needs to know to ask: which shots, and how fine the answers are."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from trainer.geometry.aiming import ROLLS, SPEEDS, Stroke
from trainer.geometry.fullness import Band, bands
from trainer.shots.limits import Limits

STEPS = tuple(Fraction(1, n) for n in (2, 4, 8, 16, 32))  # that answers may be apart, in balls
MOST_BALLS = 5  # to pick from
MOST_CHOICES = 9  # one key each, 1 to 9


@dataclass(frozen=True)
class Answers:
    """How fine the answers are.

    ``step`` in balls. ``named`` are the bands asked for by name (empty: all of this step that the
    cuts can give), ``choices`` the number of candidates in a row of aim points, ``within`` how near
    to a named band every shot lies (None: anywhere). ``mirrored``: the shots to compare a shot with are
    cut to the other side than it. ``ask`` says which of its questions a drill that has several asks
    (empty: its usual one).
    """

    step: Fraction = Fraction(1, 8)
    named: tuple[str, ...] = ()
    choices: int = 7
    within: Fraction | None = None
    mirrored: bool = True
    ask: str = ""


@dataclass(frozen=True, kw_only=True)
class Task:
    """What a drill asks of.

    Throw is counted, with one of the ``strokes`` at random, where there are any; else as the table has it.
    ``others`` is how many other balls lie about. Of so many ``balls`` one alone can be potted, and the
    player first says which.
    """

    limits: Limits = field(default_factory=Limits)
    answers: Answers = field(default_factory=Answers)
    strokes: tuple[Stroke, ...] = ()
    others: int = 0
    balls: int = 1

    def bands(self) -> tuple[Band, ...]:
        """The named bands, or else those of the step that the cuts can give, fullest first."""
        every = bands(self.answers.step)
        if self.answers.named:
            return tuple(band for band in every if band.name in self.answers.named)
        thick, thin = (1 - math.sin(math.radians(cut)) for cut in self.limits.cuts)
        return tuple(band for band in every if band.high > thin + 1e-9 and band.low < thick - 1e-9)


@dataclass(frozen=True)
class Problem:
    """What is wrong with a task as a level's file has it: the file's key, what is wrong, what is allowed."""

    key: str
    wrong: str
    allowed: str


@dataclass(frozen=True)
class Needed:
    """Shots that a task can't do without.

    Where the limits leave none, ``whose`` begins what is said of that, and ``allowed`` says what helps.
    """

    limits: Limits
    whose: str = ""
    allowed: str = "wider limits"


def strokes_named(speeds: Sequence[str], spins: Sequence[str] = ()) -> tuple[Stroke, ...]:
    """Every stroke of these speeds and spins by name; no spin named is all of them."""
    return tuple(Stroke(SPEEDS[speed], ROLLS[spin]) for speed in speeds for spin in spins or ROLLS)
