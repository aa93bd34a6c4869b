"""The drill leave: places by complex numbers, and what a player's choice of one tells."""

import cmath
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

import numpy as np
import pytest

from trainer import drills
from trainer.drills import DRILLS, CallError, Question
from trainer.levels.level import Level, free_practice, narrowed
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf
from trainer.levels.toml_reader import FileError
from trainer.shots.draw import draw, even_offsets
from trainer.shots.truth import work_out
from trainer.simulate.players import Nature
from trainer.simulate.simulation import practise

LEAVE = DRILLS["leave"]
FREE = free_practice("leave")
LEVEL = open_shelf().find("where-to-leave-it")


def asked(level: Level, count: int, seed: int = 5) -> Iterator[Question]:
    rng, limits = np.random.default_rng(seed), narrowed(level)
    shots = draw(rng, count, limits, even_offsets(rng, count, limits))
    truths = work_out(shots)
    for i in range(count):
        yield level.question(shots[i], truths[i], rng)


def fullness_from(question: Question, place: tuple[float, float]) -> float:
    """How full the pot is from a place: the turn at the touching position, by complex numbers."""
    balls = question.shot.table.balls
    ball, target = complex(*question.shot.object_ball), complex(*question.truth.target)
    way = (target - ball) / abs(target - ball)
    touching = ball - way * 2 * math.sqrt(balls.cue_radius * balls.object_radius)
    turned = cmath.phase(way / (touching - complex(*place)))
    assert abs(turned) < math.pi / 2
    return 1 - abs(math.sin(turned))


def nearest_on_way(start: complex, end: complex, to: complex) -> float:
    """How near a straight way passes to a point, by many small steps."""
    return float(np.abs(start + (end - start) * np.linspace(0.0, 1.0, 2001) - to).min())


def wanted_in(prompt: str) -> float:
    said = prompt.removeprefix("From which place is the pot ").removesuffix("?").removesuffix(" ball")
    if said == "full":
        return 1.0
    above, below = said.split("/")
    return int(above) / int(below)


@pytest.mark.parametrize("level", [FREE, LEVEL], ids=lambda level: level.name)
@pytest.mark.parametrize("count", [80, pytest.param(500, marks=pytest.mark.long)])
def test_places_of_many_questions_are_as_full_as_a_second_computation_says(level: Level, count: int) -> None:
    steps: Counter[float] = Counter()
    for question in islice(asked(level, 500), count):
        table, wanted = question.shot.table, wanted_in(question.prompt)
        values = [fullness_from(question, place) for place in question.places]
        assert [c.value for c in question.choices] == pytest.approx(values, abs=1e-9)
        assert [abs(value - wanted) < 1e-6 for value in values].count(True) == 1
        assert abs(values[question.best] - wanted) < 2e-9
        assert values == sorted(values, reverse=True)
        gaps = -np.diff(values)
        assert gaps == pytest.approx(np.full(4, gaps[0]), abs=1e-6)
        steps[round(float(gaps[0]), 6)] += 1
        ball, target = complex(*question.shot.object_ball), complex(*question.truth.target)
        way = (target - ball) / abs(target - ball)
        places = [complex(*place) for place in question.places]
        for place in places:
            radius = table.balls.cue_radius
            assert radius <= place.real <= table.length - radius
            assert radius <= place.imag <= table.width - radius
            assert nearest_on_way(place, ball - way * table.contact, ball) >= table.contact - 0.05
            assert nearest_on_way(ball, target, place) > table.contact - 0.05  # not in the pot's way
        apart = [abs(a - b) for i, a in enumerate(places) for b in places[:i]]
        assert min(apart) >= 4 * table.balls.cue_radius  # two balls' widths
    assert set(steps) <= {1 / 8, 1 / 16, 1 / 32}
    assert steps[1 / 8] > 0.96 * count  # closer steps only where there is no room for more


def test_every_place_may_be_the_right_one_and_lies_at_its_own_distance() -> None:
    best: Counter[int] = Counter()
    spread = []
    for question in asked(LEVEL, 250):
        best[question.best] += 1
        far = [math.dist(place, question.shot.object_ball) for place in question.places]
        spread.append(max(far) - min(far))
    assert set(best) == set(range(5))
    assert max(best.values()) < 110
    assert np.median(spread) > 250


def test_the_mark_is_about_the_shot_from_the_chosen_place() -> None:
    rights = 0
    for question in asked(LEVEL, 60):
        for choice, place in zip(question.choices, question.places, strict=True):
            mark = drills.mark(question, choice)
            wanted = wanted_in(question.prompt)
            shot, balls = mark.question.shot, mark.question.shot.table.balls
            assert shot.cue_ball == place
            true = fullness_from(question, place)
            assert mark.error == pytest.approx(wanted - true, abs=2e-9)
            assert mark.right == (choice == question.choices[question.best])
            # The wanted fullness played from there: the way by angles.
            cue, ball = complex(*place), complex(*shot.object_ball)
            contact = 2 * math.sqrt(balls.cue_radius * balls.object_radius)
            pot = complex(*question.truth.target) - ball
            side = 1.0 if (pot / (ball - cue)).imag > 0 else -1.0
            aim = cmath.phase(ball - cue) - math.asin(side * (1 - wanted) * contact / abs(ball - cue))
            if 1 - true > 1e-6:
                way = cmath.rect(1.0, aim + math.asin(side * (1 - wanted)))
                assert mark.way is not None
                assert complex(*mark.way) == pytest.approx(way, abs=1e-7)
            low, high = mark.question.truth.margin
            assert mark.potted == (low <= true + mark.error <= high)
            rights += mark.right
            assert mark.potted or not mark.right
    assert rights == 60


@pytest.mark.parametrize("bias", [-0.3, -0.1, -0.05, 0.0, 0.04, 0.09, 0.2])
def test_a_player_takes_the_place_that_looks_most_like_the_wanted_one(bias: float) -> None:
    for question in asked(FREE, 30):
        wanted = wanted_in(question.prompt)
        seen = [abs(choice.value + bias - wanted) for choice in question.choices]
        choice = LEAVE.answer(question, bias)
        assert choice == question.choices[int(np.argmin(seen))]
        settled = LEAVE.settled(question, choice)
        low, high = LEAVE.meant(settled.asked, choice, LEAVE.error(settled, choice.value))
        assert low <= bias <= high
        inner = choice not in (question.choices[0], question.choices[-1])
        assert (high - low == pytest.approx(question.choices[0].value - question.choices[1].value)) == inner


@pytest.mark.parametrize("table", ["small-ball", "pool-9"])
def test_other_tables_have_room_for_five_places_too(table: str) -> None:
    level = read_level(FILE.replace('drill = "leave"', f'drill = "leave"\ntable = "{table}"'), "a", "a.toml")
    assert all(len(question.places) == 5 for question in asked(level, 60))


@pytest.mark.parametrize(
    ("level", "bias"),
    [
        (FREE, 0.05),
        *[
            pytest.param(*row, marks=pytest.mark.slow)
            for row in ((FREE, -0.05), (LEVEL, 0.05), (LEVEL, -0.05))
        ],
    ],
    ids=lambda value: getattr(value, "name", value),
)
def test_a_bias_is_found_from_places_alone(level: Level, bias: float) -> None:
    """Measured: clear of none by two standard deviations at half ball on either side after 36 to 43 calls
    of shots spread evenly, after 120 within 0.02 of what it is."""
    level = replace(level, adaptive=False)
    cuts = [math.sin(math.radians(-30.0)), math.sin(math.radians(30.0))]
    found, moment = None, None
    for moment in practise(level, Nature(noise=0.05, everywhere=bias), days=1, shots=120, seed=3):
        mean, sd = moment.belief.curve(cuts)
        if found is None and (math.copysign(1.0, bias) * mean > 2 * sd).all():
            found = moment.number
    assert moment is not None
    assert found is not None
    assert found <= 100
    assert moment.belief.curve(cuts)[0] == pytest.approx([bias, bias], abs=0.025)


def test_an_answer_tells_of_the_cut_that_was_wanted_whichever_place_it_names() -> None:
    for question in asked(FREE, 40):
        for choice in question.choices:
            settled = LEAVE.settled(question, choice)
            error = LEAVE.error(settled, choice.value)
            played = LEAVE.called_offset(settled, choice.value)
            sine = LEAVE.looked_at(math.sin(settled.truth.cut), error, played)
            assert abs(sine) == pytest.approx(1.0 - wanted_in(question.prompt), abs=1e-8)


def test_a_call_is_a_number_or_a_place() -> None:
    question = next(asked(FREE, 1))
    assert question.read(" 3 ") == question.choices[2]
    assert question.read("Place 3") == question.choices[2]
    for bad in ("", "6", "0", "-1", "1.5", "place", "half ball", "\x1b[2J", "9" * 500):
        with pytest.raises(CallError, match="allowed: 1 to 5") as caught:
            question.read(bad)
        assert str(caught.value).isprintable()
        assert len(str(caught.value)) < 300


FILE = """
title = "A level"
teaches = "Something."
drill = "leave"

[answers]
ask = "place"
bands = ["1/2"]

[shots]
cuts = [20, 40]
"""


def test_a_level_asks_its_bands_alone_and_is_seen_from_above() -> None:
    level = read_level(FILE, "mine", "mine.toml")
    assert level.views == ("plan",)
    assert {question.prompt for question in asked(level, 20)} == {"From which place is the pot 1/2 ball?"}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('ask = "place"', 'ask = "spot"', "answers.ask"),
        ('ask = "place"', "ask = 3", "answers.ask"),
        ('ask = "place"', "choices = 5", "answers.choices"),
        ("cuts = [20, 40]", "cuts = [31, 35]", "no band of step 1/8"),
        ('drill = "leave"', 'drill = "leave"\nviews = ["down"]', "can't be seen so"),
        ('drill = "leave"', 'drill = "band"', "answers.ask"),
    ],
)
def test_a_level_that_cannot_be_asked_says_why_in_one_line(old: str, new: str, said: str) -> None:
    with pytest.raises(FileError) as caught:
        read_level(FILE.replace(old, new), "mine", "mine.toml")
    assert any(said in problem and "allowed" in problem for problem in caught.value.problems)


def test_cuts_that_hold_no_band_are_asked_for_by_their_own_fullness() -> None:
    level = read_level(FILE, "mine", "mine.toml")
    narrow = Level("n", "N", "T.", "aim", limits=type(level.limits)(cuts=(31.0, 35.0))).with_drill("leave")
    for question in asked(narrow, 20):
        said = float(question.prompt.removeprefix("From which place is the pot ").removesuffix(" ball?"))
        assert said == pytest.approx(question.truth.fullness, abs=0.0051)
        assert drills.mark(question, question.choices[question.best]).right
