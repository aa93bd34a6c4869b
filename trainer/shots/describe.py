"""A shot, its truth and what else can be said of it: as plain objects that scripts read, and for people.

Besides the truth that is throw at two speeds, the cue ball's way, the pot by the cushion.
"""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from trainer.geometry.aiming import FAST, MEDIUM, SLOW, Stroke
from trainer.geometry.cue_path import NO_CUSHION, cue_path, points
from trainer.geometry.cushion import CUSHIONS
from trainer.geometry.tables import Table
from trainer.geometry.vectors import angle_between, unit
from trainer.shots.along_cushion import by_cushion
from trainer.shots.played import Played
from trainer.shots.shot import Point, Shot, Shots, point
from trainer.shots.style import Style
from trainer.shots.truth import Truth, opening_of, truth_of, work_out

# Angles come from the machine's own arcsine and arctangent, which may differ in the last bit.
DIGITS = 12


def shot_object(
    shot: Shot, truth: Truth, *, seed: int | None, level: str | None, answer: bool = True
) -> dict[str, Any]:
    """The JSON object of a shot: mm and degrees; ``answer`` false leaves the truth out."""
    table = shot.table
    found: dict[str, Any] = {
        "seed": seed,
        "level": level,
        "table": {
            "name": table.name,
            "length_mm": table.length,
            "width_mm": table.width,
            "cue_ball_mm": 2 * table.balls.cue_radius,
            "object_ball_mm": table.ball_width,
        },
        "cue_ball": list(shot.cue_ball),
        "object_ball": list(shot.object_ball),
        "pocket": {"name": shot.pocket, "target": list(truth.target)},
    }
    if shot.others:
        found["others"] = [list(place) for place in shot.others]
    if shot.stroke is not None:
        found["stroke"] = {
            "speed_m_s": shot.stroke.speed,
            "roll": shot.stroke.roll,
            "side_spin": shot.stroke.side_spin,
        }
    if answer:
        found["truth"] = truth_object(truth)
    return found


def command_of(shot: Shot) -> str:
    """The command that works out this shot again, as it lies; other balls about are left out.

    Roll between stun and natural roll has no word: the nearer of the two is said.
    """
    places = (("cue-ball", shot.cue_ball), ("object-ball", shot.object_ball))
    words = ["trainer shot", f"--table {shot.table.name}"]
    words += [f"--{name}={x!r},{y!r}" for name, (x, y) in places]
    words.append(f"--pocket {shot.pocket}")
    if shot.stroke is not None:
        spin = "stun" if shot.stroke.roll < 0.5 else "roll"
        words.append(f"--speed {shot.stroke.speed!r} --spin {spin} --side-spin={shot.stroke.side_spin!r}")
    return " ".join(words)


def truth_object(truth: Truth) -> dict[str, Any]:
    """The JSON object of a truth."""
    return {
        "cut_deg": round(math.degrees(truth.cut), DIGITS),
        "side": truth.side,
        "fullness": round(truth.fullness, DIGITS),
        "band": truth.band,
        "offset": round(truth.offset, DIGITS),
        "touching": list(truth.touching),
        "throw_deg": round(math.degrees(truth.throw), DIGITS),
        "margin": [round(end, DIGITS) for end in truth.margin],
    }


def played_object(found: Played) -> dict[str, Any]:
    """The JSON object of how a layout is played; lengths are in balls, the stroke is the shot's."""
    return {
        "without_throw": {
            "fullness": round(found.without.fullness, DIGITS),
            "offset": round(found.without.offset, DIGITS),
        },
        "thinner": round(found.thinner, DIGITS),
        "forgives": {way: round(room, DIGITS) for way, room in found.forgives.items()},
        "paces": [
            {"name": one.name, "speed_m_s": one.speed, "reaches": one.reaches, "pots": one.pots}
            for one in found.paces
        ],
    }


def place(table: Table, point: tuple[float, float], style: Style) -> str:
    """A place on the table in words: ``1200 mm up from the baulk cushion, 300 mm from the left one``."""
    x, y = point
    from_left = table.width - y
    side = (
        f"{style.length(from_left)} from the left" if from_left < y else f"{style.length(y)} from the right"
    )
    return f"{style.length(x)} up from the baulk cushion, {side}-hand one"


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
    cushion = int(path.cushion)
    return CueBallWay(
        spin=spin,
        speed=stroke.speed,
        turns=float(angle_between(aim, path.rolling)),
        cushion="" if cushion == NO_CUSHION else CUSHIONS[cushion],
        end=point(path.end),
        in_pocket=bool(path.at_pocket),
        points=tuple(point(place) for place in points(path)),
    )


def outlook_object(shot: Shot, truth: Truth) -> dict[str, Any]:
    """The same for scripts: degrees, mm, m/s."""
    cushion, without = by_cushion(shot), truth_of(replace(shot, stroke=None))
    return {
        "without_throw": {
            "fullness": round(without.fullness, DIGITS),
            "offset": round(without.offset, DIGITS),
        },
        "at_speeds": [
            {
                "name": one.name,
                "speed_m_s": one.stroke.speed,
                "roll": one.stroke.roll,
                "side_spin": one.stroke.side_spin,
                "fullness": None if one.truth is None else round(one.truth.fullness, DIGITS),
                "offset": None if one.truth is None else round(one.truth.offset, DIGITS),
                "throw_deg": None if one.truth is None else round(math.degrees(one.truth.throw), DIGITS),
                "margin": None if one.truth is None else [round(end, DIGITS) for end in one.truth.margin],
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
