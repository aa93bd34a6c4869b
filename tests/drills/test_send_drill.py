"""The drill send: places and marks against a ball moved in small steps, and what an answer tells."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from rolled import aside, complex_of
from test_every_drill import asked
from test_why import numbers

from trainer import drills
from trainer.drills import DRILLS, Question
from trainer.drills.mark import rolling
from trainer.drills.send import region_at
from trainer.drills.words import PARTS
from trainer.geometry.aiming import Stroke
from trainer.levels.level import free_practice, narrowed, narrowed_each
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf
from trainer.levels.toml_reader import FileError
from trainer.play.calls import skill_of
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import NoSuchShot, Shot
from trainer.shots.style import HAIR, USUAL
from trainer.shots.truth import truth_of

SEND = DRILLS["send"]
FILE = 'title = "T"\nteaches = "T."\ndrill = "send"\n'
BALL = 52.5  # mm, snooker


def passed(questions: list[Question], offsets: np.ndarray) -> np.ndarray:
    """How near the cue ball passes the middles of places in small steps, at offsets (n, m) or (n,), mm."""
    found = np.zeros(np.shape(offsets))
    for stroke in {q.shot.stroke for q in questions}:
        assert stroke is not None
        rows = [k for k, q in enumerate(questions) if q.shot.stroke == stroke]
        asked_of = [questions[k] for k in rows]
        places = np.array([[q.shot.cue_ball, q.shot.object_ball, middle(q)] for q in asked_of])
        cue, ball, place = complex_of(places).T.reshape(3, -1, *[1] * (np.ndim(offsets) - 1))
        table = asked_of[0].shot.table
        found[rows] = aside(table, cue, ball, offsets[rows], stroke.speed, stroke.roll, place)
    return found


def middle(question: Question) -> tuple[float, float]:
    assert question.region is not None
    return question.region.middle


@pytest.fixture(scope="module")
def questions() -> list[Question]:
    return list(asked("send", 80))


def test_a_place_lies_on_the_cue_ball_s_way_off_the_drawn_shot(questions: list[Question]) -> None:
    spins = set()
    assert passed(questions, np.array([q.truth.offset for q in questions])).max() < 2e-3
    for question in questions:
        region, shot = question.region, question.shot
        assert region is not None
        assert 2 * region.radius / BALL == 2.0
        # Wherever the cue ball may touch lies well outside it, and all its middle is on the cloth.
        assert math.dist(region.middle, shot.object_ball) >= BALL + 2.9 * BALL
        assert all(
            26.2 < at < size - 26.2
            for at, size in zip(region.middle, (shot.table.length, shot.table.width), strict=True)
        )
        assert question.target is None
        assert shot.stroke is not None
        assert shot.stroke.speed == 1.4
        assert ("Stun" in question.prompt, "Natural roll" in question.prompt) == (
            shot.stroke.roll == 0,
            shot.stroke.roll == 1,
        )
        spins.add(shot.stroke.roll)
        assert len(question.prompt) <= 78
    assert spins == {0.0, 1.0}
    reached = [math.dist(q.region.middle, q.truth.touching) for q in questions if q.region]
    assert min(reached) < 250
    assert max(reached) > 900


@pytest.mark.parametrize("count", [30, pytest.param(250, marks=pytest.mark.long)])
def test_many_calls_are_marked_as_small_steps_say(count: int) -> None:
    rng, questions = np.random.default_rng(8), list(asked("send", count))
    tried = np.linspace(-1, 1, 43)[1:-1]
    grid = passed(questions, np.tile(tried, (len(questions), 1)))
    marks, each = [], (0.05, 0.12, 0.3, 0.7)
    for question in questions:
        assert question.dial is not None
        for spread in each:
            value = question.truth.offset + spread * float(rng.standard_normal())
            marks.append(drills.mark(question, question.dial.at(value)))
    many = [question for question in questions for _ in each]
    called = np.array([mark.choice.value for mark in marks])
    truths = np.array([mark.question.truth.offset for mark in marks])
    near = passed(many, called)
    around = passed(many, truths[:, None] + [-1e-4, 0, 1e-4])
    for k, mark in enumerate(marks):
        value, steps, truth = called[k], grid[k // len(each)], mark.question.truth
        radius = mark.question.region.radius  # type: ignore[union-attr]
        assert mark.right == mark.potted
        if abs(value) > 1:
            assert not mark.potted
            assert mark.touching is None
        else:
            assert mark.miss_mm == pytest.approx(near[k], abs=2e-3)
            assert mark.potted == (near[k] <= radius) or abs(near[k] - radius) < 2e-3
        # The truth: of the stretch called into or nearest, and there a turn of the distance.
        sign = 1 if truth.offset > 0 else -1
        assert mark.error == pytest.approx(sign * (truth.offset - value), abs=1e-12)
        assert truth.fullness == pytest.approx(1 - abs(truth.offset))
        low, high = sorted(sign * (1 - end) for end in truth.margin)
        assert low <= truth.offset <= high
        over = steps <= radius
        assert over[(tried > low + 1e-6) & (tried < high - 1e-6)].all()
        outside = max(low - value, value - high, 0)
        assert min(abs(tried[over] - value), default=9) >= outside - 1e-9
        assert (outside == 0) == mark.potted
        assert around[k, 1] <= around[k].min() + 2e-3 or truth.offset in (low, high)
        assert around[k, 1] <= steps[over & (tried > low) & (tried < high)].max(initial=radius)
    assert 0.3 < sum(mark.right for mark in marks) / len(marks) < 0.9


@pytest.mark.slow
def test_the_nearest_of_several_fullnesses_counts(questions: list[Question]) -> None:
    found = 0
    for question in questions[::3]:
        roots = [
            drills.mark(question, question.dial.at(value)).question.truth  # type: ignore[union-attr]
            for value in np.linspace(-0.99, 0.99, 31).tolist()
        ]
        margins = {truth.margin for truth in roots}
        if len(margins) > 1:
            found += 1
            for truth in roots:
                mark = drills.mark(question, question.dial.at(truth.offset))  # type: ignore[union-attr]
                assert mark.right
                assert mark.error == pytest.approx(0, abs=1e-9)
    assert found > 3


@pytest.mark.parametrize("step", [3, pytest.param(1, marks=pytest.mark.long)])
def test_a_call_tells_what_was_looked_for_but_not_where_nearly_all_is_right(
    questions: list[Question], step: int
) -> None:
    exact = wide = 0
    for question in questions[::step]:
        mark = drills.mark(question, SEND.answer(question, 0.05))
        assert mark.error == pytest.approx(0.05, abs=1e-9)
        low, high = SEND.meant(mark.question.asked, mark.choice, mark.error)
        margin = mark.question.truth.margin
        if margin[1] - margin[0] <= 3 / 8:
            assert low == high == mark.error
            exact += 1
        else:
            assert (low, high) == (-math.inf, math.inf)
            wide += 1
    assert exact > 40 / step
    assert wide > 6 / step


def nearest(way: tuple[tuple[float, float], ...], place: tuple[float, float]) -> float:
    """The distance from a place to a line from point to point."""
    points, at = complex_of(way), complex_of(place)
    a, b = points[:-1], points[1:]
    part = ((at - a) * np.conj(b - a)).real / np.maximum(abs(b - a) ** 2, 1e-12)
    return float(abs(at - a - np.clip(part, 0, 1) * (b - a)).min())


def test_the_way_that_is_drawn_and_filmed_is_the_ball_s(questions: list[Question]) -> None:
    some = questions[::2]
    marks = [drills.mark(question, SEND.answer(question, 0.1)) for question in some]
    true = passed(some, np.array([mark.question.truth.offset for mark in marks]))
    for question, mark, near in zip(some, marks, true.tolist(), strict=True):
        shown, film = SEND.shown_after(mark), rolling(mark)
        assert question.region is not None
        assert nearest(shown.true_after, middle(question)) == pytest.approx(near, abs=0.05)
        if mark.touching is not None:
            assert nearest(shown.called_after, middle(question)) == pytest.approx(mark.miss_mm, abs=0.05)
            assert film.cue_after == shown.called_after
            assert film.drops == mark.drops
        assert shown.region == SEND.shown(question, None).region
        assert len(shown.region) > 20
        for x, y in shown.region:
            assert 0 <= x <= question.shot.table.length
            assert 0 <= y <= question.shot.table.width
            assert math.dist((x, y), middle(question)) <= question.region.radius + 1e-6


def test_words_say_where_the_cue_ball_went(questions: list[Question]) -> None:
    said, tried = set(), np.linspace(-1, 1, 401)[1:-1]
    for question in questions[::2]:
        gets_there = passed([question], tried[None])[0] < question.region.radius  # type: ignore[union-attr]
        for error in (0.0, 0.2, 0.5, -0.3):
            mark = drills.mark(question, question.dial.at(question.truth.offset + error))  # type: ignore[union-attr]
            head, detail = drills.headline(mark, USUAL), drills.detail(mark, USUAL)
            assert len(head) <= 74
            assert "pocket" not in head + detail
            assert "drop" not in head + detail
            if mark.right:
                assert head.startswith("Over it")
            if "from the place's middle" in head or " of the place's middle" in head:
                assert numbers(head)[0] == pytest.approx(mark.miss_mm, abs=0.5) or " m " in head
            side = re.search(r"(left|right) of the place's middle", head + detail)
            if side and mark.touching:
                way = complex_of(SEND.shown_after(mark).called_after)
                place = complex_of(mark.question.truth.target)
                along = way[-1] - way[-2] if abs(way[-1] - way[-2]) > 1 else way[-2] - way[-3]
                off = ((way[-1] - place) * np.conj(along)).imag
                assert side[1] == ("left" if off > 0 else "right") or mark.miss_mm < 60
            said |= {word for word in ("left of", "right of", "Stops", "cushion", "Misses") if word in head}
            truth, off = mark.question.truth, abs(mark.error) * BALL
            low, high = truth.margin
            assert numbers(SEND.why(mark, USUAL)[-1].says)[-2:] == pytest.approx((low, high), abs=0.0101)
            if abs(mark.error) > HAIR:
                assert f"{off:.0f} mm off at the ball" in detail or off < 1
            own_side = high - truth.fullness if mark.error > 0 else truth.fullness - low
            if mark.right:
                assert f"It forgives {USUAL.room(high - truth.fullness)} thick, " in detail
                assert f" thick, {USUAL.room(truth.fullness - low)} thin." in detail
            elif "just under" in detail:
                assert f"just under {USUAL.ball_part(mark.error)} that way" in detail
            else:
                assert f"It forgives {USUAL.room(own_side)} that way" in detail
            fullness = 1.0 - truth.sign * tried
            elsewhere = (fullness < low - 0.01) | (fullness > high + 0.01)
            assert ("gets there too" in detail) == bool((gets_there & elsewhere).any())
    assert said == {"left of", "right of", "Stops", "cushion", "Misses"}


def test_why_constructs_the_cue_ball_s_way(questions: list[Question]) -> None:
    for question in questions[::2]:
        mark = drills.mark(question, SEND.answer(question, 0.09))
        steps, truth, shot = SEND.why(mark, USUAL), mark.question.truth, question.shot
        order = ("aim", "offset", "fullness", "touching", "way")
        assert [step.parts for step in steps] == [*(order[: k + 1] for k in range(5)), PARTS, PARTS]
        aim, offset, fullness, touching, way, _, formulas = (step.says for step in steps)
        run, cut = numbers(aim)
        assert run == pytest.approx(math.dist(shot.cue_ball, truth.touching), abs=0.5)
        assert 1 - math.sin(math.radians(cut)) == pytest.approx(truth.fullness, abs=0.002)
        assert numbers(offset)[-1] == pytest.approx(abs(truth.offset), abs=0.006)
        assert numbers(fullness)[0] == pytest.approx(truth.fullness, abs=0.006)
        assert numbers(formulas)[4] == pytest.approx(truth.fullness, abs=0.006)
        assert numbers(touching)[0] == pytest.approx(BALL)
        sine, cosine = math.sin(math.radians(cut)), math.cos(math.radians(cut))
        square, first, *last = numbers(way)
        assert square == 90
        assert first == pytest.approx(90 - cut, abs=0.11)
        assert shot.stroke is not None
        if shot.stroke.roll:  # Alciatore, TP A.20: the final angle of a ball that rolled
            final = math.degrees(math.atan(sine * cosine / (sine**2 + 0.4)))
            assert last == [pytest.approx(final, abs=0.11)]
        else:
            assert not last
            assert "straight on" in way
        assert ("right of the line of aim" in way) == (truth.sign > 0)
        assert all(len(step.says) <= 150 for step in steps)
        assert not any("pocket" in step.says or "pots" in step.says for step in steps)


def test_the_place_question_goes_on_telling_of_angles_and_this_one_of_itself() -> None:
    assert skill_of("leave") == "angle"
    assert skill_of("send") == "send"


def test_the_same_seed_gives_the_same_place() -> None:
    level = free_practice("send")
    for each in narrowed_each(level):
        shot = draw(np.random.default_rng(3), 1, each)[0]
        one, other = (level.question(shot, truth_of(shot), np.random.default_rng(7)) for _ in range(2))
        assert one.region == other.region
        assert one.region == region_at(shot, one.region.middle)  # type: ignore[union-attr]
        assert one.region != level.question(shot, truth_of(shot), np.random.default_rng(8)).region


@pytest.mark.parametrize("step", [5, pytest.param(1, marks=pytest.mark.slow)])
def test_any_level_can_be_asked_so(step: int) -> None:
    for level in open_shelf().levels[::step]:
        sent = level.with_drill("send")
        assert all(cut >= 14 for cut in sent.limits.cuts)
        for each in narrowed_each(sent):
            shots = draw(np.random.default_rng(1), 6, each, even_offsets(np.random.default_rng(1), 6, each))
            for i in range(6):
                sent.question(shots[i], truth_of(shots[i]), np.random.default_rng(i))


def test_a_shot_whose_cue_ball_gets_nowhere_is_no_question(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)  # why there is none is found out afterwards
    level = free_practice("send")
    slow = narrowed(replace(level, limits=replace(level.limits, cuts=(14.0, 15.0)))).played(Stroke(0.3, 0.0))
    with pytest.raises(NoSuchShot, match="the cue ball meets a cushion or stops right after contact at cuts"):
        draw(np.random.default_rng(1), 1, slow)
    shot = draw(np.random.default_rng(1), 1, replace(slow, gets_away=None))[0]
    with pytest.raises(ValueError, match="gets nowhere"):
        level.question(shot, truth_of(shot), np.random.default_rng(1))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("[shots]\ncuts = [5, 40]\n", "14 to at most 80 degrees for the drill send"),
        ('[shots]\nspeeds = ["slow"]\nspins = ["stun"]\n', "stops right after contact"),
        ('[answers]\nask = "place"\n', "only for the drill leave or cushion"),
    ],
)
def test_a_level_that_can_t_be_asked_says_why(monkeypatch: pytest.MonkeyPatch, more: str, said: str) -> None:
    monkeypatch.setattr("trainer.shots.draw.ROUNDS", 40)
    with pytest.raises(FileError, match=said):
        read_level(FILE + more, "t", "t.toml")


def test_a_level_s_strokes_are_those_it_names_else_medium_stunned_and_rolling() -> None:
    def strokes(more: str) -> list[tuple[float, float]]:
        return [(s.speed, s.roll) for s in read_level(FILE + more, "t", "t.toml").strokes]

    assert strokes("") == [(1.4, 0.0), (1.4, 1.0)]
    assert strokes('[shots]\nspins = ["roll"]\n') == [(1.4, 1.0)]
    assert strokes('[shots]\nspeeds = ["fast"]\n') == [(2.55, 0.0), (2.55, 1.0)]
    with pytest.raises(FileError, match="line_to_pocket: no pocket is called in the drill send"):
        read_level(FILE + "line_to_pocket = true\n", "t", "t.toml")


def test_a_place_at_a_cushion_is_seen_as_far_as_there_is_cloth() -> None:
    question = next(asked("send", 1))
    assert question.region is not None
    there = (question.region.middle[0], 10.0)
    cut_off = replace(question, region=replace(question.region, middle=there))
    corners = SEND.shown(cut_off, None).region
    assert min(y for _, y in corners) == 0
    assert max(y for _, y in corners) == pytest.approx(62.5, abs=0.2)


def test_a_shot_without_a_stroke_is_played_at_medium_speed_rolling() -> None:
    question = next(q for q in asked("send", 40) if q.shot.stroke == Stroke(1.4, 1.0))
    plain = Shot(question.shot.table, question.shot.cue_ball, question.shot.object_ball, question.shot.pocket)
    mark = drills.mark(replace(question, shot=plain), question.dial.at(0.3))  # type: ignore[union-attr]
    assert mark.miss_mm == drills.mark(question, question.dial.at(0.3)).miss_mm  # type: ignore[union-attr]
