"""Every drill, asked of many shots: what it plays and marks, by a second computation, and what it learns."""

import cmath
import math
import textwrap
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from trainer import drills
from trainer.drills import DRILLS, CallError, Choice, Eye, Question
from trainer.geometry.tables import TABLES
from trainer.levels.level import Level, narrowed
from trainer.levels.shelf import open_shelf
from trainer.play.named_levels import level_named
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import Limits, Shots
from trainer.shots.style import USUAL
from trainer.shots.truth import work_out

SHELF = open_shelf()
ROOM = 78  # columns of a row of text, of 80
POTS = ("slide", "edge", "throw", "back")
NUMBERS = (*POTS, "send")
POOL = 40  # questions of a drill that most tests look at


def asked(name: str, count: int) -> Iterator[Question]:
    """Questions over all cuts of free practice, by all strokes."""
    if count > POOL:
        return iter(_asked(name, count))
    every = _asked(name, POOL)
    return iter(every[k * POOL // count] for k in range(count))


@cache
def _asked(name: str, count: int, seed: int = 3) -> tuple[Question, ...]:
    found = []
    level = level_named(SHELF, None, name)
    rng, limits = np.random.default_rng(seed), narrowed(level)
    for k, one in enumerate([limits.played(stroke) for stroke in level.strokes] or [limits]):
        each = -(-count // (len(level.strokes) or 1))
        shots = draw(rng, each, one, even_offsets(rng, each, one))
        truths = work_out(shots)
        for i in range(min(each, count - k * each)):
            found.append(level.question(shots[i], truths[i], rng, Eye()))
    return tuple(found)


def played(question: Question, value: float) -> complex | None:
    """The object ball's way when the cue ball's centre passes at an offset, by complex numbers and by throw's
    formula written out (Alciatore, TP A.14, with the friction of TP A.28)."""
    shot = question.shot
    balls, (cue, ball) = shot.table.balls, (complex(*shot.cue_ball), complex(*shot.object_ball))
    contact = 2 * math.sqrt(balls.cue_radius * balls.object_radius)
    wide = value * 2 * balls.object_radius
    if abs(wide) > contact:
        return None
    aim = cmath.phase(ball - cue) - math.asin(wide / abs(ball - cue))
    cut = math.asin(wide / contact)
    thrown = 0.0
    if shot.stroke is not None:
        speed, roll = shot.stroke.speed, shot.stroke.roll
        across, up = speed * math.sin(abs(cut)), speed * roll * math.cos(cut)
        sliding = math.hypot(across, up)
        mu = 9.951e-3 + 0.108 * math.exp(-1.088 * sliding)
        if sliding > 0:
            thrown = math.atan(
                min(mu * speed * math.cos(cut) / sliding, 1 / 7) * across / (speed * math.cos(cut))
            )
    return cmath.rect(1, aim + math.copysign(abs(cut) - thrown, cut))


@pytest.mark.parametrize("name", POTS)
@pytest.mark.parametrize("count", [150, pytest.param(1000, marks=pytest.mark.long)])
def test_many_numbers_play_and_miss_as_a_second_computation_says(name: str, count: int) -> None:
    rng, potted = np.random.default_rng(1), 0
    for question in asked(name, count):
        dial = question.dial
        assert dial is not None
        best = DRILLS[name].best(question)
        near = (dial.high - dial.low) * 0.01 * rng.standard_normal()
        value = [best.value, best.value + near, dial.low + (dial.high - dial.low) * rng.random()]
        mark = drills.mark(question, dial.at(value[int(rng.random() * 3)]))
        balls = question.shot.table.balls
        offset = mark.choice.value
        if name == "edge":  # the centre is half a cue ball beyond the called edge
            offset += question.truth.sign * balls.cue_radius / (2 * balls.object_radius)
        if name == "back":
            assert question.wanted is not None
            offset = question.wanted
            laid = mark.question.shot
            ball, cue = complex(*laid.object_ball), complex(*laid.cue_ball)
            behind = cmath.phase((complex(*mark.question.truth.target) - ball) / (ball - cue))
            assert math.degrees(-behind) == pytest.approx(mark.choice.value, abs=1e-6)
            assert abs(ball - cue) == pytest.approx(math.dist(question.shot.cue_ball, laid.object_ball))
        assert mark.offset == pytest.approx(offset, abs=1e-12)
        way = played(mark.question, offset)
        if way is None or mark.way is None:
            assert way is None
            assert mark.way is None
            continue
        assert complex(*mark.way) == pytest.approx(way, abs=1e-8)
        target = complex(*mark.question.truth.target) - complex(*question.shot.object_ball)
        ahead = target / way
        assert mark.miss_mm == pytest.approx(abs(ahead.imag) if ahead.real > 0 else abs(target), abs=1e-5)
        low, high = mark.question.truth.margin
        fullness = mark.question.truth.fullness + mark.error
        assert (
            mark.potted == (low <= fullness <= high) or min(abs(fullness - low), abs(fullness - high)) < 1e-9
        )
        potted += mark.potted
    assert 0.15 < potted / count < 0.9


@pytest.mark.parametrize("name", DRILLS)
@pytest.mark.parametrize("count", [10, pytest.param(40, marks=pytest.mark.long)])
def test_the_best_answer_is_right_and_off_by_nothing_that_counts(name: str, count: int) -> None:
    for question in asked(name, count):
        mark = drills.mark(question, DRILLS[name].best(question))
        assert mark.right
        if question.dial is not None:
            assert mark.error == pytest.approx(0, abs=1e-9)
            assert mark.potted


@pytest.mark.parametrize("name", DRILLS)
@pytest.mark.parametrize("error", [-0.07, 0.0, 0.04])
@pytest.mark.parametrize("count", [10, pytest.param(40, marks=pytest.mark.slow)])
def test_an_eye_that_is_off_gives_an_answer_that_tells_so(name: str, error: float, count: int) -> None:
    for question in asked(name, count):
        choice = DRILLS[name].answer(question, error)
        settled = DRILLS[name].settled(question, choice)
        said = DRILLS[name].error(settled, choice.value)
        low, high = DRILLS[name].meant(settled.asked, choice, said)
        if question.dial is not None and question.dial.low < choice.value < question.dial.high:
            beyond = settled.truth.fullness + error > 1 and name != "back"  # past full there is no thicker
            assert beyond or said == pytest.approx(error, abs=2e-9)
        assert low - 1e-9 <= error <= high + 1e-9 or question.dial is not None


@pytest.mark.slow
@pytest.mark.parametrize("name", NUMBERS)
def test_where_a_number_starts_tells_nothing_of_where_it_belongs(name: str) -> None:
    questions = [(q, q.dial) for q in asked(name, 150) if q.dial]
    pairs = np.array(
        [((dial.start - dial.low) / (dial.high - dial.low), abs(q.truth.offset)) for q, dial in questions]
    )
    signed = np.array([(dial.start, DRILLS[name].best(q).value) for q, dial in questions])
    assert abs(np.corrcoef(pairs.T)[0, 1]) < 0.2
    assert abs(np.corrcoef(signed.T)[0, 1]) < (0.2 if name != "back" else 1)  # its ends are those of the room


@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_is_read_as_said_or_it_is_said_what_is_allowed(name: str) -> None:
    question = next(asked(name, 1))
    assert question.dial is not None
    assert question.read(" 0.25\n").value == 0.25
    assert question.read("1/4").value == 0.25
    assert question.read("-1/8").value == -0.125
    assert question.read("1e-1").value == pytest.approx(0.1)
    for bad in (
        "",
        "abc",
        "nan",
        "inf",
        "-inf",
        "1e999",
        "1/0",
        "1000",
        "-1000",
        "9" * 5000,
        "\x1b[2J",
        "1/2/3",
    ):
        with pytest.raises(CallError, match="allowed: a number from") as caught:
            question.read(bad)
        assert str(caught.value).isprintable()
        assert len(str(caught.value)) < 300


def test_a_dial_keeps_within_its_ends() -> None:
    for name in NUMBERS:
        dial = next(asked(name, 1)).dial
        assert dial is not None
        assert dial.at(1e9).value == dial.high
        assert dial.at(-1e9).value == dial.low
        assert dial.low <= dial.start <= dial.high
        assert all(dial.low <= jump <= dial.high for jump in dial.jumps)
        assert len(dial.jumps) == 9


def test_thin_cuts_alone_are_asked_for_by_the_edge() -> None:
    assert all(question.truth.fullness < 0.5 + 1e-9 for question in asked("edge", 150))


def test_the_edge_of_a_smaller_cue_ball_is_its_own() -> None:
    """Of the small-ball table the edge that is called, and runs on the picture, is that of the cue ball."""
    limits, rng = Limits(TABLES["small-ball"], (30.0, 70.0)), np.random.default_rng(4)
    level = Level(name="t", title="t", teaches="t", drill="edge", limits=limits)
    balls = limits.table.balls
    assert balls.cue_radius < 0.95 * balls.object_radius
    shots = draw(rng, 12, limits)
    truths = work_out(shots)
    for i in range(12):
        question = level.question(shots[i], truths[i], rng)
        best = DRILLS["edge"].best(question)
        mark = drills.mark(question, best)
        assert mark.potted
        # By hand: the side of the cue ball toward the object ball, as it runs to where they touch.
        cue, ball = complex(*question.shot.cue_ball), complex(*question.shot.object_ball)
        aim = complex(*question.truth.touching) - cue
        aim /= abs(aim)
        inside = ((ball - cue) / aim).imag > 0  # the object ball is on its left
        edge = cue + aim * (1j if inside else -1j) * balls.cue_radius
        right = ((ball - edge) / aim).imag / (2 * balls.object_radius)  # of the centre the edge runs
        assert best.value == pytest.approx(right, abs=2e-3)


def test_throw_is_asked_with_every_stroke_and_the_mark_says_what_throw_does() -> None:
    strokes = set()
    for question in asked("throw", 120):
        assert question.shot.stroke is not None
        strokes.add((question.shot.stroke.speed, question.shot.stroke.roll))
        plain = work_out(Shots.of(replace(question.shot, stroke=None)))[0]
        mark = drills.mark(question, Choice("", "plain", plain.offset))
        said = drills.detail(mark, USUAL)
        if mark.miss_mm < 0.5:
            assert "Throw hardly turns it." in said
        else:
            assert f": {mark.miss_mm:.0f} mm wide if not allowed for." in said or mark.miss_mm >= 995
        if abs(question.truth.cut) > 0.2:  # friction straightens: the plain line is thick
            assert mark.error > 0
            assert "Throw straightens it by " in said
    assert len(strokes) == 6


@pytest.mark.parametrize("name", DRILLS)
@pytest.mark.parametrize("count", [6, pytest.param(20, marks=pytest.mark.slow)])
def test_help_is_three_sentences_or_four_and_every_word_is_plain(name: str, count: int) -> None:
    drill = DRILLS[name]
    assert 3 <= drill.help.count(". ") + 1 <= 4
    assert drill.title[0].isupper()
    for question in asked(name, count):
        for choice in question.choices or (DRILLS[name].best(question),):
            mark = drills.mark(question, choice)
            assert drills.headline(mark, USUAL)[0].isupper() or drills.headline(mark, USUAL)[0].isdigit()
            assert drills.headline(mark, USUAL).endswith(".")
            assert drills.detail(mark, USUAL).isprintable()


@pytest.mark.parametrize(
    "count", [8, pytest.param(20, marks=pytest.mark.slow), pytest.param(40, marks=pytest.mark.long)]
)
@pytest.mark.parametrize("name", DRILLS)
def test_what_is_asked_and_said_fits_its_rows_at_80_columns(name: str, count: int) -> None:
    """A question and a headline have one row, what is told below a mark has two."""
    drill = DRILLS[name]
    for question in asked(name, count):
        calls = list(question.choices)
        if (dial := question.dial) is not None:
            calls = [dial.at(value) for value in np.linspace(dial.low, dial.high, 9).tolist()]
        for considered in (None, *calls):
            assert len(f"{question.prompt}  {drill.hint(question, considered)}".rstrip()) <= ROOM
        for choice in calls:
            mark = drills.mark(question, choice)
            assert len(f"✗ {drills.headline(mark, USUAL)}") <= ROOM, drills.headline(mark, USUAL)
            steps = drill.why(mark, USUAL)
            told = [
                drills.detail(mark, USUAL),
                *(f"{k} of {len(steps)}  {s.says}" for k, s in enumerate(steps, 1)),
            ]
            for text in told:
                assert len(textwrap.wrap(text, ROOM)) <= 2, text
