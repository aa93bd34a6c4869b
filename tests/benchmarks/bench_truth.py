"""How long 100,000 truths take in one call, beside a plain loop that does the same in the same run.

Run it with ``python tests/benchmarks/bench_truth.py``. The loop below shares no code with the trainer:
it knows a table's numbers only, works out one shot at a time with ``math``, and is first checked to come
to the same truths. Each number is the best of several rounds, the two sides taking turns, so that a busy
machine slows both alike; what counts is the ratio.
"""

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from time import perf_counter

import numpy as np

from trainer.geometry.acceptance import table_window
from trainer.geometry.aiming import Stroke, offset_for
from trainer.geometry.jaws import line_edge
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shots
from trainer.shots.truth import Truths, work_out

N = 100_000
LOOPED = 2_000  # shots that the plain loop does; its time is scaled up to N
TRACED = 100  # the same, where it rolls balls off jaws
ONE_BY_ONE = 300  # calls of work_out with one shot each
ROUNDS = 5
STROKES = {"no stroke": None, "natural roll": Stroke(1.5), "stun, side spin": Stroke(1.5, 0.0, 0.4)}

SAME = 1e-9
# mm at the mouth: with help the trainer's window goes straight between entry angles that it has worked
# out, and may step over a gap that the loop falls into, or the other way round.
HELPED_SAME, HELPED_MOST = 0.05, 0.95

Pair = tuple[float, float]
HALVINGS = 52  # of half a turn, down to rounding
TRIED, HELPED_HALVINGS = 24, 20  # lines tried beyond the clean window; halvings of one step
CONTACTS = 8
RESTITUTION = 0.75
SPECK = 1e-9


# The plain loop ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class PlainJaw:
    """One jaw: its nose's rounding, its facing from start to end, and the cushion beside it."""

    nose: Pair
    rounding: float
    facing: Pair
    start: Pair
    end: Pair
    run: float
    facing_normal: Pair
    away: Pair
    cushion_start: Pair
    cushion_run: float
    cushion_normal: Pair


@dataclass(frozen=True)
class PlainPocket:
    """Right-hand and left-hand jaw, the two ends of the mouth, and the way in."""

    jaws: tuple[PlainJaw, PlainJaw]
    mouth: tuple[Pair, Pair]
    axis: Pair


@dataclass(frozen=True)
class PlainTruth:
    """What the loop finds; ways are angles of the table's plane."""

    right: float
    left: float
    target: Pair
    cut: float
    fullness: float
    offset: float
    touching: Pair
    throw: float
    margin: Pair


def plain_pocket(table: Table, name: str) -> PlainPocket:
    """A pocket from the table's numbers."""
    end, side = name.split("-")
    length, width, c, m = table.length, table.width, table.corner / math.sqrt(2), table.middle / 2
    y, out_y = (width, 1.0) if side == "left" else (0.0, -1.0)
    is_middle = end == "middle"
    jaw = table.middle_jaw if is_middle else table.corner_jaw
    corner_tangent, middle_tangent = (
        one.rounding / math.tan(math.radians(one.facing) / 2) for one in (table.corner_jaw, table.middle_jaw)
    )
    half_long = length / 2 - c - m - corner_tangent - middle_tangent
    # Each nose with the way its cushion runs, outward of that cushion, and that cushion's length.
    if is_middle:
        axis = (0.0, out_y)
        noses = [((length / 2 + s * m, y), (s, 0.0), (0.0, out_y), half_long) for s in (-1.0, 1.0)]
    else:
        x, out_x = (length, 1.0) if end == "top" else (0.0, -1.0)
        axis = (out_x / math.sqrt(2), out_y / math.sqrt(2))
        noses = [
            ((x - out_x * c, y), (-out_x, 0.0), (0.0, out_y), half_long),
            ((x, y - out_y * c), (0.0, -out_y), (out_x, 0.0), width - 2 * (c + corner_tangent)),
        ]
    # The right-hand jaw first: from it the other one lies to the left of the way in.
    (ax, ay), (bx, by) = noses[0][0], noses[1][0]
    if axis[0] * (by - ay) - axis[1] * (bx - ax) < 0:
        noses.reverse()
    angle = math.radians(jaw.facing)
    tangent = jaw.rounding / math.tan(angle / 2)
    jaws = []
    for (nx, ny), (wx, wy), (ox, oy), run in noses:
        fx, fy = wx * math.cos(angle) + ox * math.sin(angle), wy * math.cos(angle) + oy * math.sin(angle)
        deep = max(jaw.depth / (fx * axis[0] + fy * axis[1]), tangent)
        # The rounding's centre lies square to the cushion from where it begins.
        start = (nx + wx * tangent, ny + wy * tangent)
        normal = (-fy, fx) if -fy * wx + fx * wy < 0 else (fy, -fx)
        jaws.append(
            PlainJaw(
                nose=(start[0] + ox * jaw.rounding, start[1] + oy * jaw.rounding),
                rounding=jaw.rounding,
                facing=(fx, fy),
                start=(nx + fx * tangent, ny + fy * tangent),
                end=(nx + fx * deep, ny + fy * deep),
                run=deep - tangent,
                facing_normal=normal,
                away=(wx, wy),
                cushion_start=start,
                cushion_run=run,
                cushion_normal=(-ox, -oy),
            )
        )
    return PlainPocket((jaws[0], jaws[1]), (noses[0][0], noses[1][0]), axis)


def plain_tangent(ball: Pair, jaw: PlainJaw, radius: float, side: float) -> float:
    """The angle of the way that just passes a jaw; side +1 to its left, -1 to its right."""
    dx, dy = jaw.nose[0] - ball[0], jaw.nose[1] - ball[1]
    way = math.atan2(dy, dx) + side * math.asin(min((radius + jaw.rounding) / math.hypot(dx, dy), 1.0))
    if side * (math.cos(way) * jaw.facing[1] - math.sin(way) * jaw.facing[0]) > 0:
        dx, dy = jaw.end[0] - ball[0], jaw.end[1] - ball[1]
        way = math.atan2(dy, dx) + side * math.asin(min(radius / math.hypot(dx, dy), 1.0))
    return way


def plain_drops(ball: Pair, way: float, pocket: PlainPocket, radius: float) -> bool:
    """Whether a ball rolled along ``way`` drops, off the jaws and the cushions beside them too."""
    (x, y), (vx, vy) = ball, (math.cos(way), math.sin(way))
    ax, ay = pocket.axis
    (ex, ey), (gx, gy) = pocket.jaws[0].end, pocket.jaws[1].end
    for _ in range(CONTACTS + 1):
        first, nx, ny = math.inf, 0.0, 0.0
        for jaw in pocket.jaws:
            for (px, py), reach in ((jaw.nose, jaw.rounding + radius), (jaw.end, radius)):
                dx, dy = px - x, py - y
                back, off = dx * vx + dy * vy, dx * vy - dy * vx
                if back <= 0 or abs(off) >= reach:
                    continue
                run = max(back - math.sqrt(reach * reach - off * off), 0.0)
                tx, ty = x + vx * run - px, y + vy * run - py
                if px == jaw.nose[0] and tx * jaw.facing[0] + ty * jaw.facing[1] > SPECK:
                    continue  # there the nose has gone over into the facing
                if run < first:
                    size = math.hypot(tx, ty)
                    first, nx, ny = run, tx / size, ty / size
            for (px, py), (lx, ly), (mx, my), long in (
                (jaw.start, jaw.facing, jaw.facing_normal, jaw.run),
                (jaw.cushion_start, jaw.away, jaw.cushion_normal, jaw.cushion_run),
            ):
                fall = -(vx * mx + vy * my)
                high = (x - px) * mx + (y - py) * my - radius
                if fall <= 0 or high < -SPECK:
                    continue
                run = max(high, 0.0) / fall
                foot = (x + vx * run - px) * lx + (y + vy * run - py) * ly
                if 0 <= foot <= long and run < first:
                    first, nx, ny = run, mx, my
        down, speed = (ex - x) * ax + (ey - y) * ay, vx * ax + vy * ay
        if speed > 0 and 0 <= down <= first * speed:
            dx, dy = x + vx * down / speed - ex, y + vy * down / speed - ey
            along = dx * (gx - ex) + dy * (gy - ey)
            return 0 <= along <= (gx - ex) ** 2 + (gy - ey) ** 2
        if first == math.inf:
            return False
        x, y = x + vx * first, y + vy * first
        into = (1.0 + RESTITUTION) * (vx * nx + vy * ny)
        vx, vy = vx - into * nx, vy - into * ny
        size = math.hypot(vx, vy)
        vx, vy = vx / size, vy / size
    return False


def plain_helped(ball: Pair, pocket: PlainPocket, radius: float, clean: float, side: float) -> float:
    """The last way that drops, from the clean window's edge on to one side (+1 left)."""
    (ax, ay), (bx, by) = pocket.mouth
    far = math.hypot((ax + bx) / 2 - ball[0], (ay + by) / 2 - ball[1])
    step = side * 0.6 * math.hypot(bx - ax, by - ay) / TRIED / far
    inside = clean
    for _ in range(TRIED):
        outside = inside + step
        if not plain_drops(ball, outside, pocket, radius):
            break
        inside = outside
    else:
        return inside
    for _ in range(HELPED_HALVINGS):
        half = (inside + outside) / 2
        if plain_drops(ball, half, pocket, radius):
            inside = half
        else:
            outside = half
    return inside


def plain_throw(cut: float, stroke: Stroke) -> float:
    """Throw to the right of the line of centres: Alciatore, TP A.24, with Marlow's friction (TP A.28)."""
    slide = stroke.speed * (math.sin(cut) - 1.25 * stroke.side_spin)
    normal = stroke.speed * math.cos(cut)
    relative = math.hypot(slide, normal * stroke.roll)
    if relative == 0:
        return 0.0
    mu = 9.951e-3 + 0.108 * math.exp(-1.088 * relative)
    return math.atan(min(mu / relative, 1 / 7 / normal if normal > 0 else math.inf) * slide)


def plain_hit(
    cue: Pair, ball: Pair, way: float, table: Table, stroke: Stroke | None
) -> tuple[float, float, Pair]:
    """Cut, offset and touching position that send the ball along ``way``; past all hits, the graze."""
    dx, dy = ball[0] - cue[0], ball[1] - cue[1]
    apart, d, radius = math.hypot(dx, dy), table.contact, table.balls.object_radius
    wanted = math.remainder(way - math.atan2(dy, dx), 2 * math.pi)
    centres = way
    if stroke is not None:
        low, high = -math.pi / 2, math.pi / 2
        for _ in range(HALVINGS):
            cut = (low + high) / 2
            if cut - math.asin(d / apart * math.sin(cut)) - plain_throw(cut, stroke) < wanted:
                low = cut
            else:
                high = cut
        centres = way + plain_throw((low + high) / 2, stroke)
    tx, ty = ball[0] - d * math.cos(centres), ball[1] - d * math.sin(centres)
    aim = math.atan2(ty - cue[1], tx - cue[0])
    cut = math.remainder(centres - aim, 2 * math.pi)
    if abs(cut) > math.pi / 2 - (0.0 if stroke is None else 1e-12):
        return cut, math.copysign(d / (2 * radius), wanted), (tx, ty)
    return cut, (math.cos(aim) * dy - math.sin(aim) * dx) / (2 * radius), (tx, ty)


def plain_truth(
    table: Table, pockets: list[PlainPocket], cue: Pair, ball: Pair, hole: int, stroke: Stroke | None
) -> PlainTruth:
    """The truth of one shot."""
    radius, pocket = table.balls.object_radius, pockets[hole]
    right = plain_tangent(ball, pocket.jaws[0], radius, +1.0)
    left = plain_tangent(ball, pocket.jaws[1], radius, -1.0)
    middle = right + math.remainder(left - right, 2 * math.pi) / 2
    vx, vy = math.cos(middle), math.sin(middle)
    (ax, ay), (bx, by) = pocket.mouth
    mx, my = bx - ax, by - ay
    run = ((ax - ball[0]) * my - (ay - ball[1]) * mx) / (vx * my - vy * mx)
    if table.help == "both":
        right = plain_helped(ball, pocket, radius, right, -1.0)
        left = plain_helped(ball, pocket, radius, left, +1.0)
    cut, offset, touching = plain_hit(cue, ball, middle, table, stroke)
    sign = -1.0 if cut < 0 else 1.0
    reach = math.sqrt(table.balls.cue_radius / table.balls.object_radius)
    a, b = (1.0 - sign * plain_hit(cue, ball, edge, table, stroke)[1] / reach for edge in (right, left))
    return PlainTruth(
        right=right,
        left=left,
        target=(ball[0] + run * vx, ball[1] + run * vy),
        cut=cut,
        fullness=1.0 - math.sin(abs(cut)),
        offset=offset,
        touching=touching,
        throw=0.0 if stroke is None else sign * plain_throw(cut, stroke),
        margin=(min(a, b), max(a, b)),
    )


def plain_rows(shots: Shots, n: int) -> list[tuple[Pair, Pair, int]]:
    """The first shots as plain tuples."""
    cues, balls = ([(x, y) for x, y in part[:n].tolist()] for part in (shots.cue_ball, shots.object_ball))
    return list(zip(cues, balls, shots.pocket[:n].tolist(), strict=True))


def plain_loop(shots: Shots, n: int) -> list[PlainTruth]:
    """The truths of the first ``n`` shots, one at a time."""
    table, stroke = shots.table, shots.stroke
    pockets = [plain_pocket(table, name) for name in POCKETS]
    return [plain_truth(table, pockets, *row, stroke) for row in plain_rows(shots, n)]


# Checking and timing ----------------------------------------------------------------------------


def check_same(shots: Shots, truths: Truths, plain: list[PlainTruth]) -> str:
    """Assert that both came to the same; says how near they are."""
    n = len(plain)

    def off(got: np.ndarray, name: str) -> float:
        want = np.array([getattr(one, name) for one in plain])
        return float(np.abs(got[:n] - want).max())

    worst = 0.0
    for name, unit in (
        ("cut", 1.0),
        ("fullness", 1.0),
        ("offset", 1.0),
        ("throw", 1.0),
        ("touching", shots.table.contact),
    ):
        worst = max(worst, off(getattr(truths, name), name) / unit)
    worst = max(worst, off(truths.window.target, "target") / shots.table.contact)
    if shots.table.help == "none":
        worst = max(worst, off(truths.margin, "margin"))
    assert truths.can_pot[:n].all()
    assert worst < SAME, f"trainer and plain loop differ by {worst:g}"
    if shots.table.help == "none":
        return f"same to {worst:.0e}"
    far = np.hypot(*(truths.window.target - shots.object_ball)[:n].T)
    at_mouth = []
    for name in ("right", "left"):
        got = getattr(truths.window, name)[:n]
        ways = np.array([getattr(one, name) for one in plain])
        turned = np.arctan2(got[:, 1], got[:, 0]) - ways
        at_mouth.append(np.abs((turned + np.pi) % (2 * np.pi) - np.pi) * far)
    share = float((np.concatenate(at_mouth) < HELPED_SAME).mean())
    assert share >= HELPED_MOST, f"only {share:.1%} of the edges agree"
    return f"{share:.1%} of edges within {HELPED_SAME:g} mm"


def best_of(*works: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """The least seconds of each work; they take turns, so that a busy spell meets all of them."""
    least = [math.inf] * len(works)
    for _ in range(rounds):
        for i, work in enumerate(works):
            began = perf_counter()
            work()
            least[i] = min(least[i], perf_counter() - began)
    return least


def row(what: str, ours: float, loop: float, note: str) -> str:
    return f"{what:<44}{ours:>9.3f}{loop:>12.2f}{loop / ours:>9.1f}   {note}\n"


def truth_rows(drawn: Shots) -> Iterator[str]:
    """A line for each stroke with and without help from the jaws."""
    for help in ("none", "both"):
        for name, stroke in STROKES.items():
            shots = replace(drawn, table=replace(drawn.table, help=help), stroke=stroke)
            n = LOOPED if help == "none" else TRACED
            note = check_same(shots, work_out(shots), plain_loop(shots, n))
            ours, loop = best_of(partial(work_out, shots), partial(plain_loop, shots, n))
            yield row(f"truth, jaw help {help}, {name}", ours, loop * N / n, note)


def inverse_rows(drawn: Shots) -> Iterator[str]:
    """A line for each stroke: the hit for one way, ``offset_for`` against bisection."""
    table = replace(drawn.table, help="none")
    middle = table_window(table, drawn.object_ball, drawn.pocket).middle
    ways = np.arctan2(middle[:, 1], middle[:, 0]).tolist()
    rows = plain_rows(drawn, LOOPED)
    radius, d = table.balls.object_radius, table.contact
    for name, stroke in STROKES.items():

        def ours(stroke: Stroke | None = stroke) -> np.ndarray:
            return offset_for(drawn.cue_ball, drawn.object_ball, middle, radius, d, stroke)

        def loop(stroke: Stroke | None = stroke) -> list[float]:
            return [
                plain_hit(cue, ball, way, table, stroke)[1]
                for (cue, ball, _), way in zip(rows, ways[:LOOPED], strict=True)
            ]

        worst = float(np.abs(ours()[:LOOPED] - np.array(loop())).max())
        assert worst < SAME, f"trainer and plain loop differ by {worst:g}"
        fast, slow = best_of(ours, loop)
        yield row(f"the hit for one way, {name}", fast, slow * N / LOOPED, f"same to {worst:.0e}")


def drawn_from(limits: Limits) -> Shots:
    """The same N shots each time."""
    return draw(np.random.default_rng(4), N, limits)


def main() -> None:
    """Print the table."""
    say = sys.stdout.write
    say(f"seconds per {N:,} shots, best of {ROUNDS} rounds; the loop does {LOOPED:,}")
    say(f" ({TRACED} with jaw help, which it traces a shot at a time) and is scaled up\n\n")
    say(f"{'what':<44}{'one call':>9}{'plain loop':>12}{'ratio':>9}\n")
    for name in ("snooker", "small-ball"):
        table = replace(TABLES[name], help="none")  # clean windows, so that each row can play the same shots
        limits = Limits(table, cuts=(0.0, 70.0), pocket_distance=(300.0, 1500.0))
        drawn = drawn_from(limits)
        say(f"{table.title}\n")
        for line in (*truth_rows(drawn), *inverse_rows(drawn)):
            say(line)

    say("\ndrawing\n")
    say(f"{'what':<44}{'draw':>9}{'work_out':>12}{'draw / work_out':>17}\n")
    for help in ("none", "both"):
        for name, stroke in STROKES.items():
            table = replace(TABLES["snooker"], help=help, stroke=stroke)
            limits = Limits(table)
            drawn = drawn_from(limits)
            drawing, working = best_of(partial(drawn_from, limits), partial(work_out, drawn))
            what = f"{N:,}, jaw help {help}, {name}"
            say(f"{what:<44}{drawing:>9.3f}{working:>12.3f}{drawing / working:>17.2f}\n")
    drawn = replace(drawn, stroke=None)
    singles = [Shots.of(drawn[i]) for i in range(ONE_BY_ONE)]
    together, apart = best_of(lambda: work_out(drawn), lambda: [work_out(one) for one in singles])
    apart *= N / ONE_BY_ONE
    say(f"\n{N:,} calls of work_out with one shot each: {apart:.1f} s, ")
    say(f"{apart / together:.0f} times one call with all of them (no stroke, jaw help both)\n")

    line_edge.cache_clear()
    began = perf_counter()
    work_out(singles[0])
    say(f"once a table, for the help from its jaws: {perf_counter() - began:.2f} s\n")


if __name__ == "__main__":
    main()
