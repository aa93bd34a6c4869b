"""The drill *leave*: where must the cue ball come to lie, that the next ball is as full as is wanted?"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

import numpy as np

from trainer.drills import words
from trainer.drills.drill import Drill, Shown, offset_of
from trainer.drills.mark import Mark
from trainer.drills.question import Asked, Choice, Eye, Problem, Question, Task, numbered
from trainer.geometry.fullness import THINNER, band_name, bands
from trainer.geometry.leave import leave_line, leave_region
from trainer.geometry.pockets import on_cloth
from trainer.geometry.vectors import Floats, distance_to_way, length, unit
from trainer.shots.draw import APART as DAYLIGHT
from trainer.shots.shot import CUT_LIMIT, Limits, Point, Shot, Shots, point
from trainer.shots.style import Style, as_full
from trainer.shots.truth import Truth, truth_of, work_out

PLACES = 5
APARTS = (4.0, 3.0, 2.0)  # ball widths between the places' middles: the first that there is room for
TRIES = 16  # distances at which room for a place is sought
ANYWHERE = (110.0, 2000.0)  # mm from the object ball, where the level's distances leave no room
ROUNDS = 24  # in which room is sought where there is next to none
FINER = (1, 2, 4)  # parts of the level's step: the largest that there is room for
THINNEST = 1.0 - np.sin(np.radians(CUT_LIMIT))
DIGITS = 6  # of a place's mm: an arc's last bits aren't the same on every machine
NAMED = bands(Fraction(1, 32))[:-1]
EXACT = 1e-9  # balls: a shot so near to a band has its fullness
OFF = 1e-6  # balls: a place is as full as it was laid, but for its digits


@dataclass(frozen=True, kw_only=True)
class LeaveQuestion(Question):
    """``places`` (mm) are those of the cue ball to choose from: it doesn't lie on the table yet.

    ``wanted`` is the unsigned offset (ball widths) of the fullness that is named.
    """

    wanted: float
    places: tuple[Point, ...] = ()


class Leave(Drill):
    """Leave."""

    name = "leave"
    title = "Pick the leave"
    looked_at_twice = False
    names_answers = False
    played = "what was wanted"
    turns_down = False
    views = ("plan",)
    keys = ("step", "bands", "ask")
    asks = ("place",)

    def narrowed(self, task: Task) -> Limits:
        """Shots that have the fullness of a band to the hair; none where the cuts give none."""
        thick, thin = (1.0 - math.sin(math.radians(cut)) for cut in task.limits.cuts)
        named = [band.value for band in task.bands() if band.name != THINNER]
        held = [value for value in named if thin - EXACT <= value <= thick + EXACT]
        return replace(task.limits, fullness=tuple((value - EXACT, value + EXACT) for value in held))

    def problems(self, task: Task) -> Iterator[Problem]:
        """Cuts that hold no band."""
        if not self.narrowed(task).fullness:
            yield Problem(
                "shots.cuts",
                f"no band of step {band_name(task.answers.step)} that is asked for lies in these cuts",
                "cuts that hold the fullness of a band, as 30 degrees for 1/2",
            )

    help = (
        "A fullness is named for the next ball: pick the place from which it is that full, out of five. "
        "All places of one fullness lie on one straight line, however far off: look for where it runs. "
        "This is how a leave is planned: not a spot for the cue ball, but a line to come to anywhere along."
    )

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """From which of five places is it as full as the drawn shot is?"""
        places = _row(task, shot, truth, rng)
        values = work_out(_all_at(shot, places)).fullness.tolist()
        called = _said(truth.fullness)
        return LeaveQuestion(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt=f"From which place is the pot {called}?",
            choices=numbered([(f"place {i}", value) for i, value in enumerate(values, 1)]),
            best=places.index(shot.cue_ball),
            width=float(task.answers.step),
            wanted=(1.0 - _named(truth.fullness)) * shot.table.reach,  # its side would tell
            places=tuple(places),
        )

    def settled(self, question: Question, choice: Choice) -> Question:
        """The shot from the chosen place: it is taken for one of the wanted fullness."""
        places = places_to_choose(question)
        if not places:  # out of the history: its shot is the chosen one already
            return question
        chosen = replace(question.shot, cue_ball=places[question.choices.index(choice)])
        return replace(question, shot=chosen, truth=truth_of(chosen))

    def called_offset(self, question: Question, value: float) -> float:
        """The wanted fullness, on the side that the ball is cut to from there."""
        return offset_of(question, wanted_of(question))

    def error(self, question: Question, value: float) -> float:
        """The wanted fullness less that of the place: one taken for fuller than it is is off to thick."""
        return wanted_of(question) - value

    def thicker(self, asked: Asked) -> float:
        """A place of more fullness is one that was taken for thinner."""
        return -1.0

    def looked_at(self, sine: float, error: float, offset: float) -> float:
        """That of the wanted fullness, whichever place was taken for it.

        A cut that only wrong answers come to would seem to have their bias.
        """
        return math.copysign(max(abs(sine) - error, 0.0), sine)

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The wanted fullness as the cue ball sees it; the ball on the cloth only where it is considered."""
        if choice is None:
            return Shown(ghost=_asked(question).wanted, either_side=True, cue_ball=False)
        return Shown(ghost=self.called_offset(self.settled(question, choice), choice.value))

    def shown_after(self, mark: Mark) -> Shown:
        """All places about as full as was wanted."""
        question = mark.question
        half = question.width / 2
        wanted = wanted_of(question)
        ball, target = np.array(question.shot.object_ball), np.array(question.truth.target)
        right = truth_of(replace(question.shot, cue_ball=places_to_choose(question)[question.best]))
        region = leave_region(
            question.shot.table,
            ball,
            unit(target - ball),
            (max(wanted - half, 0.0), min(wanted + half, 1.0)),
            right.sign,
            question.shot.stroke,
        )
        return Shown(region=tuple(point(corner) for corner in region))

    def hint(self, question: Question, choice: Choice | None) -> str:
        """How it is done."""
        return "press its number, or click on it" if choice is None else f"considered: {choice.name}"

    def headline(self, mark: Mark, style: Style) -> str:
        """``4 it is: 1/2 from there.``, ``3 is 0.62, you took it for 1/2: 1/8 ball thin. 4 has it.``"""
        question = mark.question
        wanted, best = _said(wanted_of(question)), question.choices[question.best].key
        if mark.right:
            return f"{best} it is, {wanted} from there."
        seen = style.thick_or_thin(mark.error)
        return f"From {mark.choice.key} it is {_said(mark.choice.value)}, seen {seen}: {best} is {wanted}."

    def detail(self, mark: Mark, style: Style) -> str:
        """What becomes of the ball if it is hit as wanted from the chosen place."""
        hit = f"Hit {_said(wanted_of(mark.question))} from {mark.choice.key} it"
        said = words.comes_to_as_called(mark, style, hit)
        return f"{said} {words.how_hard(mark, style)}{words.thrown(mark)}"


def places_to_choose(question: Question) -> tuple[Point, ...]:
    """The places of the cue ball that a question's choices are, mm; none where they aren't places."""
    return question.places if isinstance(question, LeaveQuestion) else ()


def _asked(question: Question) -> LeaveQuestion:
    assert isinstance(question, LeaveQuestion)
    return question


def wanted_of(question: Question) -> float:
    """The fullness that is wanted."""
    return 1.0 - abs(_asked(question).wanted) / question.shot.table.reach


def _named(fullness: float) -> float:
    """A fullness as it is named: a band's, if it has one."""
    nearest = min((band.value for band in NAMED), key=lambda value: abs(value - fullness))
    return nearest if abs(nearest - fullness) <= 2 * EXACT else fullness


def _said(fullness: float) -> str:
    """``1/2 ball``, ``full``, ``0.46 ball``."""
    for band in NAMED:
        if abs(band.value - fullness) <= OFF:
            return band.name if band.value == 1.0 else f"{band.name} ball"
    return f"{as_full(fullness)} ball"


def _all_at(shot: Shot, places: list[Point]) -> Shots:
    """The shot with its cue ball at each of some places."""
    return replace(Shots.of(shot).at(np.zeros(len(places), np.intp)), cue_ball=np.array(places))


def _row(task: Task, shot: Shot, truth: Truth, rng: np.random.Generator) -> list[Point]:
    """Places whose fullnesses are steps apart, thick to thin, the shot's own anywhere among them.

    As many, with as large a step and as far apart, as there is room for on the table.
    """
    step = float(task.answers.step)
    rooms = [(task.limits.cue_distance, False), (ANYWHERE, False), *[(ANYWHERE, True)] * ROUNDS]
    for count, (far, mixed), finer, apart in product(range(PLACES, 1, -1), rooms, FINER, APARTS):
        for own in np.argsort(rng.random(count)).tolist():
            wanted = [truth.fullness + (own - i) * step / finer for i in range(count)]
            if not THINNEST <= wanted[-1] <= wanted[0] <= 1.0 + EXACT:
                continue
            found = _laid(shot, truth, wanted, own, far, apart, mixed, rng)
            if found:
                return found
    raise ValueError(f"no room for places to leave the cue ball at about {shot.object_ball}")


def _laid(
    shot: Shot,
    truth: Truth,
    wanted: list[float],
    own: int,
    far: tuple[float, float],
    apart: float,
    mixed: bool,
    rng: np.random.Generator,
) -> list[Point]:
    """A place for each fullness, the shot's own for its own; none at all where one has no room.

    They are ``far`` (mm, from and to) from the object ball and ``apart`` ball widths from each other. On
    the other side of the ball's way to the pocket where there is no room on the shot's, or ``mixed`` on
    either at random.
    """
    places: list[Point] = [shot.cue_ball]
    least = 2.0 * shot.table.balls.cue_radius * apart
    for i, fullness in enumerate(wanted):
        if i == own:
            continue
        first = -truth.sign if mixed and rng.random() < 0.5 else truth.sign
        for side in (first, -first):
            tried = _free(shot, truth, min(fullness, 1.0), side, far, rng)
            between = length(tried[:, None] - np.array(places)).min(axis=1)
            clear = np.flatnonzero(between >= least)
            if clear.size:
                places.append(point(tried[clear[0]]))
                break
        else:
            return []
    own_place = places.pop(0)
    return [*places[:own], own_place, *places[own:]]


def _free(
    shot: Shot,
    truth: Truth,
    fullness: float,
    side: float,
    far: tuple[float, float],
    rng: np.random.Generator,
) -> Floats:
    """Some places (n, 2) that give a fullness on one side, at random distances, from where the shot is on."""
    table, ball = shot.table, np.array(shot.object_ball)
    line = leave_line(table, ball, unit(np.array(truth.target) - ball), fullness, side, shot.stroke)
    shares = rng.random(TRIES)
    if bool(line.is_empty):
        return np.zeros((0, 2))
    nearest = max(far[0], table.contact + DAYLIGHT)
    farthest = min(far[1], float(length(line.place(line.last) - ball)))
    if farthest < nearest:
        return np.zeros((0, 2))
    tried = np.round(line.apart(ball, nearest + (farthest - nearest) * shares), DIGITS)
    good = on_cloth(table, tried, table.balls.cue_radius)
    good = good & (distance_to_way(ball, np.array(truth.target), tried) > table.contact)
    return np.asarray(tried[good])
