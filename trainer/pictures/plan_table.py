"""The table in plan: where its points lie, how large it is shown, and how it and its pockets are drawn."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from trainer.geometry.tables import POCKETS, Table
from trainer.pictures import colours
from trainer.pictures.canvas import Canvas
from trainer.pictures.projection import Viewport
from trainer.shots.shot import Point

MARGIN = 2.0  # around the table or the shot, in quarters of a cell's width
NEARLY_AS_LARGE = 0.9  # a turn that shows the shot this large may win by showing it upright
_QUARTERS = ((1, 0), (0, 1), (-1, 0), (0, -1))  # cosine and sine of 0 to 3 quarter turns left


@dataclass(frozen=True)
class Frame:
    """Table (mm) to picture (widths of a pixel, ``y`` down).

    ``turn`` counts quarter turns to the left; at 0 the table's ``x`` runs to the right and its ``y``
    up the screen. ``scale`` is pixel widths a mm, (``left``, ``top``) where the table's origin lies.
    """

    scale: float
    turn: int
    left: float
    top: float

    def at(self, point: Point) -> Point:
        """Where a point of the table lies in the picture."""
        x, y = self.way(point)
        return self.left + x, self.top + y

    def way(self, vector: Point) -> Point:
        """A direction or distance on the table, in the picture."""
        c, s = _QUARTERS[self.turn % 4]
        x, y = vector
        return self.scale * (c * x - s * y), -self.scale * (s * x + c * y)

    def table(self, place: Point) -> Point:
        """The point of the table (mm) that a place in the picture shows."""
        c, s = _QUARTERS[self.turn % 4]
        x, y = (place[0] - self.left) / self.scale, (self.top - place[1]) / self.scale
        return c * x + s * y, c * y - s * x


def frame(discs: Sequence[tuple[Point, float]], turn: int, room: tuple[float, float], margin: float) -> Frame:
    """The largest frame that holds every disc (centre, radius in mm), in the middle of the room.

    Parameters
    ----------
    discs : sequence of ((x, y), radius)
        mm.
    turn : int
        Quarter turns to the left.
    room : (float, float)
        Width and height of the picture, widths of a pixel.
    margin : float
        To keep free on each side, widths of a pixel.
    """
    plain = Frame(1.0, turn, 0.0, 0.0)
    seen = [(*plain.at(centre), radius) for centre, radius in discs]
    low_x, high_x = min(x - r for x, _, r in seen), max(x + r for x, _, r in seen)
    low_y, high_y = min(y - r for _, y, r in seen), max(y + r for _, y, r in seen)
    margin = min(margin, 0.1 * min(room))
    scale = min((room[0] - 2 * margin) / (high_x - low_x), (room[1] - 2 * margin) / (high_y - low_y))
    return Frame(
        scale, turn, room[0] / 2 - scale * (low_x + high_x) / 2, room[1] / 2 - scale * (low_y + high_y) / 2
    )


def best_frame(
    discs: Sequence[tuple[Point, float]], aim: Point, room: tuple[float, float], margin: float
) -> Frame:
    """Of the four quarter turns one that shows the discs large and ``aim`` pointing most upward.

    ``aim`` is a direction on the table: a player sees it going away, and so up the picture.
    """
    frames = [frame(discs, turn, room, margin) for turn in range(4)]
    least = NEARLY_AS_LARGE * max(f.scale for f in frames)
    large = [f for f in frames if f.scale >= least]
    return min(large, key=lambda f: (round(f.way(aim)[1] / f.scale / math.hypot(*aim), 9), f.turn))


def upright(x: float, y: float) -> int:
    """How many quarter turns to the left bring a direction on the table nearest to upward."""
    return min(range(4), key=lambda turn: Frame(1.0, turn, 0.0, 0.0).way((x, y))[1])


# How the table is drawn outside the noses. Sizes in mm, chosen to look right.
CUSHION = 46.0  # nose to rail
RAIL = 78.0
HOLE_BACK = 0.62  # middle of a corner's hole behind its mouth, in mouths
CORNER_RUN = 1.0  # a corner's facing runs back this much along the rail for each mm outward
MIDDLE_RUN = -0.35  # a middle pocket narrows outward

SPOT = 5.0  # mm: radius of a spot
LEAST_DOT = 0.8  # of it in the picture, in quarters of a cell's width
DOT_OPACITY = 0.6
LEAST_HOLE = 3.0  # radius in the picture, in quarters of a cell's width


@dataclass(frozen=True)
class Mouth:
    """How one pocket is drawn: its jaws, the rail ends of its facings, its hole (mm)."""

    jaws: tuple[Point, Point]
    backs: tuple[Point, Point]
    hole: Point
    radius: float


@lru_cache(maxsize=16)
def mouths(table: Table) -> dict[str, Mouth]:
    """The pockets as they are drawn, by name. The jaws are the true ones."""
    length, width = table.size
    found = {}
    for name, (right, left) in zip(POCKETS, table.jaws.tolist(), strict=True):
        middle = ((right[0] + left[0]) / 2, (right[1] + left[1]) / 2)
        is_corner = not name.startswith("middle")
        mouth = math.dist(right, left)
        backs = []
        for jaw, other in ((right, left), (left, right)):
            on_end = jaw[0] in (0.0, length)  # the jaw ends an end cushion, else a side cushion
            sign_x = 1.0 if jaw[0] > length / 2 else -1.0
            sign_y = 1.0 if jaw[1] > width / 2 else -1.0
            if is_corner:
                run = CUSHION * CORNER_RUN
                dx, dy = (CUSHION, run) if on_end else (run, CUSHION)
                backs.append((jaw[0] + sign_x * dx, jaw[1] + sign_y * dy))
            else:
                run = CUSHION * MIDDLE_RUN * math.copysign(1.0, jaw[0] - other[0])
                backs.append((jaw[0] + run, jaw[1] + sign_y * CUSHION))
        out_x = 0.0 if not is_corner else math.copysign(math.sqrt(0.5), middle[0] - length / 2)
        out_y = math.copysign(1.0 if not is_corner else math.sqrt(0.5), middle[1] - width / 2)
        far = mouth * HOLE_BACK if is_corner else CUSHION + 0.1 * mouth
        hole = (middle[0] + out_x * far, middle[1] + out_y * far)
        radius = mouth * (0.56 if is_corner else 0.46)
        found[name] = Mouth((tuple(right), tuple(left)), (backs[0], backs[1]), hole, radius)
    return found


def whole_frame(table: Table, viewport: Viewport, turned: int = 0) -> Frame:
    """Where the whole table lies in a viewport."""
    rim = CUSHION + RAIL
    length, width = table.size
    corners = [((-rim, -rim), 0.0), ((length + rim, width + rim), 0.0)]
    return frame(corners, turned, viewport.room, MARGIN * viewport.unit)


def place_on_whole(table: Table, viewport: Viewport, cell: tuple[int, int]) -> Point:
    """The place (mm) that a cell (column, row) shows in a picture of the whole table."""
    return whole_frame(table, viewport).table(viewport.middle_of(cell))


def pocket_at(table: Table, place: Point, slack: float = 0.0) -> str | None:
    """The pocket whose drawn hole a place (mm) lies in, or within ``slack`` mm of, if any does."""
    for name, mouth in mouths(table).items():
        if math.dist(mouth.hole, place) <= mouth.radius + slack:
            return name
    return None


def paint_table(
    canvas: Canvas, view: Frame, table: Table, viewport: Viewport, called: str | None = None
) -> None:
    """Paint the empty table, rails and room included.

    The pocket that is ``called`` is the darkest one.
    """
    length, width = table.size
    rim = CUSHION + RAIL
    _bar(canvas, view, (-rim, -rim), (length + rim, width + rim), colours.RAIL_EDGE)
    rim -= RAIL * 0.16
    _bar(canvas, view, (-rim, -rim), (length + rim, width + rim), colours.RAIL)
    # The pockets' throats show the cloth going down, so cloth lies under the cushions too.
    _bar(canvas, view, (-CUSHION, -CUSHION), (length + CUSHION, width + CUSHION), colours.CLOTH)
    _paint_lines(canvas, view, table, viewport)
    drawn = mouths(table)
    for name, mouth in drawn.items():
        x, y = view.at(mouth.hole)
        dark = colours.POCKET if called in (None, name) else colours.POCKET_QUIET
        canvas.disc(x, y, max(LEAST_HOLE * viewport.unit, mouth.radius * view.scale), dark)
        throat = [*mouth.jaws, mouth.backs[1], mouth.backs[0]]
        canvas.convex([view.at(p) for p in throat], dark, 0.55)
    for nose, back in cushions(table, drawn):
        canvas.convex([view.at(p) for p in (*nose, *back[::-1])], colours.CUSHION)


def _bar(canvas: Canvas, view: Frame, low: Point, high: Point, colour: colours.Colour) -> None:
    (x0, y0), (x1, y1) = view.at(low), view.at(high)
    canvas.rectangle(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1), colour)


def cushions(table: Table, drawn: dict[str, Mouth]) -> list[tuple[tuple[Point, Point], tuple[Point, Point]]]:
    """The six cushions: the ends of the nose, and of the rail side. Each runs to the next left jaw."""
    around = ("baulk-right", "middle-right", "top-right", "top-left", "middle-left", "baulk-left")
    found = []
    for here, after in zip(around, (*around[1:], around[0]), strict=True):
        a, b = drawn[here], drawn[after]
        # Going round with the table on the left a cushion starts at a left jaw, ends at a right one.
        found.append(((a.jaws[1], b.jaws[0]), (a.backs[1], b.backs[0])))
    return found


def _paint_lines(canvas: Canvas, view: Frame, table: Table, viewport: Viewport) -> None:
    ink, opacity = colours.CLOTH_LINE, 0.5
    start, end = view.at((table.baulk, 0.0)), view.at((table.baulk, table.width))
    canvas.line(start, end, viewport.thin, ink, opacity)
    if table.d_radius > 0:
        x, y = view.at((table.baulk, table.width / 2))
        toward_baulk = view.way((-1.0, 0.0))
        canvas.ring(x, y, table.d_radius * view.scale, viewport.thin, ink, opacity, half=toward_baulk)
    for spot in table.spots:
        paint_dot(canvas, viewport, view.at(spot), max(LEAST_DOT * viewport.unit, SPOT * view.scale))


def paint_dot(canvas: Canvas, viewport: Viewport, place: Point, radius: float) -> None:
    """Paint a spot of the table that is seen at a place, so large.

    In cells it is half a cell, which is about square: else it would be a dash, or a smudge over four of them.
    """
    (x, y), (wide, high) = place, (viewport.cell[0], viewport.cell[1] * viewport.step / 2)
    if viewport.is_fine:
        canvas.disc(x, y, radius, colours.CLOTH_LINE, DOT_OPACITY)
        return
    left, top = x // wide * wide, y // high * high
    corners = [(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]
    canvas.convex(corners, colours.CLOTH_LINE, DOT_OPACITY / 3)
