"""Where a point of the table lies in a plan view: one scale, quarter turns, never a mirror."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.shots.shot import Point

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


def frame(
    discs: Sequence[tuple[Point, float]],
    turn: int,
    room: tuple[float, float],
    margin: float,
) -> Frame:
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
        scale,
        turn,
        room[0] / 2 - scale * (low_x + high_x) / 2,
        room[1] / 2 - scale * (low_y + high_y) / 2,
    )


def best_frame(
    discs: Sequence[tuple[Point, float]],
    aim: Point,
    room: tuple[float, float],
    margin: float,
) -> Frame:
    """Of the four quarter turns one that shows the discs large and ``aim`` pointing most upward.

    ``aim`` is a direction on the table: a player sees it going away, and so up the picture.
    """
    frames = [frame(discs, turn, room, margin) for turn in range(4)]
    least = NEARLY_AS_LARGE * max(f.scale for f in frames)
    large = [f for f in frames if f.scale >= least]
    return min(large, key=lambda f: (round(f.way(aim)[1] / f.scale / math.hypot(*aim), 9), f.turn))
