"""The primer: what fullness is, played page by page, for somebody who has never heard of it.

Each page says one thing, lets the player slide a line of aim and watch where the ball goes, and ends in a
call about another shot. The calls are kept like any others, so it is left and taken up again like any set.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np

from trainer import drills
from trainer.drills import Choice, Question, words
from trainer.drills.question import Answers
from trainer.geometry.aiming import SPEEDS, Stroke
from trainer.geometry.vectors import angle_between, unit
from trainer.history.store import PlayedSet
from trainer.levels.level import Level
from trainer.play.set_in_play import Keeper, SetInPlay
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Point, point
from trainer.shots.style import Style
from trainer.shots.truth import truth_of

NAME = "primer"
FAR = (600.0, 900.0)  # mm to the pocket, where a page is about how little it takes
CLOSE = Limits(cuts=(0.0, 70.0), cue_distance=(300.0, 600.0), pocket_distance=(300.0, 600.0))


@dataclass(frozen=True)
class Page:
    """One page: what it says, the shot to try it on, and the call it ends in, with what is said to that.

    ``tried`` is the cut (degrees, + left) of the shot to slide the line over, ``start`` where that line
    stands at first, as a part of the offset that pots (None: where it would pot if balls didn't rub); it
    never pots from there. ``cuts`` are those that the call's shot is drawn from, ``distance`` (mm, from and
    to) is that to the pocket. ``contact``: the place where the balls must touch is marked.
    """

    title: str
    says: str
    then: str
    drill: str
    tried: float
    start: float | None
    cuts: tuple[float, ...]
    answers: Answers = field(default_factory=Answers)
    line_to_pocket: bool = False
    strokes: tuple[Stroke, ...] = ()
    distance: tuple[float, float] = CLOSE.pocket_distance
    contact: bool = False

    @property
    def limits(self) -> Limits:
        """What its shots may be."""
        limits = replace(CLOSE, pocket_distance=self.distance)
        return limits.played(self.strokes[0]) if self.strokes else limits

    def level(self, limits: Limits) -> Level:
        """The page as a level, for the drill that asks its call."""
        return Level(
            name=NAME,
            title=self.title,
            teaches=self.says,
            drill=self.drill,
            line_to_pocket=self.line_to_pocket,
            limits=limits,
            answers=self.answers,
            strokes=self.strokes,
            passed=None,
        )


QUARTERS = Answers(step=Fraction(1, 4))
PAGES = (
    Page(
        "Fullness",
        "How much of the object ball the cue ball covers as they meet, seen along the line of aim. Slide "
        "the line over the ball: the faint line is the way the ball would go. Full sends it straight on, "
        "a thin hit far to the side.",
        drill="band",
        then=(
            "Now name one. How much of the object ball must the cue ball cover to send it into the lit "
            "pocket?"
        ),
        tried=20.0,
        start=0.0,
        cuts=(0.0, 14.48, 30.0, 48.59),
        answers=QUARTERS,
    ),
    Page(
        "The cue ball takes up space",
        "The line now points at the spot x, where the balls must touch, and yet the ball goes wide: the "
        "cue ball's side gets there before its centre: too thick. Slide on until it pots: twice as far "
        "out.",
        drill="aim",
        then=(
            "Now pick a point. The spot x, where the balls must touch, is on the line to the pocket: the "
            "centre goes twice as far out."
        ),
        tried=35.0,
        start=0.5,
        cuts=(25.0, -35.0),
        answers=Answers(step=Fraction(1, 4), choices=5),
        line_to_pocket=True,
        contact=True,
    ),
    Page(
        "Where the centre goes",
        "At contact the cue ball lies one ball behind the object ball on the line to the pocket: slide its "
        "centre there. How far from the ball's centre that is and what it covers make one ball: 0.40 out "
        "covers 0.60.",
        drill="slide",
        then=(
            "Now set the line yourself, for another shot: its centre must come to lie on the line to the "
            "pocket, one ball behind."
        ),
        tried=-25.0,
        start=0.0,
        cuts=(20.0, -28.0),
        line_to_pocket=True,
    ),
    Page(
        "Half ball",
        "With the centre of the cue ball at the very edge of the object ball half of it is covered. That is "
        "half ball, and it turns the ball by 30 degrees wherever the balls lie: the one to know by heart. "
        "Slide there.",
        drill="back",
        then="Now lay one. Walk the cue ball round the object ball until the pot is a half ball.",
        tried=30.0,
        start=0.0,
        cuts=(30.0, -30.0),
        answers=Answers(step=Fraction(1, 2), named=("1/2",)),
    ),
    Page(
        "Beyond the edge",
        "Thinner than half ball the centre goes past the edge, and there is nothing there to aim at. "
        "Slide out to where it pots. What still points at the ball is the cue ball's inside edge, the "
        "side near the ball.",
        drill="edge",
        then=(
            "Now one by the edge. The line drawn is not the centre of the cue ball but its inside edge: set "
            "where it runs."
        ),
        tried=50.0,
        start=0.5,
        cuts=(45.0, -52.0),
        line_to_pocket=True,
    ),
    Page(
        "Sides",
        "A ball is cut to the left or to the right, as you see it; to send it left the cue ball passes on "
        "the right. This one must go right, but the line is on the wrong side: slide it over. Many see "
        "one side otherwise than the other.",
        drill="aim",
        then="Now another one, to the one side or the other: first see which, then how far out.",
        tried=-15.0,
        start=-1.0,
        cuts=(10.0, -10.0, 22.0, -22.0),
        answers=Answers(step=Fraction(1, 4), choices=7),
    ),
    Page(
        "What a quarter of a ball is worth",
        "From full to 3/4 the ball turns by 14 degrees, on to 1/2 by 16, to 1/4 by 19, and from there by "
        "41 to a graze, which only just touches it. An eighth of a ball off misses most pots: slide and "
        "see.",
        drill="band",
        then="Now name one to an eighth. Between the quarters lie the pots that are missed.",
        tried=25.0,
        start=0.5,
        cuts=(7.18, 22.02, 38.68, 61.04),
    ),
    Page(
        "How fine a shot is",
        "A pocket forgives a little: near it a tenth of a ball, from far a fiftieth. A ball may even go "
        "in off a jaw, the rounded end of a cushion at the pocket. So pots are easy, medium or hard: "
        "slide and see.",
        drill="slide",
        then=(
            "Now set one. The mark says how far off it was and how hard the pot is; ask it why, and it says "
            "how much the pocket forgave."
        ),
        tried=40.0,
        start=0.9,
        cuts=(35.0, -42.0),
        distance=FAR,
    ),
    Page(
        "Throw",
        "Balls rub as they touch, which throws the object ball a little along the cue ball's way. The "
        "line now would pot without that: slide a little thinner. Throw is most when the cue ball is slow "
        "and slides, not rolls: stun.",
        drill="throw",
        then="Now set one that is thrown: a little thinner than the line to the pocket asks for.",
        tried=30.0,
        start=None,
        cuts=(30.0, -30.0),
        strokes=(Stroke(SPEEDS["slow"], 0.0),),
        distance=FAR,
    ),
)
LEVEL = Level(
    name=NAME,
    title="From the beginning",
    teaches="What fullness is, in nine pages that are played.",
    drill=NAME,
    views=("down", "plan", "standing"),
    limits=CLOSE,
    shots=len(PAGES),
    passed=None,
)


# The page that helps most, by itself: why shots go thick.
SPACE = replace(
    LEVEL,
    name="space",
    title="The cue ball takes up space",
    teaches="Why shots go thick, in one page that is played.",
    shots=1,
)
PAGES_OF = {LEVEL.name: PAGES, SPACE.name: PAGES[1:2]}


class Primer(SetInPlay):
    """The primer under way, or a page of it: a set whose every question is the call of a page."""

    def __init__(self, game: Keeper, level: Level, kept: PlayedSet) -> None:
        super().__init__(game, level, kept)
        self.pages = PAGES_OF[level.name]
        self._tried = 0  # the last page whose line has been slid enough

    @property
    def page(self) -> Page:
        """The page that the present question ends."""
        return self.pages[min(self.number, len(self.pages)) - 1]

    @property
    def trying(self) -> bool:
        """Whether the page's line is still to be slid, before its call."""
        return not self.done and self._tried < self.number

    def go_on(self) -> None:
        """Enough of sliding: to the call."""
        self._tried = self.number

    def trial(self) -> Question:
        """The line to slide: no call is made of it."""
        page, rng = self.page, np.random.default_rng([self.kept.seed, self.number, 1])
        limits = page.limits
        offset = math.sin(math.radians(page.tried)) * limits.table.reach
        shot = draw(rng, 1, limits, [offset])[0]
        level = replace(page.level(limits), drill="slide")
        asked = level.question(shot, truth_of(shot), rng)
        assert asked.dial is not None
        rubs_not = truth_of(replace(shot, stroke=None)).offset
        dial = replace(asked.dial, start=rubs_not if page.start is None else page.start * offset)
        return replace(asked, dial=dial, prompt="Slide it.")

    def _ask(self) -> Question:
        page, rng = self.page, np.random.default_rng([self.kept.seed, self.number])
        limits = page.limits
        cut = page.cuts[int(rng.random() * len(page.cuts))]
        shot = draw(rng, 1, limits, [math.sin(math.radians(cut)) * limits.table.reach])[0]
        return page.level(limits).question(shot, truth_of(shot), rng)


def way_of_trial(question: Question, choice: Choice) -> Sequence[Point]:
    """Where the ball goes from a line that is tried: to what it meets first."""
    mark = drills.mark(question, choice)
    return (question.shot.object_ball, mark.met.at) if mark.met else ()


def where_they_touch(question: Question) -> Point:
    """The place of the object ball, mm, that the cue ball must touch."""
    ball, touching = np.array(question.shot.object_ball), np.array(question.truth.touching)
    return point(ball + unit(touching - ball) * question.shot.table.balls.object_radius)


def told_of_trial(question: Question, choice: Choice, style: Style) -> str:
    """What a line that is tried does: ``0.38 right of centre covers 0.62, turns it by 22°: it pots``."""
    mark = drills.mark(question, choice)
    runs = "the centre" if words.is_centre(mark.offset) else words.point_name(mark.offset)
    if mark.way is None:
        return f"{runs} misses the ball"
    covers = 1.0 - abs(mark.offset) / question.shot.table.reach
    turns = math.degrees(abs(float(angle_between(np.array(mark.aim), np.array(mark.way)))))
    goes = "sends it straight on" if turns < 0.5 else f"turns it by {turns:.0f}°"
    ends = "it pots" if mark.potted else f"{style.distance(mark.miss_mm)} wide"
    return f"{runs} covers {covers:.2f}, {goes}: {ends}"
