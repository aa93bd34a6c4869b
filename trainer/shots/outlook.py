"""What else can be said of a shot: throw at two speeds, the cue ball's way, the pot by the cushion."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from trainer.geometry.aiming import FAST, MEDIUM, SLOW, Stroke
from trainer.geometry.cue_path import NO_CUSHION, cue_path, points
from trainer.geometry.cushion import CLEARLY, CUSHIONS, choices
from trainer.geometry.vectors import angle_between, unit
from trainer.shots.describe import DIGITS
from trainer.shots.shot import Point, Shot, Shots
from trainer.shots.truth import Truth, opening_of, work_out

SPINS = {"stun": 0.0, "natural roll": 1.0}


@dataclass(frozen=True)
class AtSpeed:
    """A shot at one speed with throw counted; ``truth`` is None where no hit pots it."""

    name: str
    stroke: Stroke
    truth: Truth | None


@dataclass(frozen=True)
class CueBallWay:
    """Where the cue ball goes with one stroke.

    ``turns`` is the angle from the line of aim to where it heads once it rolls, radians, + left;
    ``cushion`` the first one it meets, empty where it comes to rest before; ``end`` its centre there, mm;
    ``in_pocket`` whether a pocket's mouth is there; ``points`` places on its way, to draw.
    """

    spin: str
    speed: float
    turns: float
    cushion: str
    end: Point
    in_pocket: bool
    points: tuple[Point, ...]


@dataclass(frozen=True)
class ByCushion:
    """A pot by the cushion first.

    ``nose`` is where the cue ball's centre is when it meets the cushion, mm; ``wide`` and ``direct_wide``
    are how many directions of aim pot this way and straight at the ball, radians.
    """

    cushion: str
    nose: Point
    wide: float
    direct_wide: float

    @property
    def is_better(self) -> bool:
        """Whether clearly more lines of aim pot by the cushion first than straight at the ball."""
        return self.wide > CLEARLY * self.direct_wide

    @property
    def is_worse(self) -> bool:
        """Whether clearly more lines of aim pot straight at the ball."""
        return self.direct_wide > CLEARLY * self.wide


def at_speeds(shot: Shot) -> list[AtSpeed]:
    """The shot played slow and fast, with the spin of its own stroke, else with natural roll."""
    like = shot.stroke or Stroke(MEDIUM)
    found = []
    for name, speed in (("slow", SLOW), ("fast", FAST)):
        stroke = replace(like, speed=speed)
        truths = work_out(Shots.of(replace(shot, stroke=stroke)), opening_of(shot))
        found.append(AtSpeed(name, stroke, truths[0] if bool(truths.can_pot[0]) else None))
    return found


def cue_ball_ways(shot: Shot, truth: Truth) -> list[CueBallWay]:
    """Where the cue ball goes after the pot: with the shot's own stroke, else stunned and rolling."""
    if shot.stroke is not None:
        return [_way(shot, truth, "that stroke", shot.stroke)]
    return [_way(shot, truth, spin, Stroke(MEDIUM, roll)) for spin, roll in SPINS.items()]


def _way(shot: Shot, truth: Truth, spin: str, stroke: Stroke) -> CueBallWay:
    aim = unit(np.subtract(truth.touching, shot.cue_ball))
    path = cue_path(shot.table, truth.touching, aim, truth.cut, stroke)
    end_x, end_y = path.end.tolist()
    cushion = int(path.cushion)
    return CueBallWay(
        spin=spin,
        speed=stroke.speed,
        turns=float(angle_between(aim, path.rolling)),
        cushion="" if cushion == NO_CUSHION else CUSHIONS[cushion],
        end=(end_x, end_y),
        in_pocket=bool(path.at_pocket),
        points=tuple((float(x), float(y)) for x, y in points(path)),
    )


def by_cushion(shot: Shot) -> ByCushion | None:
    """The pot by the cushion that the object ball lies close to; None if there is none to be had.

    Of ideal balls; the cushion's rebound is the model of :mod:`trainer.geometry.cushion`.
    """
    cue, ball = np.array([shot.cue_ball], float), np.array([shot.object_ball], float)
    found = choices(shot.table, cue, ball, opening_of(shot))
    if found.cushion[0] < 0:
        return None
    x, y = found.nose[0].tolist()
    return ByCushion(CUSHIONS[found.cushion[0]], (x, y), float(found.wide[0]), float(found.direct_wide[0]))


def outlook_object(shot: Shot, truth: Truth) -> dict[str, Any]:
    """The same for scripts: degrees, mm, m/s."""
    cushion = by_cushion(shot)
    return {
        "at_speeds": [
            {
                "name": one.name,
                "speed_m_s": one.stroke.speed,
                "roll": one.stroke.roll,
                "side_spin": one.stroke.side_spin,
                "fullness": None if one.truth is None else round(one.truth.fullness, DIGITS),
                "offset": None if one.truth is None else round(one.truth.offset, DIGITS),
                "throw_deg": None if one.truth is None else round(math.degrees(one.truth.throw), DIGITS),
            }
            for one in at_speeds(shot)
        ],
        "cue_ball_ways": [
            {
                "spin": way.spin,
                "speed_m_s": way.speed,
                "turns_deg": round(math.degrees(way.turns), DIGITS),
                "cushion": way.cushion or None,
                "end": list(way.end),
                "in_pocket": way.in_pocket,
            }
            for way in cue_ball_ways(shot, truth)
        ],
        "cushion_first": None
        if cushion is None
        else {
            "cushion": cushion.cushion,
            "nose": list(cushion.nose),
            "wide_deg": round(math.degrees(cushion.wide), DIGITS),
            "direct_wide_deg": round(math.degrees(cushion.direct_wide), DIGITS),
            "better": cushion.is_better,
        },
    }
