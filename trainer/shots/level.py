"""Levels: which shots, which drill, which view, how fine the answers are, when it is passed."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from trainer.geometry.bands import Band, bands
from trainer.geometry.tables import TABLES, Table
from trainer.shots.limits import ANY_CUT, SIDES, Limits
from trainer.shots.names import VIEWS

CUTS = {"straight": (0.0, 8.0)}
"""The cuts (degrees) that a drill asks about, where it doesn't ask about all.

So few are asked evenly: a run of shots about one of them would give its answer away.
"""


@dataclass(frozen=True)
class Answers:
    """How fine the answers are.

    ``step`` in balls. ``named`` are the bands asked for by name (empty: all of this step that the
    cuts can give), ``choices`` the number of candidates in a row of aim points, ``within`` how near
    to a named band every shot lies (None: anywhere).
    """

    step: Fraction = Fraction(1, 8)
    named: tuple[str, ...] = ()
    choices: int = 7
    within: Fraction | None = None


@dataclass(frozen=True)
class Pass:
    """When a level is passed: ``right`` of the last ``of`` calls, and once ``in_a_row``."""

    in_a_row: int = 5
    right: int = 10
    of: int = 12


@dataclass(frozen=True)
class Level:
    """Which shots, which drill, which views, how fine the answers are, when it is passed.

    A shot is first shown in the first of the ``views``.
    """

    name: str
    title: str
    teaches: str
    drill: str
    place: int = 1000
    views: tuple[str, ...] = VIEWS
    line_to_pocket: bool = False
    adaptive: bool = True
    limits: Limits = field(default_factory=Limits)
    answers: Answers = field(default_factory=Answers)
    shots: int = 12
    passed: Pass | None = field(default_factory=Pass)

    def with_drill(self, drill: str) -> "Level":
        """The same shots, asked with another drill and its usual answers; of the cuts it asks about."""
        asked = replace(self, drill=drill, answers=Answers())
        if drill not in CUTS:
            return asked
        limits = replace(self.limits, cuts=CUTS[drill], sides=SIDES, fullness=(), forgives=None)
        return replace(asked, adaptive=False, limits=limits)

    def bands(self) -> tuple[Band, ...]:
        """The bands that this level asks for, fullest first."""
        return bands_asked(self.answers, self.limits)


def bands_asked(answers: Answers, limits: Limits) -> tuple[Band, ...]:
    """The named bands, or else those of the step that the limits' cuts can give."""
    every = bands(answers.step)
    if answers.named:
        return tuple(band for band in every if band.name in answers.named)
    thick, thin = (1 - math.sin(math.radians(cut)) for cut in limits.cuts)
    return tuple(band for band in every if band.high > thin + 1e-9 and band.low < thick - 1e-9)


def usual_cuts(drill: str) -> tuple[float, float]:
    """The cuts that a drill asks about where nothing else is said, degrees."""
    return CUTS.get(drill, ANY_CUT)


FREE = "free"


def free_practice(drill: str, tables: Mapping[str, Table] = TABLES) -> Level:
    """Every cut (that the drill asks about), any pocket, for as long as one likes.

    It is on an own table that replaces snooker, if there is one.
    """
    return Level(
        name=FREE,
        title="Free practice",
        teaches="Every cut, to every pocket, chosen by what you see wrong.",
        drill=drill,
        adaptive=drill not in CUTS,
        limits=Limits(tables["snooker"], usual_cuts(drill)),
        shots=20,
        passed=None,
    )


def narrowed(level: Level) -> Limits:
    """The level's limits, with the shots kept near its named bands where it says so."""
    within = level.answers.within
    if level.drill != "band" or (within is None and not level.answers.named):
        return level.limits
    near = float(within) if within is not None else float(level.answers.step) / 2
    stretches = tuple((band.value - near, band.value + near) for band in level.bands())
    return replace(level.limits, fullness=stretches)
