"""The truth of a shot, worked out again from the two balls and the target only."""

import cmath
import math
from dataclasses import fields

import numpy as np
import pytest
from first import FIRST_TABLES
from thrown_down import draw_anywhere

from trainer.geometry.aiming import Stroke, send
from trainer.geometry.fullness import bands
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shot, Shots
from trainer.shots.truth import Truth, truth_of, work_out

EACH_TABLE = pytest.mark.parametrize("table", FIRST_TABLES, ids=lambda table: table.name)
STROKES = [
    Stroke(0.5, 0.0),
    Stroke(1.0, 1.0),
    Stroke(2.5, 0.5, 0.4),
    Stroke(1.2, 0.2, -0.9),
    Stroke(4.0, -0.6, 1.0),
]
NEAR_LIMITS = {"cuts": (0.0, 80.0), "cue_distance": (150.0, 900.0), "pocket_distance": (80.0, 900.0)}


def some(table: Table, n: int, seed: int, stroke: Stroke | None = None) -> Shots:
    """Drawn shots and shots thrown anywhere, which have cuts up to 90 degrees."""
    rng = np.random.default_rng(seed)
    drawn = draw(rng, n // 2, Limits(table, **NEAR_LIMITS))  # type: ignore[arg-type]
    thrown = draw_anywhere(rng, n - n // 2, table)
    both = [
        np.concatenate([getattr(drawn, name), getattr(thrown, name)])
        for name in ("cue_ball", "object_ball", "pocket")
    ]
    return Shots(table, both[0], both[1], both[2], stroke)


@EACH_TABLE
def test_truth_from_the_balls_and_the_target_alone(table: Table) -> None:
    """Complex numbers: the turn from the line of aim to the way is a phase."""
    shots = some(table, 200, 1)
    rc, ro = table.balls.cue_radius, table.balls.object_radius
    d = math.sqrt((rc + ro) ** 2 - (rc - ro) ** 2)
    for i in range(len(shots)):
        shot = shots[i]
        truth = truth_of(shot)
        cue, ball, target = (complex(*p) for p in (shot.cue_ball, shot.object_ball, truth.target))
        way = (target - ball) / abs(target - ball)
        touching = ball - d * way
        cut = cmath.phase(way / (touching - cue))
        assert truth.cut == pytest.approx(cut, abs=1e-9)
        assert truth.touching == pytest.approx((touching.real, touching.imag), abs=1e-8)
        assert truth.fullness == pytest.approx(1 - abs(math.sin(cut)), abs=1e-9)
        assert truth.offset == pytest.approx(d / (2 * ro) * math.sin(cut), abs=1e-9)
        assert truth.side == ("left" if cut > 0 else "right")
        assert truth.sign == (1 if cut > 0 else -1)
        assert truth.throw == 0
        assert abs(complex(*truth.touching) - ball) == pytest.approx(d, abs=1e-9)
        low, high = truth.margin
        assert 0 <= low < truth.fullness < high
        bands_by_distance = sorted(bands(), key=lambda band: abs(band.value - truth.fullness))
        if truth.fullness > 1 / 16:
            named = [band for band in bands_by_distance if band.name != "thinner"]
            assert truth.band == named[0].name
        else:
            assert truth.band == "thinner"


@EACH_TABLE
@pytest.mark.parametrize(
    "stroke",
    [None, *STROKES[:2], *(pytest.param(stroke, marks=pytest.mark.slow) for stroke in STROKES[2:])],
    ids=str,
)
def test_one_shot_and_a_batch_say_the_same(table: Table, stroke: Stroke | None) -> None:
    shots = some(table, 14, 2, stroke)
    truths = work_out(shots)
    for i in range(len(shots)):
        one, row = truth_of(shots[i]), truths[i]
        if stroke is None:
            assert one == row
        else:  # numpy's sine of many numbers may differ in the last bit from that of one
            for field in fields(Truth):
                assert getattr(one, field.name) == pytest.approx(getattr(row, field.name), rel=1e-12), field
        assert Shots.of(shots[i])[0] == shots[i]


def thrown_by(cut: float, stroke: Stroke) -> float:
    """TP A.24's formula in Marlow's friction, for a ball sent left; radians off the line of centres."""
    side = 1.25 * stroke.side_spin
    slide = stroke.speed * (math.sin(cut) - side)
    over = stroke.speed * stroke.roll * math.cos(cut)
    relative = math.hypot(slide, over)
    mu = 9.951e-3 + 0.108 * math.exp(-1.088 * relative)
    normal = stroke.speed * math.cos(cut)
    return math.atan(min(mu * normal / relative, 1 / 7) * slide / normal)


@EACH_TABLE
@pytest.mark.parametrize("stroke", STROKES, ids=str)
def test_truth_with_throw(table: Table, stroke: Stroke) -> None:
    """Line of centres and throw together point at the target, and the contact's numbers agree."""
    shots = some(table, 300, 3, stroke)
    truths = work_out(shots)
    ro, d = table.balls.object_radius, table.contact
    for i in np.flatnonzero(truths.can_pot):
        truth = truths[int(i)]
        cue, ball, target = (complex(*p) for p in (shots[i].cue_ball, shots[i].object_ball, truth.target))
        touching = complex(*truth.touching)
        centres = (ball - touching) / abs(ball - touching)
        assert abs(ball - touching) == pytest.approx(d, abs=1e-9)
        cut = cmath.phase(centres / (touching - cue))
        assert truth.cut == pytest.approx(cut, abs=1e-9)
        assert truth.fullness == pytest.approx(1 - abs(math.sin(cut)), abs=1e-9)
        assert truth.offset == pytest.approx(d / (2 * ro) * math.sin(cut), abs=1e-9)
        mirrored = Stroke(stroke.speed, stroke.roll, stroke.side_spin * math.copysign(1, cut))
        throw = thrown_by(abs(cut), mirrored)
        assert truth.throw == pytest.approx(throw, abs=1e-9)
        turned = -throw if cut > 0 else throw  # + is toward the cue ball's motion
        leaves = centres * cmath.exp(1j * turned)
        assert cmath.phase(leaves / (target - ball)) == pytest.approx(0, abs=1e-9)


@EACH_TABLE
@pytest.mark.parametrize("stroke", [None, *STROKES], ids=str)
def test_the_true_offset_sends_the_ball_to_the_middle(table: Table, stroke: Stroke | None) -> None:
    shots = some(table, 1000, 4, stroke)
    truths = work_out(shots)
    sent = send(
        shots.cue_ball,
        shots.object_ball,
        truths.offset,
        table.balls.object_radius,
        table.contact,
        stroke,
    )
    rows = truths.can_pot & (np.abs(truths.cut) < np.radians(89))
    assert rows.mean() > 0.95
    middle = truths.window.middle
    off = middle[:, 0] * sent.way[:, 1] - middle[:, 1] * sent.way[:, 0]
    assert np.abs(off[rows]).max() < 1e-9
    assert truths.window.holds(sent.way)[rows].all()
    np.testing.assert_allclose(sent.touching[rows], truths.touching[rows], atol=1e-7)


@EACH_TABLE
@pytest.mark.parametrize("stroke", [None, STROKES[2]], ids=str)
def test_mirror_and_half_turn(table: Table, stroke: Stroke | None) -> None:
    shots = some(table, 600, 5, stroke)
    one = work_out(shots)
    size = np.array([table.length, table.width])
    renamed = {"left": "right", "right": "left", "top": "baulk", "baulk": "top", "middle": "middle"}

    def moved(ends: bool, sides: bool) -> Shots:
        names = [name.split("-") for name in POCKETS]
        twin = np.array(
            [POCKETS.index(f"{renamed[e] if ends else e}-{renamed[s] if sides else s}") for e, s in names]
        )
        flip = np.array([ends, sides])
        cue, ball = (np.where(flip, size - p, p) for p in (shots.cue_ball, shots.object_ball))
        turned = ends != sides and stroke is not None
        played = Stroke(stroke.speed, stroke.roll, -stroke.side_spin) if turned else stroke
        return Shots(table, cue, ball, twin[shots.pocket], played)

    rows = one.can_pot & (np.abs(one.cut) < np.radians(89))
    for ends, sides in ((False, True), (True, False), (True, True)):
        two = work_out(moved(ends, sides))
        sign = 1 if ends == sides else -1
        np.testing.assert_array_equal(two.can_pot, one.can_pot)
        for name in ("cut", "offset"):
            got, want = getattr(two, name)[rows], getattr(one, name)[rows]
            np.testing.assert_allclose(got, sign * want, atol=1e-9)
        for name in ("fullness", "throw", "margin"):
            np.testing.assert_allclose(getattr(two, name)[rows], getattr(one, name)[rows], atol=1e-8)


def test_a_straight_shot() -> None:
    table = TABLES["snooker"]
    middle = table.length / 2
    truth = truth_of(Shot(table, (middle, 400.0), (middle, 1000.0), "middle-left"))
    assert truth.cut == pytest.approx(0, abs=1e-15)
    assert truth.fullness == pytest.approx(1, abs=1e-15)
    assert truth.band == "full"
    assert truth.touching == pytest.approx((middle, 947.5))
    assert truth.target == pytest.approx((middle, table.width))
    # as far to either side, and past the centre counts as above 1
    assert truth.margin[0] == pytest.approx(2 - truth.margin[1], abs=1e-12)
    assert truth.margin[1] > 1


def test_a_shot_that_cannot_be_potted_says_so() -> None:
    table = TABLES["snooker"]
    middle = table.length / 2
    behind = Shot(table, (middle, 1400.0), (middle, 1000.0), "middle-left")
    assert not work_out(Shots.of(behind)).can_pot[0]
    frozen = Shot(table, (400.0, 400.0), (middle - 500, table.width - 26.25), "middle-left")
    assert not work_out(Shots.of(frozen)).can_pot[0]  # along the cushion: the near jaw bars it
