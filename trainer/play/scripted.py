"""A set over standard input and output: one JSON object or plain sentence a line, one call a line.

The sentences are short, as a screen reader reads them well. Each is made from the very object that the JSON
form writes, so it tells neither more nor less; of a mark it says what the screen says.
"""

import json
import math
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import Any, TextIO

from trainer.drills import CallError, Mark, Question, detail, headline, words
from trainer.drills.back import BackQuestion
from trainer.drills.judge import JudgeQuestion
from trainer.drills.leave import LeaveQuestion, places_to_choose
from trainer.drills.pick import PickQuestion, balls_to_choose
from trainer.drills.same import SameQuestion
from trainer.drills.send import SendQuestion
from trainer.drills.words import capital, counted
from trainer.geometry.tables import Table
from trainer.play.measure import WeeklyMeasure
from trainer.play.set_in_play import SetInPlay
from trainer.play.summary import as_called
from trainer.play.warmup import Warmup
from trainer.shots.describe import place, shot_object, truth_object
from trainer.shots.style import Style

MOST_LINE = 1000  # characters: a call is a key or a name


def play_lines(
    played: SetInPlay,
    lines: TextIO,
    write: Callable[[str], None],
    clock: Callable[[], float],
    *,
    plain: bool = False,
) -> None:
    """Play a set: questions out, calls in, until it is done or the input ends.

    Parameters
    ----------
    played : Played
    lines : text stream
        Calls; read with ``readline``, so that nothing is taken before it is asked for.
    write : callable
        Takes one line without its end, and must put it out at once.
    clock : callable
        Seconds, for response times.
    plain : bool
        Say everything in short sentences, not as JSON.
    """

    def say(sentences: Callable[[], Iterable[str]], /, **fields: Any) -> None:
        if not plain:
            write(json.dumps(fields, ensure_ascii=False, allow_nan=False))
            return
        for sentence in sentences():
            write(" ".join(sentence.split()))

    style = played.game.style
    while not played.done:
        question = played.question()
        asks = question_object(played, question)
        say(partial(question_sentences, asks, question, played.level.title, style), **asks)
        asked = clock()
        line = lines.readline(MOST_LINE)
        if not line:
            break
        if not line.endswith("\n") and len(line) == MOST_LINE:
            _skip_rest(lines)
        try:
            choice = question.read(line)
        except CallError as error:
            say(partial(problem_sentences, str(error)), type="problem", message=str(error))
            continue
        mark = played.call(choice, clock() - asked)
        say(
            partial(mark_sentences, mark, style),
            type="mark",
            call=choice.name,
            error=mark.error,
            right=mark.right,
            potted=mark.potted,
            miss_mm=mark.miss_mm,
            truth=truth_object(mark.question.truth),
            **(
                {} if mark.question.shot is question.shot else {"cue_ball": list(mark.question.shot.cue_ball)}
            ),
        )
    ended = {
        "type": "summary",
        "shots": len(played.attempts),
        "right": sum(played.rights),
        "potted": played.potted,
        "best_run": played.best_run,
        **({"closing": played.closing} if isinstance(played, Warmup | WeeklyMeasure) else {}),
    }
    say(partial(summary_sentences, ended, as_called(played)), **ended)


def question_object(played: SetInPlay, question: Question) -> dict[str, Any]:
    """The JSON object of a question; the shot comes without its truth."""
    shot = shot_object(
        question.shot, question.truth, seed=played.kept.seed, level=played.level.name, answer=False
    )
    found: dict[str, Any] = {
        "type": "question",
        "number": played.number,
        "of": played.of,
        "level": played.level.name,
        "drill": question.drill,
        "ask": question.prompt,
        "shot": shot,
        "choices": [{"key": c.key, "name": c.name, "value": c.value} for c in question.choices],
    }
    # The own value would tell how full each is.
    if isinstance(question, SameQuestion | LeaveQuestion | PickQuestion):
        found["choices"] = [
            {"key": c.key, "name": c.name, "value": i} for i, c in enumerate(question.choices, 1)
        ]
    if isinstance(question, SameQuestion):
        found["options"] = [
            shot_object(o.shot, o.truth, seed=None, level=None, answer=False) for o in question.options
        ]
    if question.dial is not None:
        dial = question.dial
        found["range"] = {"low": dial.low, "high": dial.high, "of": dial.unit}
    if isinstance(question, SendQuestion):
        found["region"] = {"middle": list(question.region.middle), "radius_mm": question.region.radius}
    if isinstance(question, JudgeQuestion):
        found["line"] = question.line
    if isinstance(question, BackQuestion | LeaveQuestion):
        found["wanted"] = question.wanted
    if isinstance(question, LeaveQuestion):  # the shot's own place would tell it
        shot["cue_ball"] = list(question.places[0])
    for choice, at in zip(
        found["choices"], places_to_choose(question) or balls_to_choose(question), strict=False
    ):
        choice["place"] = list(at)
    return found


def _skip_rest(lines: TextIO) -> None:
    """Drop the rest of a line that is too long to be a call."""
    for rest in iter(lambda: lines.readline(MOST_LINE), ""):
        if rest.endswith("\n"):
            return


WIDE = 20.0  # a range, in its unit, whose ends are said to a tenth; of a narrower one to a hundredth
TINY = 1e-9


def question_sentences(said: dict[str, Any], question: Question, title: str, style: Style) -> Iterator[str]:
    """A question: which it is, the shot, what is asked, and the answers.

    Parameters
    ----------
    said : dict
        The question's object, see :func:`trainer.play.scripted.question_object`.
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
