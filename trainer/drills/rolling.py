"""A call as it rolls: where the two balls are from moment to moment, for the replay.

Ways are the true ones; times are a film's: each part takes as long as it is good to watch.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from trainer.drills.mark import Mark
from trainer.geometry.aiming import MEDIUM, Stroke
from trainer.geometry.contact import cut_angle
from trainer.geometry.cue_path import CuePath, cue_path, points
from trainer.geometry.meetings import Met
from trainer.geometry.vectors import way_to_edge
from trainer.shots.shot import Point, Shot
from trainer.shots.truth import truth_of

ROLLS, HOLDS, LEAVES = 0.55, 0.3, 0.85  # seconds: to contact, at contact, from there
LOOKED_AT = 201  # moments at which it is seen whether the balls meet again
PLAYED = Stroke(MEDIUM)  # where no stroke counts: medium speed, natural roll


@dataclass(frozen=True)
class Moment:
    """Where the balls are; ``object_ball`` is None once it has dropped."""

    cue_ball: Point
    object_ball: Point | None


@dataclass(frozen=True)
class Rolling:
    """The film of a call: polylines in mm that each ball runs along, before and after contact.

    ``object_after`` is empty where the cue ball misses; ``object_ball`` is where the ball lies at first.
    The cue ball gets as far as the part ``cue_stops`` of its way: a film ends before it meets a ball again.
    """

    cue_before: tuple[Point, ...]
    cue_after: tuple[Point, ...]
    object_after: tuple[Point, ...]
    drops: bool
    object_ball: Point
    cue_stops: float = 1.0

    @property
    def seconds(self) -> float:
        """How long it lasts; there is no hold where nothing is hit."""
        return ROLLS + HOLDS + LEAVES if self.object_after else ROLLS + LEAVES

    def at(self, seconds: float) -> Moment:
        """Where the balls are at a time, from 0 to ``seconds``; outside that as at its ends."""
        if seconds < ROLLS:
            return Moment(along(self.cue_before, max(seconds, 0.0) / ROLLS), self.object_ball)
        since = seconds - ROLLS - (HOLDS if self.object_after else 0.0)
        part = 1.0 if seconds >= self.seconds else max(since, 0.0) / LEAVES
        slowing = part * (2.0 - part)  # balls come to rest
        if not self.object_after:
            return Moment(along(self.cue_after, slowing), self.object_ball)
        gone = self.drops and part >= 1.0
        cue = along(self.cue_after, min(slowing, self.cue_stops))
        return Moment(cue, None if gone else along(self.object_after, slowing))


def rolling(mark: Mark) -> Rolling:
    """The film of a call."""
    shot = mark.played
    ball = shot.object_ball
    if mark.run.stopped:
        end = mark.run.before[-1]
        return Rolling(mark.run.before, (end, end), (), False, ball)
    if mark.touching is None or mark.met is None:
        past, aim = np.array(mark.run.before[-1]), np.array(mark.aim)
        room = float(way_to_edge(past, aim, shot.table.balls.cue_radius, shot.table.size))
        rest = past + aim * max(room, 0.0)
        way = (mark.run.before[-1], (float(rest[0]), float(rest[1])))
        return Rolling(mark.run.before, way, (), False, ball)
    path = after_contact(shot, mark.run.before[-2], mark.touching, mark.aim)
    after = tuple((float(x), float(y)) for x, y in points(path))
    rolls = [ball, mark.met.at]
    if mark.drops:
        if mark.met.met is not Met.POCKET:  # off a jaw, or the cushion beside the pocket
            rolls.append(mark.question.target or truth_of(shot).target)
        rolls.append(_beyond(rolls[-2], rolls[-1], 2.0 * shot.table.balls.object_radius))
    film = Rolling(mark.run.before, after, tuple(rolls), mark.drops, ball)
    for part in np.linspace(0.0, 1.0, LOOKED_AT).tolist():
        about = (along(film.object_after, part), *shot.others)
        if part > 0 and min(math.dist(along(after, part), place) for place in about) < shot.table.contact:
            return replace(film, cue_stops=max(part - 2 / LOOKED_AT, 0.0))
    return film


def after_contact(shot: Shot, cue_ball: Point, touching: Point, aim: Point) -> CuePath:
    """The cue ball's way from contact on, of a ball that comes from a place along the unit ``aim``."""
    cut = cut_angle(np.array(cue_ball), np.array(shot.object_ball), np.array(touching))
    return cue_path(shot.table, touching, aim, cut, shot.stroke or PLAYED)


def _beyond(start: Point, end: Point, mm: float) -> Point:
    far = math.dist(start, end)
    if far == 0:
        return end
    return end[0] + (end[0] - start[0]) / far * mm, end[1] + (end[1] - start[1]) / far * mm


def along(line: tuple[Point, ...], part: float) -> Point:
    """The place at a part (0 to 1) of a polyline's length."""
    runs = [math.dist(a, b) for a, b in pairwise(line)]
    left = sum(runs) * part
    for run, (a, b) in zip(runs, pairwise(line), strict=True):
        if left <= run and run > 0:
            share = left / run
            return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
        left -= run
    return line[-1]
