"""The drill *cushion*: off the cushion first, where must it be met, and is that the surer way?

Cut and fullness are those along the line on which the cue ball comes off the cushion. Balls are ideal here
and roll naturally when they meet the cushion: throw isn't counted. The rebound is a model of one table, and
others differ from it by more than many of these pots forgive: a place is right that pots on one of them.
"""

import math
from dataclasses import replace

import numpy as np

from trainer.drills import words
from trainer.drills.drill import Drill, Shown, run_at
from trainer.drills.mark import Mark, Run
from trainer.drills.question import Asked, Choice, Dial, Eye, Question, Task, numbered
from trainer.drills.slide import STEPS
from trainer.drills.words import PARTS, Step, construction, touched
from trainer.geometry.cushion import CLEARLY, play_cushion
from trainer.geometry.vectors import Floats, cross, dot, unit
from trainer.shots.along_cushion import AlongCushion, along_cushion, margins
from trainer.shots.shot import Limits, Point, Shot, Shots, point
from trainer.shots.style import Style, as_full
from trainer.shots.tolerance import chance, chances
from trainer.shots.truth import Truth, Truths

JUMPS = tuple(float(k) for k in range(-8, 1))  # ball widths: the keys 1 to 9
STARTS = (-6.0, 0.0)
STRAIGHT, CUSHION = 0.0, 1.0


class Cushion(Drill):
    """Cushion first."""

    name = "cushion"
    title = "Cushion first"
    help = (
        "Play the cue ball off the cushion beside the object ball to pot it. "
        "Say where it must meet the cushion, counted in ball widths along it from the object ball: before "
        "the ball, or past it toward the pocket; some levels ask which is surer, straight or cushion first. "
        "The cue ball rolls firmly, without side, and comes off otherwise than from a mirror: it comes in at "
        "40 degrees off square, say, and leaves at 31. So it does on one table that was measured: a place is "
        "right that pots there, or on one whose cushions or cloth differ as tables do."
    )
    turns_down = False
    views = ("plan", "standing", "down")
    skill = "cushion"
    keys = ("ask",)
    asks = ("place", "way")

    def narrowed(self, task: Task) -> Limits:
        """Shots that go by a cushion too; which way is surer is asked only where one clearly is."""
        return replace(task.limits, by_cushion=CLEARLY if task.answers.ask == "way" else 1.0)

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """A place to set, which starts anywhere; or which of the two ways more lines of aim pot by."""
        lie = _lie(shot)
        if task.answers.ask == "way":
            return Question(
                drill=self.name,
                shot=shot,
                truth=truth,
                prompt=f"Which is the surer pot: straight, or the {lie.by.cushion} cushion first?",
                choices=numbered([("straight at the ball", STRAIGHT), ("cushion first", CUSHION)]),
                best=int(lie.by.wide > lie.by.direct_wide),
            )
        start = STARTS[0] + (STARTS[1] - STARTS[0]) * rng.random()
        low, high = lie.ends
        return Question(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt=f"Where must the cue ball meet the {lie.by.cushion} cushion to pot off it?",
            dial=Dial(
                low=low,
                high=high,
                start=round(min(max(start, low), high), 3),
                steps=STEPS,
                unit="ball widths along the cushion past the object ball, to the pocket (before it below 0)",
                name=place_name,
                jumps=JUMPS,
                ends=("far before", "level"),
            ),
        )

    # Marking

    def called_offset(self, question: Question, value: float) -> float:
        """The signed offset of the line that the cue ball comes to the object ball along."""
        lie = _lie(question.shot)
        if question.dial is None:
            return lie.offset if value == CUSHION else question.truth.offset
        return float(lie.off(value))

    def true_offset(self, question: Question) -> float:
        """The same of the answer to give."""
        return self.called_offset(question, self.best(question).value)

    def true_way(self, question: Question) -> tuple[Point, ...]:
        """Over the cushion, where that is the answer to give."""
        if question.dial is None and question.best == int(STRAIGHT):
            return super().true_way(question)
        lie = _lie(question.shot)
        return question.shot.cue_ball, lie.by.nose, lie.touching

    def error(self, question: Question, value: float) -> float:
        """Called less true fullness along the line off the cushion, + thick, in ball widths.

        A line that misses the ball counts by how far it passes, a ball that is in the way of the cushion
        as if it weren't. Where a way is asked: 0 when it is right, else minus the part of a ball's width of
        aim that is given away.
        """
        lie = _lie(question.shot)
        if question.dial is None:
            return 0.0 if int(value) == question.best else -lie.given_away()
        return lie.sign * (lie.offset - self.called_offset(question, value))

    def forgiven(self, question: Question) -> tuple[float, float]:
        """Between which errors off the cushion the ball drops."""
        return _lie(question.shot).margin

    def chances(self, task: Task, shots: Shots, truths: Truths, noise: float) -> Floats:
        """Off the cushion, on one table or another; where the surer way is asked for, by that."""
        found = chance(margins(shots), np.zeros(len(shots)), noise)
        return np.maximum(found, chances(truths, noise)) if task.answers.ask == "way" else found

    def is_right(self, question: Question, choice: Choice, potted: bool) -> bool:
        """A place is right that pots on this table or another, unless the object ball is hit before."""
        if question.dial is None:
            return super().is_right(question, choice, potted)
        lie = _lie(question.shot)
        low, high = lie.elsewhere()
        return (potted or low <= choice.value <= high) and lie.is_free(choice.value)

    def run(self, question: Question, value: float) -> Run:
        """Over the cushion; but a ball in the way is hit before."""
        shot, lie = question.shot, _lie(question.shot)
        if question.dial is None:
            if value == STRAIGHT:
                return run_at(shot, question.truth.offset)
            value = lie.place
        nose, cue, ball = lie.nose(value), np.array(shot.cue_ball), np.array(shot.object_ball)
        aim = unit(nose - cue)
        if not lie.is_free(value):
            offset = float(aim[0] * (ball - cue)[1] - aim[1] * (ball - cue)[0])
            ideal = replace(shot, stroke=None, others=())
            return run_at(ideal, offset / shot.table.ball_width)
        played = play_cushion(shot.table, cue, ball, aim, lie.by.cushion)
        if not bool(played.hits):
            return Run(
                (shot.cue_ball, point(nose), _abreast(played.came, nose, ball)),
                point(played.came),
                None,
                None,
            )
        touching = point(played.touching)
        return Run((shot.cue_ball, point(nose), touching), point(played.came), touching, point(played.way))

    # What an answer tells

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """A place tells what was seen; which way is surer tells nothing of the eye."""
        return (-math.inf, math.inf) if asked.answers else (error, error)

    def answer(self, question: Question, error: float) -> Choice:
        """The place that is off by this; of two ways the one whose error is nearest."""
        if question.dial is None:
            return min(question.choices, key=lambda c: abs(self.error(question, c.value) - error))
        lie = _lie(question.shot)
        return question.dial.at(lie.place_at(lie.offset - lie.sign * error))

    # What is shown and said

    def in_view(self, question: Question) -> tuple[Point, ...]:
        """The cushion beside the object ball, and as far before it as the ends, or the cue ball, go."""
        lie = _lie(question.shot)
        before = lie.place_of(question.shot.cue_ball)
        return lie.abreast, point(lie.nose(min(before, 0.0)))

    def shown(self, question: Question, choice: Choice | None) -> Shown:
        """The way over the cushion that is considered, and where it would bring the cue ball."""
        if choice is None:
            return Shown()
        if question.dial is None:
            return Shown(path=self.run(question, choice.value).before if choice.value == CUSHION else ())
        lie, ball = _lie(question.shot), np.array(question.shot.object_ball)
        run = self.run(question, choice.value)
        if len(run.before) < 3:
            return Shown(path=run.before)
        nose = lie.nose(choice.value)
        way = (question.shot.cue_ball, point(nose), _abreast(np.array(run.aim), nose, ball))
        return Shown(path=way, ghost=self.called_offset(question, choice.value))

    def pointed(self, question: Question, offset: float, near: float) -> Choice | None:
        """The place from which the cue ball comes to where the inset is pointed at."""
        return None if question.dial is None else question.dial.at(_lie(question.shot).place_at(offset))

    def pointed_on_table(self, question: Question, place: Point) -> Choice | None:
        """The place of the cushion abreast of where the table is pointed at."""
        return None if question.dial is None else question.dial.at(_lie(question.shot).place_of(place))

    def headline(self, mark: Mark, style: Style) -> str:
        """``In, a hair thick.``, ``1/8 ball thin: met 2.10 ... , it is 2.31 ...``"""
        question, lie = mark.question, _lie(mark.question.shot)
        if question.dial is None:
            best = question.choices[question.best].name
            wide, less = sorted((lie.by.wide, lie.by.direct_wide), reverse=True)
            said = f"{best} it is" if mark.right else f"no, {best}"
            return words.capital(f"{said}: {wide / less:.1f} times as many lines of aim pot.")
        if not lie.is_free(mark.choice.value):
            return "The object ball is met before the cushion."
        cushion = f"the {lie.by.cushion} cushion"
        if mark.potted:
            return f"{words.aimed(mark, style)[:-1]}, off {cushion}."
        off = style.thick_or_thin(mark.error)
        met = f"{cushion} {place_name(mark.choice.value).replace(' ball widths', '')}"
        if mark.right:
            return words.capital(f"on some tables: met {met}, here it is {abs(lie.place):.2f}.")
        said = f"met {met}, it is {abs(lie.place):.2f}."
        return words.capital(said if mark.met is None else f"{off}: {said}")

    def why(self, mark: Mark, style: Style) -> tuple[Step, ...]:
        """The construction over the cushion, where that is the answer to give; else the plain one."""
        question, lie, shot = mark.question, _lie(mark.question.shot), mark.question.shot
        if question.dial is None and question.best == int(STRAIGHT):
            return construction(mark, style, self.detail(mark, style))
        cut = math.degrees(math.asin(lie.offset / shot.table.reach))
        steep, off = (_steep(lie, place, lie.by.nose) for place in (shot.cue_ball, lie.touching))
        side = "left" if lie.sign > 0 else "right"
        says = (
            *touched(mark, style),
            f"So it must come off the cushion along this line: a cut of {abs(cut):.1f} degrees to "
            f"the {side}, {as_full(1 - abs(lie.offset) / shot.table.reach)} full.",
            f"A ball that rolls at the cushion {steep:.1f} degrees off square comes off it at {off:.1f}: "
            f"so it meets it {place_name(lie.place)}{_unlike_a_mirror(lie)}.",
            self.detail(mark, style),
        )
        return tuple(Step(text, PARTS[:k]) for text, k in zip(says, (1, 2, 3, 3, len(PARTS)), strict=True))

    def detail(self, mark: Mark, style: Style) -> str:
        """How many lines pot by each way, or where the ball goes and which places are right."""
        question, lie = mark.question, _lie(mark.question.shot)
        if question.dial is None:
            straight, by = (math.degrees(wide) for wide in (lie.by.direct_wide, lie.by.wide))
            return (
                f"Straight it pots with the aim up to {straight / 2:.2g} degrees off either way, "
                f"{lie.by.cushion} cushion first with up to {by / 2:.2g}."
            )
        said, (low, high) = words.comes_to(mark, style, error=mark.error), lie.elsewhere()
        if not mark.potted:
            return f"{said} By the table, {_number(low)} to {_short(high)} is right."
        return f"{said} Middle: {_short(lie.place)}, by the table {_number(low)} to {_number(high)}."


def place_name(value: float) -> str:
    """A place on the cushion in words, in hundredths of a ball width."""
    if abs(value) < 0.005:
        return "level with the object ball"
    return f"{abs(value):.2f} ball widths {'past' if value > 0 else 'before'} the ball"


def _short(place: float) -> str:
    """A place in few words: ``2.10 before``."""
    return f"{abs(place):.2f} {'past' if place > 0 else 'before'}"


def _number(place: float) -> str:
    """``2.10`` of a place before the ball, where most are; else in few words."""
    return f"{-place:.2f}" if place <= 0 else _short(place)


def _lie(shot: Shot) -> AlongCushion:
    lie = along_cushion(shot)
    if lie is None:
        raise ValueError("this shot can't be potted by a cushion first; draw it with Limits.by_cushion")
    return lie


def _steep(lie: AlongCushion, place: Point, nose: Point) -> float:
    """How far off square to the cushion the way between a place and the nose is, degrees."""
    way = np.subtract(place, nose)
    along = abs(float(dot(way, np.array(lie.along))))
    return math.degrees(math.asin(min(along / math.dist(place, nose), 1.0)))


def _unlike_a_mirror(lie: AlongCushion) -> str:
    """Where a mirror would send it: ``, off a mirror 1.05``, or that it is the same."""
    along, start = np.array(lie.along), np.array(lie.abreast)
    cue, touching = np.subtract(lie.shot.cue_ball, start), np.subtract(lie.touching, start)
    near, far = abs(float(cross(along, cue))), abs(float(cross(along, touching)))
    place = float(dot(along, cue * far + touching * near)) / (near + far) / lie.shot.table.ball_width
    if abs(place - lie.place) < 0.005:
        return ", as off a mirror"
    same_side = place * lie.place > 0
    return f", off a mirror {f'{abs(place):.2f}' if same_side else place_name(place)}"


def _abreast(came: np.ndarray, nose: np.ndarray, ball: np.ndarray) -> Point:
    """Where a line off the cushion is abreast of the object ball, mm; the nose, if that is behind it."""
    return point(nose + came * max(float(dot(came, ball - nose)), 0.0))
