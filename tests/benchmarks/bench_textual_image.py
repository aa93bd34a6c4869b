"""A film in true pixels, by a published library, ``textual-image``, and by the trainer's own way.

Run it with ``python tests/benchmarks/bench_textual_image.py``; the library, LGPL, comes with
``pip install -e '.[bench]'``, brings Pillow, and is used here alone.

A call of a real shot rolls for 30 frames, in pixels, 8 x 17 a cell, all painted beforehand. By the terminal
graphics protocol, as sixels, and in cells as the trainer shows where there is neither; each in a Textual app
whose driver counts what is written and throws it away. "encode" is the library's way from bytes in sRGB to
the protocol's text alone. "frame" is the processor time of all that a frame takes, from linear light to what
is written, less that of waiting for nothing. Both are medians over the frames, bytes are the mean.
"""

import asyncio
import io
import sys
import time
from collections.abc import Callable
from itertools import product
from statistics import median

import numpy as np
from textual.app import App, ComposeResult
from textual.drivers.headless_driver import HeadlessDriver
from textual.widget import Widget

from trainer.app.scene import Scene
from trainer.app.widgets.board import FRAMES
from trainer.app.widgets.picture import Picture
from trainer.drills import mark
from trainer.drills.mark import HOLDS, ROLLS, rolling
from trainer.geometry.tables import TABLES
from trainer.levels.level import Level
from trainer.pictures.asked import Pictures, Shown
from trainer.pictures.canvas import Canvas
from trainer.pictures.colours import encode
from trainer.pictures.painted import Painted
from trainer.pictures.projection import Viewport, paint
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of

try:
    from PIL import Image
    from textual_image import _terminal
except ImportError:
    sys.exit("textual-image is not installed: pip install -e '.[bench]'")

CELL = (8, 17)
SIZES = ((52, 19), (79, 35), (135, 55))
VIEWS = ("plan", "down")
SHOWN = 30  # frames
COLOURS = 256  # of a sixel picture
IDLE = 10  # waits for nothing, of which the least counts
CELLS = Pictures(Shown.CELLS, "")


class Wire(io.StringIO):
    """Takes the place of the terminal and counts the bytes it is sent."""

    sent = 0

    def write(self, text: str) -> int:
        Wire.sent += len(text.encode())
        return len(text)


class Counting(HeadlessDriver):
    """A driver that is written to like that of a terminal."""

    is_headless = False

    def write(self, data: str) -> None:
        Wire.sent += len(data.encode())


def library() -> dict[Shown, tuple[type[Widget], Callable[[Image.Image], object]]]:
    """The library's widgets and encoders, told the size of a cell rather than asking a terminal for it."""
    sys.__stdout__ = Wire()  # type: ignore[misc]  # where it writes pictures to, past Textual
    cell = _terminal.CellSize(*CELL)
    _terminal.get_cell_size._result = cell  # type: ignore[attr-defined]
    if hasattr(_terminal, "TerminalCapabilities"):  # newer ones, for Python 3.12 on
        _terminal.probe_terminal._result = _terminal.TerminalCapabilities(cell, True, True)
    from textual_image._pixeldata import PixelData
    from textual_image._sixel import image_to_sixels
    from textual_image.widget import SixelImage, TGPImage

    def graphics(image: Image.Image) -> object:
        return PixelData(image).scaled(*image.size).to_base64()

    def sixel(image: Image.Image) -> object:
        return image_to_sixels(PixelData(image).scaled(*image.size).pil_image)

    return {Shown.GRAPHICS: (TGPImage, graphics), Shown.SIXEL: (SixelImage, sixel)}


def image_of(canvas: Canvas) -> Image.Image:
    """A painted picture as the library takes it."""
    return Image.fromarray(encode(canvas.pixels))


def own(frames: list[Canvas]) -> tuple[Widget, list[Callable[[], None]]]:
    """The trainer's widget, and what shows each frame with it."""
    picture = Picture(id="film")
    return picture, [lambda c=canvas: picture.show(lambda _: Painted(c)) for canvas in frames]


def scene_of(view: str) -> Scene:
    """A call of a real shot, a little thin of the truth."""
    rng, limits = np.random.default_rng(5), Limits(TABLES["snooker"])
    shot = draw(rng, 1, limits)[0]
    level = Level(name="film", title="", teaches="", drill="band", limits=limits)
    question = level.question(shot, truth_of(shot), rng)
    choice = question.choices[max(question.best - 1, 0)]
    return Scene(question, view).marked(mark(question, choice))


def film(view: str, viewport: Viewport) -> list[Canvas]:
    """The frames in which something rolls: up to contact one ball, then both."""
    scene = scene_of(view)
    assert scene.mark is not None
    rolls, projection, found = rolling(scene.mark), scene.projection(viewport), []
    for k in range(SHOWN):
        since = k / FRAMES
        at = rolls.at(since if since < ROLLS else since + HOLDS)
        found.append(paint(projection, scene.rolling(at.cue_ball, at.object_ball)))
    return found


def milliseconds(works: list[Callable[[], object]]) -> float:
    """The median of what each takes."""
    times = []
    for work in works:
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return 1e3 * median(times)


async def shown(
    widget: Widget, show: list[Callable[[], None]], size: tuple[int, int], pictures: Pictures = CELLS
) -> str:
    """Processor milliseconds of a frame in an app, and its bytes; the first is there before."""

    class Screen(App[None]):
        CSS = f"#film {{ width: {size[0]}; height: {size[1]}; }}"

        def compose(self) -> ComposeResult:
            yield widget

    app = Screen(driver_class=Counting)
    app.pictures, app.pixel_cell = pictures, CELL  # type: ignore[attr-defined]
    async with app.run_test(headless=False, size=size) as pilot:

        async def took(work: Callable[[], None]) -> float:
            began = time.process_time()
            work()
            await pilot.pause()
            return time.process_time() - began

        await took(show[0])
        nothing = min([await took(lambda: None) for _ in range(IDLE)])
        times, each = [], []
        for work in show[1:]:
            before = Wire.sent
            times.append(await took(work) - nothing)
            each.append(Wire.sent - before)
        assert min(each) > 0, "a frame wasn't shown"
    return f"{1e3 * median(times):8.1f} {np.mean(each):9.0f}"


def main() -> None:
    """Print the table."""
    kinds = library()
    print(f"{'':>7} {'view':>5} {'way':>9} {'':>8} {'encode':>8} {'frame':>8} {'bytes':>9}")
    for size, view in product(SIZES, VIEWS):
        frames = film(view, Viewport(size, CELL[1] / CELL[0], CELL))
        coarse = film(view, Viewport(size, CELL[1] / CELL[0]))
        for way, (kind, encoder) in kinds.items():
            images = [image_of(canvas) for canvas in frames]
            alone = milliseconds([lambda e=encoder, i=image: e(i) for image in images])
            widget = kind(id="film")
            shows = [lambda w=widget, c=canvas: setattr(w, "image", image_of(c)) for canvas in frames]
            theirs = asyncio.run(shown(widget, shows, size))
            print(f"{size[0]:>3}x{size[1]:<3} {view:>5} {way.name:>9} {'library':>8} {alone:8.1f} {theirs}")
            ours = asyncio.run(shown(*own(frames), size, Pictures(way, "", COLOURS)))
            print(f"{'':>7} {'':>5} {'':>9} {'own':>8} {'':8} {ours}", flush=True)
        print(f"{'':>7} {'':>5} {'CELLS':>9} {'own':>8} {'':8} {asyncio.run(shown(*own(coarse), size))}")


if __name__ == "__main__":
    main()
