"""Fractional-ball aiming against published values, then against tables derived from them.

Sources:

* Alciatore, *TP A.20 The effect of spin, speed and cut angle on draw shots*: "cut angle and
  ball-hit fraction relationship (from TP 3.3)", ``cut = asin(1 - f)``,
  https://docplayer.gr/amp/109894893-Tp-a-20-the-effect-of-spin-speed-and-cut-angle-on-draw-shots.html
* Alciatore, *TP A.11 Fractional-ball aiming*: 3/4 = 14.48, 1/2 = 30, 1/4 = 48.59 degrees, and a
  39.3 degree cut worked as a shot between 1/2 and 1/4,
  https://ru.scribd.com/doc/252567382/Fractional-Ball-Aiming
* Billiards and pool FAQ of D. Alciatore, "Estimating the cut angle" (the clock picture),
  https://billiards.colostate.edu/faq/cut/estimating-angle
* *The Billiard Monthly*, November 1910, on three principal aims and contacts (name and date read
  off the address), balls of two inches,
  http://www.eaba.co.uk/mags/bm/1910/11/threePrincipalCueAimsAndBallContacts.html
"""

from dataclasses import replace

import numpy as np
import pytest

from trainer.geometry.aiming import hit_for, send
from trainer.geometry.contact import cut_angle
from trainer.geometry.fullness import (
    band_of,
    cut_from_fullness,
    fullness_from_cut,
    offset_from_fullness,
)
from trainer.geometry.tables import TABLES, Balls

INCH = 25.4
R = 52.5 / 2


# --- Published: TP A.20 and TP A.11 ---------------------------------------------------------------


@pytest.mark.parametrize(("fullness", "degrees"), [(3 / 4, 14.48), (1 / 2, 30.0), (1 / 4, 48.59)])
def test_cut_of_the_quarters(fullness: float, degrees: float) -> None:
    assert np.degrees(cut_from_fullness(fullness)) == pytest.approx(degrees, abs=0.005)
    # half a unit of the last printed digit of the angle, carried over to fullness
    slack = np.radians(0.005) * np.cos(np.radians(degrees)) + 1e-15
    assert fullness_from_cut(np.radians(degrees)) == pytest.approx(fullness, abs=slack)


def test_half_ball_is_thirty_degrees_exactly() -> None:
    assert np.degrees(cut_from_fullness(0.5)) == pytest.approx(30.0, abs=1e-13)


def test_relation_of_cut_and_fullness() -> None:
    fullness = np.linspace(0.0, 1.0, 1001)
    np.testing.assert_allclose(
        cut_from_fullness(fullness), np.arcsin(1.0 - fullness), rtol=0, atol=3e-8
    )  # asin(1 - f) itself loses digits as f nears 0
    np.testing.assert_allclose(fullness_from_cut(np.arcsin(1.0 - fullness)), fullness, atol=1e-15)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_worked_in_between_shot(side: float) -> None:
    """A 39.3 degree cut needs a hit between half and quarter ball."""
    fullness = float(fullness_from_cut(side * np.radians(39.3)))
    assert 1 / 4 < fullness < 1 / 2
    assert band_of(fullness).name == "3/8"  # the one eighth between them


# --- Published as a rounding: the clock picture ----------------------------------------------------
# The picture gives 15 ~ 3/4, 30 = 1/2, 45 ~ 1/4 and 60 ~ 1/8 so that a clock face can be remembered:
# it is a rounding by design (the exact angles are 14.48, 30, 48.59 and 61.04), so it has a tolerance
# of its own: 4 degrees of cut, and the nearest eighth must be the one that the picture names.


@pytest.mark.parametrize(("degrees", "fullness"), [(15, 3 / 4), (30, 1 / 2), (45, 1 / 4), (60, 1 / 8)])
def test_clock_picture(degrees: float, fullness: float) -> None:
    assert np.degrees(cut_from_fullness(fullness)) == pytest.approx(degrees, abs=4.0)
    called = band_of(float(fullness_from_cut(np.radians(degrees))))
    assert called.value == fullness


@pytest.mark.parametrize(("minutes", "fullness"), [(2.5, 3 / 4), (5, 1 / 2), (7.5, 1 / 4), (10, 1 / 8)])
@pytest.mark.parametrize("side", [1, -1])
def test_clock_laid_on_the_shot(minutes: float, fullness: float, side: int) -> None:
    """Each minute is six degrees: aimed at twelve, the ball goes where the hand points, minutes off it."""
    hand = 2 * np.pi * minutes / 60
    way = np.array([np.cos(hand), side * np.sin(hand)])  # twelve is up the table, + is left
    ball = np.array([900.0, 450.0])
    cue = ball - 2 * R * way - [700.0, 0.0]
    hit = hit_for(cue, ball, way, 2 * R)
    assert np.degrees(hit.cut) == pytest.approx(side * 6 * minutes, abs=1e-9)
    assert band_of(float(fullness_from_cut(hit.cut))).value == fullness
    if fullness == 1 / 2:
        assert fullness_from_cut(hit.cut) == pytest.approx(0.5, abs=1e-12)


# --- Published: aims on two-inch balls, 1910 -------------------------------------------------------

INSIDE_THE_EDGE = {  # inches from the object ball's edge toward its centre
    "half": (1 / 2, 0.0),
    "three-quarter": (3 / 4, 0.5),
    "quarter": (1 / 4, -0.5),
}


@pytest.mark.parametrize("name", INSIDE_THE_EDGE)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_aim_on_two_inch_balls(name: str, side: float) -> None:
    fullness, inside = INSIDE_THE_EDGE[name]
    radius = 1.0 * INCH
    cue, ball = np.array([100.0, 700.0]), np.array([900.0, 450.0])
    offset = offset_from_fullness(fullness, side)
    sent = send(cue, ball, offset, radius, 2 * radius)
    aimed_at = cue + sent.aim * ((ball - cue) @ sent.aim)  # abreast of the object ball's centre
    from_centre = np.hypot(*(aimed_at - ball))
    assert radius - from_centre == pytest.approx(inside * INCH, abs=1e-9)
    assert np.degrees(cut_angle(cue, ball, sent.touching)) == pytest.approx(
        side * np.degrees(np.arcsin(1 - fullness)), abs=1e-9
    )


def test_three_quarter_aim_is_midway_between_edge_and_centre() -> None:
    assert offset_from_fullness(3 / 4, 1.0) == pytest.approx(0.25, abs=1e-15)


# --- Derived, not published ------------------------------------------------------------------------
# The two tables below were worked out from cut = asin(1 - f) and rounded; three rows of the first
# coincide with TP A.11. They check the code's arithmetic, not the formula.

DERIVED_CUTS = {
    1: 0.0,
    15 / 16: 3.583,
    7 / 8: 7.181,
    13 / 16: 10.807,
    3 / 4: 14.478,
    2 / 3: 19.471,
    5 / 8: 22.024,
    9 / 16: 25.944,
    1 / 2: 30.0,
    7 / 16: 34.229,
    3 / 8: 38.682,
    1 / 3: 41.810,
    5 / 16: 43.433,
    1 / 4: 48.590,
    3 / 16: 54.341,
    1 / 8: 61.045,
    1 / 16: 69.636,
}
DERIVED_FULLNESSES = {
    5: 0.9128,
    10: 0.8264,
    15: 0.7412,
    20: 0.6580,
    25: 0.5774,
    30: 0.5,
    35: 0.4264,
    40: 0.3572,
    45: 0.2929,
    50: 0.2340,
    55: 0.1808,
    60: 0.1340,
    65: 0.0937,
    70: 0.0603,
    75: 0.0341,
    80: 0.0152,
}


def test_derived_table_of_cuts() -> None:
    fullness, degrees = np.array(list(DERIVED_CUTS.items())).T
    np.testing.assert_allclose(np.degrees(cut_from_fullness(fullness)), degrees, rtol=0, atol=5.1e-4)


def test_derived_table_of_fullnesses() -> None:
    degrees, fullness = np.array(list(DERIVED_FULLNESSES.items())).T
    for side in (1, -1):
        np.testing.assert_allclose(
            fullness_from_cut(side * np.radians(degrees)), fullness, rtol=0, atol=5.1e-5
        )


@pytest.mark.parametrize(
    ("degrees", "per_cent"), [(0, 0.573), (14.478, 0.592), (30, 0.662), (48.59, 0.866), (61.045, 1.18)]
)
def test_derived_degrees_for_a_hundredth_of_fullness(degrees: float, per_cent: float) -> None:
    """d cut = d fullness / cos(cut), by a one-sided or central difference."""
    fullness = float(fullness_from_cut(np.radians(degrees)))
    h = 1e-6
    low, high = max(fullness - h, 0.0), min(fullness + h, 1.0)
    slope = np.degrees(cut_from_fullness(low) - cut_from_fullness(high)) / (high - low)
    assert slope * 0.01 == pytest.approx(per_cent, abs=0.006)


SMALL_CUE = replace(TABLES["small-ball"], balls=Balls(47.6 / 2, 50.8 / 2, 94.0, 116.0))


def cut_at(offset: float) -> float:
    """The cut, degrees, that an offset gives with the small cue ball."""
    cue, ball = np.array([100.0, 700.0]), np.array([900.0, 450.0])
    sent = send(cue, ball, offset, SMALL_CUE.balls.object_radius, SMALL_CUE.contact)
    return float(np.degrees(cut_angle(cue, ball, sent.touching)))


def test_derived_contact_of_a_small_cue_ball() -> None:
    """47.6 and 50.8 mm: 49.17 mm apart in plan at contact, not 49.20."""
    assert SMALL_CUE.contact == pytest.approx(49.17, abs=0.005)


DERIVED_SMALL_CUE_BALL = {
    7 / 8: 5.54,
    3 / 4: 13.04,
    5 / 8: 20.77,
    1 / 2: 28.93,
    3 / 8: 37.79,
    1 / 4: 47.89,
    1 / 8: 60.57,
}


def test_derived_cuts_of_a_small_cue_ball() -> None:
    """Fullness as the part of the object ball that is covered, Rc + Ro - b of its width, worked out
    with centres Rc + Ro apart. They are 2 sqrt(Rc Ro) apart in plan: up to 0.05 degrees more cut.
    """
    cue, ball = 47.6 / 2, 50.8 / 2
    for covered, degrees in DERIVED_SMALL_CUE_BALL.items():
        off_centre = cue + ball - covered * 2 * ball
        assert 0.0 <= cut_at(off_centre / (2 * ball)) - degrees < 0.06
    at_the_edge = cut_at(0.5)
    assert at_the_edge == pytest.approx(31.08, abs=0.03)  # not the 30 of equal balls
