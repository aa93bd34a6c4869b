"""Simulated players who call shots, then play at a table and note every shot of it.

They share no formula with the verdicts: where their ball goes is drawn shot by shot.
"""

import math
from dataclasses import dataclass

import numpy as np

from trainer.geometry.fullness import band_of
from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.table_verdict import (
    ALL,
    KINDS,
    LOG_THRESHOLD,
    MADE_UP,
    SEEING,
    STROKE,
    Misses,
    TableShot,
    conclusion,
    kind_of,
    places_of,
    table_evidence,
)
from trainer.learner.verdicts import LEAST_BIAS, NOT_YET, SAMPLES, THICK, THIN, TRUE, forgiven, verdict
from trainer.simulate.players import Bump, Nature, Player

A_DAY = 40
CUTS = 2.5, 72.5  # degrees
MARGINS = 0.045, 0.02, 0.01  # balls that a pot forgives either way: near, middle, far
WIDE = 16.0  # degrees: half the width of a fault of the eye
PARTS = {"none": (0, 0), "eye": (1, 0), "stroke": (0, 1), "both": (1, 1), "against": (1, -1)}


@dataclass(frozen=True)
class Table:
    """What players have in common: a fault of the eye and of the stroke (balls, 0 none), and the rest.

    ``calls`` are made in the drills before ``shots`` are played and noted; half of these are near the fault.
    ``scatter`` is what the stroke scatters by, ``eyed`` the table's scatter of seeing over the drills'.
    """

    parts: str = "none"
    size: float = 0.06
    calls: int = 400
    shots: int = 240
    noise: float = 0.05
    scatter: float = 0.04
    eyed: float = 1.0
    lapse: float = 0.02


@dataclass(frozen=True)
class Came:
    """What a player was told: the first verdict of the faulty kind, by how many of its misses; false ones.

    ``first`` is the verdict on the faulty kind that was told first, ``last`` that at the end, ``misses`` of
    that kind when each was first told; ``false`` what was wrongly said, of any kind, at any moment;
    ``uneven``: whether the table of a player without a fault was ever said to miss one way.
    """

    first: str
    last: str
    misses: dict[str, int]
    false: tuple[str, ...]
    uneven: bool


def play(table: Table, seed: int) -> Came:
    """One player: the drills, then the table, looked at after every note."""
    rng = np.random.default_rng([seed, 5])
    way = float(rng.choice([-1.0, 1.0]))  # thick or thin
    fault = float(rng.uniform(12.0, 60.0) * rng.choice([-1.0, 1.0]))
    eye, stroke = PARTS[table.parts]
    bumps = (Bump(fault, way * table.size, WIDE),) if eye else ()
    player = Player(
        Nature(noise=table.noise, bumps=bumps, lapse=table.lapse), np.random.default_rng([seed, 6])
    )
    belief, counts = _practised(player, table.calls, rng)
    added = stroke * way * table.size
    noted = _noted(table, player.nature, added, fault, rng)
    faulty = kind_of(1.0 - math.sin(math.radians(abs(fault)))), math.copysign(1.0, fault)
    first, last, misses, false, uneven = "", NOT_YET, {}, set(), False
    for name, _ in KINDS:
        for sign in (1.0, -1.0):
            mine = [
                one
                for one in noted
                if kind_of(1 - abs(one.sine)) == name and math.copysign(1.0, one.sine) == sign
            ]
            course = _course(belief, mine, name, sign, counts.get((name, sign), 0))
            for n, (table_way, seen, added_way, said) in enumerate(course, 1):
                uneven |= not added and not eye and table_way != NOT_YET
                if said == NOT_YET:
                    continue
                wrong = _wrong(player.nature, name, sign, seen, table_way, added_way, said, added)
                false |= {wrong} if wrong else set()
                if (name, sign) == faulty:
                    first = first or said
                    misses.setdefault(said, n)
            if (name, sign) == faulty and course:
                last = course[-1][3]
    return Came(first, last, misses, tuple(sorted(false)), uneven)


def _practised(
    player: Player, calls: int, rng: np.random.Generator
) -> tuple[Belief, dict[tuple[str, float], int]]:
    """What is thought after so many free calls of cuts spread evenly, and how many each kind had."""
    belief, counts = Belief(), {}
    for n in range(calls):
        cut = float(rng.uniform(*CUTS) * rng.choice([-1.0, 1.0]))
        sine = math.sin(math.radians(cut))
        seen = player.sees(cut, 1.0 - abs(sine))
        player.answered(seen)
        error = seen - (1.0 - abs(sine))
        belief.update(Call(sine, error, error, error, True, "slide down", str(n // 20), n // A_DAY))
        key = kind_of(1.0 - abs(sine)), math.copysign(1.0, cut)
        counts[key] = counts.get(key, 0) + 1
    return belief, counts


def _noted(
    table: Table, nature: Nature, added: float, fault: float, rng: np.random.Generator
) -> list[TableShot]:
    """The notes of so many shots; a note names the nearest eighth."""
    noted = []
    low, high = CUTS
    wide = math.hypot(table.noise * table.eyed, table.scatter)
    for n in range(table.shots):
        size = np.clip(abs(fault) + rng.uniform(-8.0, 8.0), low, high) if n % 2 else rng.uniform(low, high)
        cut = float(size) * (math.copysign(1.0, fault) if n % 2 else float(rng.choice([-1.0, 1.0])))
        margin = float(rng.choice(MARGINS))
        error = nature.bias(cut) + added + wide * rng.standard_normal()
        if rng.random() < table.lapse:
            error = rng.uniform(-0.5, 0.5)
        result = "potted" if abs(error) <= margin else THICK if error > 0 else THIN
        named = band_of(1.0 - math.sin(math.radians(abs(cut)))).value
        noted.append(TableShot(math.copysign(1.0 - named, cut), margin, result))
    return noted


def course_of(misses: Misses) -> Floats:
    """The evidence that the stroke adds to what is seen, thick and thin, after each of the misses, (n, 2)."""
    steps = misses._logs[misses.thick.astype(np.intp), misses.cell]
    return misses._ratio(np.cumsum(steps, axis=0))


def _course(
    belief: Belief, noted: list[TableShot], name: str, sign: float, called: int
) -> list[tuple[str, str, str, str]]:
    """Table, eye, stroke and verdict of one kind after each of its misses."""
    misses = [one for one in noted if one.result != "potted"]
    if not misses:
        return []
    places = places_of(name, sign)
    mean, covariance = belief.joint(places)
    eye = verdict(mean, covariance, called, forgiven(places))
    thick = np.cumsum([one.result == THICK for one in misses])
    tables = table_evidence(thick, np.arange(1, len(misses) + 1) - thick)
    strokes = course_of(Misses(belief, misses, float(belief.noise([places[SAMPLES // 2]])[0])))
    found = []
    for table_at, stroke_at in zip(tables, strokes, strict=True):
        ways = _way(table_at), _way(stroke_at)
        found.append((ways[0], eye, ways[1], conclusion(ways[0], eye, ways[1])))
    return found


def _way(evidence: Floats) -> str:
    return THICK if evidence[0] >= LOG_THRESHOLD else THIN if evidence[1] >= LOG_THRESHOLD else NOT_YET


def _wrong(
    nature: Nature, name: str, sign: float, eye: str, table: str, stroke: str, said: str, added: float
) -> str:
    """What is wrong with a verdict, '' if nothing is."""
    cuts = np.degrees(np.arcsin(np.clip(places_of(name, sign), -1.0, 1.0)))
    biases = np.array([nature.bias(float(cut)) for cut in cuts])
    ways = {THICK: 1.0, THIN: -1.0}
    if said in (STROKE, ALL, MADE_UP) and ways[stroke] * added <= 0:
        return f"{said}: the stroke adds nothing"
    if said in (SEEING, ALL, MADE_UP) and (ways[eye] * biases).max() <= LEAST_BIAS:
        return f"{said}: the eye isn't off"
    if said == STROKE and eye == TRUE and (np.abs(biases) > forgiven(places_of(name, sign))).all():
        return f"{said}: the eye isn't true"
    return ""
