"""Levels: which shots, which drill, which view, how fine the answers are, when it is passed; the chapters."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from trainer.drills import DRILLS
from trainer.drills.pick import Pick
from trainer.drills.question import Eye, Question, Task, strokes_named
from trainer.geometry.aiming import SPEEDS
from trainer.geometry.fullness import Kind
from trainer.geometry.tables import TABLES, Table
from trainer.names import VIEWS
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shot
from trainer.shots.tolerance import NOISE, TURNED_DOWN
from trainer.shots.truth import Truth, work_out

# In the order of the path. A level's file names its chapter by the title; own levels may name any other.
CHAPTERS = {
    "Name what you see": "Say how full a shot is: full, three quarters, half or a quarter ball.",
    "The point to aim at": "Aim the cue ball's centre, and not the spot where the balls touch.",
    "To an eighth": "What looks like half ball is often five eighths: see what lies between.",
    "Beside the ball": "Thin cuts leave nothing on the ball to aim at: find the place beside it.",
    "One angle, many places": "Know an angle again wherever it lies, and where to come to for it.",
    "What the balls do": "Allow for throw, come off a cushion, know where the cue ball goes.",
    "To a hair": "Half a table's width away a pot forgives 1/32 of a ball: see that much.",
    "Other tables, longer shots": "Other balls and pockets, more cloth between them: the same angles.",
    "As in a frame": "Balls about, nothing drawn to help: see the shot as at the table.",
}


FREE = "free"
MEASURE = "measure"
WORTH_TAKING = TURNED_DOWN, 1.0  # balls that a pot of free practice forgives
# What is different with a shot that comes again: its stroke, the first or the last of the level, or its view.
OTHER_STROKE, OTHER_VIEW = "stroke", "view"
AGAIN = OTHER_STROKE, OTHER_VIEW
SAMPLE = 200  # shots drawn to judge a level
SEED = 0
ABOUT_SHOTS = 12  # of practice about one kind of shot
USUAL = "aim"  # the usual drill: it asks as the table does
TEST, TEST_SHOTS = "test-", 8  # the name of a level's test begins so; how long it is
RARE = 5  # times fewer shots are drawn where they are rare


@dataclass(frozen=True)
class Pass:
    """When a level is passed: ``right`` of the last ``of`` calls, and once ``in_a_row``."""

    in_a_row: int = 5
    right: int = 10
    of: int = 12


@dataclass(frozen=True)
class Level(Task):
    """A task for a drill, with its views, a name, and when it is passed.

    A shot is first shown in the first of the ``views``. ``inset`` and ``whole_table``
    are the small pictures beside the large one: the object ball as the cue ball sees it, and the table.
    ``about`` is the stretch of cuts (sines, + left) that the set is about; None: what the player sees wrong
    decides. ``again`` says what is different where the shots of a set's first half come again in
    its second: one of ``AGAIN``; '' for none that does.
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
    again: str = ""
    shots: int = 12
    passed: Pass | None = field(default_factory=Pass)

    def views_of(self, number: int, of: int) -> tuple[str, ...]:
        """The views of a set's question of this number, of so many: the one it is first shown in first."""
        if self.again != OTHER_VIEW:
            return self.views
        second = number > of // 2
        return (self.views[(number - second * (of // 2) + second) % 2],)

    def with_drill(self, name: str) -> "Level":
        """The same shots, asked with another drill and its usual answers, as far as it can ask of them."""
        drill = DRILLS[name]
        return replace(
            self,
            drill=name,
            answers=drill.usual,
            limits=drill.fitted(self.limits),
            strokes=drill.strokes_after(self.strokes),
            views=tuple(view for view in self.views if view in drill.views) or drill.views,
            adaptive=self.adaptive and not drill.evenly,
            inset=self.inset or drill.needs_inset,
            others=self.others if drill.among_others else 0,
            balls=self.balls if drill.among_others else drill.balls,
            again="",
        )

    @property
    def picks(self) -> bool:
        """Whether every other question asks which ball can be potted, and the next asks of that ball."""
        return self.balls > 1 and self.drill != Pick.name

    @property
    def drills(self) -> tuple[str, ...]:
        """The drills that its questions are asked with."""
        return (Pick.name, self.drill) if self.picks else (self.drill,)

    def question(
        self, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye | None = None
    ) -> Question:
        """What it asks of a shot; ``eye`` is what is thought of the player's."""
        return DRILLS[self.drill].ask(self, shot, truth, rng, eye or Eye())


def free_practice(drill: str, tables: Mapping[str, Table] = TABLES) -> Level:
    """Every cut (that the drill asks about), any pocket, for as long as one likes.

    It is on an own table that replaces snooker, if there is one.
    """
    asks = DRILLS[drill]
    return Level(
        name=FREE,
        title="Free practice",
        teaches="Every cut, to every pocket, chosen by what you see wrong.",
        drill=drill,
        adaptive=not asks.evenly,
        views=asks.views,
        answers=asks.usual,
        limits=Limits(tables["snooker"], asks.cuts, forgives=WORTH_TAKING if asks.turns_down else None),
        strokes=asks.strokes_of(),
        balls=asks.balls,
        shots=20,
        passed=None,
    )


def about(kind: Kind, tables: Mapping[str, Table], drill: str | None = None) -> Level:
    """Practice about one kind of shot, named ``about-3/8-right``, among shots that look like it.

    Its title doesn't say which: to answer that every time must not do.
    """
    return replace(
        free_practice(drill or USUAL, tables),
        name=f"about-{kind.band}-{kind.side}",
        title="Mixed practice",
        teaches="What you see wrong, among shots that look like it.",
        about=kind.sines,
        shots=ABOUT_SHOTS,
    )


def as_test(level: Level) -> Level:
    """A level's test: a shorter set that passes the level, with less help and fewer misses allowed."""
    usual = level.passed or Pass()
    right = usual.right / usual.of
    allowed = TEST_SHOTS * (1.0 - right) * 2 / 3
    return replace(
        level,
        name=f"{TEST}{level.name}",
        title=f"Test: {level.title}",
        views=tuple(view for view in level.views if view != "plan") or level.views,
        line_to_pocket=False,
        adaptive=False,
        again="",
        shots=TEST_SHOTS,
        passed=Pass(usual.in_a_row, TEST_SHOTS - round(allowed), TEST_SHOTS),
    )


def at_a_pace(level: Level) -> Level:
    """The level with each shot at a speed and a spin, so that throw counts; as it is where it has its own.

    So too where more than one shot is asked of.
    """
    if level.strokes or not DRILLS[level.drill].among_others:
        return level
    return replace(level, strokes=strokes_named(tuple(SPEEDS)))


def narrowed(level: Level) -> Limits:
    """The level's limits, narrowed to what its drill can ask and to its named bands where it says so."""
    return DRILLS[level.drill].narrowed(level)


def narrowed_each(level: Level) -> list[Limits]:
    """The level's limits, narrowed, with each of its strokes; as they are where it has none."""
    return DRILLS[level.drill].narrowed_each(level)


def with_a_stroke(level: Level, limits: Limits, rng: np.random.Generator) -> Limits:
    """The limits with one of the level's strokes at random; as they are, nothing drawn, where it has none.

    Of a level whose shots come again with the other stroke it is the first or the last.
    """
    if not level.strokes:
        return limits
    if level.again == OTHER_STROKE:
        return limits.played(level.strokes[-int(rng.random() < 0.5)])
    return limits.played(level.strokes[int(rng.random() * len(level.strokes))])


def level_chance(level: Level, noise: float = NOISE, shots: int = SAMPLE, seed: int = SEED) -> float:
    """The part of a level's shots that a player with this noise pots: 1 easy, 0 hopeless.

    The mean of the drill's chances over ``shots`` shots drawn with ``seed``, the same every time. What is
    called by name counts as if it were called to the hair: the shots are what a level is hard by.
    """
    each = narrowed_each(level)
    if each[0].by_cushion is not None:  # such shots are rare, and drawing them takes long
        shots = -(-shots // RARE)
    rng, count, drill = np.random.default_rng(seed), -(-shots // len(each)), DRILLS[level.drill]
    drawn = [draw(rng, count, one) for one in each]
    return float(np.mean([drill.chances(level, some, work_out(some), noise).mean() for some in drawn]))
