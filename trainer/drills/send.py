"""The drill *send*: how full a hit sends the cue ball over a place of the cloth?

The shot's own fullness does it, and others may: a rolling ball turns off about as much after 1/4 as after
3/4. The one nearest to the call counts as the truth. The pocket plays no part.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from trainer.drills import words
from trainer.drills.drill import ANYWHERE, Shown
from trainer.drills.mark import PLAYED, Mark, Run, after_contact
from trainer.drills.question import Asked, Choice, Eye, Question, Task
from trainer.drills.slide import WIDEST, Slide, offset_dial
from trainer.drills.words import Step, called, in_numbers, named, pots
from trainer.geometry.aiming import Stroke, send, signed_throw
from trainer.geometry.cue_path import NO_CUSHION, CuePath, points, separation
from trainer.geometry.cushion import CUSHIONS
from trainer.geometry.sending import TOUCH, Stretch, passes, passing, sent_over
from trainer.geometry.vectors import (
    Floats,
    angle_between,
    clipped,
    cross,
    distance_to_way,
    length,
    unit,
    way_to_edge,
)
from trainer.shots.shot import ANY_CUT, CUT_LIMIT, Limits, Point, Shot, Shots, point
from trainer.shots.style import HAIR, Style, as_full
from trainer.shots.tolerance import chance
from trainer.shots.truth import Truth, Truths, truth_of

RADIUS = 1.0  # ball widths
GETS_AWAY = 4.0  # ball widths that the cue ball must get away
NEAREST = 3.0  # ball widths from the object ball's place, beyond contact
FARTHEST = 1200.0  # mm from contact along the way: a place farther off is not looked for
FAR_PART = 0.5  # of the room on the way: near the object ball nearly any hit gets to a place
PARTS = 256  # of the curve and of the straight way, at whose ends a place may lie
DIGITS = 6  # of a place's mm: a curve's last bits aren't the same on every machine
CALLS = 800  # between graze and graze, to tell how likely a place is reached
CORNERS = 48  # of the place, as it is drawn
SAME = 1e-6  # balls: a middle so near to the shot's own fullness is that
TELLING = 3 / 8  # balls: of a wider stretch a call doesn't say what was looked for in it
ORDER = ("aim", "offset", "fullness", "touching", "way")  # of the construction
OUT = "misses the object ball"


@dataclass(frozen=True)
class Region:
    """A round part of the cloth, mm."""

    middle: Point
    radius: float


@dataclass(frozen=True, kw_only=True)
class SendQuestion(Question):
    """``region`` is where the cue ball is to be sent; no pocket is called."""

    region: Region

    @property
    def target(self) -> None:
        """None: no pocket is called."""
        return


class Send(Slide):
    """Send the cue ball.

    What is called is the signed offset of the line of aim, as in `slide`. The settled question's truth is
    that of the place: its ``target`` is the middle, its ``margin`` the stretch that is nearest to the call.
    """

    name = "send"
    title = "Send the cue ball"
    help = (
        "A place on the cloth is lit: hit the object ball so full that the cue ball's centre then runs over "
        "it, with the speed and the spin that are said; where the object ball goes doesn't matter. "
        "Stunned, sliding without a roll, the cue ball leaves at 90 degrees to the object ball's way; "
        "rolling it turns off by about 30 degrees from a quarter ball to three quarters, and less beyond. "
        "You can move it in large steps, in small ones, or by a hair (keys below)."
    )
    views = ("standing", "plan", "down")
    skill = "send"
    cuts = (
        14.0,
        ANY_CUT[1],
    )  # thicker, and the cue ball hardly moves after stun, or runs after the object ball
    most_cuts = (14.0, CUT_LIMIT)
    among_others = False
    needs_inset = True
    turns_down = False
    calls_pocket = False
    speeds = ("medium",)
    true = "the true way"
    done = ("gets there", "get there")

    def strokes_after(self, strokes: tuple[Stroke, ...]) -> tuple[Stroke, ...]:
        """Its own: a slow stun wouldn't get the cue ball anywhere off the thickest cuts."""
        return self.strokes_of()

    def narrowed(self, task: Task) -> Limits:
        """Shots after which the cue ball gets away."""
        return replace(task.limits, gets_away=GETS_AWAY)

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """A line to slide, and a place on the cue ball's way after the shot as it is drawn."""
        middle = _place(shot, truth, float(rng.random()))
        spin = words.capital(words.spin(shot.stroke or PLAYED))
        return SendQuestion(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt=f"{spin}: slide the line so that the cue ball runs over the marked place.",
            dial=offset_dial(rng, WIDEST),
            region=region_at(shot, middle),
        )

    # Marking

    def settled(self, question: Question, choice: Choice) -> Question:
        """The question with the truth that is nearest to the call."""
        stretch, offset = _nearest(question, choice.value)
        shot = question.shot
        return replace(question, truth=_truth(shot, offset, stretch, _region(question).middle))

    def reached(self, question: Question, run: Run) -> tuple[bool, float] | None:
        """Whether the cue ball, off the object ball, runs over the place, and how far from its middle."""
        region = _region(question)
        if run.touching is None:
            return False, _straight_by(question.shot, run, region.middle)
        miss = abs(float(passes(_after(question.shot, run), region.middle)))
        return miss <= region.radius + TOUCH, miss

    def chances(self, task: Task, shots: Shots, truths: Truths, noise: float) -> Floats:
        """How likely the cue ball gets to a place in the middle of where one may lie."""
        places = np.array([_place(shots[i], truths[i], 0.5) for i in range(len(shots))])
        table, stroke = shots.table, shots.stroke or PLAYED
        ends = np.linspace(-table.reach, table.reach, CALLS + 1)
        tried = (ends[1:] + ends[:-1]) / 2.0
        cue, ball, place = (at[:, None] for at in (shots.cue_ball, shots.object_ball, places))
        over = np.abs(passing(table, cue, ball, tried, stroke, place)) <= RADIUS * table.ball_width
        calls = chance(np.stack([ends[:-1], ends[1:]], axis=-1), truths.offset[:, None], noise)
        return np.asarray(np.where(over, calls, 0.0).sum(axis=1))

    # What an answer tells

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """The call less the truth; nothing where so much is right that nobody need look for the truth."""
        low, high = asked.margin
        return (error, error) if high - low <= TELLING else ANYWHERE

    def answer(self, question: Question, error: float) -> Choice:
        """The line that is off by this from the shot's own fullness; from another, where that is nearer."""
        assert question.dial is not None
        own = truth_of(question.shot).offset
        middles = [at for stretch in _stretches(question) for at in stretch.middles]
        for true in sorted(middles, key=lambda at: abs(at - own)):
            choice = question.dial.at(true - math.copysign(error, true * error))
            told = self.settled(question, choice).truth.thick_by(choice.value)
            if abs(told - error) < SAME:
                return choice
        return question.dial.at(own - math.copysign(error, own * error))

    # What is shown and said

    def in_view(self, question: Question) -> tuple[Point, ...]:
        """The place, from side to side."""
        (x, y), r = _region(question).middle, _region(question).radius
        return (x - r, y), (x + r, y), (x, y - r), (x, y + r)

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The line that is considered, and the place."""
        return replace(super().shown(question, choice), region=_corners(question), asked=True)

    def shown_after(self, mark: Mark) -> Shown:
        """The place, and the cue ball's true way and the called one."""
        question = mark.question
        shot, truth = question.shot, question.truth
        aim = point(unit(np.subtract(truth.touching, shot.cue_ball)))
        true = after_contact(shot, shot.cue_ball, truth.touching, aim)
        mine = None if mark.touching is None else _after(shot, mark.run)
        return Shown(
            region=_corners(question),
            asked=True,
            true_after=_drawn(true),
            called_after=() if mine is None else _drawn(mine),
        )

    def hint(self, question: Question, choice: Choice | None) -> str:
        """Nothing more: the question is long."""
        return ""

    def headline(self, mark: Mark, style: Style) -> str:
        """``Over it, 1/32 ball thick.``, ``Passes 140 mm left of the place's middle: 1/8 ball thin.``"""
        centre = abs(mark.error) < HAIR
        off = "as full as it must be" if centre else style.thick_or_thin(mark.error)
        if mark.right:
            return f"Over it, {off}."
        return words.capital(f"{_goes(mark, style)}: {off}.")

    def detail(self, mark: Mark, style: Style) -> str:
        """Where the cue ball goes, by how much the hit is off, and by how much it may be."""
        off = abs(mark.error) >= HAIR
        size = f"{words.at_ball(mark, style, mark.error)} off at the ball" if off else ""
        if mark.right:
            said = f"It {_goes(mark, style)}{f', {size}' if off else ''}. "
        else:
            said = f"It is {size}. " if off else ""
        return f"{said}It forgives {_forgives(mark, style)}.{_others(mark.question)}"

    def why(self, mark: Mark, style: Style) -> tuple[Step, ...]:
        """Line of aim, offset, fullness, touching position, the cue ball's way from there, and the call."""
        shot, truth = mark.question.shot, mark.question.truth
        cut, reach = abs(math.degrees(truth.cut)), shot.table.reach
        run = math.dist(shot.cue_ball, truth.touching)
        says = (
            f"This line of aim does it, {style.length(run)} long: "
            f"a cut of {cut:.1f} degrees to the {truth.side}.",
            f"It passes {words.passes(truth.offset)}.",
            f"So the cue ball covers {as_full(truth.fullness)} of it, {named(truth, style)}.",
            f"At contact its centre is here, {style.length(shot.table.contact, 1)} from the object ball's: "
            f"the line between them is {cut:.1f} degrees off the line of aim.",
            _leaving(shot, truth),
            f"{called(mark, style, self.played)} The cue ball {_goes(mark, style)}.",
            f"{in_numbers(truth, reach)} {pots(truth, style, 'it runs over the place')}",
        )
        parts = [ORDER[: k + 1] for k in range(len(ORDER))]
        return tuple(
            Step(text, on) for text, on in zip(says, (*parts, words.PARTS, words.PARTS), strict=True)
        )


def region_at(shot: Shot, middle: Point) -> Region:
    """The place about its middle."""
    return Region(middle, RADIUS * shot.table.ball_width)


def _region(question: Question) -> Region:
    assert isinstance(question, SendQuestion)
    return question.region


def _place(shot: Shot, truth: Truth, part: float) -> Point:
    """The middle of a place at a part (0 to 1) of what the cue ball's way has room for.

    It is so far from the object ball's place that no touching position lies in it; where there is room
    it is so far from the way's end that it lies on the cloth.
    """
    aim = point(unit(np.subtract(truth.touching, shot.cue_ball)))
    way = _fine(after_contact(shot, shot.cue_ball, truth.touching, aim))
    wide = shot.table.ball_width
    near = np.flatnonzero(length(way - np.array(shot.object_ball)) < shot.table.contact + NEAREST * wide)
    first = int(near[-1]) + 1 if near.size else 0
    if first == len(way):
        raise ValueError(f"the cue ball gets nowhere from {truth.touching}; draw with Limits.gets_away")
    gone = np.concatenate([[0.0], np.cumsum(length(np.diff(way, axis=0)))])
    last = max(min(float(gone[-1]) - RADIUS * wide, FARTHEST), float(gone[first]))
    at = np.searchsorted(gone, last - (last - gone[first]) * FAR_PART * (1.0 - part))
    return point(np.round(way[min(int(at), len(way) - 1)], DIGITS))


def _fine(path: CuePath) -> Floats:
    """Many places on the way, (n, 2) mm, exactly on it."""
    curve = points(path, PARTS)
    share = np.linspace(0.0, 1.0, PARTS + 1)[1:, None]
    return np.concatenate([curve[:-1], curve[-2] + (curve[-1] - curve[-2]) * share])


def _stretches(question: Question) -> tuple[Stretch, ...]:
    return _found(question.shot, _region(question))


@lru_cache(maxsize=512)
def _found(shot: Shot, region: Region) -> tuple[Stretch, ...]:
    """Every stretch of offsets that sends the cue ball over a region; the shot's own offset as it is."""
    cue, ball, stroke = np.array(shot.cue_ball), np.array(shot.object_ball), shot.stroke or PLAYED
    found = sent_over(shot.table, cue, ball, stroke, region.middle, region.radius)
    if not found:
        raise ValueError(f"no hit from {shot.cue_ball} sends the cue ball over {region.middle}")
    own = truth_of(shot).offset
    return tuple(replace(one, middles=tuple(_same(at, own) for at in one.middles)) for one in found)


def _same(offset: float, own: float) -> float:
    return own if abs(offset - own) < SAME else offset


def _nearest(question: Question, offset: float) -> tuple[Stretch, float]:
    """The stretch that an offset lies in, or nearest to; and the nearest middle in it."""
    stretch = min(_stretches(question), key=lambda one: one.apart(offset))
    return stretch, min(stretch.middles, key=lambda at: abs(at - offset))


def _truth(shot: Shot, offset: float, stretch: Stretch, middle: Point) -> Truth:
    """The truth of a hit that sends the cue ball over a place; throw is how far the object ball is thrown."""
    table, sign = shot.table, -1.0 if offset < 0 else 1.0
    cue, ball = np.array(shot.cue_ball), np.array(shot.object_ball)
    sent = send(cue, ball, offset, table.balls.object_radius, table.contact)
    cut = math.asin(max(min(offset / table.reach, 1.0), -1.0))
    low, high = sorted(_fullness(shot, end, sign) for end in (stretch.low, stretch.high))
    return Truth(
        cut=cut,
        fullness=1.0 - abs(math.sin(cut)),
        offset=offset,
        touching=point(sent.touching),
        throw=float(signed_throw(cut, shot.stroke)) * sign + 0.0,
        margin=(low, high),
        target=middle,
    )


def _fullness(shot: Shot, offset: float, sign: float) -> float:
    """The fullness of an offset, above 1 past the ball's centre as seen from one side."""
    return 1.0 - sign * offset / shot.table.reach


def _after(shot: Shot, run: Run) -> CuePath:
    assert run.touching is not None
    return after_contact(shot, run.before[-2], run.touching, run.aim)


def _straight_by(shot: Shot, run: Run, middle: Point) -> float:
    """How far a ball that hits nothing passes a place, up to the first cushion, mm."""
    start, aim = np.array(shot.cue_ball), np.array(run.aim)
    room = float(way_to_edge(start, aim, shot.table.balls.cue_radius, shot.table.size))
    return float(distance_to_way(start, start + aim * max(room, 0.0), middle))


def _corners(question: Question) -> tuple[Point, ...]:
    """The place as far as it is on the cloth."""
    region = _region(question)
    turn = np.arange(CORNERS) * (2.0 * math.pi / CORNERS)
    round_it = np.array(region.middle) + region.radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    return tuple(point(corner) for corner in clipped(round_it, question.shot.table.size))


def _drawn(path: CuePath) -> tuple[Point, ...]:
    return tuple(point(place) for place in points(path))


def _goes(mark: Mark, style: Style) -> str:
    """``passes 80 mm left of the place's middle``, ``stops 120 mm from the place's middle``."""
    if mark.touching is None:
        return OUT
    middle = np.array(mark.question.truth.target)
    path = _after(mark.question.shot, mark.run)
    way, said = _fine(path), style.distance(mark.miss_mm)
    near = int(length(way - middle).argmin())
    if near == len(way) - 1 and mark.miss_mm >= 1:
        cushion = int(path.cushion)
        if cushion == NO_CUSHION:
            return f"stops {said} from the place's middle"
        return f"meets the {CUSHIONS[cushion]} cushion {said} from the place's middle"
    if mark.miss_mm < 0.5:
        return "runs right over the place's middle"
    ahead = way[min(near + 1, len(way) - 1)] - way[max(near - 1, 0)]
    side = "left" if float(cross(ahead, way[near] - middle)) > 0 else "right"
    return f"passes {said} {side} of the place's middle"


def _forgives(mark: Mark, style: Style) -> str:
    """By how much a hit may be off and still send the cue ball over the place; of a miss to its own side."""
    truth, reach = mark.question.truth, mark.question.shot.table.reach
    thin, thick = (abs(end - truth.fullness) * reach for end in truth.margin)
    if not mark.right:
        room = thick if mark.error > 0 else thin
        return f"{words.less_than(room, mark.error, style)} that way"
    return f"{style.room(thick)} thick, {style.room(thin)} thin"


def _others(question: Question) -> str:
    """Whether hits of quite another fullness do it too: `` A much thinner hit gets there too.``"""
    sign, (low, high) = question.truth.sign, question.truth.margin
    ends = (_fullness(question.shot, end, sign) for s in _stretches(question) for end in (s.low, s.high))
    found = {"fuller" if end > high else "thinner" for end in ends if not low <= end <= high}
    return f" A much {' or a much '.join(sorted(found))} hit gets there too." if found else ""


def _leaving(shot: Shot, truth: Truth) -> str:
    """How the cue ball leaves the object ball, with its angles."""
    played, balls = shot.stroke or PLAYED, shot.table.balls
    aim = unit(np.subtract(truth.touching, shot.cue_ball))
    path = after_contact(shot, shot.cue_ball, truth.touching, point(aim))
    first, last = (math.degrees(float(angle_between(aim, way))) for way in (path.velocity, path.rolling))
    apart = math.degrees(float(separation(truth.cut, mass_ratio=balls.cue_mass / balls.object_mass)))
    side = "left" if first > 0 else "right"
    leaves = (
        f"It leaves at {apart:.0f} degrees to that line, {abs(first):.1f} to the {side} of the line of aim"
    )
    if abs(last - first) < 0.05:
        return f"{leaves}; with {words.spin(played)} it goes straight on."
    return f"{leaves}; its {words.spin(played)} bends that to {abs(last):.1f} degrees."
