"""How long rows take on their way to the terminal, against writing the same bytes at all.

    .venv/bin/python tests/benchmarks/bench_rows.py

"rows" makes a whole picture's rows from its cells, "Textual" is all that Textual does with them up to the
text to write (a whole screen, nothing kept), "pty" writes that text to a pseudo-terminal that is drained.
"segments" are the same rows as ordinary segments, made and through Textual. "changed" is one ball moved a
little: what differs, made and through Textual. Least of several rounds; ratios within one run.
"""

import asyncio
import os
import pty
import threading
import time
import tty
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from textual.app import App, ComposeResult
from textual.strip import Strip

from trainer.app.textual_private import narrow, rows_of, segments
from trainer.app.widgets.picture import Picture
from trainer.geometry.tables import TABLES
from trainer.pictures.cells import Cells
from trainer.pictures.marks import balls_of
from trainer.pictures.projection import Viewport
from trainer.pictures.projection import draw as draw_marks
from trainer.pictures.reduced import reduced
from trainer.pictures.terminal import Depth
from trainer.pictures.views import projection_of
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of

SIZES = ((80, 24), (120, 40), (200, 60), (300, 80))
ROUNDS = 60


def least(run: Callable[[int], object]) -> float:
    """Milliseconds of the quickest of some rounds; the round's number makes each do its work afresh."""
    best = np.inf
    for k in range(ROUNDS):
        start = time.perf_counter()
        run(k)
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def pty_write(data: bytes) -> float:
    """Milliseconds to write bytes to a pseudo-terminal that somebody reads."""
    master, slave = pty.openpty()
    tty.setraw(slave)

    def drain() -> None:
        try:
            while os.read(master, 1 << 16):
                pass
        except OSError:
            return

    threading.Thread(target=drain, daemon=True).start()

    def write(_: int) -> None:
        view = memoryview(data)
        while view:
            view = view[os.write(slave, view) :]

    took = least(write)
    os.close(slave)
    return took


class Screen(App[None]):
    """One picture that fills the screen."""

    def compose(self) -> ComposeResult:
        yield Picture()


async def measured(frames: list[Cells], size: tuple[int, int]) -> str:
    """The line of a view at a size."""
    shown = [reduced(cells, Depth.TRUE) for cells in frames]
    made = [rows_of(each) for each in shown]
    app = Screen()
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        picture, compositor = app.query_one(Picture), app.screen._compositor

        def through(strips: list[Strip]) -> str:
            picture._drawn, picture._strips = size, strips
            return compositor.render_full_update().render_segments(app.console)

        def by_segments(k: int) -> None:
            cells = shown[k % len(shown)]
            wide = [segments(cells.part(slice(y, y + 1))) for y in range(size[1])]
            through([Strip(each, size[0]) for each in wide])

        def changed(k: int) -> str:
            cells = frames[k % len(frames)]
            picture.show(lambda *_, **__: cells)
            compositor.update_widgets({picture})
            update = compositor.render_partial_update()
            narrow(update)
            return update.render_segments(app.console) if update else ""

        rows = least(lambda k: rows_of(shown[k % len(shown)]))
        textual = least(lambda k: through(made[k % len(made)]))
        both = least(lambda k: through(rows_of(shown[k % len(shown)])))
        plain = least(by_segments)
        data = through(made[0]).encode()
        wrote = pty_write(data)
        changed(0)
        part, some = least(changed), len(changed(1).encode())
    return (
        f"{rows:6.2f} {textual:8.2f} {both:6.2f} {len(data) / 1000:6.1f}kB {wrote:6.2f} {both / wrote:6.1f}x"
        f" {plain:9.2f} {plain / wrote:6.1f}x {part:8.2f} {some / 1000:6.1f}kB"
    )


def main() -> None:
    """Print the table."""
    shot = draw(np.random.default_rng(5), 1, Limits(TABLES["snooker"]))[0]
    target, (cx, cy), (ox, oy) = truth_of(shot).target, shot.cue_ball, shot.object_ball
    print("ms a frame")
    print(
        f"{'size':>8} {'view':>9} {'rows':>6} {'Textual':>8} {'both':>6} {'bytes':>8} {'pty':>6} {'':>7}",
        end="",
    )
    print(f" {'segments':>9} {'':>7} {'changed':>8} {'bytes':>8}")
    for size in SIZES:
        for view in ("plan", "down", "standing"):
            parts = [0.3 + 0.02 * k for k in range(8)]
            on_way = [replace(shot, cue_ball=(cx + p * (ox - cx), cy + p * (oy - cy))) for p in parts]
            projection = projection_of(view, shot, target, Viewport(size))
            frames = [draw_marks(projection, balls_of(there)) for there in on_way]
            print(f"{size[0]:>4}x{size[1]:<3} {view:>9} {asyncio.run(measured(frames, size))}")


if __name__ == "__main__":
    main()
