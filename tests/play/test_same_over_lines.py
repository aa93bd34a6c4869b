"""The drill *same* over lines, and out of a history."""

import io
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.calls import call_of
from trainer.play.game import Game
from trainer.play.scripted import play_lines
from trainer.simulate.players import Nature, Player
from trainer.simulate.simulation import answer, call_made


def fullness(shot: dict[str, Any]) -> float:
    """How full the shot of a JSON object is."""
    cue, ball, target = (
        complex(*at) for at in (shot["cue_ball"], shot["object_ball"], shot["pocket"]["target"])
    )
    way = (target - ball) / abs(target - ball)
    contact = math.sqrt(shot["table"]["cue_ball_mm"] * shot["table"]["object_ball_mm"])
    aim = ball - way * contact - cue
    return 1 - abs((way / aim).imag) * abs(aim)


def test_the_shots_alone_say_which_is_the_same(game: Game) -> None:
    played, said = game.begin(game.level(None, "same"), shots=6, seed=3), list[dict[str, Any]]()

    class Caller:
        """Works out which of the options is as full as the shot, and calls it."""

        def readline(self, most: int) -> str:
            question = said[-1]
            if question["number"] == 2 and not any(s["type"] == "problem" for s in said):
                return "none of them\n"
            wanted = fullness(question["shot"])
            off = [abs(fullness(option) - wanted) for option in question["options"]]
            return f"{off.index(min(off)) + 1}\n"

    play_lines(played, Caller(), lambda line: said.append(json.loads(line)), lambda: 0.0)  # type: ignore[arg-type]
    assert said[-1] == {"type": "summary", "shots": 6, "right": 6, "potted": 6, "best_run": 6}
    questions = [s for s in said if s["type"] == "question"]
    for question in questions:
        assert [c["key"] for c in question["choices"]] == ["1", "2", "3", "4"]
        assert [c["value"] for c in question["choices"]] == [1, 2, 3, 4]  # its own would be the answer
        assert all("truth" not in option for option in question["options"])
    (problem,) = [s for s in said if s["type"] == "problem"]
    assert problem["message"] == (
        "'none of them' is not an answer here; allowed: 1 to 4, or a name: shot 1, shot 2, shot 3, shot 4"
    )


@pytest.mark.parametrize("text", ["", "0", "5", "shot 5", "1 2", "half", "\x00"])
def test_nonsense_is_answered_with_one_line(game: Game, text: str) -> None:
    played, said = game.begin(game.level("same-angle"), shots=3, seed=1), list[str]()
    play_lines(played, io.StringIO(text + "\n"), said.append, lambda: 0.0)
    problem = json.loads(said[1])
    assert problem["type"] == "problem"
    assert "allowed: 1 to 4, or a name" in problem["message"]
    assert len(problem["message"].splitlines()) == 1
    assert game.attempts == []


@pytest.mark.parametrize("mirrored", [True, False])
def test_the_history_gives_the_learner_what_the_simulation_gives(
    game: Game, tmp_path: Path, mirrored: bool
) -> None:
    level = game.level("same-angle")
    level = replace(level, answers=replace(level.answers, mirrored=mirrored))
    player, played = Player(Nature(), np.random.default_rng(2)), game.begin(level, shots=30, seed=4)
    for _ in range(30):
        question = played.question()
        chosen = answer(question, player)
        played.call(chosen, 1.0)
        kept = call_of(game.attempts[-1])
        made = call_made(question, chosen, kept.condition, kept.set_id, kept.day)
        names = ("sine", "low", "high", "error", "against")
        assert [getattr(made, n) for n in names] == pytest.approx(
            [getattr(kept, n) for n in names], abs=1e-12
        )
        assert kept.against == pytest.approx(-kept.sine if mirrored else kept.sine, abs=1e-9)
        assert made.right == kept.right
    before = game.belief.joint([0.5, -0.5])
    game.history.close()
    with History.open(tmp_path / "data", FixedClock("2026-03-01T12:00:00+00:00")) as again:
        after = Game(again, open_shelf()).belief.joint([0.5, -0.5])
    for one, other in zip(before, after, strict=True):
        assert one == pytest.approx(other, abs=1e-12)
