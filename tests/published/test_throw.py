"""Throw against published values, then against a table derived from the published formula.

Sources:

* Alciatore, *TP A.24* (restating *TP A.14*), the formula,
  https://www.scribd.com/document/612308370/TP-A-24
* Alciatore, *TP A.28 Throw plots for all types of shots*, which quotes Marlow, *The Physics of
  Pocket Billiards* (1995), Table 10, page 245, and fits it,
  https://fdocuments.net/document/tp-a28-throw-plots-for-all-types-of-shots-throw-plots-for-all-types-of-shots-supporting.html
* Alciatore, billiards tutorial, "Throw", in words,
  http://billiards.colostate.edu/tutorial/throw.html
* Alciatore, discussion threads on cut shots ("gearing" outside english),
  http://www.engr.colostate.edu/~dga/pool/threads/cut.html
* Alciatore, "Typical speeds" (slow is 0.45 to 0.89 m/s, fast 1.9 to 3.2 m/s),
  https://billiards.colostate.edu/faq/speed/typical/

The plots of TP A.14 and TP A.28 were not to be had as numbers: the formula and the fit that they are drawn by
are, and what is said of them in words.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from trainer.geometry.aiming import Stroke
from trainer.geometry.cue_path import contact
from trainer.geometry.throw import FRICTION, friction, throw_angle

SLOW = np.linspace(0.45, 0.89, 12)
FAST = np.linspace(1.9, 3.2, 12)
INCH_PER_FOOT = np.arctan(1 / 12)


def degrees_of(cut: float, speed: float, roll: float = 0.0, side: float = 0.0) -> float:
    return float(np.degrees(throw_angle(np.radians(cut), speed, roll, side)))


# --- Published -------------------------------------------------------------------------------------


def printed(phi: float, v: float, wx: float, wz: float, radius: float) -> tuple[float, float]:
    """TP A.24 as it is printed: the object ball's speeds across and along the line of centres."""
    v_rel = np.sqrt((v * np.sin(phi) - radius * wz) ** 2 + (radius * wx * np.cos(phi)) ** 2)
    mu = 9.951e-3 + 0.108 * np.exp(-1.088 * v_rel)
    across = min(mu * v * np.cos(phi) / v_rel, 1 / 7) * (v * np.sin(phi) - radius * wz)
    return across, v * np.cos(phi)


@pytest.mark.parametrize("speed", [0.1, 0.5, 1.0, 2.0, 4.0, 8.0])
@pytest.mark.parametrize("side", [-1.0, -0.37, 0.0, 0.22, 0.9])
def test_formula_of_tp_a24(speed: float, side: float) -> None:
    """The object ball's speeds and its angle, spins in rad/s; the ball's size makes no difference."""
    for cut in np.radians([0.5, 8.0, 15.0, 30.0, 47.0, 62.0, 85.0]):
        for roll in (-1.0, 0.0, 0.4, 1.0):
            for radius in (0.02625, 0.028575):
                # the most side spin is 1.25 v / R: see gearing at ninety degrees, below
                wx, wz = roll * speed / radius, side * 1.25 * speed / radius
                across, along = printed(cut, speed, wx, wz, radius)
                assert throw_angle(cut, speed, roll, side) == pytest.approx(
                    np.arctan(across / along), rel=1e-12, abs=1e-15
                )
                after = contact(cut, Stroke(speed, roll, side), with_friction=True)
                centres = np.array([np.cos(cut), np.sin(cut)])
                to_right = np.array([centres[1], -centres[0]])
                got = after.object_velocity @ to_right, after.object_velocity @ centres
                assert got == pytest.approx((across, along), rel=1e-12, abs=1e-14)


def test_fit_of_tp_a28() -> None:
    """a + b exp(-c v) through Marlow's three values, solved here again, to the digits TP A.28 prints."""
    slow, middle, fast = np.array([0.1, 1.0, 10.0]) * np.sin(np.pi / 4)

    def off(c: float) -> float:
        e = np.exp(-c * np.array([slow, middle, fast]))
        return float((0.11 - 0.01) * (e[1] - e[2]) - (0.06 - 0.01) * (e[0] - e[2]))

    c = float(brentq(off, 0.5, 3.0, xtol=1e-14))
    b = (0.11 - 0.06) / (np.exp(-c * slow) - np.exp(-c * middle))
    a = 0.01 - b * np.exp(-c * fast)
    assert pytest.approx((a, b, c), abs=5e-4) == FRICTION
    assert FRICTION[0] == pytest.approx(a, abs=5e-7)


@pytest.mark.parametrize(("speed", "mu"), [(0.1, 0.11), (1.0, 0.06), (10.0, 0.01)])
def test_marlow_friction(speed: float, mu: float) -> None:
    """The fit passes through the three measured values, to the printed digits of its constants.

    Table 10 is for a ball of that speed at a 45 degree cut, so the surfaces slide at v sin 45.
    """
    assert friction(speed * np.sin(np.pi / 4)) == pytest.approx(mu, abs=6e-5)


def test_most_throw_is_about_an_inch_per_foot() -> None:
    """ "generally about 1 inch per foot" (4.76 degrees) for slow stun shots: read as within 15 %."""
    cuts = np.radians(np.linspace(0.0, 89.0, 900))
    peaks = throw_angle(cuts[:, None], SLOW).max(axis=0)
    np.testing.assert_allclose(peaks, INCH_PER_FOOT, rtol=0.15)


def test_slow_stun_near_half_ball_is_where_throw_is_greatest() -> None:
    """ "slow stun shots close to and larger than a 1/2-ball hit (maximum throw)" """
    cuts = np.linspace(0.0, 89.0, 900)
    at = cuts[throw_angle(np.radians(cuts)[:, None], SLOW).argmax(axis=0)]
    assert ((at > 25.0) & (at < 35.0)).all()
    larger = throw_angle(np.radians(np.linspace(30, 50, 21))[:, None], SLOW)
    thick = throw_angle(np.radians(np.linspace(0, 10, 11))[:, None], SLOW)
    assert larger.min() > 2 * thick.max()


def test_slow_roll_has_about_half_of_the_most_throw() -> None:
    """ "slow roll shots (about half of maximum throw)", read as 0.3 to 0.7 around half ball."""
    half = throw_angle(np.radians(30.0), SLOW, 1.0) / INCH_PER_FOOT
    assert ((half > 0.3) & (half < 0.7)).all()


@pytest.mark.parametrize("cut", [30.0, 45.0, 60.0])
def test_fast_shots_throw_little(cut: float) -> None:
    assert throw_angle(np.radians(cut), FAST).max() < throw_angle(np.radians(cut), SLOW).min()
    assert np.degrees(throw_angle(np.radians(cut), FAST[-1])) < 2.0


@pytest.mark.parametrize("roll", [-1.0, -0.5, 0.5, 1.0])
@pytest.mark.parametrize("cut", [15.0, 30.0, 45.0, 60.0])
def test_top_and_back_spin_lessen_throw(cut: float, roll: float) -> None:
    for speed in (0.5, 1.0, 2.0, 4.0):
        spun, stun = degrees_of(cut, speed, roll), degrees_of(cut, speed)
        assert spun <= stun
        if abs(roll) == 1 or cut > 20:  # a thick slow hit sticks anyway, whatever the spin
            assert spun < stun


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_gearing_at_ninety_degrees_takes_eighty_per_cent_of_the_most_side(side: float) -> None:
    """+ side is right-hand spin, which is the outside one for a ball sent left (+)."""
    cut = side * np.pi / 2
    assert throw_angle(cut, 1.0, 0.0, side * 0.8) == pytest.approx(0.0, abs=1e-12)
    assert throw_angle(cut, 1.0, 0.0, side * 0.78) > 1e-3
    assert throw_angle(cut, 1.0, 0.0, side * 0.82) < -1e-3


# --- Derived from the published formula, not published ----------------------------------------------
# Worked out from the formula of TP A.24 and rounded: these check the arithmetic of the code.

SPEEDS = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0)
DERIVED_THROW = {
    (0.0, 15): (2.192, 2.192, 2.192, 2.192, 2.192, 2.192),
    (0.0, 30): (4.715, 4.154, 3.303, 2.653, 1.780, 1.272),
    (0.0, 45): (4.771, 3.433, 2.520, 1.898, 1.185, 0.855),
    (0.0, 60): (4.424, 2.979, 2.075, 1.510, 0.936, 0.713),
    (1.0, 15): (1.077, 0.687, 0.461, 0.329, 0.209, 0.168),
    (1.0, 30): (2.080, 1.327, 0.890, 0.636, 0.403, 0.325),
    (1.0, 45): (2.940, 1.877, 1.259, 0.900, 0.570, 0.460),
    (1.0, 60): (3.599, 2.298, 1.541, 1.102, 0.699, 0.563),
}


@pytest.mark.parametrize(("roll", "cut"), DERIVED_THROW)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_derived_throw(roll: float, cut: int, side: float) -> None:
    got = np.degrees(throw_angle(side * np.radians(cut), np.array(SPEEDS), roll))
    np.testing.assert_allclose(got, DERIVED_THROW[roll, cut], rtol=0, atol=6e-4)


@pytest.mark.parametrize("cut", [1.0, 10.0, 20.0, 30.0, 45.0, 60.0, 80.0, 89.9])
def test_derived_no_slip_cap(cut: float) -> None:
    """TP A.24 caps at 1/7: with no side a ball is never thrown past atan(tan(cut)/7)."""
    cap = np.arctan(np.tan(np.radians(cut)) / 7)
    speeds = np.geomspace(1e-3, 20.0, 200)
    for roll in (0.0, 0.3, 1.0, -1.0):
        assert (throw_angle(np.radians(cut), speeds, roll) <= cap * (1 + 1e-12)).all()


@pytest.mark.parametrize(("cut", "cap"), [(10, 1.44), (20, 2.98), (30, 4.72)])
def test_derived_no_slip_cap_is_reached_by_slow_stun(cut: int, cap: float) -> None:
    assert degrees_of(cut, 0.3) == pytest.approx(cap, abs=0.0051)


@pytest.mark.parametrize(("cut", "per_cent"), [(15, 20.7), (30, 40.0), (45, 56.6), (60, 69.3), (90, 80.0)])
def test_derived_gearing(cut: int, per_cent: float) -> None:
    """The side spin of no throw, found by halving, against sin(cut) / 1.25."""
    low, high = 0.0, 1.0
    angle = min(np.radians(cut), np.pi / 2 - 1e-9)
    for _ in range(60):
        middle = (low + high) / 2
        if throw_angle(angle, 2.0, 0.0, middle) > 0:
            low = middle
        else:
            high = middle
    assert 100 * low == pytest.approx(per_cent, abs=0.051)


@pytest.mark.parametrize(
    ("speed", "most", "at"),
    [
        (0.25, 5.83, 35.6),
        (0.5, 5.18, 32.4),
        (1.0, 4.29, 27.7),
        (2.0, 3.30, 22.0),
        (3.0, 2.75, 18.6),
        (4.0, 2.39, 16.3),
    ],
)
def test_derived_stun_peaks(speed: float, most: float, at: float) -> None:
    cuts = np.linspace(5.0, 60.0, 55_001)
    throw = np.degrees(throw_angle(np.radians(cuts), speed))
    assert throw.max() == pytest.approx(most, abs=0.0055)
    assert cuts[throw.argmax()] == pytest.approx(at, abs=0.055)


@pytest.mark.parametrize(
    ("roll", "speed", "cut", "half_ball"),
    [
        (0.0, 0.5, 35.08, 25.3),
        (0.0, 1.0, 33.94, 25.9),
        (0.0, 2.0, 32.49, 27.3),
        (0.0, 3.0, 31.68, 28.2),
        (1.0, 0.5, 32.22, 27.9),
        (1.0, 1.0, 31.38, 28.7),
        (1.0, 2.0, 30.65, 29.4),
        (1.0, 3.0, 30.41, 29.6),
    ],
)
def test_derived_half_ball_with_throw(roll: float, speed: float, cut: float, half_ball: float) -> None:
    """The cut that sends the ball off at 30 degrees, and where a half-ball hit really sends it."""
    assert cut - degrees_of(cut, speed, roll) == pytest.approx(30.0, abs=0.0075)
    assert 30.0 - degrees_of(30.0, speed, roll) == pytest.approx(half_ball, abs=0.055)


@pytest.mark.parametrize(("cut", "cap"), [(10, 1.44), (20, 2.98), (30, 4.72), (45, 8.13), (60, 13.9)])
def test_derived_no_slip_limit(cut: int, cap: float) -> None:
    """The limit alone, atan(2 tan(cut) / (7 (1 + e))) with e = 1, which the friction that is there keeps
    a stun shot from reaching when it is thin: with outside side near gearing the balls stick, and then
    throw per sliding shows it."""
    angle = np.radians(cut)
    geared = np.sin(angle) / 1.25
    less = throw_angle(angle, 0.5, 0.0, geared - 1e-6)
    per_sliding = np.tan(less) * np.cos(angle) / (1.25e-6)
    assert np.degrees(np.arctan(per_sliding * np.tan(angle))) == pytest.approx(cap, abs=0.051)


def test_derived_no_slip_limit_with_restitution() -> None:
    """2 / (7 (1 + e)): 4.84 degrees at half ball for e = .95, where the balls stick."""
    got = np.degrees(throw_angle(np.radians(30.0), 0.2, restitution=0.95))
    assert got == pytest.approx(4.84, abs=0.0051)
    assert throw_angle(np.radians(30.0), 3.0, restitution=0.95) == throw_angle(np.radians(30.0), 3.0)


@pytest.mark.parametrize(("mph", "stun", "roll"), [(1, 4.72, 2.19), (3, 3.55, 1.00), (7, 1.70, 0.39)])
def test_derived_half_ball_at_slow_medium_and_fast(mph: float, stun: float, roll: float) -> None:
    """1, 3 and 7 mph are TP A.14's slow, medium and fast from memory."""
    speed = mph * 0.44704
    assert degrees_of(30.0, speed) == pytest.approx(stun, abs=0.0051)
    assert degrees_of(30.0, speed, 1.0) == pytest.approx(roll, abs=0.0051)
