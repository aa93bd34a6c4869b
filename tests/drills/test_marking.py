"""Marks against a second computation: complex numbers, angles, and distances to the jaws."""

import cmath
import math
import re
from dataclasses import replace
from fractions import Fraction

import numpy as np
import openings
import pytest
import shapely
from rubber import noses, rubber

from trainer import drills
from trainer.drills import Mark, Question, words
from trainer.drills.question import Answers
from trainer.drills.words import missed
from trainer.geometry.meetings import Met
from trainer.geometry.tables import POCKETS, TABLES
from trainer.levels.level import Level, free_practice
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.style import HAIR, USUAL, Style
from trainer.shots.tolerance import ease
from trainer.shots.truth import truth_of, work_out


def questions(
    drill: str, count: int, seed: int, table: str = "snooker", jaw_help: str = "both"
) -> list[Question]:
    rng = np.random.default_rng(seed)
    limits = Limits(table=replace(TABLES[table], help=jaw_help))
    level = Level(name="t", title="t", teaches="t", drill=drill, limits=limits)
    shots = draw(rng, count, limits)
    truths = work_out(shots)
    return [level.question(shots[i], truths[i], rng) for i in range(count)]


def way_of_call(question: Question, offset: float) -> complex | None:
    """The object ball's direction for an offset, by angles of complex numbers."""
    shot = question.shot
    balls = shot.table.balls
    cue, ball = complex(*shot.cue_ball), complex(*shot.object_ball)
    contact = 2 * math.sqrt(balls.cue_radius * balls.object_radius)
    wide = offset * 2 * balls.object_radius
    if abs(wide) > contact:
        return None
    between = cmath.phase(ball - cue)
    aim = between - math.asin(wide / abs(ball - cue))
    return cmath.rect(1, aim + math.asin(wide / contact))


def drops(question: Question, way: complex) -> bool:
    """Whether a ball passes between the jaws of its pocket, touching neither: by polygons."""
    shot = question.shot
    radius, ball = shot.table.balls.object_radius, complex(*shot.object_ball)
    far = ball + way * 5000
    line = shapely.LineString([(ball.real, ball.imag), (far.real, far.imag)])
    mouth = shapely.LineString([(z.real, z.imag) for z in noses(shot.table, shot.pocket)])
    rails = rubber(shot.table)[shot.pocket]
    return line.intersects(mouth) and all(line.distance(jaw) >= radius - 1e-9 for jaw in rails)


@pytest.mark.parametrize("drill", ["band", "aim"])
@pytest.mark.parametrize("table", ["snooker", "small-ball"])
@pytest.mark.parametrize("count", [50, pytest.param(350, marks=pytest.mark.long)])
def test_every_answer_of_many_questions_is_marked_as_a_second_computation_says(
    drill: str, table: str, count: int
) -> None:
    seen = {True: 0, False: 0}
    for question in questions(drill, count, 5, table, jaw_help="none"):
        truth, reach = question.truth, question.shot.table.reach
        for choice in question.choices:
            mark = drills.mark(question, choice)
            if drill == "band":
                offset = truth.sign * (1 - choice.value) * reach
                assert mark.error == pytest.approx(choice.value - truth.fullness, abs=1e-12)
            else:
                offset = choice.value
                assert mark.error == pytest.approx(truth.sign * (truth.offset - offset), abs=1e-12)
            way = way_of_call(question, offset)
            if way is None:
                assert mark.met is None
                assert not mark.potted
                continue
            assert mark.way is not None
            assert complex(*mark.way) == pytest.approx(way, abs=1e-9)
            assert mark.potted == drops(question, way)
            target = complex(*truth.target) - complex(*question.shot.object_ball)
            ahead = target / way
            wide = abs(ahead.imag) if ahead.real > 0 else abs(target)
            assert mark.miss_mm == pytest.approx(wide, abs=1e-7)
            seen[mark.potted] += 1
    assert min(seen.values()) > count / 7


def test_another_ball_anywhere_on_its_way_stops_the_ball() -> None:
    """Just beyond it or just before the pocket: it gets as far as that ball, and no farther."""
    for k, question in enumerate(questions("slide", 30, 6)):
        shot, truth = question.shot, question.truth
        wide = shot.table.ball_width
        ball, target = complex(*shot.object_ball), complex(*truth.target)
        way = (target - ball) / abs(target - ball)
        part = (k + 1) / 31
        at = ball + way * (1.2 * wide + part * (abs(target - ball) - 1.2 * wide))
        posed = replace(question, shot=replace(shot, others=((at.real, at.imag),)))
        assert posed.dial is not None
        mark = drills.mark(posed, posed.dial.at(truth.offset))
        if abs(at - complex(*shot.cue_ball)) < 2 * wide or mark.run.stopped:
            continue
        assert mark.met is not None
        assert mark.met.met is Met.BALL, part
        assert complex(*mark.met.at) == pytest.approx(at - way * wide, abs=1e-6)
        assert not mark.potted
        assert not mark.drops
        assert mark.miss_mm == pytest.approx(abs(target - (at - way * wide)), abs=1e-6)


def test_a_call_pots_just_where_the_margin_says() -> None:
    for question in questions("aim", 200, 8):
        truth = question.truth
        for choice in question.choices:
            mark = drills.mark(question, choice)
            inside = truth.margin[0] <= truth.fullness + mark.error <= truth.margin[1]
            assert mark.potted == inside


def test_the_best_aim_point_always_pots_and_is_seldom_the_true_point_itself() -> None:
    places, exact = set(), 0
    for question in questions("aim", 300, 9):
        best = question.choices[question.best]
        mark = drills.mark(question, best)
        assert mark.potted
        assert mark.right
        nearest = min(question.choices, key=lambda c: abs(c.value - question.truth.offset))
        assert nearest == best
        places.add(question.best)
        exact += abs(best.value - question.truth.offset) < 1e-6
    assert places == set(range(7))
    assert exact < 10


def test_aim_points_are_evenly_spaced_and_numbered_from_left_to_right() -> None:
    for question in questions("aim", 50, 2):
        values = [c.value for c in question.choices]
        assert np.diff(values) == pytest.approx(np.full(6, 1 / 8), abs=1e-12)
        assert [c.key for c in question.choices] == list("1234567")
        assert max(map(abs, values)) <= 1.25 + 1e-9
    assert any(abs(c.value) > 0.5 for q in questions("aim", 50, 2) for c in q.choices)


def test_the_right_band_is_the_nearest_and_only_that_one_is_right() -> None:
    for question in questions("band", 120, 4):
        rights = [c for c in question.choices if drills.mark(question, c).right]
        assert rights == [question.choices[question.best]]
        if rights[0].name == "thinner":
            assert question.truth.fullness < 1 / 16
        else:
            assert abs(rights[0].value - question.truth.fullness) <= 1 / 16 + 1e-12


def test_a_call_past_the_centre_counts_as_thicker_than_full() -> None:
    question = next(q for q in questions("aim", 200, 3) if 0.05 < q.truth.offset < 0.2)
    left = next(c for c in question.choices if c.value < 0)
    assert drills.mark(question, left).error > question.truth.offset


def test_a_straight_shot_missed_to_either_side_is_thin() -> None:
    level = free_practice("aim")
    shot = draw(np.random.default_rng(1), 1, level.limits, [0.0])[0]
    truth = truth_of(shot)
    straight = level.question(shot, truth, np.random.default_rng(1))
    straight = replace(straight, truth=replace(truth, cut=0.0, offset=0.0, fullness=1.0))
    for choice in straight.choices:
        assert drills.DRILLS["aim"].error(straight, choice.value) == -abs(choice.value)


def sentences(mark: Mark) -> str:
    return f"{drills.headline(mark, USUAL)} {drills.detail(mark, USUAL)}"


def test_sentences_say_what_the_mark_says() -> None:
    for drill in ("band", "aim"):
        for question in questions(drill, 60, 6):
            for choice in question.choices:
                mark = drills.mark(question, choice)
                said = sentences(mark)
                true, away = question.truth.offset, mark.offset * question.truth.offset < 0
                if not mark.right and drill == "aim":
                    wrong_side = away and min(abs(mark.offset), abs(true)) > HAIR
                    assert ("thick" in said) == (mark.error > 0 and not wrong_side)
                    assert ("thin" in said) == (mark.error <= 0)
                    assert (f"the wrong side, it must go {question.truth.side}." in said) == wrong_side
                if mark.met is None:
                    assert "misses the object ball" in said
                elif mark.met.met is Met.JAW:
                    assert "jaw" in said
                elif mark.met.met is Met.CUSHION:
                    assert "cushion" in said
                if not mark.potted and mark.met is not None:
                    assert f" off at the ball, {USUAL.distance(mark.miss_mm)} at the pocket: " in said
                assert re.search(HARDNESS, said) or (not mark.potted and re.search(EASY_MISS, said))
                assert bool(re.search(FORGIVEN, said)) != mark.potted


HARDNESS = r"(An easy pot|A medium pot|A hard pot|A pot to turn down)[.:]"
EASY_MISS = r"\. It forgives "  # that it was an easy one isn't rubbed in
FORGIVEN = r"[:.] [Ii]t forgives (just under |under )?\d+(/\d+)? ball that way\."


def said_in_numbers(part: str) -> float:
    return float(sum(Fraction(number) for number in re.findall(r"\d+(?:/\d+)?", part)))


@pytest.mark.parametrize("drill", ["aim", "band", "slide"])
def test_a_mark_has_the_size_in_mm_at_the_ball_and_at_the_pocket(drill: str) -> None:
    seen = {True: 0, False: 0}
    for question in questions(drill, 60, 11):
        for choice in question.choices or map(question.dial.at, np.linspace(-0.9, 0.9, 13)):  # type: ignore[union-attr]
            mark = drills.mark(question, choice)
            if mark.met is None or abs(mark.offset - question.truth.offset) < HAIR:
                continue
            said = drills.detail(mark, USUAL)
            # The line of aim's distance from the one that pots, across the ball, by another way.
            wide = abs(mark.offset - question.truth.offset) * 2 * question.shot.table.balls.object_radius
            found = re.search(r" is ([\d.]+) mm off at the ball, (.+?) at the pocket", said)
            assert found
            assert float(found[1]) == pytest.approx(wide, abs=0.51 if wide > 1 else 0.051)
            assert found[2] == USUAL.distance(mark.miss_mm)
            inches = drills.detail(mark, Style(units="imperial"))
            at_ball = re.search(r" is ([\d.]+) in off at the ball", inches)
            assert at_ball
            assert float(at_ball[1]) * 25.4 == pytest.approx(wide, abs=1.3 if wide > 10 else 0.13)
            seen[mark.potted] += 1
    assert min(seen.values()) > 5


def test_a_miss_says_what_was_forgiven_to_its_own_side_and_never_more_than_it_is_off() -> None:
    sides = set()
    for question in [*questions("aim", 80, 12), *questions("aim", 80, 13, "small-ball")]:
        thin, thick = question.truth.fullness - question.truth.margin[0], question.truth.margin[1]
        thick -= question.truth.fullness
        for choice in question.choices:
            mark = drills.mark(question, choice)
            said = re.search(r"[Ii]t forgives (.*) that way", drills.detail(mark, USUAL))
            assert (said is None) == mark.potted
            if said is None:
                continue
            room, part = (thick if mark.error > 0 else thin) * question.shot.table.reach, said[1]
            if part == "under 1/64 ball":
                assert room < 1 / 64
                continue
            off = USUAL.ball_part(mark.error)
            if part.startswith("just under "):
                assert part == f"just under {off}"
                continue
            assert said_in_numbers(part) < said_in_numbers(off)
            assert said_in_numbers(part) == pytest.approx(room, rel=0.25)
            if abs(thick - thin) > 0.5 * min(thick, thin):  # where the sides differ it is this one
                sides.add(mark.error > 0)
    assert sides == {True, False}


@pytest.mark.parametrize(
    ("half", "word"),
    [(0.0495, "easy"), (0.0475, "medium"), (0.022, "medium"), (0.021, "hard"), (0.002, "hard")],
)
def test_a_pot_is_called_by_how_many_of_three_calls_drop(half: float, word: str) -> None:
    """Two in three and one in three of calls that scatter by 1/20 ball, by quantiles out of a table."""
    two_thirds, one_third = 0.9674 / 20, 0.4307 / 20  # normal quantiles of 5/6 and 2/3, in twentieths
    expected = "easy" if half > two_thirds else "hard" if half < one_third else "medium"
    assert ease((0.5 - half, 0.5 + half), 0.5) == word == expected


def test_a_pot_that_forgives_one_side_only_is_no_easy_one() -> None:
    assert ease((0.5, 0.6), 0.5) == "medium"  # half of the calls are off to the other side
    assert ease((0.45, 0.55), 0.5) == "easy"


def test_why_says_the_number_behind_the_word() -> None:
    for question in questions("aim", 30, 6):
        mark = drills.mark(question, question.choices[question.best])
        word = re.search(HARDNESS, drills.detail(mark, USUAL))
        said = drills.DRILLS["aim"].why(mark, USUAL)[4].says
        found = re.search(r"It forgives (.+?) thick, (.+?) thin: (an? \w+ pot)\.", said)
        assert word
        assert found
        assert found[3] == word[1].lower() or word[1] == "A pot to turn down"
        for side, part in zip((1, 0), found.groups()[:2], strict=True):
            room = abs(question.truth.margin[side] - question.truth.fullness)
            assert (
                room < 1 / 64 if "under" in part else said_in_numbers(part) == pytest.approx(room, rel=0.25)
            )


def test_a_band_is_marked_with_what_was_said_what_is_true_and_the_true_error() -> None:
    for question in questions("band", 80, 7):
        assert not re.search(r"0\.\d", drills.headline(drills.mark(question, question.choices[0]), USUAL))
        for choice in question.choices:
            mark = drills.mark(question, choice)
            said = drills.headline(mark, USUAL)
            if mark.right:
                assert said.endswith(" it is.")
                assert said.lower().startswith(choice.name)
            else:
                assert said.startswith(f"Too {'thick' if mark.error > 0 else 'thin'}: you said {choice.name}")
                best = question.choices[question.best].name
                wanted = "thinner than 1/8" if best == "thinner" else f"about {best}"
                assert said.endswith(f", it needs {wanted}.")
            assert "thinner than 1/8" in said or "thinner" not in said


def test_a_name_that_is_wrong_may_pot_all_the_same() -> None:
    found = set()
    for question in questions("band", 80, 7):
        assert not re.search(r"0\.\d", drills.headline(drills.mark(question, question.choices[0]), USUAL))
        for choice in question.choices:
            mark = drills.mark(question, choice)
            said = drills.detail(mark, USUAL)
            assert (" still goes in" in said) == (mark.potted and not mark.right)
            assert bool(re.search(r" (it|and) goes in", said)) == (mark.potted and mark.right)
            found.add((mark.potted, mark.right))
    assert (True, False) in found


@pytest.mark.parametrize(
    ("width", "said"),
    [
        (0.0, "a hair"),
        (0.015, "1/64 ball"),
        (0.03, "1/32 ball"),
        (0.06, "1/16 ball"),
        (-0.125, "1/8 ball"),
        (0.19, "3/16 ball"),
        (0.5, "1/2 ball"),
        (1.0, "1 ball"),
        (1.25, "1 1/4 balls"),
    ],
)
def test_parts_of_a_ball_are_said_as_players_say_them(width: float, said: str) -> None:
    assert USUAL.ball_part(width) == said


@pytest.mark.parametrize(("width", "said"), [(0.125, "1/8"), (0.04, "1/24"), (0.02, "1/48"), (0.0, "1/512")])
def test_what_a_pot_forgives(width: float, said: str) -> None:
    assert USUAL.one_over(width) == said


def test_calls_are_read_by_key_and_by_name_and_nothing_else() -> None:
    level = Level(name="t", title="t", teaches="t", drill="band", answers=Answers())
    shot = draw(np.random.default_rng(2), 1, level.limits)[0]
    question = level.question(shot, truth_of(shot), np.random.default_rng(2))
    assert question.read("1\n").name == "full"
    assert question.read("  3/8 ").name == "3/8"
    assert question.read("THINNER").name == "thinner"
    for bad in ("", "0", "10", "half", "3 /8", "\x1b[2J", "9" * 5000, "nan"):
        with pytest.raises(drills.CallError, match="allowed: 1 to 9") as caught:
            question.read(bad)
        assert str(caught.value).isprintable()
        assert len(str(caught.value)) < 300


@pytest.mark.parametrize("count", [80, pytest.param(160, marks=pytest.mark.long)])
def test_a_ball_that_drops_off_a_jaw_is_potted_and_the_mark_says_so(count: int) -> None:
    said = set()
    for question in questions("aim", count, 21):
        hole = POCKETS.index(question.shot.pocket)
        for choice in question.choices:
            mark = drills.mark(question, choice)
            if mark.way is None or mark.met is None:
                continue
            traced = openings.drops(question.shot.table, question.shot.object_ball, mark.way, hole)
            if mark.potted:
                assert traced
            if mark.potted and mark.met.met is Met.JAW:
                assert f" goes in {words.meets(mark.met)}." in drills.detail(mark, USUAL)
                said.add(mark.met.jaw)
            elif mark.potted and mark.met.met is Met.POCKET:
                assert "goes in off" not in drills.detail(mark, USUAL)
    assert said >= {"near", "far"}


def test_a_miss_never_goes_where_it_pots() -> None:
    assert missed(-0.384, -0.38) == ("0.384 left", "it pots at 0.380 left")
    assert missed(0.44, 0.31) == ("0.44 right", "it pots at 0.31 right")
    assert missed(0.0, 0.25) == ("the centre", "it pots at 0.25 right")
    assert missed(0.02, 0.0) == ("0.02 right", "it pots dead centre")
