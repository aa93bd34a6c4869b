"""The drill judge against a second computation, and what its answers tell of a player."""

import math
import re
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from test_marking import drops, way_of_call

from trainer import drills
from trainer.drills import DRILLS, CallError, Eye, Question
from trainer.drills.judge import POTS, SLIVER, THICK, THIN
from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import TABLES
from trainer.levels.level import free_practice
from trainer.levels.reading import read_level
from trainer.levels.toml_reader import FileError
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import USUAL
from trainer.shots.truth import work_out
from trainer.simulate.players import Nature
from trainer.simulate.simulation import practise

JUDGE = DRILLS["judge"]
FREE = free_practice("judge")


def questions(
    count: int, seed: int, eye: Eye | None = None, jaw_help: str = "none", stroke: Stroke | None = None
) -> list[Question]:
    rng = np.random.default_rng(seed)
    table = replace(TABLES["snooker"], help=jaw_help, stroke=stroke)
    shots = draw(rng, count, Limits(table))
    truths = work_out(shots)
    return [FREE.question(shots[i], truths[i], rng, eye) for i in range(count)]


def true_answer(question: Question) -> str:
    """What happens on the line that is shown, by angles of complex numbers and distances to the jaws."""
    assert question.line is not None
    way = way_of_call(question, question.line)
    assert way is not None
    if drops(question, way):
        return POTS
    target = complex(*question.truth.target) - complex(*question.shot.object_ball)
    to_left = (target / way).imag < 0  # the ball runs left of the pocket
    return THIN if to_left == (question.truth.cut >= 0) else THICK


@pytest.mark.parametrize("count", [120, pytest.param(1000, marks=pytest.mark.long)])
def test_what_is_true_of_many_lines_is_what_a_second_computation_says(count: int) -> None:
    seen = Counter[str]()
    for question in questions(count, 1):
        wanted = true_answer(question)
        rights = [c.name for c in question.choices if drills.mark(question, c).right]
        assert rights == [wanted]
        seen[wanted] += 1
        for choice, off in zip(question.choices, (-1, 0, 1), strict=True):
            mark = drills.mark(question, choice)
            assert mark.potted == (wanted == POTS)  # the line is played, whatever was called
            low, high = question.truth.margin
            shown = 1 - question.truth.sign * question.line
            assert choice.value == pytest.approx(shown + off * (high - low), abs=1e-12)
            assert mark.error == pytest.approx(choice.value - question.truth.fullness, abs=1e-12)
            assert mark.offset == pytest.approx(question.line, abs=1e-12)
    assert min(seen[name] for name in (THICK, POTS, THIN)) > 0.15 * count


@pytest.mark.parametrize("stroke", [None, Stroke(1.2)])
def test_with_throw_and_help_of_the_jaws_only_a_line_that_drops_pots(stroke: Stroke | None) -> None:
    for question in questions(300, 2, jaw_help="both", stroke=stroke):
        mark = drills.mark(question, question.choices[question.best])
        assert mark.potted == (mark.choice.name == POTS)


def test_a_line_meets_the_ball_and_on_straight_shots_is_on_either_side_of_its_centre() -> None:
    rng, sides = np.random.default_rng(3), Counter[bool]()
    limits = Limits(replace(TABLES["snooker"], help="none"))
    shots = draw(rng, 200, limits, np.zeros(200))
    truths = work_out(shots)
    for i in range(200):
        question = FREE.question(shots[i], truths[i], rng)
        assert question.line is not None
        sides[question.line > 0] += 1
        assert true_answer(question) == question.choices[question.best].name
    assert min(sides.values()) > 60
    for question in questions(400, 4, Eye(bias=-0.2, noise=0.2)):
        assert question.line is not None
        assert abs(question.line) <= 1 - SLIVER + 1e-12


@pytest.mark.parametrize("bias", [-0.06, 0.0, 0.06])
def test_each_answer_is_true_now_and_then_and_given_now_and_then(bias: float) -> None:
    rng = np.random.default_rng(5)
    true, given = Counter[str](), Counter[str]()
    for question in questions(600, 6, Eye(bias, 0.05)):
        true[question.choices[question.best].name] += 1
        given[JUDGE.answer(question, bias + 0.05 * rng.standard_normal()).name] += 1
    assert min(true[name] for name in (THICK, POTS, THIN)) > 30
    assert min(given[name] for name in (THICK, POTS, THIN)) > 90  # of 600


def test_the_line_does_not_tell_by_its_side_or_its_fullness() -> None:
    asked = questions(1000, 7)
    off = np.array([q.choices[1].value - q.truth.fullness for q in asked])
    fullness = np.array([q.truth.fullness for q in asked])
    inner = (fullness > 0.15) & (fullness < 0.9)  # nearer to the ends of the ball there is less room
    left = np.array([q.truth.sign > 0 for q in asked])
    for part in (inner & left, inner & ~left, inner & (fullness > 0.5), inner & (fullness <= 0.5)):
        assert abs(off[part].mean()) < 4 * off[part].std() / math.sqrt(part.sum()) + 0.003


def test_an_answer_means_that_the_margin_was_seen_so() -> None:
    rng = np.random.default_rng(8)
    for question in questions(300, 9):
        error = 0.1 * rng.standard_normal()
        low, high = (end + error for end in question.truth.margin)  # where this player sees it
        shown = question.choices[1].value
        wanted = THICK if shown > high else THIN if shown < low else POTS
        choice = JUDGE.answer(question, error)
        assert choice.name == wanted
        least, most = JUDGE.meant(question.asked, choice, JUDGE.error(question, choice.value))
        assert least <= error <= most
        ends = [JUDGE.meant(question.asked, c, 0.0) for c in question.choices]
        assert ends[0][1] == ends[1][0]
        assert ends[1][1] == ends[2][0]
        assert (ends[0][0], ends[2][1]) == (-math.inf, math.inf)
        assert ends[1][1] - ends[1][0] == pytest.approx(high - low)


@pytest.mark.parametrize("bias", [0.06, pytest.param(-0.06, marks=pytest.mark.slow)])
def test_a_bias_is_recovered_from_this_drill_alone(bias: float) -> None:
    """Of noise .05: within .025 ball after 120 calls all over, as the drill aim does it (measured)."""
    places = np.sin(np.radians([-50, -30, -10, 10, 30, 50]))
    for seed in (1, 2, 3):
        nature = Nature(noise=0.05, everywhere=bias)
        *_, last = practise(FREE, nature, days=2, shots=60, seed=seed)
        mean, sd = last.belief.curve(places)
        assert mean.mean() == pytest.approx(bias, abs=0.025)
        assert (np.abs(mean - bias) < 4 * sd).all()


def test_sentences_say_what_was_called_and_what_is_true() -> None:
    for question in questions(100, 11):
        true = question.choices[question.best].name
        for choice in question.choices:
            mark = drills.mark(question, choice)
            said = drills.headline(mark, USUAL)
            assert ("You said" in said) != mark.right
            if true == POTS:
                centre = said.endswith("t pots, dead centre.")
                assert centre == (" ball" not in said)
                assert ("though " in said) == (mark.right and not centre)
                assert said.endswith("is still in.") == (not mark.right and not centre)
            else:
                assert f"{true} by" in said or said.startswith(f"{true.capitalize()} it is, by ")
            more = r"\." if mark.potted else ": it forgives "
            assert re.search(f" pot( to turn down)?{more}", drills.detail(mark, USUAL))


@pytest.mark.parametrize("text", ["", "0", "4", "thicker", "1.5", "-1", "nan", "pot s", "\x00"])
def test_nonsense_is_answered_with_what_is_allowed(text: str) -> None:
    (question,) = questions(1, 12)
    with pytest.raises(CallError, match="allowed: 1 to 3, or a name: thick, pots, thin") as caught:
        question.read(text)
    assert "\n" not in str(caught.value)
    assert question.read(" THIN ").name == question.read("3").name == THIN


def test_a_level_may_not_say_what_this_drill_does_not_use() -> None:
    text = 'title = "T"\nteaches = "T."\ndrill = "judge"\n[answers]\n'
    with pytest.raises(FileError) as caught:
        read_level(text + 'step = "1/8"\nbands = ["1/2"]\nchoices = 5\nwithin = "1/16"\n', "t", "t.toml")
    said = caught.value.problems
    assert len(said) == 4
    assert any("answers.step" in line and "only for the drill band or aim" in line for line in said)
    assert read_level(text, "t", "t.toml").drill == "judge"
