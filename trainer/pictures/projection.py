"""From marks to pixels to cells: what a projection is, and how it paints a list of marks.

The way of a picture: marks -> a projection (:class:`~trainer.pictures.plan.Plan`,
:class:`~trainer.pictures.views.EyeView`) -> :func:`paint` -> a canvas, linear light -> cells, or true pixels.
Labels are text, which a terminal writes itself, so they leave beside the pixels: :func:`painted`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

from trainer.pictures import GlyphSet
from trainer.pictures.canvas import Canvas
from trainer.pictures.cells import ACROSS, DOWN, Cells
from trainer.pictures.colours import CLUB, SHADOW, Colour, Scheme
from trainer.pictures.cue import Part, parts_of
from trainer.pictures.marks import (
    APPEARANCES,
    TINTS,
    Ball,
    Cue,
    GhostBall,
    Label,
    Line,
    Mark,
    Meaning,
    Region,
    Ring,
    Spot,
)
from trainer.pictures.painted import Painted, Text, in_cells
from trainer.shots.shot import Point, Shot

# Widths of lines, on the cloth and of marks: in quarters of a cell's width, and the least that cells can show
# or small pixels can show without breaking it, in pixels.
THIN, LINE = 0.5, 1.2
LEAST_THIN, LEAST_LINE = 1.3, 2.0
DASH = 8.0  # of a dashed line, and its gaps, likewise


@dataclass(frozen=True)
class Viewport:
    """The part of a screen that a picture fills.

    ``size`` are its columns and rows of cells, each ``cell_aspect`` times as high as wide and ``cell`` pixels
    across and down. Places in a picture are widths of a pixel from its top left corner, ``y`` down. The
    ``scheme`` goes with what is around the picture.
    """

    size: tuple[int, int]
    cell_aspect: float = 2.0
    cell: tuple[int, int] = (ACROSS, DOWN)
    scheme: Scheme = CLUB

    @property
    def step(self) -> float:
        """Height of a pixel over its width."""
        return self.cell_aspect * self.cell[0] / self.cell[1]

    @property
    def is_fine(self) -> bool:
        """Whether its pixels are a screen's own, and not those that cells are made from."""
        return self.cell != (ACROSS, DOWN)

    @property
    def unit(self) -> float:
        """A quarter of a cell's width: what the widths of lines are counted in."""
        return self.cell[0] / ACROSS

    @property
    def thin(self) -> float:
        """Width of the lines on the cloth."""
        return max(LEAST_THIN, THIN * self.unit)

    @property
    def line(self) -> float:
        """Width of the lines that are marks."""
        return max(LEAST_LINE, LINE * self.unit)

    @property
    def room(self) -> tuple[float, float]:
        """Width and height."""
        return float(self.size[0] * self.cell[0]), self.size[1] * self.cell[1] * self.step

    def canvas(self, ground: Colour) -> Canvas:
        """A canvas that fills it."""
        (columns, rows), (across, down) = self.size, self.cell
        return Canvas(columns * across, rows * down, ground, self.step)

    def mean(self, canvas: Canvas, cell: tuple[int, int]) -> float:
        """The mean light, 0 to 1, of a cell (column, row) of a canvas that fills it."""
        (x, y), (across, down) = cell, self.cell
        here = canvas.pixels[y * down : (y + 1) * down, x * across : (x + 1) * across]
        return float(here.mean()) if here.size else 0.0

    def middle_of(self, cell: tuple[int, int]) -> Point:
        """The middle of a cell (column, row)."""
        return (cell[0] + 0.5) * self.cell[0], (cell[1] + 0.5) * self.cell[1] * self.step

    def cell_at(self, place: Point) -> tuple[int, int]:
        """The cell (column, row) that a place lies in, which may be outside."""
        return int(place[0] // self.cell[0]), int(place[1] // (self.cell[1] * self.step))


class Projection(Protocol):
    """A table with a shot on it, seen in some way in a viewport.

    Where the balls of the shot lie and which pocket is called decide what part of the table is seen; what
    is painted there is said by marks. Equal projections share their background.
    """

    @property
    def shot(self) -> Shot:
        """The shot that is in the picture, whatever else is."""
        ...

    @property
    def viewport(self) -> Viewport:
        """Where it is seen."""
        ...

    @property
    def turns(self) -> int:
        """Quarter turns to the left with which a table from above lies as in this picture."""
        ...

    def background(self) -> Canvas:
        """The table without balls, the called pocket marked; not to be painted on."""
        ...

    def seen_at(self, place: Point) -> Point:
        """Where in the picture the middle of an object ball is seen that lies at a place (mm)."""
        ...

    def place_at(self, seen: Point) -> Point | None:
        """The place of the cloth (mm) that is seen somewhere in the picture; None where it isn't cloth."""
        ...

    def fill(self, canvas: Canvas, corners: Sequence[Point], colour: Colour, opacity: float) -> None:
        """Tint a convex part of the cloth."""
        ...

    def stroke(
        self, canvas: Canvas, points: Sequence[Point], colour: Colour, opacity: float = 1.0, dash: float = 0.0
    ) -> None:
        """Draw straight lines on the cloth from point to point."""
        ...

    def spot(self, canvas: Canvas, at: Point, colour: Colour, opacity: float) -> None:
        """Paint a disc on the cloth where the cue ball may lie."""
        ...

    def balls(self, canvas: Canvas, balls: Sequence[Ball | GhostBall]) -> None:
        """Paint balls and their shadows."""
        ...

    def cue(self, canvas: Canvas, parts: Sequence[Part]) -> None:
        """Draw the cue, over the balls: it is nearer than they are."""
        ...

    def ring(self, canvas: Canvas, at: Point, colour: Colour) -> None:
        """Outline the cue ball at a place."""
        ...

    def foreground(self, canvas: Canvas) -> None:
        """Bring what stands before everything else back over it."""
        ...


def paint(projection: Projection, marks: Sequence[Mark], onto: Canvas | None = None) -> Canvas:
    """The pixels of marks in a projection, on a canvas of the same size if one is given.

    What lies on the cloth comes first, in the order of the list; balls stand on it, rings lie over them.
    """
    canvas = projection.background().copy(onto)
    for mark in marks:
        _lay(projection, canvas, mark)
    projection.balls(canvas, [mark for mark in marks if isinstance(mark, Ball | GhostBall)])
    radius, shown = projection.shot.table.balls.cue_radius, projection.viewport.scheme.shown
    for mark in marks:
        if isinstance(mark, Cue):
            projection.cue(canvas, parts_of(mark.at, mark.toward, radius))
    for mark in marks:
        if isinstance(mark, Ring):
            projection.ring(canvas, mark.at, shown(APPEARANCES[mark.meaning].colour))
    projection.foreground(canvas)
    return canvas


def _lay(projection: Projection, canvas: Canvas, mark: Mark) -> None:
    """Paint a mark that lies on the cloth."""
    shown = projection.viewport.scheme.shown
    match mark:
        case Region(corners, meaning) if len(corners) > 2:
            colour = APPEARANCES[meaning].colour
            projection.fill(canvas, corners, colour, TINTS[meaning])
            if meaning is Meaning.ASKED:
                projection.stroke(canvas, [*corners, corners[0]], colour)
        case Line(points, meaning) if len(points) > 1:
            look = APPEARANCES[meaning]
            dash = DASH * projection.viewport.unit if look.dashed else 0.0
            projection.stroke(canvas, points, shown(look.colour), look.opacity, dash)
        case Spot(at, meaning):
            rests = meaning is Meaning.REST
            projection.spot(canvas, at, shown(APPEARANCES[meaning].colour), 0.4 if rests else 1.0)


def painted(projection: Projection, marks: Sequence[Mark]) -> Painted:
    """Marks in a projection, the labels among them as text; the pixels are good until the next picture's."""
    viewport, texts = projection.viewport, []
    for mark in marks:
        if isinstance(mark, Label):
            column, row = viewport.cell_at(projection.seen_at(mark.at))
            ink, ground = mark.colours
            ground = None if ground is None else viewport.scheme.shown(ground)
            texts.append(Text(column, row, mark.text, ink, ground))
    return Painted(paint(projection, marks, onto=scratch(viewport)), texts)


def draw(projection: Projection, marks: Sequence[Mark], glyphs: GlyphSet = "quadrants") -> Cells:
    """Marks in a projection, in cells.

    Parameters
    ----------
    projection : Projection
        Its viewport's cells have as many pixels as :func:`~trainer.pictures.fit.fit` takes.
    marks : sequence of Mark
        Balls too: see :func:`~trainer.pictures.marks.balls_of`.
    glyphs : GlyphSet
        See :func:`~trainer.pictures.fit.fit`.

    Raises
    ------
    ValueError
        For a viewport below 1 x 1.
    """
    return in_cells(painted(projection, marks), glyphs)


@lru_cache(maxsize=4)
def scratch(viewport: Viewport) -> Canvas:
    """The canvas of a viewport for pixels that are needed only until the next ones are painted.

    Memory that is used again and again is not asked back from the system each time, which takes longer
    than to fill it.
    """
    return viewport.canvas(SHADOW)
