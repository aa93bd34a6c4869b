"""The drill *back*: the fraction is given, the player lays the shot that has it."""

import math
from dataclasses import dataclass, replace

import numpy as np

from trainer.drills import words
from trainer.drills.band import near_bands
from trainer.drills.drill import Drill, Shown
from trainer.drills.mark import Mark
from trainer.drills.question import Choice, Dial, Eye, Question, Task
from trainer.drills.words import Step, construction
from trainer.geometry.fullness import band_of
from trainer.geometry.leave import leave_line
from trainer.geometry.pockets import on_cloth
from trainer.geometry.vectors import angle_between, distance_to_way, turn_by, unit
from trainer.shots.shot import CUT_LIMIT, Limits, Point, Shot, point
from trainer.shots.style import HAIR, Style, as_full
from trainer.shots.truth import Truth, truth_of

STEPS = (2.0, 0.25, 0.03)  # degrees: coarse, fine, a hair
LOOKED_AT = 0.5  # degrees between the places that are tried for room
ROOM = 3.0  # degrees that the wanted place lies inside the ends at least
CLOSER = 0.75  # of the distance, where there is no room for the cue ball
TRIES = 6
HALF = band_of(0.5)
UNIT = "degrees round the object ball, right of straight behind it (left below 0)"


@dataclass(frozen=True, kw_only=True)
class BackQuestion(Question):
    """``wanted`` is the signed offset (ball widths) of the shot that is named and has to be laid."""

    wanted: float


class Back(Drill):
    """Lay the shot."""

    name = "back"
    title = "Lay the shot"
    looked_at_twice = False
    names_answers = False  # degrees would tell it
    played = "what was named"
    keys = ("step", "bands")
    needs_inset = False
    help = (
        "A fullness is named: walk the cue ball round the object ball until the shot has it, and call it. "
        "You can move it in large steps, in small ones, or by a hair (keys below). "
        "It is the way from the word to the picture: what you lay is marked as if you had named it so."
    )

    def narrowed(self, task: Task) -> Limits:
        """Near to the bands asked for, where they are named."""
        return near_bands(task)

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """The named fullness nearest to the drawn shot, and a cue ball somewhere round the ball."""
        names = [band for band in task.bands() if band.low > 0.0 and band.value < 1.0] or [HALF]
        names.sort(key=lambda band: abs(band.value - truth.fullness))
        table = shot.table
        for apart in math.dist(shot.cue_ball, shot.object_ball) * CLOSER ** np.arange(TRIES):
            ring = _Ring(shot, truth.target, float(apart))
            low, high = ring.room
            for band in names:
                wanted = ring.degrees(band.value, truth.sign)
                if not low + ROOM <= wanted <= high - ROOM:
                    continue
                start = round(low + (high - low) * rng.random(), 2)
                jumps = tuple(low + (high - low) * k / 8 for k in range(9))
                return BackQuestion(
                    drill=self.name,
                    shot=ring.at(start),
                    truth=truth_of(ring.at(wanted)),
                    prompt=f"Place the cue ball for a {band.name} ball, cut to the {truth.side}.",
                    dial=Dial(low, high, start, STEPS, UNIT, _said, jumps),
                    wanted=truth.sign * (1.0 - band.value) * table.reach,
                )
        raise ValueError(f"no room to lay a shot of {names[0].name} about {shot.object_ball}")

    def settled(self, question: Question, choice: Choice) -> Question:
        """The shot as it is laid."""
        shot = question.shot
        apart = math.dist(shot.cue_ball, shot.object_ball)
        laid = _Ring(shot, question.truth.target, apart).at(choice.value)
        return replace(question, shot=laid, truth=truth_of(laid))

    def called_offset(self, question: Question, value: float) -> float:
        """The laid shot is played as full as was named."""
        return _wanted(question)

    def error(self, question: Question, value: float) -> float:
        """The named fullness less that of the shot laid; one laid to the other side counts beyond full."""
        wanted = _wanted(question)
        side = math.copysign(1.0, wanted)
        return side * (question.truth.offset - wanted) / question.shot.table.reach

    def looked_at(self, sine: float, error: float, offset: float) -> float:
        """That of the named fullness."""
        return sine - math.copysign(1.0, offset) * error

    def answer(self, question: Question, error: float) -> Choice:
        """The place that is taken for the named one by an eye that is off by this."""
        assert question.dial is not None
        wanted = _wanted(question)
        shot, side = question.shot, math.copysign(1.0, wanted)
        sine = side * wanted / shot.table.reach + error
        ring = _Ring(shot, question.truth.target, math.dist(shot.cue_ball, shot.object_ball))
        fullness = 1.0 - min(abs(sine), math.sin(math.radians(CUT_LIMIT)))
        return question.dial.at(ring.degrees(fullness, math.copysign(side, side * sine)))

    def pointed(self, question: Question, offset: float, near: float) -> Choice | None:
        """From end to end of the way round, as the row of the inset goes from graze to graze."""
        dial = question.dial
        return None if dial is None else dial.at(dial.low + (offset + 1.0) / 2.0 * (dial.high - dial.low))

    def hint(self, question: Question, choice: Choice | None) -> str:
        """How it is done."""
        return "or drag on the right"

    def headline(self, mark: Mark, style: Style) -> str:
        """``Laid well: it is 0.52.``, ``You laid 0.62: 1/8 ball fuller than named.``"""
        laid, part = mark.question.truth, style.ball_part(mark.error)
        # Named fuller than it is: it was laid too thin.
        off = f"{part} {'thinner' if mark.error > 0 else 'fuller'} than named"
        if mark.potted:
            return f"Laid well: it is {as_full(laid.fullness)}{'' if abs(mark.error) < HAIR else f', {off}'}."
        if laid.sign * mark.offset < 0:
            return f"You laid {as_full(laid.fullness)}, and cut to the {laid.side}: the wrong side."
        return f"You laid {as_full(laid.fullness)}: {off}."

    def detail(self, mark: Mark, style: Style) -> str:
        """What becomes of the ball if it is hit as named."""
        goes = words.comes_to(mark, style, "Hit as named it")
        return f"{goes} {words.how_hard(mark, style)}{words.thrown(mark)}"

    def why(self, mark: Mark, style: Style) -> tuple[Step, ...]:
        """Last how much more or less is covered than the laid shot needs, if it is hit as named."""
        needed, off = mark.question.truth.fullness, words.played_off(mark)
        covers = needed + off / mark.question.shot.table.reach
        said = f"covers {as_full(covers)}, {style.ball_part(off)} {'more' if off > 0 else 'less'} than needed"
        if covers > 1:
            said = f"goes past the centre, {style.ball_part(off)} too full"
        elif abs(off) < HAIR:
            said = f"covers {as_full(covers)}, as it must"
        return construction(mark, style, f"Hit as named it {said}. {words.goes(mark, style, 'The ball')}")

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The word as a picture: how the cue ball covers the object ball in it."""
        return Shown(ghost=_wanted(question))


def _wanted(question: Question) -> float:
    assert isinstance(question, BackQuestion)
    return question.wanted


class _Ring:
    """The places of the cue ball round an object ball at one distance; 0 degrees is straight behind it."""

    def __init__(self, shot: Shot, target: Point, apart: float) -> None:
        self.shot, self.apart = shot, apart
        self.ball, self.target = np.array(shot.object_ball), np.array(target)
        self.way = unit(self.target - self.ball)

    def at(self, degrees: float) -> Shot:
        """The shot with the cue ball there, + on the right, from where the ball is cut right."""
        place = self.ball - self.apart * turn_by(self.way, math.radians(degrees))
        return replace(self.shot, cue_ball=point(place))

    def degrees(self, fullness: float, side: float) -> float:
        """Where the shot has a fullness, sent left (+1) or right."""
        line = leave_line(self.shot.table, self.ball, self.way, fullness, side, self.shot.stroke)
        place = line.apart(self.ball, self.apart)
        return math.degrees(float(angle_between(self.way, self.ball - place)))

    @property
    def room(self) -> tuple[float, float]:
        """The ends of the stretch about the shot's own place in which the cue ball can lie and pot."""
        table, widest = self.shot.table, 1.0 - math.sin(math.radians(CUT_LIMIT))
        ends = self.degrees(widest, -1.0), self.degrees(widest, 1.0)
        tried = np.linspace(min(ends), max(ends), round((max(ends) - min(ends)) / LOOKED_AT) + 1)
        places = self.ball - self.apart * turn_by(self.way, np.radians(tried))
        free = on_cloth(table, places, table.balls.cue_radius)
        free = free & (distance_to_way(self.ball, self.target, places) > table.contact)
        own = math.degrees(float(angle_between(self.way, self.ball - np.array(self.shot.cue_ball))))
        here = int(np.abs(tried - own).argmin())
        if not free[here]:
            return 0.0, 0.0
        shut = np.flatnonzero(~free)
        first = max((k + 1 for k in shut if k < here), default=0)
        last = min((k - 1 for k in shut if k > here), default=len(tried) - 1)
        return float(tried[first]), float(tried[last])


def _said(degrees: float) -> str:
    """``straight behind``, ``12.5 degrees to the right``."""
    if abs(degrees) < 0.05:
        return "straight behind"
    return f"{abs(degrees):.1f} degrees to the {'right' if degrees > 0 else 'left'}"
