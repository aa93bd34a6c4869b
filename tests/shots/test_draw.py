"""Drawing random shots: sameness, exactness, spread, and what a place on the table gives away."""

import dataclasses
import math
import os
import subprocess
import sys
from fractions import Fraction

import numpy as np
import pytest
from first import FIRST_TABLES
from thrown_down import draw_anywhere

from trainer.geometry.fullness import bands
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import Limits, Shots
from trainer.shots.truth import work_out

SMALL = TABLES["small-ball"]
EACH_TABLE = pytest.mark.parametrize("table", FIRST_TABLES, ids=lambda table: table.name)


def limits_for(table: Table) -> Limits:
    if table is SMALL:
        return Limits(table, cue_distance=(200.0, 900.0), pocket_distance=(150.0, 900.0))
    return Limits(table)


def as_bytes(shots: Shots) -> bytes:
    return shots.cue_ball.tobytes() + shots.object_ball.tobytes() + shots.pocket.astype("<i8").tobytes()


# --- The same seed -----------------------------------------------------------------------------------


@EACH_TABLE
def test_same_seed_same_bytes(table: Table) -> None:
    one, two = (draw(np.random.default_rng(42), 500, limits_for(table)) for _ in range(2))
    assert as_bytes(one) == as_bytes(two)
    assert as_bytes(one) != as_bytes(draw(np.random.default_rng(43), 500, limits_for(table)))
    first, second = (draw_anywhere(np.random.default_rng(42), 300, table) for _ in range(2))
    assert as_bytes(first) == as_bytes(second)


DRAW_AND_PRINT = """
import hashlib, numpy as np
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
shots = draw(np.random.default_rng(7), 2000, Limits())
print(hashlib.sha256(shots.cue_ball.tobytes() + shots.object_ball.tobytes()).hexdigest())
"""


def test_same_bytes_without_the_processors_extras() -> None:
    """numpy picks other loops on other processors; the shots must not notice.

    It could fail where something less than correctly rounded (a vectorised sine, a fused multiply)
    gets into a position.
    """
    from numpy._core import _multiarray_umath as core

    extras = " ".join(f for f in core.__cpu_dispatch__ if core.__cpu_features__.get(f))
    printed = []
    for disabled in ("", extras):
        env = {**os.environ, "NPY_DISABLE_CPU_FEATURES": disabled}
        command = [sys.executable, "-c", DRAW_AND_PRINT]
        done = subprocess.run(command, env=env, capture_output=True, text=True, check=True)
        printed.append(done.stdout)
    assert printed[0] == printed[1]


# --- Offsets that are asked for ------------------------------------------------------------------------


@EACH_TABLE
@pytest.mark.parametrize("close", [False, True])
def test_requested_offsets_come_out_exactly(table: Table, close: bool) -> None:
    limits = limits_for(table)
    if close:  # a millimetre of daylight: where rounding tells most
        limits = Limits(table, cue_distance=(0.0, 70.0), pocket_distance=limits.pocket_distance)
    wide = np.sin(np.radians(80)) * table.reach
    offsets = np.concatenate([np.linspace(-wide, wide, 3001), np.tile([0.0, 1e-12, -1e-9, 0.5, -0.5], 40)])
    offsets = offsets[np.abs(offsets) < table.reach]
    truths = work_out(draw(np.random.default_rng(1), len(offsets), limits, offsets))
    np.testing.assert_allclose(truths.offset, offsets, rtol=0, atol=1e-12)
    far = np.abs(offsets) > 1e-11
    np.testing.assert_array_equal(np.sign(truths.cut[far]), np.sign(offsets[far]))


def test_one_offset_for_all_still_varies_everything_else() -> None:
    shots = draw(np.random.default_rng(2), 4000, Limits(), 0.618)
    truths = work_out(shots)
    np.testing.assert_allclose(truths.offset, 0.618, rtol=0, atol=1e-12)
    assert np.unique(shots.object_ball, axis=0).shape == (4000, 2)
    assert np.unique(shots.cue_ball, axis=0).shape == (4000, 2)
    assert np.bincount(shots.pocket, minlength=6).min() > 400
    assert (shots.object_ball.std(axis=0) > (500, 250)).all()


# --- Spread --------------------------------------------------------------------------------------------


@EACH_TABLE
def test_every_pocket_side_and_turn(table: Table) -> None:
    shots = draw(np.random.default_rng(3), 20_000, limits_for(table))
    truths = work_out(shots)
    assert np.bincount(shots.pocket, minlength=6).min() > 20_000 / 6 / 3
    left = float((truths.cut > 0).mean())
    assert left == pytest.approx(0.5, abs=0.02)
    way = truths.touching - shots.cue_ball
    turn = np.arctan2(way[:, 1], way[:, 0])
    # 36 sectors of 10 degrees: none empty, and for each pocket the aims turn through half a circle
    assert np.histogram(turn, 36, (-np.pi, np.pi))[0].min() > 20_000 / 36 / 10
    for k in range(6):
        counts = np.histogram(turn[shots.pocket == k], 36, (-np.pi, np.pi))[0]
        assert (counts > 0).sum() >= 18


def test_cuts_are_even_over_fullness() -> None:
    """Without offsets the size of the sine is even from end to end, so no band is a rarity."""
    limits = Limits(cuts=(10.0, 70.0))
    size = np.abs(np.sin(work_out(draw(np.random.default_rng(4), 40_000, limits)).cut))
    low, high = np.sin(np.radians(limits.cuts))
    counts = np.histogram(size, 10, (low - 1e-12, high + 1e-12))[0]
    assert counts.sum() == 40_000
    np.testing.assert_allclose(counts, 4000, atol=5 * math.sqrt(4000))


def test_every_band_of_eighths_occurs() -> None:
    limits = Limits(cuts=(0.0, 80.0))
    fullness = work_out(draw(np.random.default_rng(5), 20_000, limits)).fullness
    for band in bands(Fraction(1, 8)):
        assert ((fullness > band.low) & (fullness < band.high)).mean() > 0.015, band.name


@EACH_TABLE
def test_stretches_of_fullness(table: Table) -> None:
    """Named fullnesses only: quarter and three quarters, and the cuts cut one of them off."""
    stretches = ((0.2, 0.3), (0.7, 0.8))
    limits = dataclasses.replace(limits_for(table), cuts=(0.0, 50.0), fullness=stretches)
    fullness = work_out(draw(np.random.default_rng(14), 4000, limits)).fullness
    low = 1 - np.sin(np.radians(50.0))
    quarter = (fullness > low - 1e-12) & (fullness < 0.3 + 1e-12)
    three = (fullness > 0.7 - 1e-12) & (fullness < 0.8 + 1e-12)
    assert (quarter | three).all()
    # even over both: as many as each is wide
    assert quarter.mean() == pytest.approx((0.3 - low) / (0.1 + 0.3 - low), abs=0.04)


@pytest.mark.parametrize("n", [1, 2, 7, 200])
def test_even_offsets_leave_no_gap(n: int) -> None:
    for table in (TABLES["snooker"], SMALL):
        limits = Limits(table, cuts=(10.0, 70.0))
        offsets = even_offsets(np.random.default_rng(15), n, limits)
        assert offsets.shape == (n,)
        low, high = np.sin(np.radians((10.0, 70.0)))
        part = (np.sort(np.abs(offsets)) / table.reach - low) / (high - low)
        assert np.floor(part * n + 1e-9).astype(int).tolist() == list(range(n))
        if n == 200:
            assert 0.3 < (offsets > 0).mean() < 0.7
            assert (np.diff(np.abs(offsets)) > 0).mean() == pytest.approx(0.5, abs=0.15)


@EACH_TABLE
def test_limits_on_sides_pockets_and_distances(table: Table) -> None:
    for k, name in enumerate(POCKETS):
        for side in ("left", "right"):
            limits = Limits(table, (20.0, 50.0), (side,), (name,), (250.0, 400.0), (300.0, 450.0))
            shots = draw(np.random.default_rng(k), 60, limits)
            truths = work_out(shots)
            assert (shots.pocket == k).all()
            cut = np.degrees(truths.cut) * (1 if side == "left" else -1)
            assert ((cut > 20 - 1e-9) & (cut < 50 + 1e-9)).all()
            between = np.hypot(*(shots.cue_ball - shots.object_ball).T)
            assert ((between > 250 - 1e-9) & (between < 400 + 1e-9)).all()
            on = np.hypot(*(truths.window.target - shots.object_ball).T)
            assert ((on > 300 - 1e-9) & (on < 450 + 1e-9)).all()


# --- A place doesn't tell the cut ------------------------------------------------------------------------
# Both balls and the pocket together are the cut; one place alone must not be. These could fail if the
# drawer threw away the cut with a try that doesn't fit (thin cuts fit less often, so places with
# little room would mean thick cuts), drew from fixed spots, or tied the side to an end of the table.
# What is left comes of the room on the table: with the pocket known, some places leave room behind
# the object ball for one side only, the more so the smaller the table is for the distances.


def explained(values: np.ndarray, cells: np.ndarray) -> float:
    """The part of the variance of ``values`` that knowing the cell explains, less what chance does."""
    counts = np.bincount(cells)
    sums = np.bincount(cells, values)
    means = sums / np.maximum(counts, 1)
    whole = values.var()
    within = ((values - means[cells]) ** 2).sum() / (len(values) - (counts > 0).sum())
    return float(1 - within / whole)


def cells_of(points: np.ndarray, table: Table, extra: np.ndarray) -> np.ndarray:
    """A 10 x 6 grid over the table, apart for each value of ``extra``."""
    x = np.minimum((points[:, 0] / table.length * 10).astype(int), 9)
    y = np.minimum((points[:, 1] / table.width * 6).astype(int), 5)
    return np.asarray((x * 6 + y) * (extra.max() + 1) + extra)


@EACH_TABLE
def test_a_place_does_not_tell_the_cut(table: Table) -> None:
    n = 60_000
    shots = draw(np.random.default_rng(6), n, limits_for(table))
    truths = work_out(shots)
    none = np.zeros(n, int)
    for values in (truths.cut, np.abs(truths.cut), (truths.cut > 0).astype(float)):
        for place in (shots.object_ball, shots.cue_ball):
            for axis in (0, 1):
                r = np.corrcoef(values, place[:, axis])[0, 1]
                assert abs(r) < 0.03
            assert explained(values, cells_of(place, table, none)) < 0.1
        between = np.hypot(*(shots.cue_ball - shots.object_ball).T)
        on = np.hypot(*(truths.window.target - shots.object_ball).T)
        assert abs(np.corrcoef(values, on)[0, 1]) < 0.1
        assert abs(np.corrcoef(values, between)[0, 1]) < 0.05
        assert explained(values, cells_of(shots.object_ball, table, shots.pocket)) < 0.2
        assert explained(values, cells_of(shots.cue_ball, table, shots.pocket)) < 0.3
    for place in (shots.object_ball, shots.cue_ball):  # how full it is, stays open
        assert explained(np.abs(truths.cut), cells_of(place, table, none)) < 0.03
        assert explained(np.abs(truths.cut), cells_of(place, table, shots.pocket)) < 0.09


def test_a_tied_drawer_would_be_caught() -> None:
    """The measure above sees a drawer that gives half-ball cuts to one end of the table only."""
    table = TABLES["snooker"]
    shots = draw(np.random.default_rng(6), 20_000, Limits())
    cut = np.abs(work_out(shots).cut)
    tied = np.where(shots.object_ball[:, 0] > table.length / 2, cut * 0.7, cut)
    assert explained(tied, cells_of(shots.object_ball, table, np.zeros(20_000, int))) > 0.05


# --- Shots as they come up ---------------------------------------------------------------------------------


def test_about_half_of_all_shots_are_thinner_than_half_ball(record_property) -> None:  # type: ignore[no-untyped-def]
    """Common practice: on a full-size snooker table, easiest pocket chosen, close to half."""
    shots = draw_anywhere(np.random.default_rng(8), 60_000, TABLES["snooker"])
    fullness = work_out(shots).fullness
    share = float((fullness < 0.5).mean())
    record_property("share_thinner_than_half_ball", share)
    assert 0.42 < share < 0.58


@EACH_TABLE
def test_the_easiest_pocket_is_chosen(table: Table) -> None:
    """No other pocket that takes the ball, free of the cue ball, has a wider margin."""
    shots = draw_anywhere(np.random.default_rng(9), 2000, table)
    chosen = work_out(shots)
    wide = chosen.margin[:, 1] - chosen.margin[:, 0]
    assert chosen.can_pot.all()
    for k in range(6):
        other = work_out(Shots(table, shots.cue_ball, shots.object_ball, np.full(len(shots), k, np.intp)))
        for i in np.flatnonzero(other.can_pot & (np.ptp(other.margin, axis=1) > wide + 1e-12)):
            # a better pocket must be barred: by the cue ball in the way, or no place to touch from
            cue, ball = shots.cue_ball[i], shots.object_ball[i]
            way = other.window.target[i] - ball
            part = np.clip((cue - ball) @ way / (way @ way), 0, 1)
            barred = math.dist(cue, ball + part * way) <= table.contact
            r = table.balls.cue_radius
            x, y = other.touching[i]
            off = not (r <= x <= table.length - r and r <= y <= table.width - r)
            assert barred or off
