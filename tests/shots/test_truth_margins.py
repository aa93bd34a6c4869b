"""Margins against halving on the whole forward way: play an offset, see whether the ball drops."""

import numpy as np
import pytest
from first import FIRST_TABLES
from thrown_down import draw_anywhere

from trainer.geometry.aiming import Stroke, send
from trainer.geometry.tables import TABLES, Table
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shots
from trainer.shots.truth import Truths, work_out

EACH_TABLE = pytest.mark.parametrize("table", FIRST_TABLES, ids=lambda table: table.name)
STROKES = [None, Stroke(0.6, 0.0), Stroke(1.5, 1.0), Stroke(2.5, 0.5, 0.5), Stroke(1.0, 0.3, -1.0)]


def some(table: Table, n: int, seed: int, stroke: Stroke | None) -> Shots:
    rng = np.random.default_rng(seed)
    limits = Limits(table, (0.0, 80.0), cue_distance=(150.0, 900.0), pocket_distance=(80.0, 900.0))
    drawn, thrown = draw(rng, n // 2, limits), draw_anywhere(rng, n - n // 2, table)
    cue = np.concatenate([drawn.cue_ball, thrown.cue_ball])
    ball = np.concatenate([drawn.object_ball, thrown.object_ball])
    # the one limit on closeness: with throw, balls a hair apart have no single hit for a way
    keep = np.hypot(*(cue - ball).T) > 1.5 * table.contact
    pocket = np.concatenate([drawn.pocket, thrown.pocket])
    return Shots(table, cue[keep], ball[keep], pocket[keep], stroke)


def drops(shots: Shots, truths: Truths, fullness: np.ndarray) -> np.ndarray:
    """Whether a call of this fullness, on the side of the true cut, pots: the forward way alone."""
    table = shots.table
    sign = np.where(truths.cut < 0, -1.0, 1.0)
    widest = np.sqrt(table.balls.cue_radius / table.balls.object_radius)
    sent = send(
        shots.cue_ball,
        shots.object_ball,
        sign * (1 - fullness) * widest,
        table.balls.object_radius,
        table.contact,
        shots.stroke,
    )
    return np.asarray(sent.hits & truths.window.holds(sent.way))


def edge(shots: Shots, truths: Truths, inside: np.ndarray, outside: float) -> np.ndarray:
    """Where dropping ends between a fullness that drops and one that ends the range, by halving."""
    low, high = inside.copy(), np.full(len(shots), outside)
    ends = drops(shots, truths, high)  # it drops all the way to a graze
    for _ in range(50):
        middle = (low + high) / 2
        pots = drops(shots, truths, middle)
        low, high = np.where(pots, middle, low), np.where(pots, high, middle)
    return np.where(ends, outside, low)


@EACH_TABLE
@pytest.mark.parametrize("stroke", STROKES, ids=str)
def test_margins_by_halving(table: Table, stroke: Stroke | None) -> None:
    """1,000 shots for each stroke and as many without, over the five tables."""
    shots = some(table, 230, 11, stroke)
    truths = work_out(shots)
    rows = truths.can_pot & drops(shots, truths, truths.fullness)
    assert rows.mean() > 0.95
    kept = Shots(table, shots.cue_ball[rows], shots.object_ball[rows], shots.pocket[rows], stroke)
    truths = work_out(kept)
    low = edge(kept, truths, truths.fullness, 0.0)
    high = edge(kept, truths, truths.fullness, 2.0)
    np.testing.assert_allclose(truths.margin[:, 0], low, rtol=0, atol=1e-6)
    np.testing.assert_allclose(truths.margin[:, 1], high, rtol=0, atol=1e-6)


@EACH_TABLE
@pytest.mark.parametrize("stroke", STROKES, ids=str)
def test_no_gap_inside_and_no_drop_outside(table: Table, stroke: Stroke | None) -> None:
    """The calls that pot are one stretch: nothing inside the margin misses, nothing outside pots."""
    shots = some(table, 120, 12, stroke)
    truths = work_out(shots)
    rows = truths.can_pot & drops(shots, truths, truths.fullness)
    low, high = truths.margin.T
    for part in np.linspace(0.002, 0.998, 41):
        assert drops(shots, truths, low + part * (high - low))[rows].all()
    for fullness in np.linspace(1e-6, 2 - 1e-6, 301):
        outside = (fullness < low - 1e-6) | (fullness > high + 1e-6)
        pots = drops(shots, truths, np.full(len(shots), fullness))
        assert not (pots & outside & rows).any()


@EACH_TABLE
def test_a_nearer_pocket_or_ball_gives_more_margin(table: Table) -> None:
    """On one straight line through a middle pocket: nearer means a wider margin, each way."""
    x, width = table.length / 2, table.width
    radius = table.balls.object_radius
    balls = np.linspace(width * 0.5, width - 2 * radius, 12)
    centre = np.full(12, x)
    pocket = np.full(12, 2, np.intp)
    for near in (True, False):
        if near:  # the object ball nearer and nearer the pocket, the cue ball a fixed way behind
            cue_y, ball_y = balls - 5 * radius, balls
        else:  # the cue ball nearer and nearer the object ball
            cue_y, ball_y = np.linspace(3 * radius, width * 0.5, 12), np.full(12, width * 0.7)
        shots = Shots(table, np.stack([centre, cue_y], axis=1), np.stack([centre, ball_y], axis=1), pocket)
        margin = np.ptp(work_out(shots).margin, axis=1)
        assert (np.diff(margin) > 0).all()


def test_all_of_a_margin_pots_for_balls_that_all_but_touch() -> None:
    """Slow stun and a few mm between the balls: throw turns some hits back, and only one stretch counts."""
    rng, table, stroke, n = np.random.default_rng(2), TABLES["snooker"], Stroke(0.5, 0.0), 300
    ball = np.array([1500.0, 600.0]) + rng.uniform(-300, 300, (n, 2))
    turn, apart = rng.uniform(-np.pi, np.pi, n), table.contact + rng.uniform(0.3, 9.0, n)
    cue = ball + np.stack([np.cos(turn), np.sin(turn)], axis=-1) * apart[:, None]
    truths = work_out(Shots(table, cue, ball, rng.integers(0, 6, n), stroke))
    rows = truths.can_pot
    assert rows.sum() > 25
    low, high = truths.margin.T
    assert (low <= truths.fullness + 1e-9)[rows].all()
    assert (truths.fullness <= high + 1e-9)[rows].all()
    sign = np.where(truths.cut < 0, -1.0, 1.0)

    def pots(fullness: np.ndarray) -> np.ndarray:
        sent = send(cue, ball, sign * (1 - fullness), table.balls.object_radius, table.contact, stroke)
        return np.asarray(sent.hits & truths.window.holds(sent.way))

    for part in np.linspace(1e-6, 1 - 1e-6, 41):
        assert pots(low + part * (high - low))[rows].all()
    graze = table.reach
    for end, step in ((low, -1e-6), (high, 1e-6)):
        inside = rows & (np.abs(1 - end) < graze - 1e-6)
        assert not pots(end + step)[inside].any()
