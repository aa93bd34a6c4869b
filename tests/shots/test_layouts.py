"""Layouts: round places, the worst that a slip can do, and what a person needs to play them."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from laid_out import placed, sine
from scipy.optimize import minimize

from trainer.geometry.fullness import bands
from trainer.geometry.tables import POCKETS, TABLES
from trainer.shots.layout import kinds_said, lay_out
from trainer.shots.places import baulk_places, half, landmarks, number, place_at, snapped
from trainer.shots.shot import Shot, Shots
from trainer.shots.tolerance import steepness, worst_change
from trainer.shots.truth import truth_of

SNOOKER, POOL = TABLES["snooker"], TABLES["pool-9"]


def test_halves_and_lengths_are_written_as_people_write_them() -> None:
    assert [half(k) for k in range(5)] == ["0", "1/2", "1", "1 1/2", "2"]
    assert [number(mm, "mm") for mm in (640.0, 1784.5, 892.25, 158.75)] == ["640", "1784.5", "892.2", "158.8"]
    assert [number(mm, "in") for mm in (317.5, 12.7, 254.0, 324.0)] == ["12 1/2", "1/2", "10", "12.76"]


def test_places_are_said_as_they_are_found() -> None:
    def words(table: str, x: float, y: float, unit: str = "mm") -> str:
        return place_at(TABLES[table], (x, y), unit).words

    assert words("snooker", 3569 - 640, 320) == "640 mm from the top cushion, 320 from the right-hand one"
    assert words("snooker", 1784.5, 889) == (
        "on the centre spot (1784.5 mm from the baulk cushion, 889 from the right-hand one)"
    )
    assert words("snooker", 737, 889 + 292) == (
        "on the spot at the left-hand end of the D (737 mm from the baulk cushion, "
        "597 from the left-hand one)"
    )
    assert words("snooker", 737, 400) == (
        "on the baulk line (737 mm from the baulk cushion, 400 from the right-hand one)"
    )
    assert words("pool-9", 635, 635) == (
        "on the spot in the middle of the baulk line (635 mm from the baulk cushion, "
        "635 from the right-hand one)"
    )
    assert words("pool-9", 2540 - 317.5 * 1.5, 1270 - 158.75) == (
        "1 1/2 diamonds from the top cushion, 1/2 from the left-hand one (476.2 and 158.8 mm)"
    )
    assert words("pool-9", 317.5, 317.5, "in") == (
        "1 diamond from the baulk cushion, 1 from the right-hand one (12 1/2 and 12 1/2 in)"
    )


@given(
    st.sampled_from(list(TABLES)), st.sampled_from(["mm", "in"]), st.floats(0.02, 0.98), st.floats(0.02, 0.98)
)
@settings(deadline=None, max_examples=60)
def test_a_round_place_is_near_and_is_read_back_from_its_words(
    name: str, unit: str, along: float, across: float
) -> None:
    table = TABLES[name]
    asked = complex(along * table.length, across * table.width)
    x, y = snapped(table, (asked.real, asked.imag), unit).tolist()
    step = {"mm": 10.0, "in": 12.7}[unit]
    assert max(abs(x - asked.real), abs(y - asked.imag)) <= step  # over the middle it may be a whole one
    place = place_at(table, (x, y), unit)
    assert abs(placed(place.words, table) - complex(x, y)) < {"mm": 0.08, "in": 0.2}[unit]
    for measure in (place.along, place.across):
        if not place.on and "diamond" not in measure.said:
            assert measure.mm / step == pytest.approx(round(measure.mm / step), abs=1e-6)


@pytest.mark.parametrize("name", list(TABLES))
def test_every_mark_is_on_the_table_and_is_read_back(name: str) -> None:
    table = TABLES[name]
    marks = np.concatenate([landmarks(table), baulk_places(table, "mm")])
    assert len(marks) > 80
    for x, y in marks.tolist():
        assert 0 < x < table.length
        assert 0 < y < table.width
        assert abs(placed(place_at(table, (x, y), "mm").words, table) - complex(x, y)) < 0.08


def test_kinds_are_read_as_people_write_them() -> None:
    def names(*words: str) -> list[str]:
        return [kind.name for kind in kinds_said(words)]

    assert names("3/8 right") == ["3/8 right"]
    assert names("3/8", "right", "FULL", "1/2  Left") == ["3/8 right", "full", "1/2 left"]
    assert names("1/4") == ["1/4 left", "1/4 right"]
    assert names("1/4, 1/4 left, full right,full left") == ["1/4 left", "1/4 right", "full"]
    assert names("thinner right") == ["thinner right"]


SHOTS = [
    Shot(SNOOKER, (1200.0, 300.0), (2600.0, 700.0), "top-left"),
    Shot(SNOOKER, (1500.0, 300.0), (1700.0, 900.0), "middle-left"),
    Shot(POOL, (600.0, 500.0), (1800.0, 800.0), "top-right"),
    Shot(POOL, (2000.0, 300.0), (1500.0, 900.0), "middle-left"),
    Shot(TABLES["small-ball"], (400.0, 300.0), (1400.0, 500.0), "top-left"),
]


@pytest.mark.parametrize("shot", SHOTS, ids=lambda s: f"{s.table.name}-{s.pocket}")
def test_the_worst_change_is_not_passed_and_is_come_near_to(shot: Shot) -> None:
    one = Shots.of(shot)
    worst = float(worst_change(one, 5.0)[0])
    before = sine(shot.table, complex(*shot.cue_ball), complex(*shot.object_ball), shot.pocket)
    rng = np.random.default_rng(1)
    off = 5.0 * np.sqrt(rng.random((400, 2))) * np.exp(2j * np.pi * rng.random((400, 2)))
    rim = 5.0 * np.exp(2j * np.pi * (np.stack(np.divmod(np.arange(900), 30), -1) + rng.random((900, 2))) / 30)
    cue, ball = complex(*shot.cue_ball), complex(*shot.object_ball)

    def changes(moves: np.ndarray) -> list[float]:
        return [abs(sine(shot.table, cue + a, ball + b, shot.pocket) - before) for a, b in moves.tolist()]

    # The rubber of the other computation is made of short straight pieces.
    assert max(changes(off)) <= worst + 1e-5
    assert worst * 0.97 < max(changes(rim)) <= worst + 1e-5
    # So little off it is nearly straight.
    assert float(steepness(one)[0]) * 5.0 == pytest.approx(worst, rel=0.05)


def test_the_worst_change_of_each_of_a_batch_is_the_top_that_scipy_climbs_to() -> None:
    """From where the first round of directions is best; each shot by itself, whichever comes first."""
    shots = [SHOTS[0], replace(SHOTS[0], object_ball=(2200.0, 1300.0)), SHOTS[1]]
    batch = Shots(
        SNOOKER,
        np.array([shot.cue_ball for shot in shots]),
        np.array([shot.object_ball for shot in shots]),
        np.array([POCKETS.index(shot.pocket) for shot in shots]),
    )
    worst = worst_change(batch, 5.0)
    for shot, found in zip(shots, worst.tolist(), strict=True):
        cue, ball = complex(*shot.cue_ball), complex(*shot.object_ball)

        def off(angles, sign, shot=shot, cue=cue, ball=ball):  # type: ignore[no-untyped-def]
            a, b = 5.0 * np.exp(1j * np.asarray(angles))
            return sign * sine(SNOOKER, cue + a, ball + b, shot.pocket)

        before = sine(SNOOKER, cue, ball, shot.pocket)
        around = [(a, b) for a in np.arange(0, 2 * np.pi, 0.7) for b in np.arange(0, 2 * np.pi, 0.7)]
        tops = []
        for sign in (1.0, -1.0):
            start = min(around, key=lambda angles, sign=sign: off(angles, sign))  # type: ignore[misc]
            best = minimize(off, start, args=(sign,), method="Nelder-Mead", options={"xatol": 1e-4})
            tops.append(-best.fun + sign * before)
        # The rubber of the other computation is made of short straight pieces.
        assert found == pytest.approx(max(tops), abs=1e-5)


def test_a_ball_that_can_be_put_where_nothing_pots_is_infinitely_wrong() -> None:
    shot = Shot(POOL, (2200.0, 700.0), (2300.0, 700.0 + 58.0), "top-right")
    assert math.isfinite(truth_of(shot).fullness)
    assert worst_change(Shots.of(shot), 40.0)[0] == math.inf


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.slow] * (k % 2)) for k, name in enumerate(TABLES)]
)
def test_layouts_can_be_set_up_reached_and_played(name: str) -> None:
    table = TABLES[name]
    kinds = kinds_said(["7/8", "1/2", "1/4"])
    layouts = lay_out(table, kinds, 12, np.random.default_rng(8))
    assert [one.wanted for one in layouts] == [*kinds, *kinds]
    assert len({(one.wanted.name, one.cue_ball.words, one.object_ball.words) for one in layouts}) == 12
    radius = table.balls.object_radius
    cloth = shapely.box(0, 0, table.length, table.width)
    for one in layouts:
        cue, ball = shapely.Point(one.shot.cue_ball), shapely.Point(one.shot.object_ball)
        rolled = shapely.LineString([one.shot.object_ball, one.truth.target])
        aimed = shapely.LineString([one.shot.cue_ball, one.truth.touching])
        assert rolled.distance(cue) > 2 * radius
        for place in (cue, ball):
            assert cloth.exterior.distance(place) > radius + 20
        assert 250 <= rolled.length <= 1200
        assert 300 <= cue.distance(ball) <= 1200
        # Room for a hand behind the cue ball, and no farther across the table than an arm and a cue reach.
        (cx, cy), (tx, ty) = aimed.coords
        back = shapely.LineString([(cx, cy), (cx + 9 * (cx - tx), cy + 9 * (cy - ty))])
        behind = back.intersection(cloth).length
        assert 150 < behind < 1100
        low, high = next((b.low, b.high) for b in bands() if b.name == one.wanted.band.name)
        assert low < one.truth.fullness - one.change
        assert one.truth.fullness + one.change < high


def test_the_first_layouts_of_a_card_use_different_pockets() -> None:
    layouts = lay_out(SNOOKER, kinds_said(["3/4", "1/2"]), 4, np.random.default_rng(2))
    assert len({one.shot.pocket for one in layouts}) >= 3
