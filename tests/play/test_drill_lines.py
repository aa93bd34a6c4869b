"""Every drill as a set over lines: questions, nonsense answered, marks; the calls are kept and learnt."""

import io
import json
import math
from typing import Any

import pytest

from trainer.drills import DRILLS
from trainer.play.calls import call_of
from trainer.play.game import Game
from trainer.play.player_model import Skill
from trainer.play.scripted import play_lines


class Script:
    """Answers each question with nonsense once, then with what is right."""

    def __init__(self, game: Game, drill: str, shots: int) -> None:
        self.played = game.begin(game.level(None, drill), shots=shots, seed=6)
        self.said: list[dict[str, Any]] = []
        self.nonsense = True

    def readline(self, most: int = -1) -> str:
        self.nonsense = not self.nonsense
        if not self.nonsense:
            return "no such answer\n"
        question = self.played.question()
        best = DRILLS[question.drill].best(question)
        return f"{best.key or repr(best.value)}\n"

    def run(self) -> list[dict[str, Any]]:
        play_lines(self.played, self, lambda line: self.said.append(json.loads(line)), lambda: 0.0)  # type: ignore[arg-type]
        return self.said


@pytest.mark.parametrize("name", DRILLS)
def test_a_set_of_each_drill_over_lines(game: Game, name: str) -> None:
    said = Script(game, name, 4).run()
    assert [line["type"] for line in said] == ["question", "problem", "question", "mark"] * 4 + ["summary"]
    for line in said:
        if line["type"] == "question":
            assert isinstance(line["number"], int)
            assert line["drill"] == name
            assert "truth" not in line["shot"]
            assert all(isinstance(number, float) for number in line["shot"]["cue_ball"])
            for choice in line["choices"]:
                assert {"key", "name", "value"} <= set(choice)
            assert bool(line["choices"]) != ("range" in line)
            if "range" in line:
                assert line["range"]["low"] < line["range"]["high"]
        if line["type"] == "problem":
            assert "allowed" in line["message"]
        if line["type"] == "mark":
            assert line["right"]
            assert math.isfinite(line["error"])
    assert said[-1]["right"] == 4
    assert game.skill(DRILLS[name].skill).tally.calls == 4


@pytest.mark.parametrize("name", DRILLS)
def test_the_history_tells_the_learner_the_same_as_the_call_did(game: Game, name: str) -> None:
    Script(game, name, 6).run()
    skill = game.skill(DRILLS[name].skill)
    again = Game(game.history, game.shelf)
    read = Skill()
    for number, attempt in enumerate(game.history.attempts(), 1):
        read.learn(call_of(attempt), number)
    assert read.belief.plain() == skill.belief.plain() == again.skill(DRILLS[name].skill).belief.plain()
    assert read.tally.plain() == skill.tally.plain()
    ours, theirs = (s.belief.curve([-0.6, 0.1, 0.5])[0] for s in (skill, again.skill(DRILLS[name].skill)))
    assert ours == pytest.approx(theirs)


def test_throw_tells_nothing_of_the_angle_and_angles_nothing_of_throw(game: Game) -> None:
    Script(game, "throw", 3).run()
    assert not game.skill().tally.calls
    Script(game, "slide", 3).run()
    assert game.skill().tally.calls == 3
    assert game.skill("throw").tally.calls == 3


def test_the_end_of_input_ends_a_number_s_set_in_good_order(game: Game) -> None:
    said: list[dict[str, Any]] = []
    played = game.begin(game.level(None, "slide"), shots=3, seed=1)
    play_lines(played, io.StringIO("0.2\n"), lambda line: said.append(json.loads(line)), lambda: 0.0)
    assert [line["type"] for line in said] == ["question", "mark", "question", "summary"]
    assert said[1]["call"] == "0.20 right of centre"
