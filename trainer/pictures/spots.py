"""Numbered places on the cloth: where the cue ball may lie, to be chosen from."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import Cells, write
from trainer.pictures.fit import ACROSS
from trainer.pictures.frame import Frame
from trainer.shots.shot import Point

LEAST = 1.15 * ACROSS  # radius of a spot: its number needs a cell
QUIET = 0.4  # opacity of a place that is neither the right one nor called


@dataclass(frozen=True)
class Spot:
    """A place, mm, and its number.

    ``tone`` is ``open`` or ``considered`` before the call; after it ``right``, ``called`` or ``quiet``; a
    ball that is none of these has its own, ``ball``.
    """

    at: Point
    label: str
    tone: str = "open"


TONES = {
    "open": colours.MARK_QUIET,
    "considered": colours.CUE_BALL,
    "right": colours.AMBER,
    "called": colours.CHALK,
    "quiet": colours.MARK_QUIET,
    "ball": colours.OBJECT_BALL,
}


def paint_spots(
    canvas: Canvas, view: Frame, spots: Sequence[Spot], radius: float, least: float = LEAST
) -> None:
    """A disc at each place, ``least`` its smallest radius; the right one in front of the others."""
    for spot in sorted(spots, key=lambda spot: spot.tone == "right"):
        x, y = view.at(spot.at)
        opacity = QUIET if spot.tone == "quiet" else 1.0
        canvas.disc(x, y, max(radius, least), TONES[spot.tone], opacity)


def cell_of(at: Callable[[Point], Point], spot: Spot, cell_aspect: float) -> tuple[int, int]:
    """The row and column of cells that a place lies in; ``at`` is where a picture shows it."""
    x, y = at(spot.at)
    return int(y // (ACROSS * cell_aspect)), int(x // ACROSS)


def number_spots(
    cells: Cells, at: Callable[[Point], Point], spots: Sequence[Spot], cell_aspect: float
) -> Cells:
    """The places' numbers written on a picture of them."""
    for spot in spots:
        row, column = cell_of(at, spot, cell_aspect)
        quiet = spot.tone == "quiet"
        ink, paper = (colours.MARK, None) if quiet else (colours.POCKET, TONES[spot.tone])
        cells = write(cells, row, column, spot.label, ink, paper)
    return cells


def spot_near(
    at: Callable[[Point], Point],
    spots: Sequence[Spot],
    cell: tuple[int, int],
    cell_aspect: float,
    near: float,
) -> int | None:
    """Which place a cell (column, row) means: the nearest, if it is within ``near`` cells' widths."""
    x, y = (cell[0] + 0.5) * ACROSS, (cell[1] + 0.5) * ACROSS * cell_aspect
    away = [math.dist((x, y), at(spot.at)) for spot in spots]
    nearest = min(range(len(away)), key=away.__getitem__, default=None)
    return nearest if nearest is not None and away[nearest] <= near * ACROSS else None
