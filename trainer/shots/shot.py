"""A shot, a batch of shots on one table, and the limits that shots are drawn within."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.aiming import Stroke
from trainer.geometry.contact import aim_at_offset
from trainer.geometry.fullness import SIDES
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.geometry.vectors import Floats, dot, unit

Point = tuple[float, float]


def point(place: Floats) -> Point:
    """A place or direction as two plain numbers."""
    x, y = place.tolist()
    return float(x), float(y)


@dataclass(frozen=True)
class Shot:
    """Cue ball, object ball, pocket and table; centres in mm.

    ``stroke`` is None where throw isn't counted; ``others`` are object balls that lie about.
    """

    table: Table
    cue_ball: Point
    object_ball: Point
    pocket: str
    stroke: Stroke | None = None
    others: tuple[Point, ...] = ()

    def abreast(self, offset: float) -> Point:
        """Where the line of aim at a signed offset (ball widths) is abreast of the object ball, mm."""
        cue, ball = np.array(self.cue_ball), np.array(self.object_ball)
        way = aim_at_offset(cue, ball, offset, self.table.balls.object_radius)
        return point(cue + way * dot(way, ball - cue))

    def beside_line(self, through: Point) -> Point:
        """Where the cue ball's way through a point passes nearest to the object ball's centre, mm."""
        cue, ball = np.array(self.cue_ball), np.array(self.object_ball)
        way = unit(np.array(through) - cue)
        return point(cue + way * dot(way, ball - cue))

    def line(self, offset: float, beside: float = 0.0) -> tuple[Point, Point]:
        """Both ends (mm) of the line of aim at a signed offset, ``beside`` ball widths to its right."""
        (cx, cy), (ax, ay) = self.cue_ball, self.abreast(offset)
        wide = self.table.ball_width * beside / math.dist((cx, cy), (ax, ay))
        right = (ay - cy) * wide, -(ax - cx) * wide
        return (cx + right[0], cy + right[1]), (ax + right[0], ay + right[1])


@dataclass(frozen=True)
class Shots:
    """``n`` shots on one table: centres (n, 2) in mm, pockets (n,) as indices into ``POCKETS``."""

    table: Table
    cue_ball: Floats
    object_ball: Floats
    pocket: NDArray[np.intp]
    stroke: Stroke | None = None

    def __len__(self) -> int:
        return len(self.pocket)

    def __getitem__(self, i: int) -> Shot:
        pocket = POCKETS[int(self.pocket[i])]
        return Shot(self.table, point(self.cue_ball[i]), point(self.object_ball[i]), pocket, self.stroke)

    def at(self, rows: NDArray[np.bool_] | NDArray[np.intp]) -> "Shots":
        """Some of them."""
        return Shots(self.table, self.cue_ball[rows], self.object_ball[rows], self.pocket[rows], self.stroke)

    @classmethod
    def of(cls, shot: Shot) -> "Shots":
        """A batch of one."""
        return cls(
            shot.table,
            np.array([shot.cue_ball], float),
            np.array([shot.object_ball], float),
            np.array([POCKETS.index(shot.pocket)]),
            shot.stroke,
        )


ANY_CUT = (0.0, 75.0)  # degrees
CUT_LIMIT = 80.0  # degrees: thinner hits can't be judged, and hardly be played


@dataclass(frozen=True)
class Limits:
    """What a drawn shot may be.

    ``cuts`` in degrees, unsigned; ``sides`` a choice of ``left`` and ``right``; distances in mm:
    ``cue_distance`` between the centres of the balls, ``pocket_distance`` from the object ball's
    centre to the pocket's target. ``fullness`` narrows the cuts further to stretches (low, high);
    empty: every fullness that the cuts allow. ``forgives`` is how far a call may be off either way and
    still pot, half the margin, in balls of fullness, from and to; None: however much. ``by_cushion``
    asks for shots that can be potted straight and by a cushion first, and how many times as many lines of
    aim must pot by the one way as by the other (1: as it comes); None: it doesn't matter.
    ``gets_away`` asks for shots after which the cue ball gets so many ball widths away from the object
    ball's place before it meets a cushion or stops, counted from contact; None: it doesn't matter.
    """

    table: Table = TABLES["snooker"]
    cuts: tuple[float, float] = ANY_CUT
    sides: tuple[str, ...] = SIDES
    pockets: tuple[str, ...] = POCKETS
    cue_distance: tuple[float, float] = (300.0, 1500.0)
    pocket_distance: tuple[float, float] = (200.0, 1500.0)
    fullness: tuple[tuple[float, float], ...] = ()
    forgives: tuple[float, float] | None = None
    by_cushion: float | None = None
    gets_away: float | None = None

    def __post_init__(self) -> None:
        low, high = self.cuts
        if not 0 <= low <= high < 90:
            raise ValueError(f"cuts of {low:g} to {high:g} degrees; allowed: 0 to under 90, in order")
        for name, chosen, allowed in (
            ("sides", self.sides, SIDES),
            ("pockets", self.pockets, POCKETS),
        ):
            if not chosen or not set(chosen) <= set(allowed):
                raise ValueError(f"{name} {chosen}; allowed: some of {', '.join(allowed)}")
        for name, (low, high) in (
            ("cue_distance", self.cue_distance),
            ("pocket_distance", self.pocket_distance),
        ):
            if not 0 <= low <= high:
                raise ValueError(f"{name} of {low:g} to {high:g} mm; allowed: 0 or more, in order")
        if self.forgives is not None:
            low, high = self.forgives
            if not 0 <= low <= high:
                raise ValueError(f"forgives {low:g} to {high:g} balls; allowed: 0 or more, in order")
        if self.by_cushion is not None and not self.by_cushion >= 1:
            raise ValueError(f"by_cushion {self.by_cushion:g} times as wide; allowed: 1 or more")

    def played(self, stroke: Stroke) -> "Limits":
        """The same with a stroke whose throw counts."""
        return replace(self, table=replace(self.table, stroke=stroke))

    @property
    def sines(self) -> tuple[tuple[float, float], ...]:
        """The stretches of ``sin |cut|`` that are allowed, low to high."""
        # Rounded, since the last bit of a sine is not the same on every machine.
        low, high = (round(math.sin(math.radians(cut)), 12) for cut in self.cuts)
        if not self.fullness:
            return ((low, high),)
        parts = sorted((max(low, 1 - f[1]), min(high, 1 - f[0])) for f in self.fullness)
        return tuple((a, b) for a, b in parts if b > a)


class NoSuchShot(ValueError):
    """The limits leave no shot; the message names the limit that stands in the way."""
