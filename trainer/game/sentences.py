"""A set over lines in short sentences, one a line, as a screen reader reads them well.

Each is made from the very object that the JSON form writes, so it tells neither more nor less; of a mark
it says what the screen says.
"""

from collections.abc import Iterator
from typing import Any

from trainer.drills import Mark, Question, detail, headline, words
from trainer.drills.words import capital, counted
from trainer.geometry.tables import Table
from trainer.shots.describe import place
from trainer.shots.saying import measured


def question_sentences(said: dict[str, Any], question: Question, title: str) -> Iterator[str]:
    """A question: which it is, the shot, what is asked, and the answers.

    Parameters
    ----------
    said : dict
        The question's object, see :func:`trainer.game.lines.question_object`.
    question : Question
        The same question, for its table and its stroke.
    title : str
        The level's title.
    """
    table, stroke = question.shot.table, question.shot.stroke
    of = f" of {said['of']}" if said["of"] else ""
    yield f"Shot {said['number']}{of}, {title}, {table.title}."
    yield from _shot_sentences(said["shot"], table, cue_ball=not question.places)
    if stroke is not None:
        yield f"Played {words.stroke(stroke)}."
    for number, option in enumerate(said.get("options", ()), 1):
        yield f"Shot to choose, number {number}:"
        yield from _shot_sentences(option, table)
    if "line" in said:
        yield f"A line of aim is drawn, {_beside(said['line'])}."
    if "region" in said:
        region = said["region"]
        yield (
            f"The place for the cue ball: {place(table, tuple(region['middle']))}, "
            f"{measured(region['radius_mm'])} to its rim."
        )
    yield said["ask"]
    for choice in said["choices"]:
        where = f", {place(table, tuple(choice['place']))}" if "place" in choice else ""
        yield f"{choice['key']}: {choice['name']}{where}."
    if "range" in said:
        ends = said["range"]
        yield f"Type a number from {ends['low']:g} to {ends['high']:g}, {ends['of']}."
    else:
        yield "Type a number or a name."


def _shot_sentences(shot: dict[str, Any], table: Table, *, cue_ball: bool = True) -> Iterator[str]:
    """Where its balls are, and the pocket; without the cue ball, where a place for it is to be chosen."""
    if cue_ball:
        yield f"Cue ball: {place(table, tuple(shot['cue_ball']))}."
    yield f"Object ball: {place(table, tuple(shot['object_ball']))}."
    for other in shot.get("others", ()):
        yield f"Another ball: {place(table, tuple(other))}."
    if (shot.get("pocket") or {}).get("name"):
        yield f"Pocket: {shot['pocket']['name'].replace('-', ' ')}."


def _beside(offset: float) -> str:
    said = words.beside(offset)
    return "through the object ball's centre" if said == "centre" else f"{said} of the object ball's centre"


def mark_sentences(mark: Mark) -> Iterator[str]:
    """A mark, in the words of the screen."""
    yield "Right." if mark.right else "Wrong."
    yield headline(mark)
    yield detail(mark)


def problem_sentences(message: str) -> Iterator[str]:
    """What can't be used."""
    yield f"{capital(message)}."


def summary_sentences(said: dict[str, Any]) -> Iterator[str]:
    """The end of a set."""
    yield f"The end: {counted(said['shots'], 'shot')}, {said['right']} right, {said['potted']} potted."
    yield f"Best run: {said['best_run']}."
    if said.get("closing"):
        yield said["closing"]
