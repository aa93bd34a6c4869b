"""How a layout is played: its pace and spin, what throw changes of its aim, and at which paces the aim pots.

A person aims at the named part of a ball, not at the thousandth that a layout comes to: what is said to pot
here, and how far off it forgives, is of the name.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.aiming import FAST, MEDIUM, SPEEDS, Stroke
from trainer.geometry.cue_path import GRAVITY, MM, ROLLING, SLIDING, contact, rolling_velocity
from trainer.geometry.fullness import cut_from_fullness
from trainer.geometry.pockets import Window
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats, length
from trainer.shots.shot import Shot, Shots
from trainer.shots.style import HAIR
from trainer.shots.truth import Truth, Truths, contacts, opening_of, truth_of, work_out

FAR = 1200.0  # mm: the longest way of an object ball that is laid out
BARELY = 1.2  # times the way that it must roll to be said to get there: thin hits differ much by a hair
SPARE = 1.5  # times the way to the pocket that an object ball has it in it to roll, so that it doesn't die


@dataclass(frozen=True)
class AtPace:
    """A named aim at one pace, with the layout's spin: whether the ball gets as far, and whether it pots."""

    name: str
    speed: float
    reaches: bool
    pots: bool


@dataclass(frozen=True)
class Played:
    """A layout as it is played.

    ``stroke`` is its pace and spin; ``thinner`` how much thinner it is aimed than without throw, and
    ``forgives`` how far off the named aim may be by way (``thick`` and ``thin``, of a full ball ``left`` and
    ``right``), both in balls; ``own`` is the named aim at this pace, ``paces`` the same slow, medium, fast.
    """

    stroke: Stroke
    without: Truth
    thinner: float
    forgives: dict[str, float]
    own: AtPace
    paces: tuple[AtPace, ...]


def stroke_for(table: Table, fullness: float) -> Stroke:
    """How a layout of this fullness is played: as the table says, else rolling, and medium if that is enough.

    It is enough where the object ball comes to the pocket from ``FAR`` with something to spare; else it is
    played fast.
    """
    if table.stroke is not None:
        return table.stroke
    medium = Stroke(MEDIUM)
    return medium if rolls(table, medium, cut_from_fullness(fullness)) >= SPARE * FAR else Stroke(FAST)


def rolls(table: Table, stroke: Stroke, cut: ArrayLike) -> Floats:
    """How far the object ball comes on an endless cloth, mm, after a hit with this cut (radians), (...)."""
    ratio = table.balls.cue_mass / table.balls.object_mass
    hit = contact(cut, stroke, mass_ratio=ratio, with_friction=True)
    start, final = hit.object_velocity, rolling_velocity(hit.object_velocity, hit.object_roll)
    sliding = 2.0 * length(start - hit.object_roll) / (7.0 * SLIDING * GRAVITY)
    slides = length(start + final) / 2.0 * sliding
    return np.asarray(MM * (slides + length(final) ** 2 / (2.0 * ROLLING * GRAVITY)))


def reaches_and_pots(
    shots: Shots, fullness: float, stroke: Stroke, opening: Window, room: float = 0.0
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether an aim of this fullness reaches the pocket with a stroke, and pots with ``room`` to spare.

    Each (n,); ``room`` is in balls, to either side; ``opening`` are the windows of the pockets.
    """
    truths = work_out(replace(shots, stroke=stroke), opening)
    far = length(opening.target - shots.object_ball)
    reaches = rolls(shots.table, stroke, cut_from_fullness(fullness)) >= BARELY * far
    return np.asarray(reaches), truths.can_pot & holds(truths.margin, fullness, room / shots.table.reach)


def holds(margin: Floats, fullness: float | Floats, room: float = 0.0) -> NDArray[np.bool_]:
    """Whether a fullness is within margins (n, 2), with ``room`` to either side."""
    return np.asarray((margin[:, 0] <= fullness - room) & (margin[:, 1] >= fullness + room))


def hangs(shots: Shots, truths: Truths, fullness: float, stroke: Stroke) -> NDArray[np.bool_]:
    """Whether an aim hangs on what isn't seen, (n,).

    It pots only at some of the paces at which the ball gets as far as the pocket, or it doesn't get there, or
    throw makes more of a difference than the pot forgives.
    """
    opening = truths.window
    without = 1.0 - np.abs(contacts(replace(shots, stroke=None), opening)[2]) / shots.table.reach
    far = length(opening.target - shots.object_ball)
    found = ~holds(truths.margin, fullness + (without - truths.fullness))
    found |= rolls(shots.table, stroke, cut_from_fullness(fullness)) < far
    for speed in SPEEDS.values():
        if speed != stroke.speed:
            reaches, pots = reaches_and_pots(shots, fullness, replace(stroke, speed=speed), opening, HAIR)
            found |= reaches & ~pots
    return found


def played(shot: Shot, truth: Truth, fullness: float) -> Played:
    """What is said of a shot that is aimed at a named fullness.

    Raises
    ------
    ValueError
        If the shot has no stroke.
    """
    if shot.stroke is None:
        raise ValueError("a shot that is played has a stroke")
    stroke, reach, one = shot.stroke, shot.table.reach, Shots.of(shot)
    without = truth_of(replace(shot, stroke=None))
    thin, thick = (fullness - truth.margin[0]) * reach, (truth.margin[1] - fullness) * reach
    forgives = {"thick": thick, "thin": thin}
    if fullness == 1.0:
        # Past the centre is the other side: of a ball sent left the cue ball passes on the right.
        left, right = (thick, thin) if truth.sign > 0 else (thin, thick)
        forgives = {"left": left, "right": right}

    def at(name: str, speed: float) -> AtPace:
        found = reaches_and_pots(one, fullness, replace(stroke, speed=speed), opening_of(shot))
        return AtPace(name, speed, *(bool(each[0]) for each in found))

    own = next((name for name, speed in SPEEDS.items() if speed == stroke.speed), "")
    return Played(
        stroke=stroke,
        without=without,
        thinner=(without.fullness - truth.fullness) * reach,
        forgives=forgives,
        own=at(own, stroke.speed),
        paces=tuple(at(name, speed) for name, speed in SPEEDS.items()),
    )
