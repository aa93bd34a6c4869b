"""The fit of a 120 x 40 frame with every set of glyphs: time, likeness, and where a ball's edge comes to lie.

Run it with ``python tests/benchmarks/bench_fit.py``. If chafa is there (``pip install chafa.py``) it fits
the same pixels with the same glyphs in the same run, and stands beside. Each time is the best of several
rounds, all sides taking turns, so that a busy machine slows all alike; what counts is the ratio.

Likeness is the RMS difference of sRGB bytes between the pixels and what the cells show, over all cells and
over those with an edge. "fit" is what the trainer shows. "search" is its search without the rules that leave
a cell alone (nothing but a stray corner in it; richer glyphs on edges only): the same job as chafa does. Each
is said twice. "linear": colours of both sides are the least squares in linear light of the glyphs that each
chose, rounded to our tones. "sRGB": chafa's own colours, which are means of sRGB values, and for ours the
least squares of the same. "full" is chafa with work factor 1, which tries every symbol.
"""

import importlib.util
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import perf_counter

import numpy as np

from trainer.pictures import colours
from trainer.pictures import fit as fitting
from trainer.pictures.cells import ACROSS, DOWN, GLYPH_SETS, Cells, GlyphSet, cover, coverages
from trainer.pictures.colours import encode
from trainer.pictures.fit import fit
from trainer.pictures.marks import balls_of
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Viewport, paint
from trainer.shots.draw import draw
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of

sys.path.append(str(Path(__file__).parents[1] / "pictures"))
from test_picture_fit import choose, silhouette

COLS, ROWS = SIZE = (120, 40)
ROUNDS, GOES = 15, 4
RED = (196, 30, 34)
EDGE = 0.15  # range of the square root of light from which a cell has an edge in it
# Complements of our glyphs: the sets of both sides can draw the same.
OTHERS: dict[GlyphSet, str] = {
    "halves": " ▀█",
    "quadrants": "▐▟▙▜▛▞",
    "sextants": "".join(map(chr, range(0x1FB00, 0x1FB3C))),
    "slanted": "".join(map(chr, range(0x1FB3C, 0x1FB70))),
}


def frames() -> dict[str, np.ndarray]:
    """The pixels of the frames."""
    shot = draw(np.random.default_rng(3), 1, Limits())[0]
    target = truth_of(shot).target
    plan = Plan(shot, target, Viewport(SIZE))
    plans = {"plan": plan, "plan, whole": replace(plan, whole=True)}
    found = {name: paint(plan, balls_of(shot)).pixels for name, plan in plans.items()}
    balls = Viewport(SIZE).canvas(colours.CLOTH)
    for x, y, width, colour in (
        (97.3, 74.1, 14, colours.CUE_BALL),
        (241.3, 90.1, 20, colours.OBJECT_BALL),
        (385.3, 78.1, 26, RED),
    ):
        balls.ball(x, y, width / 2 * ACROSS, colour)
    return found | {"three balls": balls.pixels}


def srgb(light: np.ndarray) -> np.ndarray:
    """sRGB, 0 to 255, of linear light (IEC 61966-2-1)."""
    v = np.clip(light, 0, 1)
    return 255 * np.where(v <= 0.0031308, v * 12.92, 1.055 * v ** (1 / 2.4) - 0.055)


def to_light(value: np.ndarray) -> np.ndarray:
    """The other way."""
    v = np.asarray(value, float) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def by_cell(pixels: np.ndarray) -> np.ndarray:
    """Pixels as (cells, DOWN * ACROSS, 3)."""
    blocks = pixels.reshape(ROWS, DOWN, COLS, ACROSS, 3).transpose(0, 2, 1, 3, 4)
    return np.ascontiguousarray(blocks).reshape(ROWS * COLS, DOWN * ACROSS, 3)


def masks_of(glyphs: np.ndarray) -> np.ndarray:
    """Coverages (cells, DOWN * ACROSS, 1) of a picture's glyphs."""
    flat = glyphs.ravel()
    masks = np.empty((flat.size, DOWN * ACROSS, 1))
    for letter in set(flat.tolist()):
        masks[flat == letter] = cover(letter).reshape(-1, 1)
    return masks


def least_squares(values: np.ndarray, masks: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Ink and paper, (cells, 1, 3) each, that bring the masks nearest to the values."""
    share, mean = masks.mean(axis=1, keepdims=True), values.mean(axis=1, keepdims=True)
    centred = masks - share
    square = (centred**2).sum(axis=1, keepdims=True)
    step = (centred * values).sum(axis=1, keepdims=True) / np.where(square > 1e-9, square, 1)
    return mean + step * (1 - share), mean - step * share


class Likeness:
    """Compares pictures with one frame's pixels."""

    def __init__(self, pixels: np.ndarray) -> None:
        self.light = by_cell(pixels).astype(float)
        self.bytes = srgb(self.light)
        root = np.sqrt(self.light)
        self.edges = (np.ptp(root, axis=1) > EDGE).any(axis=1)

    def _say(self, shown: np.ndarray) -> str:
        square = ((np.clip(shown, 0, 255) - self.bytes) ** 2).mean(axis=(1, 2))
        return f"{np.sqrt(square.mean()):6.2f} /{np.sqrt(square[self.edges].mean()):6.2f}"

    def linear(self, cells: Cells) -> str:
        """The cells as they are, blended in linear light."""
        ink, paper = (to_light(c).reshape(-1, 1, 3) for c in (cells.ink, cells.paper))
        return self._say(srgb(paper + masks_of(cells.glyphs) * (ink - paper)))

    def refitted_linear(self, glyphs: np.ndarray) -> str:
        """Glyphs, in colours from least squares in linear light rounded to our tones."""
        masks = masks_of(glyphs)
        ink, paper = (to_light(encode(c)) for c in least_squares(self.light, masks))
        return self._say(srgb(paper + masks * (ink - paper)))

    def refitted_srgb(self, glyphs: np.ndarray) -> str:
        """Glyphs, in colours from least squares of sRGB values rounded to bytes."""
        masks = masks_of(glyphs)
        ink, paper = (np.rint(np.clip(c, 0, 255)) for c in least_squares(self.bytes, masks))
        return self._say(paper + masks * (ink - paper))

    def srgb(self, cells: Cells) -> str:
        """The cells as they are, blended in sRGB."""
        ink, paper = (c.reshape(-1, 1, 3).astype(float) for c in (cells.ink, cells.paper))
        return self._say(paper + masks_of(cells.glyphs) * (ink - paper))


def best_of(*works: Callable[[], object]) -> list[float]:
    """The least milliseconds of each work; they take turns, of a few goes each to warm up in."""
    least = [np.inf] * len(works)
    for _ in range(ROUNDS):
        for i, work in (pair for pair in enumerate(works) for _ in range(GOES)):
            began = perf_counter()
            work()
            least[i] = min(least[i], 1e3 * (perf_counter() - began))
    return least


def fit_proper(pixels: np.ndarray, glyphs: GlyphSet) -> tuple[Callable[[], object], int]:
    """Glyphs and colours of the busy cells alone, and how many these are."""
    slices = pixels.reshape(ROWS, DOWN, COLS, ACROSS * 3)
    stray = fitting.FINE_STRAY if glyphs in fitting._RICHER else fitting.STRAY
    _, light, _ = fitting._busy(slices, np.zeros((ROWS * COLS, 3), np.uint8), stray)

    def work() -> object:
        best = fitting._best(np.sqrt(light), glyphs)
        return encode(fitting._colours(light, best, glyphs))

    return work, len(light)


def search(pixels: np.ndarray, glyphs: GlyphSet) -> np.ndarray:
    """The best glyph of every cell, whatever is in it."""
    letters = np.array(list(coverages(glyphs)[0]))
    return letters[choose(by_cell(pixels), glyphs)].reshape(ROWS, COLS)


def chafa_work(pixels: np.ndarray, glyphs: GlyphSet, factor: float) -> Callable[[], object]:
    """What draws the frame with chafa; ``read`` of what it returns gives its cells."""
    import chafa

    symbols = chafa.SymbolMap()
    for each in GLYPH_SETS[1 : GLYPH_SETS.index(glyphs) + 1]:
        for letter in {*coverages(each)[0], *OTHERS[each]}:
            symbols.add_by_range(letter, letter)
    config = chafa.CanvasConfig()
    config.width, config.height = SIZE
    config.cell_width = config.cell_height = 8
    config.canvas_mode = chafa.CanvasMode.CHAFA_CANVAS_MODE_TRUECOLOR
    config.color_space = chafa.ColorSpace.CHAFA_COLOR_SPACE_RGB
    config.color_extractor = chafa.ColorExtractor.CHAFA_COLOR_EXTRACTOR_AVERAGE
    config.dither_mode = chafa.DitherMode.CHAFA_DITHER_MODE_NONE
    config.preprocessing = False
    config.work_factor = factor
    config.set_symbol_map(symbols)
    # It works on 8 x 8 pixels a cell: every pixel twice across, so that it has nothing to resample.
    wide = np.rint(srgb(pixels)).astype(np.uint8).repeat(8 // ACROSS, axis=1)
    height, width = wide.shape[:2]
    image = np.ascontiguousarray(wide).tobytes()
    canvas = chafa.Canvas(config)

    def work() -> object:
        canvas.draw_all_pixels(chafa.PixelType.CHAFA_PIXEL_RGB8, image, width, height, width * 3)
        return canvas

    return work


def read(canvas: object) -> Cells:
    """The cells of a chafa canvas."""
    glyphs = np.full((ROWS, COLS), " ")
    ink, paper = np.zeros((2, ROWS, COLS, 3), np.uint8)
    for row in range(ROWS):
        for col in range(COLS):
            cell = canvas[row, col]
            glyphs[row, col] = cell.char
            ink[row, col] = cell.fg_color or (0, 0, 0)
            paper[row, col] = cell.bg_color or cell.fg_color or (0, 0, 0)
    return Cells(glyphs, ink, paper)


def main() -> None:
    """Print the tables."""
    say = sys.stdout.write
    has_chafa = importlib.util.find_spec("chafa") is not None
    say(f"ms per {COLS} x {ROWS} frame, best of {ROUNDS} rounds; ")
    say("RMS difference in sRGB bytes, all / edge cells\n")
    say("fit proper: glyphs and colours of the busy cells; fit: all of it, from pixels to cells\n")
    if not has_chafa:
        say("chafa isn't there\n")
    for name, pixels in frames().items():
        likeness = Likeness(pixels)
        say(f"\n{name}: {int(likeness.edges.sum())} cells with an edge\n")
        say(f"{'':<12}{'busy':>5}{'proper':>8}{'fit':>7}{'chafa':>8}{'full':>8}{'chafa/fit':>11}")
        say("".join(f"{head:>16}" for head in ("linear: fit", "search", "chafa", "full")))
        say("".join(f"{head:>16}" for head in ("sRGB: fit", "search", "chafa", "full")) + "\n")
        for glyphs in GLYPH_SETS:
            proper, busy = fit_proper(pixels, glyphs)
            works: list[Callable[[], object]] = [proper, lambda g=glyphs, p=pixels: fit(p, g)]
            theirs = []
            if has_chafa and glyphs != "plain":
                theirs = [chafa_work(pixels, glyphs, factor) for factor in (0.5, 1.0)]
            times = best_of(*works, *theirs)
            say(f"{glyphs:<12}{busy:>5}{times[0]:>8.3f}{times[1]:>7.2f}")
            say(f"{times[2]:>8.2f}{times[3]:>8.2f}{times[2] / times[1]:>11.1f}" if theirs else " " * 27)
            cells, searched = fit(pixels, glyphs), search(pixels, glyphs)
            drawn = [read(work()) for work in theirs]
            nothing = [""] * (2 - len(drawn))
            linear = [likeness.linear(cells), likeness.refitted_linear(searched)]
            linear += [likeness.refitted_linear(one.glyphs) for one in drawn] or nothing
            plain = [likeness.refitted_srgb(glyph) for glyph in (cells.glyphs, searched)]
            plain += [likeness.srgb(one) for one in drawn] or nothing
            say("".join(f"{text:>16}" for text in (*linear, *plain)) + "\n")

    say("\na ball's silhouette: RMS error of its edge a scan line / of its middle from the whole contour,\n")
    say("widths of a cell; white, then orange ball\n")
    say(f"{'':<12}" + "".join(f"{f'{width} cells wide':>34}" for width in (6, 8, 12, 20)) + "\n")
    for glyphs in GLYPH_SETS[1:]:
        say(f"{glyphs:<12}")
        for width in (6, 8, 12, 20):
            found = [silhouette(glyphs, c, float(width)) for c in (colours.CUE_BALL, colours.OBJECT_BALL)]
            say(f"{'   '.join(f'{edge:.3f} / {middle:.3f}' for edge, middle in found):>34}")
        say("\n")


if __name__ == "__main__":
    main()
