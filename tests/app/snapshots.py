"""The screens as text, to be held against what they were: what is written where, and in which style.

    .venv/bin/python tests/app/snapshots.py        # write them anew, and look at what changed

Each line of a file is a row of the screen, and after it a sum of its styles, in the dark theme and the light
one, or without colours. Pictures are left out of these: their last bits depend on the machine. A file of
their own has each of them coarsely: the mean colour of every four by two cells, a digit of 16 a channel.
"""

import asyncio
import os
import shutil
import tempfile
import zlib
from pathlib import Path

import numpy as np
from rich.style import Style
from textual.widgets import Input

from trainer.app.app import TrainerApp
from trainer.app.widgets.picture import Picture
from trainer.cli import main
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.pictures.cells import blocks, share
from trainer.pictures.reduced import Reduced
from trainer.play.game import Game

FOLDER = Path(__file__).with_name("snapshots")
SIZES = ((80, 24), (120, 40))
NOW = "2026-03-11T18:30:00+00:00"
THEMES = ("club-room", "daylight")
KINDS = [*((size, True) for size in SIZES), (SIZES[0], False)]  # and whether there are colours
# Keys from home, or from the first shot of a set of this level.
SCREENS: dict[str, tuple[str | None, tuple[str, ...]]] = {
    "home": (None, ()),
    "question": ("eighths", ()),
    "mark": ("eighths", ("2",)),
    "why": ("eighths", ("2", "y")),
    "aim": ("aim-eighths", ("right",)),
    "slide": ("slide-the-line", ("up",)),
    "summary": ("first", tuple("2e" * 10)),
    "levels": (None, ("v",)),
    "primer": ("primer", ()),
    "progress": (None, ("p",)),
    "weeks": (None, ("w",)),
    "notebook": (None, ("m", "4", "l", "t")),
    "terminal": (None, ("t",)),
    "help": (None, ("question_mark",)),
    "actions": (None, ("ctrl+p",)),
}
LEFT_OUT = "·"
BLOCK = (2, 4)  # rows and columns of the cells that make one colour


def make_player(folder: Path) -> None:
    """A player with ten days of practice."""
    words = (
        "--days",
        "10",
        "--shots",
        "24",
        "--seed",
        "3",
        "--bump",
        "+0.08",
        "--now",
        "2026-03-11T09:00:00+00:00",
    )
    assert main(("simulate", "--into", str(folder), *words)) == 0


Row = tuple[str, int]


async def looks(
    game: Game, screen: str, size: tuple[int, int], *, coloured: bool
) -> tuple[list[list[Row]], dict[str, list[str]]]:
    """Text and sum of styles of each row, for each theme or once without colours; the pictures."""
    level, keys = SCREENS[screen]
    app = TrainerApp(game, None if level is None else game.begin(game.level(level), seed=4))
    app.animation_level = "none"
    found = []
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        for key in keys:
            await pilot.press("enter" if key == "e" else key)
            await pilot.pause()
        for typed in app.screen.query(Input):
            typed.cursor_blink = False
        for theme in THEMES if coloured else THEMES[:1]:
            app.theme = theme
            await pilot.pause()
            found.append(_rows(app))
        pictures = [picture for picture in app.screen.query(Picture) if picture.display and picture._shown]
        return found, {str(picture.id): coarse(picture._shown) for picture in pictures if picture._shown}


def coarse(shown: Reduced) -> list[str]:
    """The mean colour of each block of cells, row by row."""
    part = np.array([[share(glyph) for glyph in row] for row in shown.glyphs]) * blocks(shown.glyphs)
    shifts = np.array([16, 8, 0])
    ink, paper = (colours[..., None] >> shifts & 255 for colours in (shown.ink, shown.paper))
    mean = paper + part[..., None] * (ink - paper)
    down, across = BLOCK
    rows, columns = (max(n // size, 1) for n, size in zip(mean.shape, BLOCK, strict=False))
    cut = mean[: rows * down, : columns * across]
    tones = cut.reshape(rows, -1, columns, cut.shape[1] // columns, 3).mean(axis=(1, 3)) // 16
    return [" ".join("".join(f"{int(tone):x}" for tone in block) for block in row) for row in tones]


def _rows(app: TrainerApp) -> list[Row]:
    pictures = [picture.region for picture in app.screen.query(Picture) if picture.display]
    found = []
    for y, strip in enumerate(app.screen._compositor.render_strips()):
        cells = [(char, segment.style or Style()) for segment in strip for char in segment.text]
        out = {x for one in pictures if one.y <= y < one.bottom for x in range(one.x, one.right)}
        text = "".join(LEFT_OUT if x in out else char for x, (char, _) in enumerate(cells))
        styles = "|".join(str(style) for x, (_, style) in enumerate(cells) if x not in out)
        found.append((text.rstrip(), zlib.crc32(styles.encode()) & 0xFFFF))
    return found


def taken(data: Path, screen: str, size: tuple[int, int], *, coloured: bool) -> tuple[str, str]:
    """What is kept of a screen, and of its pictures."""
    os.environ |= {} if coloured else {"NO_COLOR": "1"}
    try:
        with History.open(data, FixedClock(NOW)) as history:
            found, pictures = asyncio.run(looks(Game(history, open_shelf()), screen, size, coloured=coloured))
    finally:
        os.environ.pop("NO_COLOR", None)
    lines = []
    for each in zip(*found, strict=True):
        assert len({text for text, _ in each}) == 1, (screen, size, each)
        lines.append(f"{each[0][0]:<{size[0]}}│" + " ".join(f"{style:04x}" for _, style in each))
    drawn = [line for name, rows in pictures.items() for line in (name, *rows)]
    return "\n".join(lines) + "\n", "\n".join(drawn) + "\n"


def pictures_of(screen: str, size: tuple[int, int]) -> Path:
    """Where its pictures are kept; only those in colour are."""
    return FOLDER / f"{screen}-{size[0]}x{size[1]}-pictures.txt"


def file_of(screen: str, size: tuple[int, int], *, coloured: bool) -> Path:
    """Where it is kept."""
    return FOLDER / f"{screen}-{size[0]}x{size[1]}{'' if coloured else '-none'}.txt"


def write_all() -> None:
    """Write all of them anew."""
    FOLDER.mkdir(exist_ok=True)
    for file in FOLDER.glob("*.txt"):
        file.unlink()
    with tempfile.TemporaryDirectory() as place:
        player = Path(place) / "player"
        make_player(player)
        for screen in SCREENS:
            for size, coloured in KINDS:
                data = Path(place) / "data"
                shutil.copytree(player, data)
                text, pictures = taken(data, screen, size, coloured=coloured)
                file_of(screen, size, coloured=coloured).write_text(text, encoding="utf-8")
                if coloured and pictures.strip():
                    pictures_of(screen, size).write_text(pictures, encoding="utf-8")
                shutil.rmtree(data)


if __name__ == "__main__":
    write_all()
