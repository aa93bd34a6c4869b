"""One shot by the cushion first, told by the place where the cue ball meets the cushion.

Of ideal balls, with a cue ball that rolls naturally when it comes to the cushion; the rebound is the model
of :mod:`trainer.geometry.rebound`, of one table; :meth:`AlongCushion.elsewhere` says what others make of it.
A place is counted in ball widths along the nose from abreast of the object ball, + toward the pocket.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.acceptance import table_window
from trainer.geometry.cushion import CLEARLY, CLOSE, CUSHIONS, NORMALS, choices, cushion_first, play_cushion
from trainer.geometry.pockets import Window, on_cloth
from trainer.geometry.rebound import OTHERS, PUBLISHED
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, distance_to_way, dot, left_of, scaled, unit
from trainer.shots.shot import Point, Shot, Shots, point
from trainer.shots.truth import opening_of

ENDS = (-CLOSE, 1.0)  # ball widths: where a cushion is met that is close to the object ball
LOOKED_AT = 1153  # places from end to end, to see where the nose ends
ELSEWHERE = np.linspace(-1.5, 1.5, 601)  # ball widths from the true place: where other tables are tried
PARTS, ROUNDS = 65, 7  # a place is found in 64 parts, and in 64 parts of one of these, ...


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


@dataclass(frozen=True)
class AlongCushion:
    """A shot by the cushion first.

    ``by`` is the pot; ``abreast`` the place of the cue ball's centre on the cushion abreast of the object
    ball (mm), ``along`` the unit direction along the nose, + toward the pocket. ``place`` is the true
    place; ``offset`` the signed offset (ball widths) of the line that the cue ball comes off the cushion
    along, ``sign`` that of its cut, ``touching`` the touching position (mm). ``margin`` are the errors, +
    thick, between which a call still pots; ``ends`` the stretch of the nose that may be called.
    """

    shot: Shot
    by: ByCushion
    abreast: Point
    along: Point
    place: float
    offset: float
    sign: float
    touching: Point
    margin: tuple[float, float]
    ends: tuple[float, float]

    def nose(self, places: ArrayLike) -> Floats:
        """Where the cue ball's centre is when it meets the cushion at places (...), mm, (..., 2)."""
        return np.array(self.abreast) + scaled(
            np.array(self.along), np.asarray(places, float) * self.shot.table.ball_width
        )

    def place_of(self, point: Point) -> float:
        """The place abreast of a point of the table, kept within the ends."""
        place = (
            float(dot(np.subtract(point, self.abreast), np.array(self.along))) / self.shot.table.ball_width
        )
        return min(max(place, self.ends[0]), self.ends[1])

    def off(self, places: ArrayLike) -> Floats:
        """Signed offsets (ball widths) of the lines off the cushion from these places, shape (...).

        A line that misses the ball has one too: how far it passes.
        """
        noses = self.nose(places)
        ball = np.array(self.shot.object_ball)
        played = play_cushion(
            self.shot.table, self.shot.cue_ball, ball, unit(noses - self.shot.cue_ball), self.by.cushion
        )
        return cross(played.came, ball - noses) / self.shot.table.ball_width

    def place_at(self, offset: float) -> float:
        """The place from which the cue ball comes off at an offset; the nearer end if there is none."""
        low, high = self.ends
        for _ in range(ROUNDS):
            places = np.linspace(low, high, PARTS)
            offs = self.off(places)
            rising = 1.0 if offs[-1] > offs[0] else -1.0
            at = int(np.clip(np.searchsorted(rising * offs, rising * offset), 1, PARTS - 1))
            low, high = float(places[at - 1]), float(places[at])
        return (low + high) / 2

    def elsewhere(self) -> tuple[float, float]:
        """Between which places the ball drops on this table or on one of ``OTHERS``."""
        return _elsewhere(self)

    def is_free(self, place: float) -> bool:
        """Whether the object ball leaves the cue ball's way to the cushion free."""
        clear = distance_to_way(self.shot.cue_ball, self.nose(place), self.shot.object_ball)
        return float(clear) > self.shot.table.contact

    def given_away(self) -> float:
        """How many ball widths of aim at the object ball's distance the worse way has less."""
        far = math.dist(self.shot.cue_ball, self.shot.object_ball)
        return abs(self.by.wide - self.by.direct_wide) * far / self.shot.table.ball_width


def by_cushion(shot: Shot) -> ByCushion | None:
    """The pot by the cushion that the object ball lies close to; None if there is none to be had.

    Of ideal balls; the cushion's rebound is the model of :mod:`trainer.geometry.rebound`.
    """
    cue, ball = np.array([shot.cue_ball], float), np.array([shot.object_ball], float)
    found = choices(shot.table, cue, ball, opening_of(shot))
    if found.cushion[0] < 0:
        return None
    wide, direct = float(found.wide[0]), float(found.direct_wide[0])
    return ByCushion(CUSHIONS[found.cushion[0]], point(found.nose[0]), wide, direct)


@lru_cache(maxsize=8192)
def along_cushion(shot: Shot) -> AlongCushion | None:
    """The pot by the cushion that the object ball lies close to; None if there is none to be had."""
    by = by_cushion(shot)
    if by is None:
        return None
    table, cue, ball = shot.table, np.array(shot.cue_ball), np.array(shot.object_ball)
    wide = table.ball_width
    opening = table_window(table, ball, POCKETS.index(shot.pocket))
    first = cushion_first(table, cue, ball, _ways(opening), by.cushion)
    nose, cut = first.nose[0], float(first.cut[0])
    along = left_of(NORMALS[CUSHIONS.index(by.cushion)])
    along = along if dot(opening.target - ball, along) >= 0 else -along
    place = float(dot(nose - ball, along)) / wide
    abreast = nose - along * place * wide
    offset, sign = table.reach * math.sin(cut), -1.0 if cut < 0 else 1.0
    low_error, high_error = _margin(table, first.cut).tolist()
    places = np.linspace(*ENDS, LOOKED_AT)
    cloth = on_cloth(table, abreast + along * (places * wide)[:, None], table.balls.cue_radius)
    barred = places[~cloth]
    # Beyond the cue ball's own foot on the cushion it would come back the other way.
    foot = float(dot(cue - ball, along)) / wide
    low = max((p for p in [ENDS[0], foot, *barred.tolist()] if p < place), default=ENDS[0])
    high = min((p for p in barred.tolist() if p > place), default=ENDS[1])
    return AlongCushion(
        shot=shot,
        by=by,
        abreast=point(abreast),
        along=point(along),
        place=place,
        offset=offset,
        sign=sign,
        touching=point(first.touching[0]),
        margin=(low_error, high_error),
        ends=(low, high),
    )


def margins(shots: Shots) -> Floats:
    """Errors of some shots (n) between which a call is right, here or elsewhere; (n, 2), NaN for none."""
    table, cue, ball = shots.table, shots.cue_ball, shots.object_ball
    opening = table_window(table, ball, shots.pocket)
    by, found = choices(table, cue, ball, opening).cushion, np.full((len(shots), 2), np.nan)
    for k, cushion in enumerate(CUSHIONS):
        rows = np.flatnonzero(by == k)
        if rows.size:
            found[rows] = _tried(table, cue[rows], ball[rows], opening.at(rows), cushion).errors
    return found


@dataclass(frozen=True)
class _Tried:
    """Between which places and errors balls drop, (n, 2), both in ball widths.

    The places are counted from the true one, along ``left_of`` the cushion's normal.
    """

    places: Floats
    errors: Floats


def _tried(table: Table, cue: Floats, ball: Floats, opening: Window, cushion: str) -> _Tried:
    """Where balls (n, 2) drop on this table or one of ``OTHERS``, there to 1/200 of a ball width."""
    first = cushion_first(table, cue, ball, _ways(opening), cushion)
    along = left_of(NORMALS[CUSHIONS.index(cushion)])
    nose, balls = first.nose[0], ball[:, None]
    noses = nose[:, None] + scaled(along, ELSEWHERE * table.ball_width)
    aim = unit(noses - cue[:, None])
    here, *others = (
        play_cushion(table, cue[:, None], balls, aim, cushion, rubber=rubber)
        for rubber in (PUBLISHED, *OTHERS)
    )
    windows = opening.at(np.arange(len(ball))[:, None])
    drops = np.any([played.hits & windows.holds(played.way) for played in others], axis=0)
    true = table.reach * np.sin(first.cut[0])[:, None]
    errors = np.where(true < 0, -1.0, 1.0) * (true - cross(here.came, balls - noses) / table.ball_width)
    own = dot(first.nose[1:] - nose, along) / table.ball_width

    def ends(values: Floats, own: Floats) -> Floats:
        low, high = np.where(drops, values, np.inf), np.where(drops, values, -np.inf)
        least = np.fmin(low.min(axis=1), own.min(axis=0))
        return np.stack([least, np.fmax(high.max(axis=1), own.max(axis=0))], axis=-1)

    places = ends(np.broadcast_to(ELSEWHERE, drops.shape), own)
    return _Tried(places, ends(errors, _margin(table, first.cut).T))


@lru_cache(maxsize=8192)
def _elsewhere(lie: AlongCushion) -> tuple[float, float]:
    """:meth:`AlongCushion.elsewhere`."""
    cue, ball = np.array([lie.shot.cue_ball]), np.array([lie.shot.object_ball])
    (low, high), *_ = _tried(lie.shot.table, cue, ball, opening_of(lie.shot), lie.by.cushion).places.tolist()
    toward = float(dot(np.array(lie.along), left_of(NORMALS[CUSHIONS.index(lie.by.cushion)])))
    ends = sorted((toward * low, toward * high))
    return lie.place + ends[0], lie.place + ends[1]


def _ways(opening: Window) -> Floats:
    """The middle of a window and its two ends, (3, ..., 2)."""
    return np.stack([opening.middle, opening.right, opening.left])


def _margin(table: Table, cuts: Floats) -> Floats:
    """Between which errors a call pots off a cushion, + thick, (..., 2); of the cuts of `_ways` (3, ...)."""
    true, *ends = table.reach * np.sin(cuts)
    errors = [np.where(true < 0, -1.0, 1.0) * (true - end) for end in ends]
    return np.stack([np.minimum(*errors), np.maximum(*errors)], axis=-1)
