"""Levels: which shots, which drill, which view, how fine the answers are, when it is passed."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np

from trainer.geometry.aiming import Stroke
from trainer.geometry.bands import THINNER, Band, bands
from trainer.geometry.cushion import CLEARLY
from trainer.geometry.tables import TABLES, Table
from trainer.shots.limits import ANY_CUT, CUT_LIMIT, SIDES, Limits
from trainer.shots.names import VIEWS
from trainer.shots.speeds import FAST, MEDIUM, SLOW

# The cuts (degrees) that a drill asks about where it doesn't ask about all: usually, and at most.
CUTS = {
    "edge": ((30.0, ANY_CUT[1]), (30.0, CUT_LIMIT)),
    # Thicker, and the cue ball hardly moves after stun, or runs after the object ball.
    "send": ((14.0, ANY_CUT[1]), (14.0, CUT_LIMIT)),
    "straight": ((0.0, 8.0), (0.0, 16.0)),
}
# Drills that ask of one shot, which other balls may lie about.
AMONG_OTHERS = ("band", "aim", "slide", "judge", "edge", "throw", "straight")
# Drills whose question can be answered from the large picture alone.
WITHOUT_INSET = ("band", "slide", "judge", "throw", "straight", "back", "pick")
PICK = "pick"  # the drill that asks which of some balls can be potted
BALLS = 3  # for it to choose from, usually
# Drills whose few cuts are asked evenly: a run of shots about one of them would give its answer away.
EVEN = ("straight",)


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
    random, where there are any; else as the table has it. ``others`` is how many other balls lie about. Of
    so many ``balls`` one alone can be potted, and the player first says which. ``inset`` and ``whole_table``
    are the small pictures beside the large one: the object ball as the cue ball sees it, and the table.
    ``about`` is the stretch of cuts (sines, + left) that most shots are chosen from; None: what the player
    sees wrong decides.
    """

    name: str
    title: str
    teaches: str
    drill: str
    chapter: str = ""
    place: int = 1000
    views: tuple[str, ...] = VIEWS
    line_to_pocket: bool = False
    inset: bool = True
    whole_table: bool = True
    adaptive: bool = True
    about: tuple[float, float] | None = None
    limits: Limits = field(default_factory=Limits)
    answers: Answers = field(default_factory=Answers)
    strokes: tuple[Stroke, ...] = ()
    others: int = 0
    balls: int = 1
    shots: int = 12
    passed: Pass | None = field(default_factory=Pass)

    def with_drill(self, drill: str) -> "Level":
        """The same shots, asked with another drill and its usual answers, as far as it can ask of them."""
        limits, strokes = self.limits, self.strokes or strokes_of(drill)
        if drill == "send":  # a slow stun wouldn't get the cue ball anywhere off the thickest cuts
            strokes = strokes_of(drill)
        if drill in EVEN:
            limits = replace(limits, cuts=usual_cuts(drill), sides=SIDES, fullness=(), forgives=None)
        else:
            limits = replace(limits, cuts=suited(drill, limits.cuts))
        return replace(
            self,
            drill=drill,
            answers=Answers(),
            limits=limits,
            strokes=strokes,
            views=tuple(view for view in self.views if view in views_of(drill)) or views_of(drill),
            adaptive=self.adaptive and drill not in EVEN,
            inset=self.inset or drill not in WITHOUT_INSET,
            others=self.others if drill in AMONG_OTHERS else 0,
            balls=self.balls if drill in AMONG_OTHERS else balls_of(drill),
        )

    @property
    def picks(self) -> bool:
        """Whether every other question asks which ball can be potted, and the next asks of that ball."""
        return self.balls > 1 and self.drill != PICK

    @property
    def drills(self) -> tuple[str, ...]:
        """The drills that its questions are asked with."""
        return (PICK, self.drill) if self.picks else (self.drill,)

    @property
    def ask(self) -> str:
        """Which of its questions the drill asks; empty where it has but one."""
        return self.answers.ask or ASKS.get(self.drill, ("",))[0]

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


OPTIONS = 4  # shots to compare one with
STRAIGHT = 0.02  # sine of the least cut that has a side


def options_limits(level: Level) -> Limits:
    """What the shots may be that shots are compared with: up to three steps thicker or thinner."""
    low, high = (math.sin(math.radians(cut)) for cut in level.limits.cuts)
    most = (OPTIONS - 1) * float(level.answers.step)
    thick, thin = max(low - most, min(low, STRAIGHT)), min(high + most, math.sin(math.radians(CUT_LIMIT)))
    cuts = math.degrees(math.asin(thick)), math.degrees(math.asin(thin))
    sides = ("left", "right") if level.answers.mirrored else level.limits.sides
    return replace(level.limits, cuts=cuts, sides=sides)


FREE = "free"
SPEEDS = {"slow": SLOW, "medium": MEDIUM, "fast": FAST}
ROLLS = {"stun": 0.0, "roll": 1.0}
# The speeds of the drills that are asked with a stroke, where a level names none.
STROKED = {"throw": tuple(SPEEDS), "send": ("medium",)}
GETS_AWAY = 4.0  # ball widths that the cue ball must get away, where it is sent somewhere


def strokes_of(drill: str, speeds: Sequence[str] = (), spins: Sequence[str] = ()) -> tuple[Stroke, ...]:
    """The strokes of a level: of the speeds and spins it names, else those that its drill always has."""
    if not speeds and not spins and drill not in STROKED:
        return ()
    speeds = speeds or STROKED.get(drill, tuple(SPEEDS))
    return tuple(Stroke(SPEEDS[speed], ROLLS[spin]) for speed in speeds for spin in spins or ROLLS)


def balls_of(drill: str) -> int:
    """How many balls a drill chooses from where nothing else is said."""
    return BALLS if drill == PICK else 1


def usual_cuts(drill: str) -> tuple[float, float]:
    """The cuts that a drill asks about where nothing else is said, degrees."""
    return CUTS[drill][0] if drill in CUTS else ANY_CUT


def suited(drill: str, cuts: tuple[float, float]) -> tuple[float, float]:
    """The part of the cuts that a drill can be asked of; its usual ones, if there is none."""
    low, high = CUTS[drill][1] if drill in CUTS else cuts
    inside = max(low, cuts[0]), min(high, cuts[1])
    return inside if inside[0] < inside[1] or low == high else usual_cuts(drill)


# The questions that the key ``ask`` may name, the usual one first.
ASKS: dict[str, tuple[str, ...]] = {"leave": ("place",), "cushion": ("place", "way")}
# The views that a drill's question can be seen in, where it can't in all.
SEEN: dict[tuple[str, str], tuple[str, ...]] = {("leave", "place"): ("plan",)}
EXACT = 1e-9  # balls: a shot so near to a band has its fullness


def views_of(drill: str, ask: str = "") -> tuple[str, ...]:
    """The views in which a drill's question makes sense; without ``ask`` its usual question."""
    return SEEN.get((drill, ask or ASKS.get(drill, ("",))[0]), VIEWS)


def free_practice(drill: str, tables: Mapping[str, Table] = TABLES) -> Level:
    """Every cut (that the drill asks about), any pocket, for as long as one likes.

    It is on an own table that replaces snooker, if there is one.
    """
    return Level(
        name=FREE,
        title="Free practice",
        teaches="Every cut, to every pocket, chosen by what you see wrong.",
        drill=drill,
        adaptive=drill not in EVEN,
        views=views_of(drill),
        limits=Limits(tables["snooker"], usual_cuts(drill)),
        strokes=strokes_of(drill),
        balls=balls_of(drill),
        shots=20,
        passed=None,
    )


def narrowed(level: Level) -> Limits:
    """The level's limits, narrowed to what its drill can ask and to its named bands where it says so."""
    if (level.drill, level.ask) == ("leave", "place"):
        return replace(level.limits, fullness=_exactly(level))
    within = level.answers.within
    if level.drill == "cushion":
        # Which way is surer is asked only where one clearly is.
        return replace(level.limits, by_cushion=CLEARLY if level.ask == "way" else 1.0)
    if level.drill == "send":
        return replace(level.limits, gets_away=GETS_AWAY)
    if level.drill not in ("band", "back") or (within is None and not level.answers.named):
        return level.limits
    near = float(within) if within is not None else float(level.answers.step) / 2
    stretches = tuple((band.value - near, band.value + near) for band in level.bands())
    return replace(level.limits, fullness=stretches)


def narrowed_each(level: Level) -> list[Limits]:
    """The level's limits, narrowed, with each of its strokes; as they are where it has none."""
    limits = narrowed(level)
    return [limits.played(stroke) for stroke in level.strokes] or [limits]


def with_a_stroke(level: Level, limits: Limits, rng: np.random.Generator) -> Limits:
    """The limits with one of the level's strokes at random; as they are, nothing drawn, where it has none."""
    if not level.strokes:
        return limits
    return limits.played(level.strokes[int(rng.random() * len(level.strokes))])


def _exactly(level: Level) -> tuple[tuple[float, float], ...]:
    """Stretches that hold the fullness of each of a level's bands alone; none where its cuts give none."""
    thick, thin = (1.0 - math.sin(math.radians(cut)) for cut in level.limits.cuts)
    named = [band.value for band in level.bands() if band.name != THINNER]
    held = [value for value in named if thin - EXACT <= value <= thick + EXACT]
    return tuple((value - EXACT, value + EXACT) for value in held)
