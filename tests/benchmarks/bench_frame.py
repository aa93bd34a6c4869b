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
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import Cells
from trainer.pictures.fit import fit
from trainer.pictures.marks import Mark, balls_of
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport, paint, scratch
from trainer.pictures.projection import draw as draw_marks
from trainer.pictures.reduced import ansi
from trainer.pictures.views import EyeView, projection_of, stand_of
from trainer.shots.draw import draw
from trainer.shots.shot import Limits, Shot
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


def rolled(shot: Shot, k: int) -> list[Mark]:
    """The balls, the cue ball a little on its way: a new picture each round."""
    (cx, cy), (ox, oy) = shot.cue_ball, shot.object_ball
    part = 0.05 + 0.5 * k / ROUNDS
    return balls_of(replace(shot, cue_ball=(cx + part * (ox - cx), cy + part * (oy - cy))))


def frames(shot: Shot, view: str, size: tuple[int, int]) -> list[Cells]:
    """The frames of a ball that rolls."""
    projection = projection_of(view, shot, truth_of(shot).target, Viewport(size))
    return [draw_marks(projection, rolled(shot, k)) for k in range(ROUNDS)]


def crowded(shot: Shot, view: str, size: tuple[int, int]) -> float:
    """Milliseconds of a frame on a table at hand with 22 balls in the picture, none touching another."""
    radius, room = shot.table.balls.object_radius, Viewport(size).room
    seen = EyeView(shot, truth_of(shot).target, Viewport(size), stand_of(view, shot))
    eye = seen.eye
    rng = np.random.default_rng(7)
    places = [shot.cue_ball, shot.object_ball]
    while len(places) < BALLS:
        x, y = rng.uniform(radius, np.array(shot.table.size) - radius).tolist()
        centre = np.array([x, y, radius])
        if eye.depth(centre) < 500 or min(math.dist((x, y), p) for p in places) < 2.2 * radius:
            continue
        if ((eye.see(centre) > 0) & (eye.see(centre) < room)).all():
            places.append((x, y))
    among = replace(shot, others=tuple(places[2:]))
    return least(lambda k: draw_marks(seen, rolled(among, k)))


def measured(shot: Shot, view: str, size: tuple[int, int]) -> str:
    """The line of a view at a size."""
    target, viewport = truth_of(shot).target, Viewport(size)
    projection = projection_of(view, shot, target, viewport)

    def scene(onto: Canvas | None = None) -> Canvas:
        # No place of the eye, and no target, is seen twice, so that nothing is at hand from before.
        fresh = next(NEW)
        if view == "plan":
            return paint(Plan(shot, (target[0] + fresh, target[1]), viewport), balls_of(shot), onto)
        stand = stand_of(view, shot)
        stand = replace(stand, turn=stand.turn + fresh)
        return paint(EyeView(shot, target, viewport, stand), balls_of(shot), onto)

    painted = [scene().pixels for _ in range(3)]
    cells = frames(shot, view, size)
    data = [ansi(c).encode() for c in cells]
    times = (
        least(lambda _: scene(scratch(viewport))),
        least(lambda k: draw_marks(projection, rolled(shot, k))),
        least(lambda k: fit(painted[k % 3])),
    )
    kilo = max(map(len, data)) / 1000
    text = least(lambda k: ansi(cells[k]))
    said = " ".join(f"{t:7.1f}" for t in times)
    return f"{size[0]:>4}x{size[1]:<3} {view:>9} {said} {kilo:5.1f}kB {text:6.2f}"


if __name__ == "__main__":
    main()
