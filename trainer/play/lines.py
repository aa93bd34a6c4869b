"""A set over standard input and output: one JSON object or plain sentence a line, one call a line."""

import json
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any, TextIO

from trainer.drills import CallError, Question
from trainer.drills.back import BackQuestion
from trainer.drills.judge import JudgeQuestion
from trainer.drills.leave import LeaveQuestion, places_of
from trainer.drills.pick import PickQuestion, balls_of
from trainer.drills.same import SameQuestion
from trainer.drills.send import SendQuestion
from trainer.play.played import Played
from trainer.play.sentences import (
    mark_sentences,
    problem_sentences,
    question_sentences,
    summary_sentences,
)
from trainer.play.summary import as_called
from trainer.play.warmup import Warmup
from trainer.shots.describe import shot_object, truth_object

MOST_LINE = 1000  # characters: a call is a key or a name


def play_lines(
    played: Played,
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
        **({"closing": played.closing} if isinstance(played, Warmup) else {}),
    }
    say(partial(summary_sentences, ended, as_called(played)), **ended)


def question_object(played: Played, question: Question) -> dict[str, Any]:
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
    for choice, place in zip(found["choices"], places_of(question) or balls_of(question), strict=False):
        choice["place"] = list(place)
    return found


def _skip_rest(lines: TextIO) -> None:
    """Drop the rest of a line that is too long to be a call."""
    for rest in iter(lambda: lines.readline(MOST_LINE), ""):
        if rest.endswith("\n"):
            return
