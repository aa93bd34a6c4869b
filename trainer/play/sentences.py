"""A set over lines in short sentences, one a line, as a screen reader reads them well.

Each is made from the very object that the JSON form writes, so it tells neither more nor less; of a mark
it says what the screen says.
"""

import math
from collections.abc import Iterator
from typing import Any

from trainer.drills import Mark, Question, detail, headline, words
from trainer.drills.leave import LeaveQuestion
from trainer.drills.words import capital, counted
from trainer.geometry.tables import Table
from trainer.shots.describe import place
from trainer.shots.style import Style

WIDE = 20.0  # a range, in its unit, whose ends are said to a tenth; of a narrower one to a hundredth
TINY = 1e-9


def question_sentences(said: dict[str, Any], question: Question, title: str, style: Style) -> Iterator[str]:
    """A question: which it is, the shot, what is asked, and the answers.

    Parameters
    ----------
    said : dict
        The question's object, see :func:`trainer.play.lines.question_object`.
    question : Question
        The same question, for its table and its stroke.
    title : str
        The level's title.
    style : Style
        How lengths are written.
    """
    table, stroke = question.shot.table, question.shot.stroke
    of = f" of {said['of']}" if said["of"] else ""
    yield f"Shot {said['number']}{of}, {title}, {table.title}."
    yield from _shot_sentences(said["shot"], table, style, cue_ball=not isinstance(question, LeaveQuestion))
    if stroke is not None:
        yield f"Played {words.stroke(stroke)}."
    for number, option in enumerate(said.get("options", ()), 1):
        yield f"Shot to choose, number {number}:"
        yield from _shot_sentences(option, table, style)
    if "line" in said:
        yield f"A line of aim is drawn, {words.passes(said['line'])}."
    if "region" in said:
        region = said["region"]
        yield (
            f"The place for the cue ball: {place(table, tuple(region['middle']), style)}, "
            f"{style.length(region['radius_mm'])} to its rim."
        )
    yield said["ask"]
    for choice in said["choices"]:
        where = f", {place(table, tuple(choice['place']), style)}" if "place" in choice else ""
        yield f"{choice['key']}: {choice['name']}{where}."
    if "range" in said:
        low, high = _inward(said["range"])
        yield f"Type a number from {low:g} to {high:g}, {said['range']['of']}."
    else:
        yield "Type a number or a name."


def _shot_sentences(
    shot: dict[str, Any], table: Table, style: Style, *, cue_ball: bool = True
) -> Iterator[str]:
    """Where its balls are, and the pocket; without the cue ball, where a place for it is to be chosen."""
    if cue_ball:
        yield f"Cue ball: {place(table, tuple(shot['cue_ball']), style)}."
    yield f"Object ball: {place(table, tuple(shot['object_ball']), style)}."
    for other in shot.get("others", ()):
        yield f"Another ball: {place(table, tuple(other), style)}."
    if (shot.get("pocket") or {}).get("name"):
        yield f"Pocket: {shot['pocket']['name'].replace('-', ' ')}."


def _inward(ends: dict[str, Any]) -> tuple[float, float]:
    """The ends of a range in as few figures as are needed, rounded so that both can be called."""
    low, high = ends["low"], ends["high"]
    parts = 10 if high - low > WIDE else 100
    return math.ceil(low * parts - TINY) / parts, math.floor(high * parts + TINY) / parts


def mark_sentences(mark: Mark, style: Style) -> Iterator[str]:
    """A mark, in the words of the screen."""
    yield "Right." if mark.right else "Wrong."
    yield headline(mark, style)
    yield detail(mark, style)


def problem_sentences(message: str) -> Iterator[str]:
    """What can't be used."""
    yield f"{capital(message)}."


def summary_sentences(said: dict[str, Any], as_called: str) -> Iterator[str]:
    """The end of a set; ``as_called`` says how many went in, see :func:`trainer.play.summary.as_called`."""
    yield f"The end: {counted(said['shots'], 'shot')}, {said['right']} right."
    yield f"Best run: {said['best_run']}."
    if as_called:
        yield as_called
    if said.get("closing"):
        yield said["closing"]
