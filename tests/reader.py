"""Can the angle be read off a picture? Pictures of random shots without a word, and what readers made of it.

    .venv/bin/python tests/reader.py draw FOLDER --view down --size 80x24 --shown quadrants --shots 24
    .venv/bin/python tests/reader.py score FOLDER READINGS

``draw`` writes ``01.png``, ``02.png`` ... into the folder, as a terminal of that size shows the large picture
of a set, in cells of a set of glyphs or in ``pixels``, and the truth into ``FOLDER.json`` beside it.
``FOLDER/examples`` has a few more, with their truth, to learn from. A reader who sees nothing but the
pictures writes a line for each: its number, the side that the object ball must be sent to, the fullness of
the hit that pots it, as ``07 left 0.62``. ``score`` says how far off the readings are: the root mean square
and the mean of fullness, in balls, and of the cut, in degrees, and how often the side was wrong.
"""

import argparse
import json
import math
import struct
import sys
import zlib
from pathlib import Path

import numpy as np

from trainer.pictures import GLYPH_SETS
from trainer.pictures.cells import Cells, cover
from trainer.pictures.colours import encode
from trainer.pictures.marks import balls_of
from trainer.pictures.painted import in_cells
from trainer.pictures.projection import Viewport, painted
from trainer.pictures.views import projection_of
from trainer.shots.draw import draw as shots_of
from trainer.shots.shot import Limits
from trainer.shots.truth import truth_of

# The large picture of a set in a terminal of so many columns and rows.
SIZES = {"80x24": (52, 19), "120x40": (79, 35), "200x60": (135, 55)}
CELL = 12, 24  # pixels a cell in the picture that is written, where it is in cells
PIXELS = 10, 20  # a terminal's own, where it is in pixels
EXAMPLES = 8
LIMITS = Limits(cuts=(3.0, 70.0), cue_distance=(300.0, 1500.0), pocket_distance=(200.0, 1400.0))


def png(pixels: np.ndarray) -> bytes:
    """A picture (rows, columns, 3), sRGB bytes, as PNG (W3C, Portable Network Graphics, third edition)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows, columns, _ = pixels.shape
    lines = np.concatenate([np.zeros((rows, 1), np.uint8), pixels.reshape(rows, -1)], axis=1)
    head = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(lines.tobytes())), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def shown(cells: Cells) -> np.ndarray:
    """The pixels of a picture in cells, each glyph by what it covers of its cell."""
    share = np.zeros((*cells.glyphs.shape, CELL[1], CELL[0], 1))
    for glyph in np.unique(cells.glyphs):
        share[cells.glyphs == glyph] = cover(str(glyph), *CELL)[..., None]
    both = share * cells.ink[:, :, None, None] + (1 - share) * cells.paper[:, :, None, None]
    rows, columns, down, across, _ = both.shape
    return both.transpose(0, 2, 1, 3, 4).reshape(rows * down, columns * across, 3).astype(np.uint8)


def write_pictures(
    folder: Path, view: str, size: tuple[int, int], how: str = "quadrants", shots: int = 24, seed: int = 1
) -> dict[str, tuple[str, float]]:
    """Pictures of random shots; their sides and fullnesses by name."""
    folder.mkdir(parents=True)
    drawn, truths = shots_of(np.random.default_rng(seed), shots, LIMITS), {}
    for k in range(shots):
        shot, name = drawn[k], f"{k + 1:02d}"
        truth = truth_of(shot)
        viewport = Viewport(size, cell=PIXELS) if how == "pixels" else Viewport(size)
        found = painted(projection_of(view, shot, truth.target, viewport), balls_of(shot))
        pixels = encode(found.canvas.pixels, True) if how == "pixels" else shown(in_cells(found, how))
        (folder / f"{name}.png").write_bytes(png(pixels))
        truths[name] = ("left" if truth.cut > 0 else "right", truth.fullness)
    return truths


def score(truths: dict[str, list], readings: dict[str, tuple[str, float]]) -> str:
    """How far off the readings are."""
    off, turned, wrong = [], [], 0
    for name, (side, fullness) in readings.items():
        true_side, true = truths[name]
        if side != true_side:
            wrong += 1
            continue
        off.append(fullness - true)
        cuts = [math.degrees(math.asin(1.0 - min(max(part, 0.0), 1.0))) for part in (fullness, true)]
        turned.append(cuts[0] - cuts[1])
    fuller, degrees = np.array(off), np.array(turned)
    by, turned_by = (math.sqrt((each**2).mean()) for each in (fuller, degrees))
    return (
        f"{len(readings)} read, side wrong in {wrong}; "
        f"fullness off by {by:.3f} ball (mean {fuller.mean():+.3f}), "
        f"cut by {turned_by:.1f} degrees (mean {degrees.mean():+.1f})"
    )


def read(file: Path) -> dict[str, tuple[str, float]]:
    """The readings in a file."""
    found = {}
    for line in file.read_text().splitlines():
        if line.strip():
            number, side, fullness = line.split()
            found[f"{int(number):02d}"] = (side, float(fullness))
    return found


def main() -> None:
    """Read the arguments, write or score."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("what", choices=("draw", "score"))
    parser.add_argument("folder", type=Path)
    parser.add_argument("readings", type=Path, nargs="?")
    parser.add_argument("--view", default="down", choices=("plan", "standing", "down"))
    parser.add_argument("--size", default="80x24", choices=SIZES)
    parser.add_argument("--shown", default="quadrants", choices=(*GLYPH_SETS, "pixels"))
    parser.add_argument("--shots", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    if given.what == "draw":
        how, seed = (given.view, SIZES[given.size], given.shown), given.seed
        truths = write_pictures(given.folder, *how, given.shots, seed)
        given.folder.with_suffix(".json").write_text(json.dumps(truths))
        examples = write_pictures(given.folder / "examples", *how, EXAMPLES, seed + 1)
        told = [f"{name} {side} {fullness:.2f}" for name, (side, fullness) in examples.items()]
        (given.folder / "examples.txt").write_text("\n".join([*told, ""]))
    elif given.readings is None:
        sys.exit("score needs a file of readings")
    else:
        truths = json.loads(given.folder.with_suffix(".json").read_text())
        sys.stdout.write(f"{score(truths, read(given.readings))}\n")


if __name__ == "__main__":
    main()
