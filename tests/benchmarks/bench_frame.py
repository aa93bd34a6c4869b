"""How long a frame takes, from shot to text; bench_rows.py goes on from there.

    .venv/bin/python tests/benchmarks/bench_frame.py

Least of several rounds, and ratios within one run: machines are noisy.
"""

import math
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import count

import numpy as np

from trainer.geometry.tables import TABLES
from trainer.pictures import colours
from trainer.pictures.ansi import ansi
from trainer.pictures.canvas import Canvas, kept_canvas
from trainer.pictures.cells import Cells
from trainer.pictures.eye_view import Ball, eye_for, paint_balls, paint_eye_view
from trainer.pictures.fit import fit
from trainer.pictures.plan import Placed, paint_plan
from trainer.pictures.views import draw_view, stand_of
from trainer.shots.draw import draw
from trainer.shots.limits import Limits
from trainer.shots.shot import Shot
from trainer.shots.truth import truth_of

SIZES = ((80, 24), (120, 40), (200, 60), (300, 80))
ROUNDS = 15
BALLS = 22
NEW = (1e-3 * n for n in count(1))


def least(run: Callable[[int], object]) -> float:
    """Milliseconds of the quickest of some rounds; the round's number makes each do its work afresh."""
    best = np.inf
    for k in range(ROUNDS):
        start = time.perf_counter()
        run(k)
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def main() -> None:
    shot = draw(np.random.default_rng(5), 1, Limits(TABLES["snooker"]))[0]
    print("ms a frame; 'scene' a new place of the eye, 'ball' a ball that moved on the same table")
    print(f"{'size':>8} {'view':>9} {'scene':>7} {'ball':>7} {'fit':>6} {'bytes':>7} {'text':>6}")
    for size in SIZES:
        for view in ("plan", "down", "standing"):
            print(measured(shot, view, size))
        if size != SIZES[0]:
            for view in ("down", "standing"):
                print(f"{'':>8} {view:>9} with {BALLS} balls {crowded(shot, view, size):.1f} ms")


def rolled(shot: Shot, k: int) -> Placed:
    """The cue ball a little on its way: a new picture each round."""
    (cx, cy), (ox, oy) = shot.cue_ball, shot.object_ball
    part = 0.05 + 0.5 * k / ROUNDS
    return Placed((cx + part * (ox - cx), cy + part * (oy - cy)), shot.object_ball)


def frames(shot: Shot, view: str, size: tuple[int, int]) -> list[Cells]:
    """The frames of a ball that rolls."""
    target = truth_of(shot).target
    return [draw_view(view, shot, target, size, placed=rolled(shot, k)) for k in range(ROUNDS)]


def crowded(shot: Shot, view: str, size: tuple[int, int]) -> float:
    """Milliseconds of a frame on a table at hand with 22 balls in the picture, none touching another."""
    target, stand, radius = truth_of(shot).target, stand_of(view, shot), shot.table.balls.object_radius
    room = paint_eye_view(shot, target, size, stand)
    eye = eye_for(shot, target, (room.width, room.height), stand)
    rng = np.random.default_rng(7)
    places = [shot.cue_ball, shot.object_ball]
    while len(places) < BALLS:
        x, y = rng.uniform(radius, np.array(shot.table.size) - radius).tolist()
        centre = np.array([x, y, radius])
        if eye.depth(centre) < 500 or min(math.dist((x, y), p) for p in places) < 2.2 * radius:
            continue
        if ((eye.see(centre) > 0) & (eye.see(centre) < (room.width, room.height))).all():
            places.append((x, y))
    others = [Ball(place, radius, colours.OBJECT_BALL) for place in places[2:]]

    def frame(k: int) -> Cells:
        kept = kept_canvas(size, 2.0)
        canvas = paint_eye_view(shot, target, size, stand, placed=rolled(shot, k), onto=kept)
        paint_balls(canvas, eye, others)
        return fit(canvas.pixels)

    return least(frame)


def measured(shot: Shot, view: str, size: tuple[int, int]) -> str:
    """The line of a view at a size."""
    target = truth_of(shot).target

    def scene(onto: Canvas | None = None) -> Canvas:
        # No place of the eye, and no target, is seen twice, so that nothing is at hand from before.
        fresh = next(NEW)
        if view == "plan":
            return paint_plan(shot, (target[0] + fresh, target[1]), size, onto=onto)
        stand = stand_of(view, shot)
        stand = replace(stand, turn=stand.turn + fresh)
        return paint_eye_view(shot, target, size, stand, onto=onto)

    painted = [scene().pixels for _ in range(3)]
    cells = frames(shot, view, size)
    data = [ansi(c).encode() for c in cells]
    times = (
        least(lambda _: scene(kept_canvas(size, 2.0))),
        least(lambda k: draw_view(view, shot, target, size, placed=rolled(shot, k))),
        least(lambda k: fit(painted[k % 3])),
    )
    kilo = max(map(len, data)) / 1000
    text = least(lambda k: ansi(cells[k]))
    said = " ".join(f"{t:7.1f}" for t in times)
    return f"{size[0]:>4}x{size[1]:<3} {view:>9} {said} {kilo:5.1f}kB {text:6.2f}"


if __name__ == "__main__":
    main()
