"""What every drill is: what it asks, how an answer is played and marked, and how it is said.

A drill is one module with one class; what is usual is here, and a drill says what is different with it: its
cuts, its views, what of a level it uses, and what can't be asked.
"""

import math
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from trainer.drills import words
from trainer.drills.mark import Mark, Run
from trainer.drills.question import (
    STEPS,
    Answers,
    Asked,
    Choice,
    Eye,
    Needed,
    Problem,
    Question,
    Task,
    bounds,
    strokes_named,
)
from trainer.drills.words import Step, construction, played
from trainer.geometry.aiming import SPEEDS, Stroke, send
from trainer.geometry.fullness import SIDES, offset_from_fullness
from trainer.geometry.meetings import Meeting, Met, meeting
from trainer.geometry.vectors import Floats, dot, length
from trainer.learner.call import Call
from trainer.shots.obstacles import first_ball
from trainer.shots.shot import ANY_CUT, Limits, Point, Shot, Shots, point
from trainer.shots.style import Style
from trainer.shots.tolerance import chances
from trainer.shots.truth import Truth, Truths, opening_of

ANGLE = "angle"  # the skill of most drills: seeing how full a shot is
ANYWHERE = -math.inf, math.inf  # between these errors lies an answer that tells nothing


@dataclass(frozen=True)
class Shown:
    """What is laid over the pictures of a question, or of an answer that is considered.

    Signed offsets in ball widths: ``line`` that of a line of aim in the large picture, ``ghost`` that of a
    cue ball outlined in the inset (on ``either_side`` where its own isn't to be told), ``marks`` those of the
    candidates there, of which ``selected`` is considered; ``edge`` is that of the cue ball's edge there.
    ``path`` is a line in the large picture, mm.
    ``region`` are the corners (mm) of a convex part of the cloth that is tinted, and outlined where it is
    ``asked`` for; without ``cue_ball`` that isn't drawn on the cloth. ``true_after`` and ``called_after`` are
    the cue ball's ways after contact, from point to point, mm.
    """

    line: float | None = None
    ghost: float | None = None
    either_side: bool = False
    marks: Sequence[float] = ()
    selected: int | None = None
    edge: float | None = None
    path: Sequence[Point] = ()
    region: Sequence[Point] = ()
    asked: bool = False
    cue_ball: bool = True
    true_after: Sequence[Point] = ()
    called_after: Sequence[Point] = ()


class Drill(ABC):
    """A kind of question. ``help`` is three sentences; ``skill`` is what its answers tell of."""

    name: str
    title: str
    help: str
    skill: str = ANGLE
    tells_of: tuple[str, ...] = ()  # other skills that its answers tell of, besides
    names_answers = True  # whether answers are shown by their names, or by their keys alone
    played = "your call"  # what is played, and dashed in the pictures
    true = "the pot"  # what is solid there
    done = ("goes in", "go in")  # what is said of one call of a set that potted, and of more

    # What it can ask of, and what a level's file may say of it.
    # In which its question can be seen, the usual one first: shots are misjudged down on them.
    views: tuple[str, ...] = ("down", "standing", "plan")
    cuts = ANY_CUT  # degrees: that it asks about where nothing else is said
    most_cuts: tuple[float, float] | None = None  # and at most; None: any
    turns_down = True  # whether its free practice leaves out pots that a player would turn down
    usual = Answers()  # what is to choose from where nothing else is said
    evenly = False  # few cuts, asked evenly: a run of shots about one of them would give its answer away
    keys: tuple[str, ...] = ()  # of a file's [answers], those that it uses
    steps: tuple[Fraction, ...] = STEPS  # that its answers may be apart
    asks: tuple[str, ...] = ()  # the questions that the key ``ask`` may name, the usual one first
    among_others = False  # whether it asks of one shot, which other balls may lie about
    balls = 1  # to choose from where nothing else is said
    needs_inset = True  # whether its question can't be answered from the large picture alone
    looked_at_twice = True  # whether one shot can be called standing, and then again down on it
    calls_pocket = True  # whether the object ball is to go into a pocket that is called
    speeds: tuple[str, ...] = ()  # of the strokes that it is always asked with, where a level names none

    def strokes_of(self, speeds: Sequence[str] = (), spins: Sequence[str] = ()) -> tuple[Stroke, ...]:
        """The strokes of a level: of the speeds and spins it names, else those that the drill always has."""
        if not speeds and not spins and not self.speeds:
            return ()
        return strokes_named(speeds or self.speeds or tuple(SPEEDS), spins)

    def strokes_after(self, strokes: tuple[Stroke, ...]) -> tuple[Stroke, ...]:
        """The strokes with which it asks of another drill's shots."""
        return strokes or self.strokes_of()

    def fitted(self, limits: Limits) -> Limits:
        """The part of another drill's limits that it can ask of; its usual cuts, if there is none."""
        if self.evenly:
            return replace(limits, cuts=self.cuts, sides=SIDES, fullness=(), forgives=None)
        low, high = self.most_cuts or limits.cuts
        inside = max(low, limits.cuts[0]), min(high, limits.cuts[1])
        return replace(limits, cuts=inside if inside[0] < inside[1] or low == high else self.cuts)

    def narrowed(self, task: Task) -> Limits:
        """A task's limits, narrowed to what the drill can ask."""
        return task.limits

    def narrowed_each(self, task: Task) -> list[Limits]:
        """The same with each of the task's strokes; as they are where it has none."""
        limits = self.narrowed(task)
        return [limits.played(stroke) for stroke in task.strokes] or [limits]

    def problems(self, task: Task) -> Iterator[Problem]:
        """What is wrong with a task that no single key of its file can tell."""
        yield from ()

    def needed(self, task: Task) -> list[Needed]:
        """The shots that there must be to ask."""
        return [Needed(limits) for limits in self.narrowed_each(task)]

    # Asking

    @abstractmethod
    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """The question that this drill asks of a shot."""

    # Marking

    def mark(self, question: Question, choice: Choice) -> Mark:
        """Mark a call by playing it: line of aim, contact, throw where it counts, and the ball's way."""
        question = self.settled(question, choice)
        run, shot = self.run(question, choice.value), self.played_shot(question, choice.value)
        met, drops = _end(shot, run.way)
        reached = self.reached(question, run)
        potted, miss = reached or (drops, _miss(shot, question.truth.target, run.way, met))
        offset, error = self.called_offset(question, choice.value), self.error(question, choice.value)
        right = self.is_right(question, choice, potted)
        return Mark(
            question=question,
            choice=choice,
            offset=offset,
            error=error,
            right=right,
            potted=potted,
            miss_mm=miss,
            run=run,
            met=met,
            drops=drops,
            played=shot,
            told=self.told(question.asked, choice, error, offset, right),
        )

    def settled(self, question: Question, choice: Choice) -> Question:
        """The question as an answer leaves it: the shot that is laid, where the player lays one."""
        return question

    def played_shot(self, question: Question, value: float) -> Shot:
        """The shot that an answer's value plays: the question's, but where another of its balls is called."""
        return question.shot

    @abstractmethod
    def called_offset(self, question: Question, value: float) -> float:
        """The signed offset (ball widths) that an answer's value plays."""

    @abstractmethod
    def error(self, question: Question, value: float) -> float:
        """Called less true fullness, + thick, - thin, in ball widths."""

    def is_right(self, question: Question, choice: Choice, potted: bool) -> bool:
        """Whether it was the answer to give: the best of choices; a number is where the ball drops."""
        return choice == question.choices[question.best] if question.choices else potted

    def run(self, question: Question, value: float) -> Run:
        """How the balls run when an answer is played."""
        shot, offset = question.shot, self.called_offset(question, value)
        return run_at(shot, offset)

    def reached(self, question: Question, run: Run) -> tuple[bool, float] | None:
        """Where the cue ball is sent somewhere: whether it gets there, and by how far it is missed, mm."""
        return None

    def true_offset(self, question: Question) -> float:
        """The signed offset (ball widths) of the line that pots."""
        return question.truth.offset

    def true_way(self, question: Question) -> tuple[Point, ...]:
        """The cue ball's way to the pot, from where it lies to the touching position, mm."""
        return question.shot.cue_ball, question.truth.touching

    def forgiven(self, question: Question) -> tuple[float, float]:
        """Between which errors a call still pots, ball widths."""
        truth = question.truth
        return truth.margin[0] - truth.fullness, truth.margin[1] - truth.fullness

    def chances(self, task: Task, shots: Shots, truths: Truths, noise: float) -> Floats:
        """How likely a call of some shots (n) pots whose error is normal about the truth, shape (n,)."""
        return chances(truths, noise)

    # What an answer tells

    def told(self, asked: Asked, choice: Choice, error: float, offset: float, right: bool) -> Call:
        """What the learner is told of an answer, of its ``error`` and of the ``offset`` that it plays.

        When a call is marked and when it is read from the history: this is the only way to a `Call`.
        """
        low, high = self.meant(asked, choice, error)
        sine = self.looked_at(asked.sine, error, offset)
        return Call(sine, low, high, error, right, against=self.against(asked, choice))

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """Between which errors the player's own answer lies: half way to the neighbouring ones.

        The two are the same for a number; infinite at the end of a row.
        """
        if not asked.answers:
            return error, error
        value = self.stands_for(choice.name, choice.value)
        values = [self.stands_for(name, number) for name, number in asked.answers]
        ends = [error + self.thicker(asked) * (end - choice.value) for end in bounds(value, values)]
        return min(ends), max(ends)

    def looked_at(self, sine: float, error: float, offset: float) -> float:
        """Sine of the signed cut that the player judged, given the shot's own, the error and what was played.

        It is the shot's own, but where the player lays the shot: there what is named was in mind, and
        the shot is what came of it, error and all.
        """
        return sine

    # Whether two shots are compared: then ``against`` says with which.
    compares = False

    def against(self, asked: Asked, choice: Choice) -> float | None:
        """The sine of the signed cut of the shot to be found, where the answers are shots."""
        return None

    def stands_for(self, name: str, value: float) -> float:
        """Where an answer's own place is among its neighbours, as a value."""
        return value

    def thicker(self, asked: Asked) -> float:
        """+1 where a larger value is a thicker call, -1 where it is thinner."""
        return 1.0

    def answer(self, question: Question, error: float) -> Choice:
        """What a player calls whose answer is off by this error, + thick."""
        for choice in question.choices:
            low, high = self.meant(question.asked, choice, self.error(question, choice.value))
            if low <= error <= high:
                return choice
        return question.choices[question.best]

    def best(self, question: Question) -> Choice:
        """The answer to give."""
        return self.answer(question, 0.0) if question.dial else question.choices[question.best]

    # What is shown and said

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """What is laid over the pictures; ``choice`` is the answer that is considered."""
        return Shown()

    def shown_after(self, mark: Mark) -> Shown:
        """What is laid over the pictures after the call, besides the shot as it was called and as it is."""
        return Shown()

    def pointed(self, question: Question, offset: float, near: float) -> Choice | None:
        """The answer that a click at a signed offset in the inset means, if one is so near to it."""
        return None

    def pointed_on_table(self, question: Question, place: Point) -> Choice | None:
        """The answer that a click at a place of the table (mm) means, if it means one."""
        return None

    def in_view(self, question: Question) -> tuple[Point, ...]:
        """Places of the table (mm) that the large picture must show besides the shot."""
        return ()

    def hint(self, question: Question, choice: Choice | None) -> str:
        """A few words beside the question; ``choice`` is the answer that is considered."""
        return ""

    @abstractmethod
    def headline(self, mark: Mark, style: Style) -> str:
        """The mark in a few words."""

    def why(self, mark: Mark, style: Style) -> tuple[Step, ...]:
        """The construction of the shot, step by step."""
        return construction(mark, style, played(mark, style, self.played))

    def detail(self, mark: Mark, style: Style) -> str:
        """Where the ball goes, by how much it is off, and how hard the pot is, in one or two sentences."""
        return f"{words.landed(mark, style)}{words.how_hard(mark, style)}{words.thrown(mark)}"


class AimedDrill(Drill):
    """A drill whose answers are signed offsets of the line of aim, in ball widths."""

    def called_offset(self, question: Question, value: float) -> float:
        """A value is its offset."""
        return value

    def error(self, question: Question, value: float) -> float:
        """The sign of the cut times (true - called offset): + thick, - thin, in ball widths."""
        return question.truth.thick_by(self.called_offset(question, value))

    def thicker(self, asked: Asked) -> float:
        """Of an aim to the left, more is thinner."""
        return -asked.sign

    def headline(self, mark: Mark, style: Style) -> str:
        """``In, 1/32 ball thick.``, ``1/8 ball thin.``, ``The wrong side, it must go left.``"""
        return words.aimed(mark, style)


def offset_of(question: Question, fullness: float) -> float:
    """The signed offset (ball widths) of a fullness, on the side that the shot is cut to."""
    return float(offset_from_fullness(fullness, question.truth.sign, question.shot.table.reach))


def run_at(shot: Shot, offset: float) -> Run:
    """How the balls run along the line of aim at a signed offset, in ball widths."""
    cue, ball, balls = np.array(shot.cue_ball), np.array(shot.object_ball), shot.table.balls
    sent = send(cue, ball, offset, balls.object_radius, shot.table.contact, shot.stroke)
    aim = point(sent.aim)
    meant = float(length(sent.touching - cue)) if bool(sent.hits) else math.inf
    barred = first_ball(shot.cue_ball, aim, shot.others, shot.table.contact)
    if barred is not None and barred[0] < meant:
        return Run((shot.cue_ball, point(cue + sent.aim * barred[0])), aim, None, None, stopped=True)
    if not bool(sent.hits):  # an aim that just grazes moves the ball next to nowhere, but it has a way
        return Run((shot.cue_ball, shot.abreast(offset)), aim, None, None)
    touching = point(sent.touching)
    return Run((shot.cue_ball, touching), aim, touching, point(sent.way))


def miss_of(shot: Shot, target: Point, way: Point | None) -> float:
    """How far from the target the object ball's way passes, mm; all the way there, if it isn't hit."""
    ball, pocket = np.array(shot.object_ball), np.array(target)
    if way is None:
        return float(length(pocket - ball))
    along = max(float(dot(pocket - ball, np.array(way))), 0.0)
    return float(length(ball + np.array(way) * along - pocket))


def _end(shot: Shot, way: Point | None) -> tuple[Meeting | None, bool]:
    """What the object ball meets, and whether it drops in the shot's pocket."""
    if way is None:
        return None, False
    ball, wide = np.array(shot.object_ball), shot.table.ball_width
    met = meeting(shot.table, ball, way)
    stands = first_ball(shot.object_ball, way, shot.others, wide)
    if stands is not None and stands[0] < math.dist(shot.object_ball, met.at):
        return Meeting(Met.BALL, "", point(ball + np.array(way) * stands[0])), False
    return met, bool(opening_of(shot).holds(np.array(way)).all())


def _miss(shot: Shot, target: Point, way: Point | None, met: Meeting | None) -> float:
    """How far from the target the object ball's way passes, or ends where another ball stops it, mm."""
    if met is not None and met.met is Met.BALL:
        return math.dist(met.at, target)
    return miss_of(shot, target, way)
