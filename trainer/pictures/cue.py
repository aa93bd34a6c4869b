"""The cue: where its parts lie behind the cue ball when a player is down on a line."""

import math
from typing import NamedTuple

import numpy as np

from trainer.geometry.vectors import Floats
from trainer.pictures.colours import Colour
from trainer.shots.shot import Point

# mm from the tip, width there, and the colour from there on. Sizes: common practice.
PARTS: tuple[tuple[float, float, Colour], ...] = (
    (0.0, 9.5, (65, 105, 146)),  # the tip
    (6.0, 9.8, (235, 227, 206)),  # the ferrule
    (22.0, 10.0, (219, 182, 125)),  # the shaft
    (1030.0, 23.0, (73, 40, 28)),  # the butt
    (1470.0, 29.0, (20, 20, 20)),
)
GAP = 28.0  # mm from the cue ball to the tip
RISE = math.radians(4.0)  # the butt is held a little higher: it must pass over the cushion


class Part(NamedTuple):
    """A part of a cue: its two ends (3,) mm and its widths there, mm."""

    ends: tuple[Floats, Floats]
    widths: tuple[float, float]
    colour: Colour


def parts_of(cue_ball: Point, toward: Point, radius: float) -> list[Part]:
    """The parts of a cue that is to send a ball of some radius from a place toward another, mm, tip first."""
    (x, y), (tx, ty) = cue_ball, toward
    run = math.hypot(tx - x, ty - y)
    way = np.array([(x - tx) / run * math.cos(RISE), (y - ty) / run * math.cos(RISE), math.sin(RISE)])
    tip = np.array([x, y, radius]) + (radius + GAP) * way
    places = [tip + along * way for along, _, _ in PARTS]
    widths = [width for _, width, _ in PARTS]
    return [
        Part((places[k], places[k + 1]), (widths[k], widths[k + 1]), PARTS[k][2])
        for k in range(len(PARTS) - 1)
    ]


def lighter(colour: Colour) -> Colour:
    """The colour of a part where the light falls on it."""
    red, green, blue = (round(each + 0.45 * (255 - each)) for each in colour)
    return red, green, blue
