"""A ball rolled over a table in steps, by distances to polygons of rubber alone.

Nothing here shares a formula with the trainer: the rubber is built afresh, a step is never longer than
the ball's distance from it, the ball touches where no distance is left, and it comes off along the
normal of the nearest point.
"""

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from first import FIRST_TABLES
from rubber import all_rubber, axis, deep, noses, rubber

from trainer.geometry.pockets import Window
from trainer.geometry.tables import POCKETS, TABLES, Jaw, Table

EACH_TABLE = pytest.mark.parametrize("table", FIRST_TABLES, ids=lambda table: table.name)
OWN = dataclasses.replace(
    TABLES["pool-8"],
    name="own",
    corner_jaw=Jaw(facing=138.0, depth=45.0, rounding=12.0),
    middle_jaw=Jaw(facing=100.0, depth=25.0, rounding=6.0),
)
# Its jaws stand for those of pool in the quick tests.
_SHAPES = [pytest.param(t, marks=pytest.mark.slow) if t == TABLES["pool-9"] else t for t in FIRST_TABLES]
EACH_SHAPE = pytest.mark.parametrize("table", [*_SHAPES, OWN], ids=lambda table: table.name)

TOUCH = 1e-7  # mm of daylight that counts as none
LEAST_STEP = 1e-4  # mm


def places(table: Table, n: int, seed: int) -> np.ndarray:
    """Balls all over the cloth, a third of them frozen to a cushion, none past a corner's mouth."""
    rng = np.random.default_rng(seed)
    r, size = table.balls.object_radius, np.array([table.length, table.width])
    spots = r + rng.random((3 * n, 2)) * (size - 2 * r)
    spots = spots[np.minimum(spots, size - spots).sum(axis=1) > table.corner / math.sqrt(2) + 1][:n]
    third = n // 3
    axes, high = rng.integers(0, 2, third), rng.integers(0, 2, third)
    frozen = spots[:third].copy()
    frozen[np.arange(third), axes] = np.where(high, size[axes] - r, r)
    in_play = np.minimum(frozen, size - frozen).sum(axis=1) > table.corner / math.sqrt(2) + 1
    spots[:third][in_play] = frozen[in_play]
    return spots


def toward(table: Table, spot: np.ndarray, name: str, part: float) -> np.ndarray:
    """The unit way from a ball to a place on the mouth's line, in half mouths from its middle."""
    a, b = noses(table, name)
    aim = (a + b) / 2 + (b - a) / 2 * part - complex(*spot)
    return np.array([aim.real, aim.imag]) / abs(aim)


def clear(table: Table, spots: np.ndarray, way: np.ndarray, pocket: np.ndarray) -> np.ndarray:
    """How far each straight way, through the pocket and on, stays from the pocket's rubber, (n,)."""
    far = np.hypot(table.length, table.width)
    lines = shapely.linestrings(np.stack([spots, spots + way * far], axis=1))
    found = np.full((2, len(spots)), np.inf)
    for k, name in enumerate(POCKETS):
        rows = np.flatnonzero(pocket == k)
        for j in (0, 1):
            found[j, rows] = shapely.distance(rubber(table)[name][j], lines[rows])
    return np.asarray(found.min(axis=0))


def through(table: Table, spots: np.ndarray, way: np.ndarray, pocket: np.ndarray) -> np.ndarray:
    """Whether each straight way goes out between the noses of its pocket, (n,)."""
    far = np.hypot(table.length, table.width)
    lines = shapely.linestrings(np.stack([spots, spots + way * far], axis=1))
    ends = [[(z.real, z.imag) for z in noses(table, name)] for name in POCKETS]
    return np.asarray(shapely.intersects(shapely.linestrings(ends)[pocket], lines))


@dataclass
class Touch:
    """Where a rolled ball's centre is as it touches the rubber, and the point that it touches."""

    at: np.ndarray
    on: np.ndarray


def roll(table: Table, start: np.ndarray, way: np.ndarray) -> Touch | None:
    """Roll a ball until it touches; None if it leaves the table untouched."""
    rub, radius = all_rubber(table), table.balls.object_radius
    at = start.copy()
    size = np.array([table.length, table.width])
    while (at > -150).all() and (at < size + 150).all():
        point = shapely.Point(at)
        gap = rub.distance(point) - radius
        if gap < TOUCH:
            near = np.array(shapely.shortest_line(point, rub).coords[1])
            if (near - at) @ way > 0:
                return Touch(at, near)
        at = at + way * max(gap, LEAST_STEP)
    return None


def rolls_in(
    table: Table, start: np.ndarray, way: np.ndarray, name: str, restitution: float, most: int
) -> bool:
    """Whether a ball drops into a pocket off any jaw or cushion, after ``most`` contacts at most."""
    rub, radius = all_rubber(table), table.balls.object_radius
    into, (a, b) = axis(table, name), noses(table, name)
    inward = np.array([into.real, into.imag])
    mouth = np.array([(a + b).real, (a + b).imag]) / 2
    at, contacts = start.copy(), 0
    size = np.array([table.length, table.width])
    while True:
        if (at - mouth) @ inward >= deep(table, name):
            return True
        if (at < -150).any() or (at > size + 150).any():
            return False
        point = shapely.Point(at)
        gap = rub.distance(point) - radius
        near = np.array(shapely.shortest_line(point, rub).coords[1]) if gap < TOUCH else at
        if (near - at) @ way > 0:
            # Only this pocket's rubber counts: anywhere else the ball is lost.
            if contacts == most or min(j.distance(shapely.Point(near)) for j in rubber(table)[name]) > 1e-6:
                return False
            normal = (at - near) / math.hypot(*(at - near))
            way = way - (1 + restitution) * (way @ normal) * normal
            way = way / math.hypot(*way)
            contacts += 1
            gap = 0.0
        at = at + way * max(gap, LEAST_STEP)


def turned(way: np.ndarray, angle: np.ndarray | float) -> np.ndarray:
    """Directions turned left by an angle, radians."""
    z = (way[..., 0] + 1j * way[..., 1]) * np.exp(1j * np.asarray(angle))
    return np.stack([z.real, z.imag], axis=-1)


def swap(name: str, word: str) -> str:
    """The pocket's name on the other side (``left``) or at the other end (``top``)."""
    end, side = name.split("-")
    if word == "left":
        return f"{end}-{'right' if side == 'left' else 'left'}"
    return f"{ {'top': 'baulk', 'baulk': 'top'}.get(end, end) }-{side}"


def width(opening: Window) -> np.ndarray:
    """How wide windows are, radians; 0 where closed."""
    sine = opening.right[:, 0] * opening.left[:, 1] - opening.right[:, 1] * opening.left[:, 0]
    cosine = (opening.right * opening.left).sum(axis=1)
    return np.where(opening.is_open, np.arctan2(sine, cosine), 0.0)
