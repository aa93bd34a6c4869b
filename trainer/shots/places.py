"""Places on the cloth that a person finds: in round numbers from the cushions, in diamonds, on spots."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.tables import INCH, Table
from trainer.geometry.vectors import Floats
from trainer.shots.shot import Point

STEP = {"mm": 10.0, "in": INCH / 2}  # mm: what counts as a round number of each unit
COARSE = {"mm": 5, "in": 4}  # so many of these steps are a very round number
CUSHIONS = (("baulk", "top"), ("right-hand", "left-hand"))  # at the low and at the high end of x and y
SAME = 1e-6  # mm


@dataclass(frozen=True)
class Measure:
    """How far a ball's centre lies from a cushion's nose: ``mm``, and as it is said, ``2 1/2 diamonds``."""

    cushion: str
    mm: float
    said: str


@dataclass(frozen=True)
class Place:
    """A place for a ball's centre, mm, as measured along and across the table.

    ``on`` names the spot or the line that it lies on, if it does; ``also`` is the distances once more in
    plain units where they are said in diamonds.
    """

    at: Point
    along: Measure
    across: Measure
    on: str = ""
    also: str = ""

    @property
    def words(self) -> str:
        """``640 mm from the top cushion, 320 from the left-hand one``, ``on the centre spot (...)``."""
        along = f"{self.along.said} from the {self.along.cushion} cushion"
        across = f"{self.across.said.rpartition(' ')[0]} from the {self.across.cushion}"
        if self.on:
            return f"on the {self.on} ({along}, {across} one)"
        return f"{along}, {across} one" + (f" ({self.also})" if self.also else "")


BAULK_LINE = "baulk line"


def half(count: int) -> str:
    """Half of a whole number as a person writes it: ``2``, ``2 1/2``, ``1/2``."""
    whole, rest = divmod(count, 2)
    return " ".join([str(whole)] * (whole > 0 or not rest) + ["1/2"] * rest)


def landmarks(table: Table) -> Floats:
    """The spots and, where the table has diamonds, all that lies square to halves of them, (n, 2) mm."""
    places = list(table.spots)
    if table.diamonds:
        along, across = _gaps(table)
        places += [
            (k * along, j * across) for k in range(1, 2 * table.diamonds) for j in range(1, table.diamonds)
        ]
    return np.array(places, float).reshape(-1, 2)


def baulk_places(table: Table, unit: str) -> Floats:
    """The round places on the baulk line, (n, 2) mm; none on a table with diamonds: it isn't drawn there."""
    if table.diamonds:
        return np.empty((0, 2))
    across = np.arange(STEP[unit], table.width - STEP[unit] / 2, STEP[unit])
    return snapped(table, np.stack([np.full(len(across), table.baulk), across], axis=-1), unit, along=False)


def snapped(table: Table, points: ArrayLike, unit: str, coarse: int = 1, along: bool = True) -> Floats:
    """The round places next to some points (..., 2), mm: whole steps from the nearer cushion each way.

    ``coarse`` steps are taken for one; without ``along`` only across the table.
    """
    found = np.array(points, float)
    step = STEP[unit] * coarse
    for axis in (0, 1) if along else (1,):
        size, value = table.size[axis], found[..., axis]
        most = np.floor(size / 2 / step)
        low = np.minimum(np.round(value / step), most) * step
        high = size - np.minimum(np.round((size - value) / step), most) * step
        found[..., axis] = np.where(value <= size / 2, low, high)
    return found


def place_at(table: Table, point: Point, unit: str) -> Place:
    """How a place is found that is one of :func:`landmarks`, :func:`baulk_places` or :func:`snapped`."""
    x, y = point
    spot = next((s for s in table.spots if abs(s[0] - x) < SAME and abs(s[1] - y) < SAME), None)
    on = "" if spot is None else _spot_name(table, spot)
    if not on and table.diamonds:
        counts = [round(value / gap) for value, gap in zip(point, _gaps(table), strict=True)]
        if all(abs(k * gap - v) < SAME for k, gap, v in zip(counts, _gaps(table), point, strict=True)):
            halves = (2 * table.diamonds, table.diamonds)
            along, across = (_in_diamonds(table, axis, counts[axis], halves[axis]) for axis in (0, 1))
            plain = [number(measure.mm, unit) for measure in (along, across)]
            return Place(point, along, across, also=f"{plain[0]} and {plain[1]} {unit}")
    if not on and not table.diamonds and abs(x - table.baulk) < SAME:
        on = BAULK_LINE
    return Place(point, _measure(table, 0, x, unit), _measure(table, 1, y, unit), on)


def number(mm: float, unit: str) -> str:
    """A length as a number of a unit: halves as ``12 1/2``, others with one decimal (mm) or two (in)."""
    if unit == "mm":
        return f"{round(mm, 1):g}" if mm < 1e5 else f"{mm:.0f}"
    halves = mm / STEP["in"]
    return half(round(halves)) if abs(halves - round(halves)) < SAME else f"{round(mm / INCH, 2):g}"


def _gaps(table: Table) -> tuple[float, float]:
    """Half a diamond along and across, mm."""
    return table.length / (2 * table.diamonds), table.width / table.diamonds


def _measure(table: Table, axis: int, value: float, unit: str) -> Measure:
    size = table.size[axis]
    far = value > size / 2
    mm = size - value if far else value
    return Measure(CUSHIONS[axis][far], mm, f"{number(mm, unit)} {unit}")


def _in_diamonds(table: Table, axis: int, count: int, whole: int) -> Measure:
    far = count > whole / 2
    halves = whole - count if far else count
    name = "diamond" if halves <= 2 else "diamonds"
    return Measure(CUSHIONS[axis][far], halves * _gaps(table)[axis], f"{half(halves)} {name}")


def _spot_name(table: Table, spot: Point) -> str:
    """What a spot is called by where it lies."""
    x, y = spot
    middle = table.width / 2
    if abs(x - table.baulk) < SAME and abs(y - middle) < SAME:
        return "spot in the middle of the baulk line"
    if table.d_radius and abs(x - table.baulk) < SAME and abs(abs(y - middle) - table.d_radius) < SAME:
        return f"spot at the {'left' if y > middle else 'right'}-hand end of the D"
    if abs(x - table.length / 2) < SAME and abs(y - middle) < SAME:
        return "centre spot"
    return "spot"
