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
* Mabry, *College Mathematics Journal*, January 2010, as told in "Cued up", New Scientist,
  http://www.newscientist.com/article/mg20627620.300-cued-up.html : for large errors a straight shot is
  hardest where the cue ball is 1.618 times as far from the object ball as that is from the pocket. The
  statement tested here, of which that is the limit, is worked out below, not read in the article.
* Alciatore, "Lines of aim" (TP A.13): about 19 lines of aim pot any cut with a "large" pocket 3 ft
  away; three lines (cuts of 15, 30, 45 degrees) pot all cuts of 7.5 to 52.5 degrees only if the object
  ball is less than 1 ft from the pocket, and fewer than half of them if it is over 2 ft away,
  https://billiards.colostate.edu/faq/aiming/lines-of-aim/ . How large a "large" pocket is isn't said:
  the second statement tells it here, and the two others are held to that.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from trainer.geometry.aiming import send
from trainer.geometry.contact import aim_at_offset
from trainer.geometry.pockets import window
from trainer.geometry.tables import INCH, POCKETS, TABLES, Jaw, Table
from trainer.shots.shot import Shots
from trainer.shots.truth import Truths, work_out

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


# --- Published: the same, and more, as the margin of a shot says it --------------------------------

FOOT = 12 * INCH
MIDDLE_LEFT = POCKETS.index("middle-left")


def wide_table(opening: float, balls: str = "snooker") -> Table:
    """Far cushions, and middle pockets that leave a ball's centre ``opening`` mm between point jaws."""
    like = TABLES[balls]
    point = Jaw(facing=90.0, depth=0.0)
    mouth = opening + 2 * like.balls.object_radius
    return replace(like, length=40_000.0, width=20_000.0, middle=mouth, middle_jaw=point, help="none")


def straight_on(table: Table, on: float, between: np.ndarray, cut: np.ndarray) -> Truths:
    """Shots from the middle pocket's axis, ``on`` mm from its mouth: cuts in radians, + left."""
    between, cut = np.broadcast_arrays(np.asarray(between, float), np.asarray(cut, float))
    ball = np.array([table.length / 2, table.width - on])
    d = table.contact
    lg = np.sqrt(between**2 - (d * np.sin(cut)) ** 2) - d * np.cos(cut)
    # The ball goes to +y; the line of aim is turned by the cut to the right of that.
    aim = np.stack([np.sin(cut), np.cos(cut)], axis=-1)
    cue = ball - [0.0, d] - lg[..., None] * aim
    n = len(between)
    return work_out(Shots(table, cue, np.broadcast_to(ball, (n, 2)), np.full(n, MIDDLE_LEFT)))


def allowed_aim(truths: Truths, between: np.ndarray, table: Table) -> np.ndarray:
    """The error of aim that a shot allows, radians: half of what its margin's two ends are apart."""
    sign = np.where(truths.cut < 0, -1.0, 1.0)[:, None]
    offsets = sign * (1.0 - truths.margin) * table.reach
    ends = np.arcsin(offsets * 2 * table.balls.object_radius / np.asarray(between)[:, None])
    return np.asarray(np.abs(ends[:, 0] - ends[:, 1]) / 2)


@pytest.mark.parametrize("half_gap", [0.5, 0.05])
@pytest.mark.parametrize("on", [800.0, 1600.0, 3000.0])
def test_the_margin_of_a_straight_shot_by_both_formulas(half_gap: float, on: float) -> None:
    table = wide_table(2 * half_gap)
    between = np.array([150.0, 600.0, 2000.0])
    truths = straight_on(table, on, between, np.zeros(3))
    theta = allowed_aim(truths, between, table)
    # Both are of first order, and take the ball for a point at the jaws: off by (R / on)^2 / 2.
    rough = (R / on) ** 2 + (half_gap / R) ** 2 + 1e-9
    by_miss = theta * on * (between - 2 * R) / (2 * R)  # alpha (P - B)(B - W) / W
    np.testing.assert_allclose(by_miss, half_gap, rtol=rough)
    eps = half_gap * R / on  # x r / l, and theta = 2 eps / L with L the cue ball's travel
    np.testing.assert_allclose(theta, 2 * eps / (between - 2 * R), rtol=rough)
    # In balls of fullness it is eps over the radius, but for how far the cue ball stops short.
    half = (truths.margin[:, 1] - truths.margin[:, 0]) / 2
    np.testing.assert_allclose(half, eps / R * between / (between - 2 * R), rtol=rough)


def test_a_straight_shot_allows_one_over_the_product_of_the_distances() -> None:
    table = wide_table(1.0)
    products = []
    for on in (1000.0, 1500.0, 3000.0):
        between = np.linspace(150.0, 2500.0, 40)
        theta = allowed_aim(straight_on(table, on, between, np.zeros(40)), between, table)
        products.append(theta * (between - 2 * R) * on)
    np.testing.assert_allclose(products, 1.0 * R, rtol=1e-3)


def test_by_its_margin_too_a_straight_shot_is_easier_than_any_cut() -> None:
    table = wide_table(30.0)
    cuts = np.radians(np.linspace(0.0, 80.0, 161))
    for between in (200.0, 1000.0, 2500.0):
        far = np.full(161, between)
        theta = allowed_aim(straight_on(table, 1200.0, far, cuts), far, table)
        assert theta.argmax() == 0
        assert (np.diff(theta) < 0).all()


@pytest.mark.parametrize("k", [0.01, 0.3, 0.6, 0.9, 1.0])
def test_hardest_straight_shot_for_errors_of_any_size(k: float) -> None:
    """For small balls, the object ball at the part ``a`` of the way from cue ball to pocket.

    Played ``alpha`` off, the cue ball passes the object ball's centre at ``a D alpha = k a`` contact
    distances, where ``k = D alpha / 2R``; so the ball leaves at ``asin(k a)`` and crosses the pocket's
    line ``(1 - a) k a / sqrt(1 - k^2 a^2)`` of the way off. That is greatest where
    ``k^2 a^3 - 2 a + 1 = 0``: at halfway for small errors (k -> 0), and at ``a^2 + a - 1 = 0``, the
    golden section, for ``k = 1``: the largest error that meets the object ball wherever it lies.
    """
    radius, whole = 1e-4, 1000.0
    a = np.linspace(0.4, 0.7, 60_001)
    ball = np.stack([a * whole, np.zeros_like(a)], axis=-1)
    alpha = np.arcsin(k * 2 * radius / whole)
    offset = a * whole * np.sin(alpha) / (2 * radius)
    sent = send(np.zeros(2), ball, offset, radius, 2 * radius)
    miss = np.abs((1 - a) * whole * sent.way[:, 1] / sent.way[:, 0])
    hardest = a[miss.argmax()]
    assert k**2 * hardest**3 - 2 * hardest + 1 == pytest.approx(0.0, abs=5e-5)
    if k == 1.0:
        assert hardest / (1 - hardest) == pytest.approx(1.618, abs=0.0005)
    if k < 0.02:
        assert hardest / (1 - hardest) == pytest.approx(1.0, abs=0.0005)


# Cue ball so far away that a line of aim means one cut. From 1 m its own turning makes each line pot
# some 5 % more, which saves one line in 19.
FAR = 1e5


def lines_of_aim(table: Table, on: float) -> int:
    """How many lines of aim pot every cut from straight to a graze, one side, the full one among them.

    A line of aim is one fullness, played whatever the shot needs; it pots the shots whose margin holds
    it. The next line is the thinnest that still pots the first shot left over.
    """
    cuts = np.radians(np.linspace(0.0, 89.9, 300))
    truths = straight_on(table, on, np.full(300, FAR), cuts)
    low, high = truths.margin.T
    count, line, covered = 1, 1.0, 0.0
    while (covered := float(np.interp(-line, -high, cuts))) < cuts[-1]:
        count, line = count + 1, float(np.interp(covered, cuts, low))
        assert count < 100
    return count


def three_lines(table: Table, on: float) -> float:
    """The part of the cuts from 7.5 to 52.5 degrees that lines for 15, 30 and 45 degrees pot."""
    cuts = np.radians(np.linspace(7.5, 52.5, 2001))
    low, high = straight_on(table, on, np.full(2001, FAR), cuts).margin.T
    lines = 1.0 - np.sin(np.radians([15.0, 30.0, 45.0]))
    potted = (low[:, None] - 1e-12 <= lines) & (lines <= high[:, None] + 1e-12)
    return float(potted.any(axis=1).mean())


def large() -> Table:
    """The pocket at which three lines begin to pot all of the cuts from just 1 ft away."""
    small, opening = 40.0, 160.0
    while opening - small > 1e-3:
        middle = (small + opening) / 2
        done = three_lines(wide_table(middle, "pool-9"), FOOT) == 1.0
        small, opening = (small, middle) if done else (middle, opening)
    return wide_table(opening, "pool-9")


def test_the_pocket_that_one_foot_tells_of_takes_19_lines_at_three_and_half_of_the_cuts_at_two() -> None:
    """Of three published numbers the first says how large the pocket is, and the others follow."""
    table = large()
    assert lines_of_aim(table, 3 * FOOT) == 19
    half = brentq(lambda feet: three_lines(table, feet * FOOT) - 0.5, 1.5, 2.5, xtol=1e-3)
    assert half == pytest.approx(2.0, abs=0.03)


@pytest.mark.parametrize(("jaw_help", "count"), [("none", 22), ("both", 18)])
def test_lines_of_aim_for_a_middle_pocket_of_our_own(jaw_help: str, count: int) -> None:
    """Derived: a 9 ft table's middle pocket, ball on its axis at 3 ft, lies about the published 19."""
    assert lines_of_aim(replace(TABLES["pool-9"], help=jaw_help), 3 * FOOT) == count


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
