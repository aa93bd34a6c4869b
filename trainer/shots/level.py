"""Levels: which shots, which drill, which view, how fine the answers are, when it is passed."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from trainer.geometry.aiming import Stroke
from trainer.geometry.bands import Band, bands
from trainer.geometry.cushion import CLEARLY
from trainer.geometry.tables import TABLES, Table
from trainer.shots.limits import CUT_LIMIT, Limits
from trainer.shots.names import VIEWS
from trainer.shots.speeds import FAST, MEDIUM, SLOW


@dataclass(frozen=True)
class Answers:
    """How fine the answers are.

    ``step`` in balls. ``named`` are the bands asked for by name (empty: all of this step that the
    cuts can give), ``choices`` the number of candidates in a row of aim points, ``within`` how near
    to a named band every shot lies (None: anywhere), ``ask`` what is asked of a pot by the cushion: the
    ``place`` to meet it, or the surer ``way``.
    """

    step: Fraction = Fraction(1, 8)
    named: tuple[str, ...] = ()
    choices: int = 7
    within: Fraction | None = None
    ask: str = "place"


@dataclass(frozen=True)
class Pass:
    """When a level is passed: ``right`` of the last ``of`` calls, and once ``in_a_row``."""

    in_a_row: int = 5
    right: int = 10
    of: int = 12


@dataclass(frozen=True)
class Level:
    """Which shots, which drill, which views, how fine the answers are, when it is passed.

    A shot is first shown in the first of the ``views``. Throw is counted, with one of the ``strokes`` at
    random, where there are any; else as the table has it.
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
    strokes: tuple[Stroke, ...] = ()
    shots: int = 12
    passed: Pass | None = field(default_factory=Pass)

    def with_drill(self, drill: str) -> "Level":
        """The same shots, asked with another drill and its usual answers, as far as it can ask of them."""
        limits = replace(self.limits, cuts=suited(drill, self.limits.cuts))
        strokes = self.strokes or strokes_of(drill)
        return replace(self, drill=drill, answers=Answers(), limits=limits, strokes=strokes)

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


FREE = "free"
# Degrees of cut that a drill can be asked of, where it can't of all.
SUITED: dict[str, tuple[float, float]] = {"edge": (30.0, CUT_LIMIT)}
SPEEDS = {"slow": SLOW, "medium": MEDIUM, "fast": FAST}
ROLLS = {"stun": 0.0, "roll": 1.0}


def strokes_of(drill: str, speeds: Sequence[str] = (), spins: Sequence[str] = ()) -> tuple[Stroke, ...]:
    """The strokes of a level: of the speeds and spins it names, or, where throw is asked, of all."""
    if not speeds and not spins and drill != "throw":
        return ()
    return tuple(Stroke(SPEEDS[speed], ROLLS[spin]) for speed in speeds or SPEEDS for spin in spins or ROLLS)


def suited(drill: str, cuts: tuple[float, float]) -> tuple[float, float]:
    """The part of the cuts that a drill can be asked of; all that it can, if there is none."""
    low, high = SUITED.get(drill, cuts)
    inside = max(low, cuts[0]), min(high, cuts[1])
    return inside if inside[0] < inside[1] else (low, high)


def free_practice(drill: str, tables: Mapping[str, Table] = TABLES) -> Level:
    """Every cut, any pocket, for as long as one likes; on an own table that replaces snooker, if any."""
    limits = Limits(tables["snooker"])
    return Level(
        name=FREE,
        title="Free practice",
        teaches="Every cut, to every pocket, chosen by what you see wrong.",
        drill=drill,
        limits=replace(limits, cuts=suited(drill, limits.cuts)),
        strokes=strokes_of(drill),
        shots=20,
        passed=None,
    )


def narrowed(level: Level) -> Limits:
    """The level's limits, narrowed to what its drill can ask and to its named bands where it says so."""
    within = level.answers.within
    if level.drill == "cushion":
        # Which way is surer is asked only where one clearly is.
        return replace(level.limits, by_cushion=CLEARLY if level.answers.ask == "way" else 1.0)
    if level.drill not in ("band", "back") or (within is None and not level.answers.named):
        return level.limits
    near = float(within) if within is not None else float(level.answers.step) / 2
    stretches = tuple((band.value - near, band.value + near) for band in level.bands())
    return replace(level.limits, fullness=stretches)
