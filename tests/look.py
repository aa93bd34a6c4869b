"""Look at a screen without a terminal: play some keys and write the screen as SVG.

    .venv/bin/python tests/look.py 120x40 play.svg --level eighths --seed 4 3

Keys are named as Textual names them (``3``, ``right``, ``escape``, ``question_mark``).
"""

import argparse
import asyncio
import re
import tempfile
from pathlib import Path

from trainer.app.app import TrainerApp
from trainer.history.clock import FixedClock, SystemClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.pictures import GLYPH_SETS
from trainer.pictures.terminal import Depth, depth_named
from trainer.play.game import Game
from trainer.settings.settings import read_settings


async def look(args: argparse.Namespace, data: Path) -> str:
    """The SVG of the screen after the keys."""
    width, height = map(int, args.size.split("x"))
    clock = FixedClock(args.now) if args.now else SystemClock()
    with History.open(data, clock) as history:
        game = Game(history, open_shelf())
        start = game.begin(game.level(args.level, args.drill), seed=args.seed) if args.level else None
        own = read_settings(data)[0]
        app = TrainerApp(game, start, glyphs=args.glyphs, colours=args.colours, settings=own)
        if args.theme:
            app.theme = args.theme
        app.animation_level = "none"  # a still picture: what is shown when nothing moves any more
        async with app.run_test(size=(width, height)) as pilot:
            await pilot.pause()
            for key in args.keys:
                await pilot.press(key)
                await pilot.pause()
            return app.export_screenshot()


def main() -> None:
    """Read the arguments, write the file."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("size", help="columns x rows, as 120x40")
    parser.add_argument("file", type=Path, help="the SVG to write")
    parser.add_argument("keys", nargs="*", help="keys to press")
    parser.add_argument("--level", help="start a set of this level (free: free practice)")
    parser.add_argument("--drill", help="with another drill")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--glyphs", choices=GLYPH_SETS, default="quadrants")
    parser.add_argument("--colours", type=depth_named, default=Depth.TRUE, help="true, 256, 16 or none")
    parser.add_argument("--theme", help="the colours of the screen")
    parser.add_argument("--now", help="the time it is, as 2026-03-01T18:30:00+01:00")
    parser.add_argument("--data", type=Path, help="a data folder; none: a new one")
    args = parser.parse_intermixed_args()
    data = args.data or Path(tempfile.mkdtemp())
    svg = asyncio.run(look(args, data))
    # Whatever font this machine has: nothing is fetched to look at the picture.
    svg = re.sub(r"@font-face\s*\{[^}]*\}", "", svg).replace("Fira Code", "DejaVu Sans Mono")
    args.file.write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    main()
