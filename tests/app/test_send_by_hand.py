"""The drill send on the screen: what is lit in each view, what is drawn after the call, and over lines."""

import io
import json
from typing import Any

import pytest
from by_hand import MOSTLY_SMALL, SMALL, begun, playing, shown

from trainer.drills import DRILLS
from trainer.pictures.marks import Line, Meaning, Region
from trainer.play.game import Game
from trainer.play.scripted import play_lines

LEVEL = "send-the-cue-ball"
SEND = DRILLS["send"]


@pytest.mark.parametrize("size", MOSTLY_SMALL)
async def test_after_the_call_both_ways_of_the_cue_ball_are_drawn(game: Game, size: tuple[int, int]) -> None:
    async with begun(game, LEVEL, size, shots=4, seed=3) as (app, pilot):
        for number in range(3 if size == SMALL else 1):
            screen = playing(app)
            assert screen.scene.target is None
            asked = [mark for mark in screen.scene.marks if isinstance(mark, Region)]
            assert [region.meaning for region in asked] == [Meaning.ASKED]
            assert asked == [mark for mark in screen.scene.located if isinstance(mark, Region)]
            await pilot.press("enter")
            assert "Move it first." in shown(app)
            await pilot.press("right", "left", "enter")
            await pilot.pause()
            mark, laid = screen.mark, screen.scene.marks
            assert mark is not None
            after = SEND.shown_after(mark)
            assert Line(after.true_after, Meaning.AIM) in laid
            assert Line(tuple(after.called_after), Meaning.CALL) in laid
            # Where the object ball goes doesn't matter.
            lines = [mark for mark in laid if isinstance(mark, Line)]
            assert all(line.points[0] != mark.played.object_ball for line in lines if line.points)
            assert Region(after.region, Meaning.ASKED) in laid
            said = shown(app)
            assert ("Over it" in said) == mark.right
            assert "pocket" not in said
            assert "solid: the pot" not in said
            if number == 0:
                seen = set()
                for k in range(1, 8):
                    await pilot.press("y")
                    assert f"{k} of 7" in shown(app)
                    seen.add(shown(app))
                assert len(seen) == 7
                await pilot.press("y")
            await pilot.press("enter")
            await pilot.pause()


def test_over_lines_the_place_is_told_and_no_truth(game: Game) -> None:
    said: list[dict[str, Any]] = []
    played = game.begin(game.level(None, "send"), shots=4, seed=2)
    lines = io.StringIO("half\n2\n0.3\n-1/4\n0\n1.2\n")
    play_lines(played, lines, lambda line: said.append(json.loads(line)), lambda: 0.0)
    questions = [line for line in said if line["type"] == "question"]
    marks = [line for line in said if line["type"] == "mark"]
    assert [line["type"] for line in said].count("problem") == 2
    assert len(marks) == 4
    for line in questions:
        assert set(line["region"]) == {"middle", "radius_mm"}
        assert line["choices"] == []
        assert line["range"]["low"] == -1.25
        assert line["shot"]["stroke"]["roll"] in (0.0, 1.0)
        assert "truth" not in line["shot"]
    for line in marks:
        assert {"error", "potted", "miss_mm", "truth", "right"} <= set(line)
        assert "cue_ball" not in line
        assert line["potted"] == line["right"] == (line["miss_mm"] <= 52.5 and line["call"] != "1.20 right")
        low, high = line["truth"]["margin"]
        called = line["truth"]["fullness"] + line["error"]
        assert line["potted"] == (low <= called <= high)
    assert marks[3]["miss_mm"] > 0


def test_the_history_holds_the_place_and_a_new_start_believes_the_same(game: Game) -> None:
    played = game.begin(game.level(None, "send"), shots=5, seed=9)
    for _ in range(5):
        question = played.question()
        played.call(SEND.answer(question, 0.04))
        kept = game.attempts[-1]
        assert question.region is not None
        assert kept.target == question.region.middle
        assert kept.margin_low < kept.fullness < kept.margin_high
    again = Game(game.history, game.shelf)
    for belief in (again.skill("send").belief, game.skill("send").belief):
        assert belief.calls == game.skill("send").tally.calls > 0
    assert again.skill("send").belief.plain() == game.skill("send").belief.plain()
    assert not again.skill().tally.calls
