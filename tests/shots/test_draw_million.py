"""A million drawn shots against the rules, written afresh: shapely for ways, plain loops for some."""

import cmath
import dataclasses
import itertools
import math

import numpy as np
import pytest
import shapely
from first import FIRST_TABLES
from rubber import all_rubber, axis, deep, rubber
from rubber import noses as noses_of
from thrown_down import draw_anywhere

from trainer.geometry.tables import POCKETS, TABLES, Jaw, Table
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shots
from trainer.shots.truth import work_out

# Clean pots only, so that every way to a pocket is clear of all rubber; balls off the jaws are below.
CLEAN = {name: dataclasses.replace(table, help="none") for name, table in TABLES.items()}
SNOOKER, SMALL = CLEAN["snooker"], CLEAN["small-ball"]
BATCHES = {
    "snooker": Limits(SNOOKER),
    "snooker thin": Limits(SNOOKER, cuts=(60.0, 80.0)),
    "snooker long": Limits(SNOOKER, cue_distance=(1200.0, 2600.0), pocket_distance=(800.0, 2500.0)),
    "snooker close": Limits(SNOOKER, cue_distance=(53.0, 200.0), pocket_distance=(40.0, 400.0)),
    "pool-9": Limits(CLEAN["pool-9"]),
    "pool-8 middles": Limits(CLEAN["pool-8"], pockets=("middle-left", "middle-right")),
    "pool-7 right": Limits(CLEAN["pool-7"], sides=("right",), cuts=(5.0, 40.0)),
    "small-ball": Limits(SMALL, cue_distance=(60.0, 1200.0), pocket_distance=(60.0, 1200.0)),
}
SLACK = 1e-6  # mm, for what touches by construction
EACH_BATCH = pytest.mark.parametrize("name", BATCHES)


def mouths(table: Table) -> np.ndarray:
    """The two jaws of each pocket, (6, 2, 2), cut out of the rectangle; order of a pair is no matter."""
    length, width, c = table.length, table.width, table.corner / math.sqrt(2)
    found = []
    for name in POCKETS:
        end, side = name.split("-")
        y, inward = (width, -c) if side == "left" else (0.0, c)
        if end == "middle":
            jaws = [(length / 2 - table.middle / 2, y), (length / 2 + table.middle / 2, y)]
        else:
            x, along = (length, -c) if end == "top" else (0.0, c)
            jaws = [(x + along, y), (x, y + inward)]
        found.append(jaws)
    return np.array(found)


def tangent(jaw: Jaw) -> float:
    """How far from the mouth's end a jaw's rounding begins, along the cushion."""
    return jaw.rounding / math.tan(math.radians(jaw.facing) / 2)


def noses(table: Table) -> shapely.Geometry:
    """The straight cushion noses: the rectangle's outline less the mouths and the rounded jaws."""
    c = table.corner / math.sqrt(2) + tangent(table.corner_jaw)
    m = table.middle / 2 + tangent(table.middle_jaw)
    length, width, mid = table.length, table.width, table.length / 2
    runs = [[(0, c), (0, width - c)], [(length, c), (length, width - c)]]
    for y in (0, width):
        runs += [[(c, y), (mid - m, y)], [(mid + m, y), (length - c, y)]]
    return shapely.multilinestrings([shapely.linestrings(run) for run in runs])


def lines(start: np.ndarray, end: np.ndarray) -> np.ndarray:
    return np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))


def touching_any(ways: np.ndarray, rubber: shapely.Geometry, radius: float) -> int:
    """How many ways come nearer to rubber than a radius; most are told to be far by a slightly wider hull."""
    hull = shapely.buffer(
        shapely.simplify(rubber, 0.05), radius + 0.3, quad_segs=8
    )  # its corners cut off less
    shapely.prepare(hull)
    near = ways[shapely.intersects(hull, ways)]
    return int(shapely.dwithin(near, rubber, radius).sum())


def check_rules(shots: Shots, limits: Limits) -> None:
    """Every rule of a drawn shot, from the positions, the pocket and the target only."""
    table, cue, ball, pocket = shots.table, shots.cue_ball, shots.object_ball, shots.pocket
    truths = work_out(shots)
    rc, ro = table.balls.cue_radius, table.balls.object_radius
    contact = math.sqrt((rc + ro) ** 2 - (rc - ro) ** 2)  # both rest on the cloth
    target = truths.window.target

    def within(p: np.ndarray, r: float, slack: float = 0.0) -> np.ndarray:
        x, y = p[:, 0], p[:, 1]
        inside_x = (x >= r - slack) & (x <= table.length - r + slack)
        return np.asarray(inside_x & (y >= r - slack) & (y <= table.width - r + slack))

    assert np.isfinite(cue).all()
    assert np.isfinite(ball).all()
    assert within(cue, rc).all()
    assert within(ball, ro).all()
    between = np.hypot(*(cue - ball).T)
    assert (between > contact).all()
    assert (between >= limits.cue_distance[0] - SLACK).all()
    assert (between <= limits.cue_distance[1] + SLACK).all()
    allowed = [POCKETS.index(p) for p in limits.pockets]
    assert np.isin(pocket, allowed).all()

    # The target lies in the mouth of the pocket, and is as far as the limits say.
    jaws = mouths(table)[pocket]
    mouth = lines(jaws[:, 0], jaws[:, 1])
    assert shapely.distance(mouth, shapely.points(target)).max() < SLACK
    run = np.hypot(*(target - ball).T)
    assert (run >= limits.pocket_distance[0] - SLACK).all()
    assert (run <= limits.pocket_distance[1] + SLACK).all()

    # The object ball's way: clear of the cue ball, of every nose, and of both jaws on the way in.
    way = (target - ball) / run[:, None]
    to_pocket = lines(ball, target)
    assert (shapely.distance(to_pocket, shapely.points(cue)) > contact - SLACK).all()
    rails = shapely.union_all([noses(table), all_rubber(table)])
    assert not touching_any(to_pocket, rails, ro - SLACK)
    onward = lines(ball, target + way * 2 * table.corner)
    for k, name in enumerate(POCKETS):
        for jaw in rubber(table)[name]:
            assert not touching_any(onward[pocket == k], jaw, ro - SLACK)

    # The touching position: the line of centres runs on to the target, and the cue ball fits there
    # and gets there without meeting the object ball before.
    touching = ball - way * contact
    np.testing.assert_allclose(truths.touching, touching, atol=1e-8)
    assert within(touching, rc).all()
    rolled = lines(cue, touching)
    gap = shapely.distance(rolled, shapely.points(ball))
    np.testing.assert_allclose(gap, contact, atol=SLACK)

    # The cut: from the line of aim to the way, + to the left.
    aim = touching - cue
    sine = (aim[:, 0] * way[:, 1] - aim[:, 1] * way[:, 0]) / np.hypot(*aim.T)
    cosine = (aim * way).sum(axis=1)
    assert (cosine > 0).all()
    low, high = (math.sin(math.radians(c)) for c in limits.cuts)
    assert (np.abs(sine) >= low - 1e-12).all()
    assert (np.abs(sine) <= high + 1e-12).all()
    for side, sign in (("left", 1), ("right", -1)):
        if side not in limits.sides:
            assert (sign * sine <= 1e-12).all()


def past_a_mouth(table: Table, points: np.ndarray) -> np.ndarray:
    """Whether a centre lies in a corner beyond the line from jaw to jaw: a ball that has dropped."""
    felt = shapely.box(0, 0, table.length, table.width)
    corners = [k for k, name in enumerate(POCKETS) if not name.startswith("middle")]
    holes = []
    for k in corners:
        a, b = mouths(table)[k]
        corner = (a + b) - np.array([table.length, table.width]) / 2
        outer = np.where(corner > np.array([table.length, table.width]) / 2, felt.bounds[2:], 0.0)
        holes.append(shapely.polygons([a, b, outer]))
    return np.asarray(shapely.contains_xy(shapely.union_all(holes), points[:, 0], points[:, 1]))


@EACH_BATCH
@pytest.mark.parametrize(
    "many",
    [
        pytest.param(1_000_000, marks=pytest.mark.long),
        pytest.param(200_000, marks=pytest.mark.slow),
        32_000,
    ],
)
def test_a_million_shots_obey_every_rule(many: int, name: str) -> None:
    limits = BATCHES[name]
    check_rules(draw(np.random.default_rng(99), many // len(BATCHES), limits), limits)


@pytest.mark.parametrize("table", FIRST_TABLES, ids=lambda table: table.name)
@pytest.mark.parametrize("many", [40_000, pytest.param(200_000, marks=pytest.mark.long)])
def test_no_ball_lies_in_a_pocket(table: Table, many: int) -> None:
    """A centre past the line from jaw to jaw of a corner is inside the noses, yet off the cloth."""
    far = 1000.0 if table.name == "small-ball" else 1500.0
    limits = Limits(table, cue_distance=(100.0, 1500.0), pocket_distance=(100.0, far))
    drawn = draw(np.random.default_rng(97), many, limits)
    thrown = draw_anywhere(np.random.default_rng(97), many // 4, table)
    for shots in (drawn, thrown):
        assert past_a_mouth(table, shots.object_ball).sum() == 0
        assert past_a_mouth(table, shots.cue_ball).sum() == 0
        assert past_a_mouth(table, work_out(shots).touching).sum() == 0


# --- The same once more in plain Python ------------------------------------------------------------------


def from_segment(p: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    (px, py), (ax, ay), (bx, by) = p, a, b
    square = (bx - ax) ** 2 + (by - ay) ** 2
    t = max(0.0, min(1.0, ((px - ax) * (bx - ax) + (py - ay) * (by - ay)) / square))
    return math.hypot(px - ax - t * (bx - ax), py - ay - t * (by - ay))


def jaw_points(table: Table, name: str) -> list[tuple[float, float]]:
    """Points of both jaws of a pocket: along the arc of the nose, and the facing's inner end."""
    jaw = table.middle_jaw if name.startswith("middle") else table.corner_jaw
    points = []
    ends = noses_of(table, name)
    for nose, other in (ends, ends[::-1]):
        across, into = (nose - other) / abs(nose - other), axis(table, name)
        # the cushion leaves the mouth at 45 degrees toward the table in a corner, in line at a side
        away = across if name.startswith("middle") else (across - into) / math.sqrt(2)
        angle = math.radians(jaw.facing)
        facing = max(
            (away * cmath.rect(1, a) for a in (angle, -angle)), key=lambda f: (f * into.conjugate()).real
        )
        centre = nose + (facing + away) / abs(facing + away) * jaw.rounding / math.sin(angle / 2)
        first, last = (nose + way * tangent(jaw) - centre for way in (away, facing))
        arc = cmath.phase(last / first) if jaw.rounding else 0.0
        found = [centre + first * cmath.rect(1, arc * i / 24) for i in range(25)] if jaw.rounding else [nose]
        found.append(nose + facing * deep(table, name) / (facing * into.conjugate()).real)
        points += [(z.real, z.imag) for z in found]
    return points


def test_five_thousand_shots_in_plain_python() -> None:
    count = 0
    for name, limits in itertools.islice(BATCHES.items(), None):
        shots = draw(np.random.default_rng(96), 625, limits)
        table = limits.table
        rc, ro = table.balls.cue_radius, table.balls.object_radius
        d = 2 * math.sqrt(rc * ro)
        target_of = work_out(shots).window.target.tolist()
        jaws = mouths(table).tolist()
        rails = [line.coords[:] for line in noses(table).geoms]
        outlines = {name: jaw_points(table, name) for name in POCKETS}
        for i in range(len(shots)):
            shot = shots[i]
            (cx, cy), (bx, by), (tx, ty) = shot.cue_ball, shot.object_ball, target_of[i]
            for x, y, r in ((cx, cy, rc), (bx, by, ro)):
                assert r <= x <= table.length - r, name
                assert r <= y <= table.width - r, name
            between = math.hypot(cx - bx, cy - by)
            assert between > d
            assert limits.cue_distance[0] - SLACK <= between <= limits.cue_distance[1] + SLACK
            run = math.hypot(tx - bx, ty - by)
            assert limits.pocket_distance[0] - SLACK <= run <= limits.pocket_distance[1] + SLACK
            ux, uy = (tx - bx) / run, (ty - by) / run
            assert from_segment((cx, cy), (bx, by), (tx, ty)) > d - SLACK
            assert shot.pocket in limits.pockets
            one, other = jaws[POCKETS.index(shot.pocket)]
            assert from_segment((tx, ty), one, other) < SLACK
            far = (tx + ux * 200, ty + uy * 200)
            for point in outlines[shot.pocket]:
                assert from_segment(point, (bx, by), far) >= ro - SLACK
            for a, b in rails:  # ends of the way and of each nose tell the distance of the two
                gap = min(
                    from_segment(a, (bx, by), (tx, ty)),
                    from_segment(b, (bx, by), (tx, ty)),
                    from_segment((bx, by), a, b),
                    from_segment((tx, ty), a, b),
                )
                assert gap >= ro - SLACK
            gx, gy = bx - d * ux, by - d * uy
            assert rc <= gx <= table.length - rc
            assert rc <= gy <= table.width - rc
            aim = math.atan2(gy - cy, gx - cx)
            cut = math.remainder(math.atan2(uy, ux) - aim, 2 * math.pi)
            low, high = limits.cuts
            assert low - 1e-9 <= abs(math.degrees(cut)) <= high + 1e-9
            assert ("left" if cut > 0 else "right") in limits.sides
            count += 1
    assert count == 5000
