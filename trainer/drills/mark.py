"""What a mark is, how a call runs, and its film: where the two balls are from moment to moment.

Ways are the true ones; times are a film's: each part takes as long as it is good to watch.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from trainer.drills.question import Choice, Question
from trainer.geometry.aiming import MEDIUM, Stroke
from trainer.geometry.contact import cut_angle
from trainer.geometry.cue_path import CuePath, cue_path, points
from trainer.geometry.meetings import Meeting, Met
from trainer.geometry.vectors import Floats, way_to_edge
from trainer.learner.call import Call
from trainer.shots.shot import Point, Shot, point
from trainer.shots.truth import truth_of


@dataclass(frozen=True)
class Run:
    """How the balls run when a call is played, up to just after contact.

    ``before`` are the points of the cue ball's way: from where it lies, over a cushion if it is played
    by one, to the touching position; ``aim`` is its unit direction as it comes to the object ball (or
    passes it), ``way`` the object ball's. ``touching`` and ``way`` are None where the cue ball misses, and
    ``before`` ends where it passes, or, ``stopped``, where it meets a ball that isn't meant.
    """

    before: tuple[Point, ...]
    aim: Point
    touching: Point | None
    way: Point | None
    stopped: bool = False


@dataclass(frozen=True)
class Mark:
    """A call and what is true of it.

    ``question`` is what it was asked in the end: where the player places the cue ball, the shot that
    this makes. ``offset`` is the signed offset that the call plays (ball widths); ``error`` called less
    true fullness in ball widths, + thick, - thin; ``right`` whether it was the answer to give;
    ``potted`` whether what is to be brought about comes about when the call is played exactly: the ball
    drops, or, where the cue ball is sent somewhere, it gets there; ``miss_mm`` how far from the pocket's
    target the object ball's way passes (all the way there, if it isn't hit at all), or the cue ball's from
    the middle of the place. ``met`` is what the object ball meets, None where the cue ball misses, and
    ``drops`` whether it drops into the shot's pocket. ``played`` is the shot that was played: that of the
    question, but where another ball of it was called. ``told`` is what the learner gets of it; when and how
    it was asked is for the set to add.
    """

    question: Question
    choice: Choice
    offset: float
    error: float
    right: bool
    potted: bool
    miss_mm: float
    run: Run
    met: Meeting | None
    drops: bool
    played: Shot
    told: Call

    @property
    def aim(self) -> Point:
        """Unit direction of the cue ball as it comes to the object ball."""
        return self.run.aim

    @property
    def touching(self) -> Point | None:
        """The cue ball's centre at contact; None where it misses."""
        return self.run.touching

    @property
    def way(self) -> Point | None:
        """Unit direction of the object ball; None where the cue ball misses."""
        return self.run.way


ROLLS, HOLDS, LEAVES = 0.55, 0.3, 0.85  # seconds: to contact, at contact, from there
LOOKED_AT = 201  # moments at which it is seen whether the balls meet again
PLAYED = Stroke(MEDIUM)  # where no stroke counts: medium speed, natural roll


@dataclass(frozen=True)
class Positions:
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

    def at(self, seconds: float) -> Positions:
        """Where the balls are at a time, from 0 to ``seconds``; outside that as at its ends."""
        if seconds < ROLLS:
            return Positions(along(self.cue_before, max(seconds, 0.0) / ROLLS), self.object_ball)
        since = seconds - ROLLS - (HOLDS if self.object_after else 0.0)
        part = 1.0 if seconds >= self.seconds else max(since, 0.0) / LEAVES
        slowing = part * (2.0 - part)  # balls come to rest
        if not self.object_after:
            return Positions(along(self.cue_after, slowing), self.object_ball)
        gone = self.drops and part >= 1.0
        cue = along(self.cue_after, min(slowing, self.cue_stops))
        return Positions(cue, None if gone else along(self.object_after, slowing))


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
        way = (mark.run.before[-1], point(rest))
        return Rolling(mark.run.before, way, (), False, ball)
    path = after_contact(shot, mark.run.before[-2], mark.touching, mark.aim)
    after = tuple(point(place) for place in points(path))
    rolls = [ball, mark.met.at]
    if mark.drops:
        if mark.met.met is not Met.POCKET:  # off a jaw, or the cushion beside the pocket
            rolls.append(mark.question.target or truth_of(shot).target)
        rolls.append(_beyond(rolls[-2], rolls[-1], shot.table.ball_width))
    film = Rolling(mark.run.before, after, tuple(rolls), mark.drops, ball)
    parts = np.linspace(0.0, 1.0, LOOKED_AT)[1:]
    cue, others = _along_each(after, parts), np.array(shot.others).reshape(-1, 1, 2)
    about = np.concatenate([_along_each(film.object_after, parts)[None], np.tile(others, (len(parts), 1))])
    meets = parts[(np.hypot(*(about - cue).T) < shot.table.contact).any(axis=1)]
    return replace(film, cue_stops=max(float(meets[0]) - 2 / LOOKED_AT, 0.0)) if meets.size else film


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


def _along_each(line: tuple[Point, ...], parts: Floats) -> Floats:
    """As :func:`along` at each of many parts (n,), which rise: (n, 2)."""
    runs = [math.dist(a, b) for a, b in pairwise(line)]
    places, left, start = np.tile(line[-1], (len(parts), 1)), sum(runs) * parts, 0
    for run, a, b in zip(runs, np.array(line[:-1]), np.array(line[1:]), strict=True):
        end = int(np.searchsorted(left, run, side="right"))
        if end > start and run > 0:
            places[start:end] = a + (b - a) * (left[start:end, None] / run)
            start = end
        left = left - run
    return places
