"""What is true of a shot: the contact that pots it, and how far a call may be off and still pot."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.acceptance import table_window
from trainer.geometry.aiming import line_for, offset_for, one_hit_below, send, signed_throw
from trainer.geometry.contact import aim_offset, cut_angle, touching_position
from trainer.geometry.fullness import band_of, fullness_from_cut, side_of
from trainer.geometry.pockets import Window
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, length
from trainer.shots.shot import Point, Shot, Shots, point

TRIED = 2049  # offsets played to find where a margin ends when several hits may pot
HALVINGS = 52


@dataclass(frozen=True)
class Truths:
    """The truth of a batch of shots.

    ``cut`` and ``throw`` (n,) radians, ``cut`` signed; ``fullness`` (n,); ``offset`` (n,) signed
    ball widths; ``touching`` (n, 2) mm; ``margin`` (n, 2) the fullness that still pots, low and
    high, where above 1 means past the object ball's centre; ``window`` the directions that drop;
    ``can_pot`` (n,) whether there is a hit at all that pots.
    """

    cut: Floats
    fullness: Floats
    offset: Floats
    touching: Floats
    throw: Floats
    margin: Floats
    window: Window
    can_pot: NDArray[np.bool_]

    def __getitem__(self, i: int) -> "Truth":
        low, high = self.margin[i].tolist()
        return Truth(
            cut=float(self.cut[i]),
            fullness=float(self.fullness[i]),
            offset=float(self.offset[i]),
            touching=point(self.touching[i]),
            throw=float(self.throw[i]),
            margin=(low, high),
            target=point(self.window.target[i]),
        )


@dataclass(frozen=True)
class Truth:
    """The truth of one shot; fields as in :class:`Truths`, ``target`` the point in the pocket's mouth."""

    cut: float
    fullness: float
    offset: float
    touching: Point
    throw: float
    margin: tuple[float, float]
    target: Point

    @property
    def sign(self) -> float:
        """+1 for a ball sent left, -1 for right; a straight shot counts as left."""
        return -1.0 if self.cut < 0 else 1.0

    @property
    def side(self) -> str:
        """``left`` or ``right``."""
        return side_of(self.cut)

    def thick_by(self, offset: float) -> float:
        """How thick (+) or thin (-) an aim at a signed offset is, in ball widths."""
        if self.offset == 0:  # straight in: any other point is thin
            return -abs(offset)
        return self.sign * (self.offset - offset)

    @property
    def band(self) -> str:
        """The nearest eighth by name."""
        return band_of(self.fullness).name


def work_out(shots: Shots, opening: Window | None = None) -> Truths:
    """The truth of every shot of a batch; rows that can't be potted say so in ``can_pot``.

    ``opening`` are the windows of their pockets, where they are known already.
    """
    table, cue, ball = shots.table, shots.cue_ball, shots.object_ball
    radius, distance, reach = table.balls.object_radius, table.contact, table.reach
    opening = opening or table_window(table, ball, shots.pocket)
    touching, cut, offset = contacts(shots, opening)
    throw = signed_throw(np.clip(cut, -np.pi / 2, np.pi / 2), shots.stroke)
    sign = np.where(cut < 0, -1.0, 1.0)

    ends = [
        1.0 - sign * offset_for(cue, ball, edge, radius, distance, shots.stroke) / reach
        for edge in (opening.right, opening.left)
    ]
    margin = np.stack([np.minimum(*ends), np.maximum(*ends)], axis=-1)
    can_pot = opening.is_open & (np.abs(cut) < np.pi / 2)
    if shots.stroke is not None:
        # So close that throw can turn the ball back: the hits for the window's ends need not be next
        # to this one.
        near = length(ball - cue) * one_hit_below(shots.stroke) <= distance
        for i in np.flatnonzero(near & can_pot):
            margin[i] = _stretch(shots, opening, int(i), float(offset[i]), float(sign[i]))
    return Truths(
        cut=cut,
        fullness=fullness_from_cut(cut),
        offset=offset,
        touching=touching,
        throw=throw * sign + 0.0,  # never -0
        margin=margin,
        window=opening,
        can_pot=np.asarray(can_pot),
    )


def contacts(shots: Shots, opening: Window) -> tuple[Floats, Floats, Floats]:
    """The hits that send each ball down its opening's middle: touching positions, signed cuts, offsets.

    They are (n, 2) mm, (n,) radians and (n,) ball widths: what of a truth is worked out soonest.
    """
    table, cue, ball = shots.table, shots.cue_ball, shots.object_ball
    centres = line_for(cue, ball, opening.middle, table.contact, shots.stroke)
    touching = touching_position(ball, centres, table.contact)
    offset = aim_offset(cue, ball, touching, table.balls.object_radius)
    return touching, cut_angle(cue, ball, touching), offset


def _stretch(shots: Shots, opening: Window, i: int, offset: float, sign: float) -> Floats:
    """The margin of one shot: every fullness about the true one that pots, found by playing them."""
    table = shots.table
    drops = opening.at(i)

    def pots(offsets: Floats) -> NDArray[np.bool_]:
        cue, ball = shots.cue_ball[i], shots.object_ball[i]
        sent = send(cue, ball, offsets, table.balls.object_radius, table.contact, shots.stroke)
        return np.asarray(sent.hits & drops.holds(sent.way))

    found = []
    for end in (-table.reach, table.reach):
        tried = np.linspace(offset, end, TRIED)
        good = pots(tried)
        good[0] = True  # but for rounding
        if good.all():
            found.append(end)
            continue
        inside, outside = tried[good.argmin() - 1], tried[good.argmin()]
        for _ in range(HALVINGS):
            half = (inside + outside) / 2
            inside, outside = (half, outside) if pots(half) else (inside, half)
        found.append(inside)
    ends = 1.0 - sign * np.array(found) / table.reach
    return np.sort(ends)


def truth_of(shot: Shot) -> Truth:
    """The truth of one shot; see :func:`work_out`. The shot must be one that can be potted."""
    return work_out(Shots.of(shot), opening_of(shot))[0]


def opening_of(shot: Shot) -> Window:
    """The window of one shot's pocket, a batch of one; worked out once for all that is held against it."""
    return _opening(shot.table, shot.object_ball, shot.pocket)


@lru_cache(maxsize=64)
def _opening(table: Table, object_ball: Point, pocket: str) -> Window:
    return table_window(table, np.array([object_ball]), np.array([POCKETS.index(pocket)]))
