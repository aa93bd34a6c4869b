"""The set over lines in plain sentences: the same game as in JSON, said for somebody who hears it."""

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from trainer.drills import DRILLS
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.play.scripted import play_lines, question_sentences
from trainer.play.set_in_play import SetInPlay
from trainer.shots.style import USUAL, Style


def said_in(played: SetInPlay, calls: str, *, plain: bool) -> list[str]:
    lines: list[str] = []
    play_lines(played, io.StringIO(calls), lines.append, lambda: 0.0, plain=plain)
    return lines


NOON = "2026-03-01T12:00:00+00:00"  # as in the fixture game


@pytest.fixture
def twin(tmp_path: Path) -> Iterator[Game]:
    """Another player who has never called a shot, at the same time."""
    with History.open(tmp_path / "twin", FixedClock(NOON)) as history:
        yield Game(history, open_shelf())


def any_call(played: SetInPlay) -> str:
    """An answer that the question takes."""
    question = played.question()
    return question.choices[0].key if question.dial is None else f"{question.dial.start:.2f}"


@pytest.mark.parametrize("drill", DRILLS)
def test_every_drill_is_asked_and_marked_in_sentences(game: Game, twin: Game, drill: str) -> None:
    played = game.begin(game.level(None, drill), shots=2, seed=6)
    calls = f"what?\n{2 * (any_call(played) + chr(10))}"
    objects = [json.loads(line) for line in said_in(played, calls, plain=False)]
    lines = said_in(twin.begin(twin.level(None, drill), shots=2, seed=6), calls, plain=True)
    assert all(line and "\n" not in line and "{" not in line for line in lines)
    assert all(line[-1] in ".:?!" for line in lines), lines
    asked = [each for each in objects if each["type"] == "question"]
    heads = [line for line in lines if line.startswith("Shot ") and " of 2, " in line]
    assert len(heads) == len(asked) == 3  # one was asked twice
    first = asked[0]
    assert first["ask"] in lines
    for choice in first["choices"]:
        assert any(line.startswith(f"{choice['key']}: {choice['name']}") for line in lines)
    (problem,) = [each["message"] for each in objects if each["type"] == "problem"]
    assert any(line.lower() == f"{problem}.".lower() for line in lines)
    end = objects[-1]
    said = [f"The end: 2 shots, {end['right']} right.", f"Best run: {end['best_run']}."]
    if drill not in ("judge", "same", "leave", "straight", "back"):  # something else than the call is played
        some = ("none gets there", "1 gets there", "2 get there")[end["potted"]]
        if drill != "send":
            some = ("none goes in", "1 goes in", "2 go in")[end["potted"]]
        said.append(f"As called, {some}.")
    assert lines[-len(said) :] == said
    assert lines.count("Right.") + lines.count("Wrong.") == 2
    assert lines.count("Right.") == end["right"]


def test_the_balls_are_where_the_object_says(game: Game) -> None:
    played = game.begin(game.level("eighths", None), shots=1, seed=5)
    question = played.question()
    said = {
        **{"number": 1, "of": 12, "ask": "How full?", "choices": []},
        "shot": {
            "cue_ball": [900.0, 500.0],
            "object_ball": [1600.0, 1400.0],
            "others": [[10.0, 20.0]],
            "pocket": {"name": "top-right"},
        },
    }
    lines = list(question_sentences(said, question, "Eighths", USUAL))
    assert lines[1:6] == [
        "Cue ball: 900 mm up from the baulk cushion, 500 mm from the right-hand one.",
        "Object ball: 1600 mm up from the baulk cushion, 378 mm from the left-hand one.",
        "Another ball: 10 mm up from the baulk cushion, 20 mm from the right-hand one.",
        "Pocket: top right.",
        "How full?",
    ]
    lines = list(question_sentences(said, question, "Eighths", Style("imperial")))
    assert lines[1].startswith("Cue ball: 35.4 in up")


def test_input_that_ends_ends_the_set_with_its_summary(game: Game) -> None:
    played = game.begin(game.level("eighths", None), shots=3, seed=5)
    lines = said_in(played, "1\n", plain=True)
    assert lines[-3] in ("The end: 1 shot, 0 right.", "The end: 1 shot, 1 right.")
