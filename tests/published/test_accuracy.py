"""How an error of aim grows, against published near-straight formulas and the exact derived one.

Sources:

* Eastaway & Wyndham, *Why Do Buses Come in Threes?*: a straight shot played ``alpha`` off misses by
  ``alpha (P - B)(B - W) / W`` at the pocket (W ball width, B cue ball to object ball, P cue ball to
  pocket), as worked through at
  https://danpearcymaths.wordpress.com/2013/02/25/geometry-of-snooker-problem-in-rob-eastaways-book-why-do-buses-come-in-threes/
* Settle District U3A, mathematics group, "Snooker": allowed error at the ball ``eps = x r / l``, of
  aim ``theta = 2 eps / L`` (x half the gap, l object ball to pocket, L cue ball to object ball),
  http://www.settledistrictu3a.org.uk/STRSUBS/dh/U3A/Maths/snooker.htm
* Alciatore, "Margin for error" (TP 3.4): a straight shot's difficulty goes with the product of the
  two distances, worst at halfway, https://billiards.colostate.edu/faq/cut/margin-for-error/
* Alciatore, "Straight-in shots" (TP 3.4): a straight shot is easier than a cut at the same distances,
  https://billiards.colostate.edu/faq/cut/straight-in/
"""

import numpy as np
import pytest

from trainer.geometry.aiming import send
from trainer.geometry.contact import aim_at_offset
from trainer.geometry.pockets import window

R = 26.25
BALL = np.array([0.0, 0.0])


def heading(way: np.ndarray) -> float:
    return float(np.arctan2(way[1], way[0]))


def sent_heading(cue: np.ndarray, offset: float, radius: float = R) -> tuple[float, float]:
    """Angles of the line of aim and of the object ball's way."""
    sent = send(cue, BALL, offset, radius, 2 * radius)
    return heading(sent.aim), heading(sent.way)


def gain(between: float, cut: float, radius: float = R) -> float:
    """d(object ball's direction) / d(direction of aim) by a five-point difference through ``send``."""
    cue = np.array([-between, 0.0])
    offset, h = np.sin(cut), 1e-4 * np.cos(cut)
    points = [sent_heading(cue, offset + k * h, radius) for k in (-2, -1, 1, 2)]
    weights = (1.0, -8.0, 8.0, -1.0)
    aim, way = (sum(w * p[i] for w, p in zip(weights, points, strict=True)) for i in (0, 1))
    return abs(way / aim)


def travel(between: float, cut: float, radius: float = R) -> float:
    """The cue ball's way to contact, by the law of cosines."""
    d = 2 * radius
    return float(np.sqrt(between**2 - (d * np.sin(cut)) ** 2) - d * np.cos(cut))


# --- Published: near-straight formulas, as the limit of small errors -------------------------------


@pytest.mark.parametrize("between", [150.0, 500.0, 1500.0])
@pytest.mark.parametrize("on", [200.0, 1000.0, 2000.0])
def test_miss_of_a_straight_shot(between: float, on: float) -> None:
    width = 2 * R
    for alpha in (1e-4, 1e-5, 1e-6):
        offset = between * np.sin(alpha) / width
        aim, way = sent_heading(np.array([-between, 0.0]), offset)
        assert abs(aim) == pytest.approx(alpha, rel=1e-9)
        miss = on * np.tan(way)
        published = alpha * on * (between - width) / width
        # the formula is the first order: what it leaves out shrinks with the square of the error
        assert miss == pytest.approx(published, rel=3 * (between / width * alpha) ** 2 + 1e-9)


@pytest.mark.parametrize("to_pocket", [300.0, 1000.0])
def test_allowed_error_of_contact_and_aim(to_pocket: float) -> None:
    """eps = x r / l at the ball; theta = 2 eps / L, which takes L for the cue ball's travel."""
    half_gap = 1.0
    eps = half_gap * R / to_pocket
    # contact off by eps on the object ball's face sends it half_gap wide: touching moves by 2 eps
    _, way = sent_heading(np.array([-800.0, 0.0]), 2 * eps / (2 * R))
    on_face = R * np.sin(way)
    assert to_pocket * on_face / R == pytest.approx(to_pocket * np.sin(way))
    between = 1e7  # so far that L and L - 2R agree
    theta = 2 * eps / between
    aim, way = sent_heading(np.array([-between, 0.0]), between * np.sin(theta) / (2 * R))
    assert abs(aim) == pytest.approx(theta, rel=1e-6)
    assert to_pocket * np.tan(way) == pytest.approx(half_gap, rel=1e-4)
    assert R * np.sin(way) == pytest.approx(eps, rel=1e-4)


def test_straight_shot_is_hardest_at_halfway() -> None:
    """The product of the cue ball's travel and the object ball's way, greatest where they are equal."""
    whole = 2000.0
    between = np.arange(100.0, 1950.0, 5.0)
    spread = np.array([gain(b, 0.0) * (whole - b) for b in between])
    product = (between - 2 * R) * (whole - between)
    np.testing.assert_allclose(spread / product, 1 / (2 * R), rtol=1e-6)
    worst = between[spread.argmax()]
    assert worst - 2 * R == pytest.approx(whole - worst, abs=5.1)


@pytest.mark.parametrize("between", [200.0, 1000.0, 2500.0])
def test_straight_is_easier_than_a_cut(between: float) -> None:
    gains = [gain(between, cut) for cut in np.radians(np.arange(0, 81, 5))]
    assert (np.diff(gains) > 0).all()


# --- Derived, not published ------------------------------------------------------------------------


@pytest.mark.parametrize("radius", [23.0, 26.25, 28.575])
@pytest.mark.parametrize("between", [120.0, 700.0, 2800.0])
@pytest.mark.parametrize("cut", [-75.0, -30.0, 0.0, 14.5, 30.0, 48.6, 61.0, 80.0])
def test_exact_gain(radius: float, between: float, cut: float) -> None:
    """Derived: d(way)/d(aim) = Lg / (2 R cos cut), Lg the cue ball's travel to contact."""
    angle = np.radians(cut)
    exact = travel(between, angle, radius) / (2 * radius * np.cos(angle))
    assert gain(between, angle, radius) == pytest.approx(exact, rel=1e-6)


@pytest.mark.parametrize(("cut", "value"), [(0, 17.5), (30, 20.2), (45, 24.7), (60, 35.0)])
def test_derived_gains_of_a_pool_ball_at_a_metre(cut: float, value: float) -> None:
    radius, angle = 57.15 / 2, np.radians(cut)
    d, lg = 2 * radius, 1000.0
    between = float(np.hypot(lg + d * np.cos(angle), d * np.sin(angle)))
    assert gain(between, angle, radius) == pytest.approx(value, abs=0.055)


def mouth_from(turn: float, mouth: float, far: float) -> tuple[np.ndarray, np.ndarray]:
    """A ball ``far`` away at ``turn`` off the axis of a pocket whose jaws lie on the y axis."""
    jaws = np.array([[0.0, -mouth / 2], [0.0, mouth / 2]])
    return np.array([-far * np.cos(turn), -far * np.sin(turn)]), jaws


@pytest.mark.parametrize(
    ("mouth", "radius", "halves"),
    [
        (127.0, 57.15 / 2, {0: 34.9, 15: 32.8, 30: 26.4, 45: 16.3, 60: 3.2}),
        (114.3, 57.15 / 2, {0: 28.6, 15: 26.6, 30: 20.9, 45: 11.8}),
        (85.0, 52.5 / 2, {0: 16.2, 15: 14.8, 30: 10.6, 45: 3.8}),
    ],
)
def test_derived_stand_in_for_the_window(mouth: float, radius: float, halves: dict[int, float]) -> None:
    """(M cos t - 2R) / 2 for a ball far away, where the ways to the pocket are parallel."""
    far = 1e7
    for degrees, half in halves.items():
        for side in (1, -1):
            ball, jaws = mouth_from(side * np.radians(degrees), mouth, far)
            opening = window(ball, jaws, np.array(radius))
            wide = heading(opening.left) - heading(opening.right)
            assert bool(opening.is_open)
            # 0.07: the stand-in's own table cuts its last digit here and there
            assert wide * far / 2 == pytest.approx(half, abs=0.07)
            exact = (mouth * np.cos(np.radians(degrees)) - 2 * radius) / 2
            assert wide * far / 2 == pytest.approx(exact, abs=1e-3)


def test_derived_limit_of_the_window() -> None:
    """A side pocket of 127 mm takes no ball past acos(2R / M) = 63.3 degrees off its axis."""
    for degrees, takes in ((63.2, True), (63.3, False)):
        ball, jaws = mouth_from(np.radians(degrees), 127.0, 1e7)
        assert bool(window(ball, jaws, np.array(57.15 / 2)).is_open) is takes


@pytest.mark.parametrize(
    ("mouth", "radius", "ball_error", "aim_errors"),
    [
        (114.3, 57.15 / 2, 1.64, {0: 0.094, 30: 0.081, 45: 0.066, 60: 0.047}),
        (86.0, 52.5 / 2, 0.96, {0: 0.050, 30: 0.044, 45: 0.036, 60: 0.025}),
    ],
)
def test_derived_tolerances_at_a_metre(
    mouth: float, radius: float, ball_error: float, aim_errors: dict[int, float]
) -> None:
    """Degrees either way, cue ball's travel and object ball's way 1 m, on the pocket's axis."""
    ball, jaws = mouth_from(0.0, mouth, 1000.0)
    opening = window(ball, jaws, np.array(radius))
    half = np.degrees(heading(opening.left) - heading(opening.right)) / 2
    assert half == pytest.approx(ball_error, abs=0.0076)
    for cut, allowed in aim_errors.items():
        angle, d, lg = np.radians(cut), 2 * radius, 1000.0
        between = float(np.hypot(lg + d * np.cos(angle), d * np.sin(angle)))
        assert half / gain(between, angle, radius) == pytest.approx(allowed, abs=0.00056)


def test_aim_turns_by_what_the_offset_says() -> None:
    """The way that this file turns an aim: the offset over the balls' distance is the sine."""
    cue = np.array([-640.0, 0.0])
    for offset in (-0.9, -0.2, 0.0, 0.5):
        aim = aim_at_offset(cue, BALL, offset, R)
        assert np.sin(heading(aim)) == pytest.approx(-offset * 2 * R / 640.0, abs=1e-15)
