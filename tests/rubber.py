"""The rubber of a table as shapely polygons, built afresh from the table's numbers.

A sharp jaw is a parallelogram between cushion and facing; shapely rounds its nose by an inward and an
outward buffer, and it is cut off level with the inner end of the facing.
"""

import cmath
import math
from functools import cache

import shapely
from shapely.affinity import translate

from trainer.geometry.tables import POCKETS, Table

ARC = 1000  # straight pieces to a quarter circle: 40 mm of radius are true to 1.3e-5 mm


def noses(table: Table, name: str) -> tuple[complex, complex]:
    """Both ends of a pocket's mouth; the order is no matter."""
    c, m = table.corner / math.sqrt(2), table.middle / 2
    end, side = name.split("-")
    y, inward = (table.width, -1) if side == "left" else (0.0, 1)
    if end == "middle":
        return complex(table.length / 2 - m, y), complex(table.length / 2 + m, y)
    x, along = (table.length, -1) if end == "top" else (0.0, 1)
    return complex(x + along * c, y), complex(x, y + inward * c)


def axis(table: Table, name: str) -> complex:
    """The unit direction into a pocket."""
    end, side = name.split("-")
    across = 1j if side == "left" else -1j
    if end == "middle":
        return across
    return (across + (1 if end == "top" else -1)) / math.sqrt(2)


@cache
def rubber(table: Table) -> dict[str, tuple[shapely.Polygon, shapely.Polygon]]:
    """Both jaws of each pocket, each with the whole cushion beside it."""
    return {name: tuple(_jaw(table, name, nose) for nose in noses(table, name)) for name in POCKETS}


@cache
def all_rubber(table: Table) -> shapely.Geometry:
    """All cushions and jaws of a table, prepared."""
    whole = shapely.union_all([jaw for pair in rubber(table).values() for jaw in pair])
    shapely.prepare(whole)
    return whole


def deep(table: Table, name: str) -> float:
    """How far behind the mouth a ball drops, mm."""
    jaw = table.middle_jaw if name.startswith("middle") else table.corner_jaw
    half = math.radians(jaw.facing) / 2
    turn = 0.0 if name.startswith("middle") else math.pi / 4
    return max(jaw.depth, jaw.rounding / math.tan(half) * math.sin(2 * half - turn))


def _jaw(table: Table, name: str, nose: complex) -> shapely.Polygon:
    is_middle = name.startswith("middle")
    jaw = table.middle_jaw if is_middle else table.corner_jaw
    c, m = table.corner / math.sqrt(2), table.middle / 2
    if nose.imag in (0.0, table.width):  # along the table
        outward = -1j if nose.imag == 0 else 1j
        other = table.length / 2 if not is_middle else (0.0 if nose.real < table.length / 2 else table.length)
        away = 1.0 if other > nose.real else -1.0
        run, after = table.length / 2 - m - c, table.corner_jaw if is_middle else table.middle_jaw
    else:
        outward = -1.0 if nose.real == 0 else 1.0
        away = 1j if nose.imag < table.width / 2 else -1j
        run, after = table.width - 2 * c, table.corner_jaw
    half = run - after.rounding / math.tan(math.radians(after.facing) / 2)  # up to where that is round
    angle = math.radians(jaw.facing)
    facing = max(
        (away * cmath.exp(1j * s * angle) for s in (1, -1)), key=lambda f: (f * outward.conjugate()).real
    )
    long = deep(table, name) / (facing * axis(table, name).conjugate()).real
    thick = [0, 400 * facing, 400 * facing + half * away, half * away]
    sharp = shapely.Polygon([(z.real, z.imag) for z in thick])
    rounded = sharp
    if jaw.rounding:
        rounded = sharp.buffer(-jaw.rounding, join_style="mitre", mitre_limit=50)
        rounded = rounded.buffer(jaw.rounding, quad_segs=ARC)
        # the far corners stay sharp: only the nose is rounded
        back = [200 * away, 600 * facing + 200 * away, 600 * facing + 5000 * away, 5000 * away]
        rounded = rounded.union(sharp.intersection(shapely.Polygon([(z.real, z.imag) for z in back])))
    level = (long * facing * outward.conjugate()).real
    strip = [5000 * away, -5000 * away, -5000 * away + level * outward, 5000 * away + level * outward]
    if level == 0:
        strip = [5000 * away, -5000 * away, -5000 * away - outward, 5000 * away - outward]
    cut = rounded.intersection(shapely.Polygon([(z.real, z.imag) for z in strip]))
    return translate(cut, nose.real, nose.imag)
