"""A layout as a person with a tape measure has it: read from words, its fullness from complex numbers.

The pocket's ends are those of the rubber as shapely has it, throw is friction step by step between two
spheres in space; nothing of the trainer is used but the numbers of the table.
"""

import cmath
import math
import re
from dataclasses import dataclass
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
NAMES = "object ball|cue ball|aim|played|throw|forgives|fullness"
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


def blocks(text: str) -> list[dict[str, str]]:
    """What a printed card says of each layout, by name; ``plan`` holds the rows of the drawing."""
    found: list[dict[str, str]] = []
    name = ""
    for line in text.splitlines():
        if head := re.fullmatch(r"(\d+)\. (.+), ([a-z-]+) pocket", line):
            found.append({"number": head[1], "kind": head[2], "pocket": head[3], "plan": ""})
        elif found and re.match(r"   (\||[o@]-)", line):
            found[-1]["plan"] += line[3:53] + "\n"
            found[-1]["boxes"] = found[-1].get("boxes", "") + line[53:].strip() + "\n"
        elif found and (said := re.match(rf"   ({NAMES})  +(.+)", line)):
            name = said[1]
            found[-1][name] = said[2]
        elif found and line.startswith(" " * 16):
            found[-1][name] += " " + line.strip()
    return found


@dataclass(frozen=True)
class Pace:
    """How a layout says that it is played: m/s, parts of natural roll, parts of the most side, + right."""

    speed: float
    roll: float
    side: float = 0.0

    @classmethod
    def of(cls, words: str) -> "Pace":
        """``medium (1.4 m/s), natural roll, 0.5 of the most left-hand side; pots from slow to fast``."""
        found = re.match(
            r"(?:(?:slow|medium|fast) \()?([\d.]+) m/s\)?, (stun|natural roll|([\d.]+) of natural roll)"
            r"(?:, ([\d.]+) of the most (left|right)-hand side)?; ",
            words,
        )
        assert found, words
        roll = {"stun": 0.0, "natural roll": 1.0}.get(found[2]) or float(found[3] or 0)
        side = float(found[4] or 0) * (-1 if found[5] == "left" else 1)
        return cls(float(found[1]), roll, side)


# mu = a + b exp(-c v), v in m/s of sliding: Alciatore, TP A.28.
A, B, C = 9.951e-3, 0.108, 1.088
STEPS = 1000  # of the impulse along the line of centres
G, CLOTH, ROLLS = 9.80665, 0.2, 0.01  # m/s^2; sliding and rolling friction of a ball on cloth


def after(table: Table, cuts: np.ndarray, pace: Pace) -> tuple[np.ndarray, np.ndarray]:
    """Velocity and spin (n, 3) of object balls after hits with these signed cuts (n,), + left.

    ``x`` is along the line of centres from cue ball to object ball, ``z`` up; m/s and rad/s.
    """
    cuts = np.atleast_1d(np.asarray(cuts, float))
    up, along = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
    balls = table.balls
    radii, masses = (balls.cue_radius / 1000, balls.object_radius / 1000), (balls.cue_mass, balls.object_mass)
    v = pace.speed * np.stack([np.cos(cuts), -np.sin(cuts), 0 * cuts], axis=-1)
    # The most side of a clean hit is a spin of 1.25 of the speed; right-hand side turns to the left.
    spin = (pace.roll * np.cross(up, v) + pace.side * 1.25 * pace.speed * up) / radii[0]
    o, turned = np.zeros_like(v), np.zeros_like(v)
    light = masses[0] * masses[1] / (masses[0] + masses[1])
    push = (2 * light * v[:, :1]) / STEPS  # nothing is lost: twice what ends their closing

    def slides():  # type: ignore[no-untyped-def]
        u = v + np.cross(spin, radii[0] * along) - o - np.cross(turned, -radii[1] * along)
        return u - u[:, :1] * along

    mu = A + B * np.exp(-C * np.linalg.norm(slides(), axis=1, keepdims=True))
    for _ in range(STEPS):
        u = slides()
        size = np.linalg.norm(u, axis=1, keepdims=True)
        rub = u / np.maximum(size, 1e-300) * np.minimum(mu * push, 2 / 7 * light * size)
        v, o = v - (push * along + rub) / masses[0], o + (push * along + rub) / masses[1]
        spin = spin + np.cross(radii[0] * along, -rub) / (0.4 * masses[0] * radii[0] ** 2)
        turned = turned + np.cross(-radii[1] * along, rub) / (0.4 * masses[1] * radii[1] ** 2)
    return o, turned


LOOKED = np.radians(np.linspace(-89, 89, 713))


@cache
def looked(table: Table, pace: Pace) -> tuple[np.ndarray, np.ndarray]:
    """What ``after`` says of the cuts ``LOOKED`` at."""
    return after(table, LOOKED, pace)


@cache
def throws(table: Table, pace: Pace) -> np.ndarray:
    """How far to the left of the line of centres balls leave for the cuts ``LOOKED`` at, radians."""
    o, _ = looked(table, pace)
    return np.arctan2(o[:, 1], o[:, 0])


def comes(table: Table, cut: float, pace: Pace) -> float:
    """How far the object ball comes after a hit with this cut, mm, sliding first, in steps of time."""
    o, turned = ([np.interp(cut, LOOKED, part) for part in of.T] for of in looked(table, pace))
    v, rolling = complex(o[0], o[1]), complex(turned[1], -turned[0]) * table.balls.object_radius / 1000
    far, dt = 0.0, 4e-3
    while abs(v) > ROLLS * G * dt:
        slip = v - rolling
        if abs(slip) > 3.5 * CLOTH * G * dt:
            pull = -CLOTH * G * slip / abs(slip)
            rolling -= 2.5 * pull * dt
        else:
            pull = -ROLLS * G * v / abs(v)
            rolling = v + pull * dt
        far += abs(v + pull * dt / 2) * dt
        v += pull * dt
    return 1000 * far


def offset_of(words: str, table: Table) -> float:
    """Where an aim goes, in balls from the object ball's centre, + right of it."""
    if "a full ball" in words:
        return 0.0
    side = -1 if "left" in words else 1
    if words.endswith("edge: half a ball"):
        return side * 0.5
    found = re.match(
        r"cue ball's centre ([\d./]+) ball (inside|outside|left|right)(?: the object ball's| of the object)",
        words,
    )
    assert found, words
    part = float(Fraction(found[1]))
    return side * {"inside": 0.5 - part, "outside": 0.5 + part}.get(found[2], part)


def sent(table: Table, cue: complex, ball: complex, offset: float, pace: Pace) -> tuple[complex, float]:
    """The unit way that the object ball takes when the cue ball's centre is sent there, and the cut."""
    apart = 2 * math.sqrt(table.balls.cue_radius * table.balls.object_radius)
    wide = offset * 2 * table.balls.object_radius
    # The line of aim passes the ball on its right: it is turned to the right of the line to it.
    aim = (ball - cue) / abs(ball - cue) * cmath.exp(-1j * math.asin(wide / abs(ball - cue)))
    cut = math.asin(wide / apart)
    thrown = float(np.interp(cut, LOOKED, throws(table, pace)))
    return aim * cmath.exp(1j * (cut + thrown)), cut


def sine(table: Table, cue: complex, ball: complex, pocket: str, pace: Pace | None = None) -> float:
    """The signed sine of the cut that sends the ball down the middle of what the jaws leave free, + left.

    With throw, where a pace is given.
    """
    toward = sum(noses(table, pocket)) / 2 - ball
    right, left = (np.angle((rim - ball) / toward) for rim in edges(table, pocket))
    # The cushions lie to the sides: the innermost of each jaw's rubber is what a ball has to pass.
    way = toward / abs(toward) * cmath.exp(1j * (right.max() + left.min()) / 2)
    apart = 2 * math.sqrt(table.balls.cue_radius * table.balls.object_radius)
    centres, cut = way, 0.0
    for _ in range(1 if pace is None else 40):
        aim = ball - centres * apart - cue
        cut = cmath.phase(centres / aim)
        assert abs(cut) < math.pi / 2
        if pace is not None:
            centres = way * cmath.exp(-1j * float(np.interp(cut, LOOKED, throws(table, pace))))
    return math.sin(cut)


def named(kind: str) -> float:
    """The fullness that a kind of shot is named after."""
    band = kind.split(maxsplit=1)[0]
    return {"full": 1.0, "thinner": 1 / 32}.get(band) or float(Fraction(band))
