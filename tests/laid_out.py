"""A layout as a person with a tape measure has it: read from words, its fullness from complex numbers.

The pocket's ends are those of the rubber as shapely has it; nothing of the trainer is used but the
numbers of the table.
"""

import cmath
import math
import re
from fractions import Fraction
from functools import cache

import numpy as np
import shapely
from rubber import axis, noses, rubber

from trainer.geometry.tables import Table

NUMBER = r"(\d+(?:\.\d+)?(?: 1/2)?|1/2)"
PLACE = re.compile(
    rf"(?:on the (?P<mark>[a-zA-Z -]+) \()?{NUMBER} (mm|in|diamonds?) from the (baulk|top) cushion, "
    rf"{NUMBER} from the (left|right)-hand one\)?(?: \({NUMBER} and {NUMBER} (mm|in)\))?"
)
UNIT = {"mm": 1.0, "in": 25.4}


def count(text: str) -> float:
    """``2 1/2``, ``640``, ``12.76``."""
    return float(sum(Fraction(part) for part in text.split()))


def placed(words: str, table: Table) -> complex:
    """Where a ball goes, mm: x up the table, y to the left."""
    found = PLACE.fullmatch(words)
    assert found, words
    _, along, unit, end, across, side, *plain = found.groups()
    if unit.startswith("diamond"):
        assert table.name.startswith("pool") or table.diamonds == 8  # a pool table, or one like it
        sizes = table.length / 8, table.width / 4
        assert plain[2], words
        for said, diamonds, size in zip(plain, (along, across), sizes, strict=False):
            assert abs(count(said) * UNIT[plain[2]] - count(diamonds) * size) < 0.0051 * UNIT[plain[2]] + 0.05
    else:
        sizes = UNIT[unit], UNIT[unit]
        assert plain == [None] * 3, words
    x, y = count(along) * sizes[0], count(across) * sizes[1]
    return complex(x if end == "baulk" else table.length - x, y if side == "right" else table.width - y)


@cache
def edges(table: Table, pocket: str) -> tuple[np.ndarray, np.ndarray]:
    """Where the centre of a ball that touches a jaw may be, right-hand and left-hand jaw, as points."""
    into = axis(table, pocket)
    jaws = []
    for jaw in rubber(table)[pocket]:
        rim = shapely.buffer(jaw, table.balls.object_radius, quad_segs=100).exterior
        x, y = np.array(rim.coords).T
        jaws.append(x + 1j * y)
    mouth = sum(noses(table, pocket)) / 2
    jaws.sort(key=lambda rim: ((rim.mean() - mouth) * into.conjugate()).imag)
    return jaws[0], jaws[1]


def sine(table: Table, cue: complex, ball: complex, pocket: str) -> float:
    """The signed sine of the cut that sends the ball down the middle of what the jaws leave free, + left."""
    toward = sum(noses(table, pocket)) / 2 - ball
    right, left = (np.angle((rim - ball) / toward) for rim in edges(table, pocket))
    # The cushions lie to the sides: the innermost of each jaw's rubber is what a ball has to pass.
    way = toward / abs(toward) * cmath.exp(1j * (right.max() + left.min()) / 2)
    apart = 2 * math.sqrt(table.balls.cue_radius * table.balls.object_radius)
    aim = ball - way * apart - cue
    assert abs(cmath.phase(way / aim)) < math.pi / 2
    return (way / aim * abs(aim)).imag


def named(kind: str) -> float:
    """The fullness that a kind of shot is named after."""
    band = kind.split(maxsplit=1)[0]
    return {"full": 1.0, "thinner": 1 / 32}.get(band) or float(Fraction(band))
