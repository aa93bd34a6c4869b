"""The rebound from a cushion, against the equations as they are published.

S. Mathavan, M. R. Jackson, R. M. Parkin, "A theoretical analysis of billiard ball dynamics under cushion
impacts", Proc. IMechE Part C: J. Mech. Eng. Sci. 224(9), 1863-1873, 2010, doi 10.1243/09544062JMES1964;
abstract and constants at
https://docslib.org/doc/9672362/a-theoretical-analysis-of-billiard-ball-dynamics-under-cushion-impacts,
equations (12) to (17) as a summary of the paper gives them,
https://github.com/tailuge/billiards/blob/master/dist/diagrams/mathaven.md, which also has the nose at 7R/5
"in both snooker and pool". The paper's plots were not to be had as numbers: what is worked out here from its
equations is that, not a published value.

WPA: the cushion's height is 63 1/2 % of a ball's diameter, as "Pool table markings and measurements" tells of
its rules, https://de.lavozdeecuador.com/articles/sports-and-fitness/pool-table-markings-measurements.html
(in German); a seller says the same of the BCA's,
https://www.moneymachines.com/how-to-choose-pool-table-rubber-rail-cushions-profile-types/. The WPBSA's rules
of snooker give the rail's height above the floor alone.
"""

import math

import pytest

from trainer.geometry.rebound import OTHERS, PUBLISHED, RULES_NOSE, rebound

R, M = 0.02625, 0.1406
RESTITUTION, CUSHION, CLOTH, SINE = 0.98, 0.14, 0.212, 2 / 5
COSINE = math.sqrt(21) / 5
STEPS = 5000  # as published


def published(degrees: float, roll: float, speed: float) -> tuple[float, float]:
    """Degrees off square, and speed over speed, by the published scheme: x along the cushion, y into it."""
    angle = math.radians(degrees)
    vx, vy = speed * math.sin(angle), speed * math.cos(angle)
    wx, wy, wz = -roll * vy / R, roll * vx / R, 0.0
    push = (1 + RESTITUTION) * M * vy / STEPS
    work, compressed = 0.0, math.inf
    while work < RESTITUTION**2 * compressed:
        at_i = vx + wy * R * SINE - wz * R * COSINE, -vy * SINE + wx * R
        at_c = vx - wy * R, vy + wx * R
        (cos_i, sin_i), (cos_c, sin_c) = (
            (x / math.hypot(x, y), y / math.hypot(x, y)) if math.hypot(x, y) > 1e-12 else (0.0, 0.0)
            for x, y in (at_i, at_c)
        )
        pressed = SINE + CUSHION * sin_i * COSINE
        before, turn = vy * COSINE, 5 / (2 * M * R) * push
        vx -= push / M * (CUSHION * cos_i + CLOTH * cos_c * pressed)
        vy -= push / M * (COSINE - CUSHION * SINE * sin_i + CLOTH * sin_c * pressed)
        wx -= turn * (CUSHION * sin_i + CLOTH * sin_c * pressed)
        wy -= turn * (CUSHION * cos_i * SINE - CLOTH * cos_c * pressed)
        wz += turn * CUSHION * cos_i * COSINE
        work += push * abs(before + vy * COSINE) / 2
        if vy <= 0 and compressed == math.inf:
            work, compressed = 0.0, work
    return math.degrees(math.atan2(vx, -vy)), math.hypot(vx, vy) / speed


def ours(degrees: float, roll: float) -> tuple[float, float]:
    angle = math.radians(degrees)
    out, share = rebound([math.sin(angle), -math.cos(angle)], [0.0, 1.0], roll)
    return math.degrees(math.atan2(out[0], out[1])), float(share)


@pytest.mark.parametrize("roll", [1.0, 0.0], ids=["rolling", "sliding"])
@pytest.mark.parametrize("degrees", range(10, 81, 10))
def test_degrees_off_square_are_those_of_the_published_scheme(degrees: int, roll: float) -> None:
    for speed in (0.5, 2.5):
        want, kept = published(degrees, roll, speed)
        got, share = ours(degrees, roll)
        assert got == pytest.approx(want, abs=0.05)
        assert share == pytest.approx(kept, abs=0.002)


@pytest.mark.parametrize(("degrees", "out"), [(20, 13.4), (30, 21.2), (40, 31.4), (70, 68.3)])
def test_a_rolling_ball_worked_out_once_by_others(degrees: int, out: float) -> None:
    """Another integration of the same equations, not a published table."""
    assert ours(degrees, 1.0)[0] == pytest.approx(out, abs=0.1)


def test_the_constants() -> None:
    """All four of one source; :data:`OTHERS` differ in one thing each, within published ranges."""
    assert (PUBLISHED.restitution, PUBLISHED.friction) == (RESTITUTION, CUSHION)
    assert PUBLISHED.cloth == CLOTH
    assert 2 * PUBLISHED.nose - 1 == pytest.approx(SINE)
    assert RULES_NOSE == 0.635
    assert {rubber.cloth for rubber in OTHERS} == {0.15, CLOTH, 0.4}  # Alciatore: 0.15 to 0.4
    square = [0.0, -1.0], [0.0, 1.0], 0.0  # a sliding ball straight at it
    dull = min(float(rebound(*square, rubber=rubber)[1]) for rubber in OTHERS)
    assert dull == pytest.approx(0.75, abs=0.015)  # the middle of Alciatore's 0.6 to 0.9
    assert 0.6 < dull < float(rebound(*square)[1]) < 0.9
