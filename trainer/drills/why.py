"""Why a mark is as it is: the construction of the shot, step by step, with its numbers."""

import math
from dataclasses import dataclass

from trainer.drills import words
from trainer.drills.mark import Mark
from trainer.geometry.fullness import EIGHTH, band_of
from trainer.shots.style import HAIR, Style
from trainer.shots.truth import Truth

# What a picture may show of a shot's construction, in the order in which it is drawn.
PARTS = ("way", "touching", "aim", "offset", "fullness", "call")


@dataclass(frozen=True)
class Step:
    """One step: what it says, and which of ``PARTS`` are on the picture by then."""

    says: str
    parts: tuple[str, ...]


def construction(mark: Mark, style: Style, last: str) -> tuple[Step, ...]:
    """Line to the pocket, touching position, line of aim, offset, fullness, and last what was called."""
    shot, truth = mark.question.shot, mark.question.truth
    cut, reach = abs(math.degrees(truth.cut)), shot.table.reach
    run = math.dist(shot.cue_ball, truth.touching)
    to = "dead straight" if cut < 0.05 else f"a cut of {cut:.1f} degrees to the {truth.side}"
    sine = f"sin {cut:.1f}" if abs(reach - 1) < 1e-9 else f"{reach:.3f} x sin {cut:.1f}"
    says = (
        *touched(mark, style),
        f"So this is the line of aim, {style.length(run)} long: {to}.",
        f"It passes {words.passes(truth.offset)}: {sine} = {abs(truth.offset):.2f}.",
        f"So the cue ball covers {covered(truth, reach)} of it, {named(truth, style)}. {pots(truth, style)}",
        last,
    )
    return tuple(Step(text, PARTS[: k + 1]) for k, text in enumerate(says))


def touched(mark: Mark, style: Style) -> tuple[str, str]:
    """The first two steps: the line to the pocket, and where the cue ball is when it touches."""
    shot, truth = mark.question.shot, mark.question.truth
    away = math.dist(shot.object_ball, truth.target)
    line = f"The ball must go along this line, {style.length(away)} to the middle of the pocket's opening."
    behind = f"{style.length(shot.table.contact, 1)} from the object ball's"
    if not truth.throw:
        return line, f"To send it there the cue ball touches it right behind: its centre is here, {behind}."
    thrown = f"Friction throws it by {abs(math.degrees(truth.throw)):.1f} degrees"
    return line, f"{thrown}, so the balls touch off that line: the cue ball's centre is here, {behind}."


def played(mark: Mark, style: Style, what: str) -> str:
    """``Your call covers 0.62: 1/8 ball thick. The ball goes ...``; ``what`` was it that was played."""
    return f"{called(mark, style, what)} {words.goes(mark, style, 'The ball')}"


def called(mark: Mark, style: Style, what: str) -> str:
    """``Your call covers 0.62: 1/8 ball thick.``"""
    truth, off = mark.question.truth, words.played_off(mark)
    covers = truth.fullness + off / mark.question.shot.table.reach
    if covers > 1:
        said = "goes past the centre"
    elif covers < 0:
        said = "passes the ball"
    else:
        said = f"covers {covers:.2f}"
    is_off = "as it must" if abs(off) < HAIR else style.thick_or_thin(off)
    return f"{words.capital(what)} {said}: {is_off}."


def covered(truth: Truth, reach: float) -> str:
    """``1 - 0.55 = 0.45``; of balls of two sizes ``1 - 0.64 / 0.972 = 0.34``."""
    if abs(reach - 1) < 1e-9:
        return f"1 - {1 - truth.fullness:.2f} = {truth.fullness:.2f}"
    return f"1 - {abs(truth.offset):.2f} / {reach:.3f} = {truth.fullness:.2f}"


def pots(truth: Truth, style: Style, what: str = "it pots") -> str:
    """``From 0.44 to 0.52 it pots.``: rounded inward, so that all that is said to pot does."""
    low, high = math.ceil(truth.margin[0] * 100 - 1e-9) / 100, math.floor(truth.margin[1] * 100 + 1e-9) / 100
    if low > high:  # next to nothing pots
        low, high = truth.margin
        return f"From {low:.4f} to {min(high, 1.0):.4f} {what}."
    if truth.margin[1] > 1.0:
        beyond = style.ball_part(truth.margin[1] - 1.0)
        return f"From {low:.2f} to full {what}, and {beyond} past the centre."
    return f"From {low:.2f} to {high:.2f} {what}."


def named(truth: Truth, style: Style) -> str:
    """``a little more than 3/8``, ``3/8``, or ``thinner than 1/8``."""
    band = band_of(truth.fullness, EIGHTH)
    if band.value < 1 / 8:
        return "thinner than 1/8"
    off = truth.fullness - band.value
    if abs(off) < HAIR:
        return band.name
    return f"{style.ball_part(off)} {'more' if off > 0 else 'less'} than {band.name}"
