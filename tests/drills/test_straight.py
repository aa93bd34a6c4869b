"""The drill straight against a second computation, and what its answers tell of a player."""

import json
import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from test_marking import drops, way_of_call

from trainer import drills
from trainer.drills import DRILLS, CallError, Question
from trainer.drills.straight import LEFT, RIGHT, STRAIGHT
from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import TABLES, Table
from trainer.learner.centre import FEWEST, CentreSeen
from trainer.levels.level import free_practice, narrowed
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf
from trainer.levels.toml_reader import FileError
from trainer.names import DRILLS as NAMES
from trainer.play.answered import sighting_words
from trainer.play.game import Game
from trainer.report.report import report, sighting_line
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import USUAL
from trainer.shots.truth import work_out
from trainer.simulate.players import Nature
from trainer.simulate.simulation import practise

DRILL = DRILLS["straight"]
FREE = free_practice("straight")


def questions(count: int, seed: int, table: Table) -> list[Question]:
    rng = np.random.default_rng(seed)
    shots = draw(rng, count, Limits(table, FREE.limits.cuts))
    truths = work_out(shots)
    return [FREE.question(shots[i], truths[i], rng) for i in range(count)]


@pytest.mark.parametrize("table", ["snooker", "small-ball"])
@pytest.mark.parametrize("count", [90, pytest.param(500, marks=pytest.mark.long)])
def test_many_shots_are_what_a_second_computation_says(table: str, count: int) -> None:
    seen = Counter[str]()
    for question in questions(count, 1, replace(TABLES[table], help="none")):
        way = way_of_call(question, 0.0)
        assert way is not None
        target = complex(*question.truth.target) - complex(*question.shot.object_ball)
        off = (target / way).imag  # + where the pocket lies to the left of a full ball's way
        wanted = STRAIGHT if drops(question, way) else LEFT if off > 0 else RIGHT
        assert [c.name for c in question.choices if drills.mark(question, c).right] == [wanted]
        seen[wanted] += 1
        for choice in question.choices:
            mark = drills.mark(question, choice)
            assert mark.potted == (wanted == STRAIGHT)  # a full ball is played, whatever was called
            assert mark.offset == 0.0
            truth = question.truth
            assert mark.error == pytest.approx(truth.sign * (truth.offset - choice.value), abs=1e-12)
        left, straight, right = (c.value for c in question.choices)
        low, high = question.truth.margin
        assert (left, straight, -right) == pytest.approx(
            ((high - low) * question.shot.table.reach, 0.0, left), abs=1e-12
        )
    assert min(seen[name] for name in (LEFT, STRAIGHT, RIGHT)) > 0.08 * count


@pytest.mark.parametrize("stroke", [None, Stroke(1.2, side_spin=0.6)])
def test_with_throw_and_help_of_the_jaws_a_shot_is_straight_where_a_full_ball_drops(
    stroke: Stroke | None,
) -> None:
    for question in questions(200, 2, replace(TABLES["snooker"], help="both", stroke=stroke)):
        mark = drills.mark(question, question.choices[question.best])
        assert mark.potted == (mark.choice.name == STRAIGHT)


def test_an_answer_means_that_the_margin_was_seen_so() -> None:
    rng = np.random.default_rng(8)
    for question in questions(300, 9, TABLES["snooker"]):
        truth = question.truth
        error = 0.06 * rng.standard_normal()
        # The offsets that pot as this player sees them, + right of the ball's centre.
        ends = sorted(truth.sign * (1 - end - error) for end in truth.margin)
        wanted = LEFT if ends[0] > 0 else RIGHT if ends[1] < 0 else STRAIGHT
        assert DRILL.answer(question, error).name == wanted
        meant = sorted(DRILL.meant(question.asked, c, 0.0) for c in question.choices)
        assert meant[0][0] == -math.inf
        assert meant[0][1] == meant[1][0]
        assert meant[1][1] == meant[2][0]
        assert meant[2][1] == math.inf
        assert meant[1] == DRILL.meant(question.asked, question.choices[1], 0.0)


def test_an_answer_of_another_program_tells_nothing() -> None:
    (question,) = questions(1, 3, TABLES["snooker"])
    odd = replace(question.choices[0], name="leftish")
    for name in ("straight", "judge"):
        assert DRILLS[name].meant(question.asked, odd, 0.1) == (-math.inf, math.inf)


@pytest.mark.parametrize("bias", [0.05, -0.05])
def test_shots_seen_thick_or_thin_are_found_from_this_drill_alone(bias: float) -> None:
    """Of noise .05, within .035 ball after 120 calls (measured: .03 or nearer)."""
    places = np.sin(np.radians([-5, -2.5, 2.5, 5]))
    for seed in (1, 2, 3):
        *_, last = practise(FREE, Nature(noise=0.05, everywhere=bias), days=2, shots=60, seed=seed)
        mean, _ = last.belief.curve(places)
        assert mean.mean() == pytest.approx(bias, abs=0.035)


@pytest.mark.parametrize(
    "seen", [0.04, *(pytest.param(seen, marks=pytest.mark.slow) for seen in (-0.04, 0.0))]
)
def test_a_player_who_sees_the_centre_aside_is_told_so_by_the_report(game: Game, seen: float) -> None:
    """Sixty calls of noise .04: known to .02 ball and better."""
    rng = np.random.default_rng(4)
    played = game.begin(FREE, shots=60, seed=5)
    told = {}
    while not played.done:
        question = played.question()
        error = question.truth.sign * seen + 0.04 * rng.standard_normal()
        played.call(DRILL.answer(question, error))
        if len(game.attempts) in (1, FEWEST - 1, 60):
            told[len(game.attempts)] = report(game)["sighting"]
    assert [told[n] is None for n in (1, FEWEST - 1, 60)] == [True, True, False]
    found = told[60]
    assert json.loads(json.dumps(found)) == found
    assert set(found) == {"bias", "low", "high", "calls"}
    assert found["calls"] == 60
    assert found["low"] < seen < found["high"]
    assert found["bias"] == pytest.approx(seen, abs=0.02)
    said = sighting_line(game)
    assert ("lies so far to the left" in said) == (seen > 0)
    assert ("lies so far to the right" in said) == (seen < 0)
    assert ("goes to neither side" in said) == (seen == 0)


def test_words_for_where_the_centre_is_seen() -> None:
    assert sighting_words(None, 0, USUAL) == ""
    assert "29 more calls" in sighting_words(None, FEWEST - 29, USUAL)
    assert "don't agree enough to tell" in sighting_words(None, FEWEST, USUAL)
    assert sighting_words(CentreSeen(1 / 32, 1 / 64, 3 / 64, 80), 80, USUAL) == (
        "You take for straight what needs a line 1/32 ball to the right: "
        "your line of aim lies so far to the left, sure within 1/64."
    )
    assert sighting_words(CentreSeen(-0.01, -0.03, 0.01, 80), 80, USUAL) == (
        "Your line of aim goes to neither side: you see what is straight, within 1/32 ball."
    )


def test_sentences_say_what_was_called_and_what_is_true() -> None:
    for question in questions(60, 11, TABLES["snooker"]):
        true = question.choices[question.best].name
        for choice in question.choices:
            mark = drills.mark(question, choice)
            said = drills.headline(mark, USUAL)
            assert said.startswith("You said") != mark.right
            kind = {LEFT: "cut to the left", RIGHT: "cut to the right"}.get(true, true)
            assert (
                f"{kind} it is" in said.lower()
                if mark.right
                else f"it is {'a ' * (kind != true)}{kind}" in said
            )
            assert (", by " in said) == (true != STRAIGHT)
            assert drills.detail(mark, USUAL).startswith("A full ball ")
            assert f"{'goes in' if mark.potted else 'at the pocket: '}" in drills.detail(mark, USUAL)


@pytest.mark.parametrize("text", ["", "0", "4", "left", "cut", "nan", "-0.04", "cut  leftt", "\x1b[2J"])
def test_nonsense_is_answered_with_what_is_allowed(text: str) -> None:
    (question,) = questions(1, 12, TABLES["snooker"])
    with pytest.raises(
        CallError, match="allowed: 1 to 3, or a name: cut left, straight, cut right"
    ) as caught:
        question.read(text)
    assert str(caught.value).isprintable()
    assert question.read("CUT  right").name == question.read("3").name == RIGHT


def test_it_asks_of_nearly_straight_shots_evenly_wherever_it_is_asked() -> None:
    assert free_practice("aim").limits.cuts == (0.0, 75.0)
    assert not FREE.adaptive
    for level in open_shelf().levels:
        asked = level.with_drill("straight")
        assert narrowed(asked).cuts == (0.0, 8.0)
        assert asked.limits.sides == ("left", "right")
        assert not asked.adaptive
        draw(np.random.default_rng(1), 20, narrowed(asked))
        for name in NAMES:  # and back: the other drills ask of the shots there are
            cuts = asked.with_drill(name).limits.cuts
            # Thin cuts alone have an edge, and off straight ones the cue ball isn't sent anywhere.
            assert cuts == {"edge": (30.0, 75.0), "send": (14.0, 75.0)}.get(name, (0.0, 8.0))


def test_a_level_of_this_drill_has_nearly_straight_shots() -> None:
    text = 'title = "T"\nteaches = "T."\ndrill = "straight"\n'
    level = read_level(text, "t", "t.toml")
    assert level.limits.cuts == (0.0, 8.0)
    assert not level.adaptive
    assert read_level(text + "[shots]\ncuts = [0, 12]\n", "t", "t.toml").limits.cuts == (0.0, 12.0)
    for cuts in ("[0, 40]", "[4, 8]"):
        with pytest.raises(FileError, match="from 0 to at most 16 degrees for the drill straight"):
            read_level(text + f"[shots]\ncuts = {cuts}\n", "t", "t.toml")
    with pytest.raises(FileError, match=r"answers\.step"):
        read_level(text + '[answers]\nstep = "1/8"\n', "t", "t.toml")
