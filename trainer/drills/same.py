"""The drill *same*: which of a few other shots has the same angle?"""

import math
from dataclasses import dataclass, replace

import numpy as np

from trainer.drills import words
from trainer.drills.drill import Drill
from trainer.drills.mark import Mark
from trainer.drills.question import STEPS, Asked, Choice, Eye, Needed, Question, Task, bounds, numbered
from trainer.geometry.fullness import band_name
from trainer.shots.draw import draw
from trainer.shots.shot import CUT_LIMIT, Limits, NoSuchShot, Shot, Shots
from trainer.shots.style import Style, as_full
from trainer.shots.truth import Truth, work_out

OPTIONS = 4  # shots to compare one with
STRAIGHT = 0.02  # sine of the least cut that has a side
SLACK = 1e-6  # of a sine: less is none


@dataclass(frozen=True)
class Option:
    """Another shot, to be compared with the one that is asked about, and its truth."""

    shot: Shot
    truth: Truth


@dataclass(frozen=True, kw_only=True)
class SameQuestion(Question):
    """``options`` are the shots that the choices stand for, one each."""

    options: tuple[Option, ...]


class Same(Drill):
    """Find the shot with the same angle."""

    name = "same"
    title = "Same angle"
    help = (
        "Four small pictures show other shots on other parts of the table: find the one that is just as full "
        "as the large one, wherever its balls lie and whatever its pocket. "
        "Often they are cut to the other side than the large one, as a mirror would show it. "
        "What is called is only ever the shot; how full each is, is told after the call."
    )
    looked_at_twice = False
    names_answers = False
    played = "the shot you called"
    keys = ("step", "mirrored")
    steps = STEPS[1:]  # four shots half a ball apart there are not

    def needed(self, task: Task) -> list[Needed]:
        """The shots to compare with too."""
        reach = band_name((OPTIONS - 1) * task.answers.step)
        whose = f"of the shots to compare with, up to {reach} ball thicker or thinner, "
        allowed = "wider limits, or a finer answers.step"
        return [*super().needed(task), Needed(options_limits(task), whose, allowed)]

    def ask(self, task: Task, shot: Shot, truth: Truth, rng: np.random.Generator, eye: Eye) -> Question:
        """Shots whose fullness differs by whole steps, one of them by none; it may be any of them."""
        step, limits = float(task.answers.step), options_limits(task)
        side = -truth.sign if task.answers.mirrored else truth.sign
        sines = _sines(abs(truth.offset) / shot.table.reach, step, limits, rng)
        sines = sines[np.argsort(rng.random(len(sines)), kind="stable")]
        shots = _elsewhere(rng, limits, side * sines * shot.table.reach, shot.pocket)
        truths = work_out(shots)
        options = tuple(Option(shots[i], truths[i]) for i in range(len(shots)))
        off = [abs(o.truth.fullness - truth.fullness) for o in options]
        return SameQuestion(
            drill=self.name,
            shot=shot,
            truth=truth,
            prompt="Which shot has the same angle?",
            choices=numbered([(f"shot {i}", o.truth.offset) for i, o in enumerate(options, 1)]),
            best=off.index(min(off)),
            width=step,
            options=options,
        )

    def called_offset(self, question: Question, value: float) -> float:
        """The signed offset that is as full as the option, on the side that the shot is cut to."""
        return question.truth.sign * abs(value)

    def error(self, question: Question, value: float) -> float:
        """The option's fullness less that of the shot."""
        return 1.0 - abs(value) / question.shot.table.reach - question.truth.fullness

    def meant(self, asked: Asked, choice: Choice, error: float) -> tuple[float, float]:
        """Half way to the neighbouring options."""
        called = abs(choice.value)
        # One over the reach; a straight option doesn't tell it, and it is about one.
        per_width = (1.0 - asked.fullness - error) / called if called > SLACK else 1.0
        thick, thin = bounds(called, [abs(value) for _, value in asked.answers])
        return error - (thin - called) * per_width, error - (thick - called) * per_width

    compares = True

    def against(self, asked: Asked, choice: Choice) -> float | None:
        """That of the right option, whichever was called: all of them are cut to the same side."""
        return math.copysign(1.0 - asked.fullness, choice.value)

    def hint(self, question: Question, choice: Choice | None) -> str:
        """To which side the others are cut."""
        assert isinstance(question, SameQuestion)
        mirrored = question.options[0].truth.sign != question.truth.sign
        return "mirrored: cut to the other side" if mirrored else "cut to the same side"

    def headline(self, mark: Mark, style: Style) -> str:
        """``3 it is: 0.62.``, ``You said 3 (0.50), it is 1 (0.62): seen 1/8 ball thin.``"""
        question = mark.question
        best, true = question.choices[question.best], as_full(question.truth.fullness)
        if mark.right:
            return f"{best.key} it is: both are {true} full."
        called = question.truth.fullness + mark.error
        off = style.thick_or_thin(mark.error)
        return f"You said {mark.choice.key} ({as_full(called)}), it is {best.key} ({true}): {off}."

    def detail(self, mark: Mark, style: Style) -> str:
        """What becomes of the ball if it is hit as full as the option called."""
        if mark.right:
            return f"{words.how_hard(mark, style)}{words.thrown(mark)}"
        said = words.comes_to_as_called(mark, style, f"Played as full as {mark.choice.key} it")
        return f"{said} {words.how_hard(mark, style)}"


def options_limits(task: Task) -> Limits:
    """What the shots may be that shots are compared with: up to three steps thicker or thinner."""
    low, high = (math.sin(math.radians(cut)) for cut in task.limits.cuts)
    most = (OPTIONS - 1) * float(task.answers.step)
    thick, thin = max(low - most, min(low, STRAIGHT)), min(high + most, math.sin(math.radians(CUT_LIMIT)))
    cuts = math.degrees(math.asin(thick)), math.degrees(math.asin(thin))
    sides = ("left", "right") if task.answers.mirrored else task.limits.sides
    return replace(task.limits, cuts=cuts, sides=sides)


def _sines(sine: float, step: float, limits: Limits, rng: np.random.Generator) -> np.ndarray:
    """Sines of a row of shots, thick to thin, that holds this one: as many as there are within the limits."""
    ((thick, thin),) = limits.sines
    row = [sine + k * step for k in range(1 - OPTIONS, OPTIONS)]
    fits = [s for s in row if s == sine or thick - SLACK <= s <= thin + SLACK]
    n = min(OPTIONS, len(fits))
    # Where the row may start so that the given one is in it; any of these is as likely.
    starts = [i for i in range(len(fits) - n + 1) if sine in fits[i : i + n]]
    start = starts[int(rng.random() * len(starts))]
    return np.array(fits[start : start + n])


def _elsewhere(rng: np.random.Generator, limits: Limits, offsets: np.ndarray, pocket: str) -> Shots:
    """Shots of these offsets, into other pockets than this one if the limits have any.

    A level made for another drill need not have them at all: then they come from anywhere on its table.
    """
    others = tuple(name for name in limits.pockets if name != pocket) or limits.pockets
    for allowed in (replace(limits, pockets=others), limits):
        try:
            return draw(rng, len(offsets), allowed, offsets)
        except NoSuchShot:
            continue
    return draw(rng, len(offsets), Limits(limits.table), offsets)
