"""A pinhole eye over the table: where the table's points lie in its picture, and where to put it.

Points are (x, y, z) in mm, ``z`` up from the cloth. A picture's places are widths of a pixel from its top
left corner, ``y`` down, as on a :class:`~trainer.pictures.canvas.Canvas`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

NEAR = 60.0  # mm: what is nearer than this in front of the eye isn't drawn
STEADY = 1e-5  # a turn (radians) that is too small to see
FRAME = 0.04  # of the picture, kept free on each side


@dataclass(frozen=True, eq=False)
class Eye:
    """A pinhole with an upright picture.

    ``place`` (3,) mm; ``right``, ``up`` and ``ahead`` (3,) its unit axes; ``lens`` the distance from
    pinhole to picture in widths of a pixel; ``middle`` the place in the picture straight ahead.
    """

    place: Floats
    right: Floats
    up: Floats
    ahead: Floats
    lens: float
    middle: tuple[float, float]

    def depth(self, points: ArrayLike) -> Floats:
        """How far ahead points (..., 3) are, mm, shape (...)."""
        return np.asarray((np.asarray(points, float) - self.place) @ self.ahead)

    def see(self, points: ArrayLike) -> Floats:
        """Where points (..., 3) in front of the eye lie in the picture, shape (..., 2)."""
        off = np.asarray(points, float) - self.place
        depth = off @ self.ahead
        across, high = off @ self.right / depth, off @ self.up / depth
        return np.stack([self.middle[0] + self.lens * across, self.middle[1] - self.lens * high], axis=-1)

    def ray(self, x: ArrayLike, y: ArrayLike) -> Floats:
        """Unit direction that a place in the picture is seen along, shape (..., 3)."""
        x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
        across, high = (x - self.middle[0]) / self.lens, (self.middle[1] - y) / self.lens
        way = self.ahead + across[..., None] * self.right + high[..., None] * self.up
        return np.asarray(way / np.linalg.norm(way, axis=-1, keepdims=True))

    def before(self, start: ArrayLike, end: ArrayLike) -> tuple[Floats, Floats] | None:
        """The part of a straight line in front of the eye, its two ends; None where there is none."""
        a, b = np.asarray(start, float), np.asarray(end, float)
        da, db = float(self.depth(a)), float(self.depth(b))
        if max(da, db) <= NEAR:
            return None
        if da < NEAR:
            a = a + (b - a) * ((NEAR - da) / (db - da))
        elif db < NEAR:
            b = b + (a - b) * ((NEAR - db) / (da - db))
        return a, b

    @cached_property
    def ways(self) -> Floats:
        """A place p = (x, y, 1) is seen along ``ways @ p``, one ``ahead`` long; (3, 3)."""
        sight = self.ahead - (self.middle[0] * self.right - self.middle[1] * self.up) / self.lens
        return np.stack([self.right / self.lens, -self.up / self.lens, sight], axis=1)

    def globe(self, centre: Floats, radius: float) -> Floats | None:
        """A ball's outline, in the form of :meth:`circle`; None where it isn't all in front of the eye."""
        off = centre - self.place
        if float(off @ self.ahead) - radius < NEAR:
            return None
        # A ray w meets the ball where (w off)^2 >= w w (off off - radius^2).
        toward = off @ self.ways
        return np.asarray(
            (off @ off - radius * radius) * (self.ways.T @ self.ways) - np.outer(toward, toward)
        )

    def circles(self, centres: Floats, radii: Floats, height: float = 0.0) -> list[Floats | None]:
        """Level circles as the picture shows them: ellipses ``p C p = 0``, C (3, 3), p = (x, y, 1).

        ``centres`` (n, 2), ``radii`` (n,). None where not all of one is in front of the eye, or the eye is no
        higher than it.
        """
        off = self.place[:2] - centres
        rise = height - float(self.place[2])
        reach = radii * float(np.hypot(self.ahead[0], self.ahead[1]))
        before = rise * self.ahead[2] - off @ self.ahead[:2] - reach >= NEAR
        # The ray meets the level at u / w, v / w from the centre.
        w = self.ways[2]
        u, v = (off[:, k, None] * w + rise * self.ways[k] for k in (0, 1))
        square = radii[:, None, None] ** 2 * np.outer(w, w)
        conics = u[:, :, None] * u[:, None] + v[:, :, None] * v[:, None] - square
        return [
            conic if b and rise < -1e-6 else None for conic, b in zip(conics, before.tolist(), strict=True)
        ]

    def outline(self, corners: ArrayLike) -> list[tuple[float, float]]:
        """A convex polygon (k, 3) as the picture shows it, less what is not in front of the eye."""
        corners = np.asarray(corners, float)
        kept: list[Floats] = []
        depths = self.depth(corners)
        for k in range(len(corners)):
            here, there = corners[k], corners[(k + 1) % len(corners)]
            near, far = float(depths[k]), float(depths[(k + 1) % len(corners)])
            if near >= NEAR:
                kept.append(here)
            if (near >= NEAR) != (far >= NEAR):
                kept.append(here + (there - here) * ((NEAR - near) / (far - near)))
        return [(float(x), float(y)) for x, y in self.see(np.array(kept))] if len(kept) > 2 else []

    def outlines(self, polygons: Floats) -> list[list[tuple[float, float]]]:
        """As :meth:`outline`, for many polygons of as many corners, (n, k, 3), at once."""
        depths = self.depth(polygons)
        seen = self.see(np.where((depths < NEAR)[..., None], self.place + self.ahead, polygons)).tolist()
        found = []
        for k, (least, most) in enumerate(np.stack([depths.min(axis=1), depths.max(axis=1)], 1).tolist()):
            if least >= NEAR:
                found.append([(x, y) for x, y in seen[k]])
            else:
                found.append(self.outline(polygons[k]) if most > NEAR else [])
        return found


def looking(place: ArrayLike, toward: ArrayLike, lens: float = 1.0) -> Eye:
    """An eye at a place that looks toward a point, upright; both (3,) mm, not one above the other."""
    place, toward = np.asarray(place, float), np.asarray(toward, float)
    ahead = toward - place
    ahead = ahead / np.linalg.norm(ahead)
    level = np.hypot(ahead[0], ahead[1])
    right = np.array([ahead[1], -ahead[0], 0.0]) / level
    up = np.array([-ahead[0] * ahead[2], -ahead[1] * ahead[2], level * level]) / level
    return Eye(place, right, up, ahead, lens, (0.0, 0.0))


def framed(
    place: ArrayLike,
    toward: ArrayLike,
    balls: Sequence[tuple[ArrayLike, float]],
    room: tuple[float, float],
    across: float | None = None,
) -> Eye | None:
    """An eye at a place that looks toward a point, and away from it only as far as some balls ask.

    Parameters
    ----------
    place, toward : (3,) float
        mm; the eye outside all the balls, and not above the point.
    balls : sequence of ((3,) float, float)
        Centres and radii, mm, of what the picture must show.
    room : (float, float)
        Width and height of the picture, widths of a pixel.
    across : float, optional
        The field of view, radians across the picture; without it, the narrowest that shows the balls.

    Returns
    -------
    Eye or None
        None where the field of view can't hold them all.
    """
    place, toward = np.asarray(place, float), np.asarray(toward, float)
    off = np.array([np.asarray(c, float) for c, _ in balls]) - place
    radii = np.array([r for _, r in balls])
    free = (1.0 - 2.0 * FRAME) * np.array(room)
    eye = looking(place, toward)
    if across is None:
        low, high = _bounds(eye, off, radii)
        lens = float((free / (high - low)).min())
        return _windowed(eye, room, lens, (low + high) / 2)
    lens = room[0] / (2.0 * math.tan(across / 2))
    half = free / (2.0 * lens)
    low, high = _bounds(eye, off, radii)
    aside = np.clip(0.0, high - half, low + half)  # nearest to straight ahead
    if (low < aside - half - STEADY).any() or (high > aside + half + STEADY).any():
        return None
    return _windowed(eye, room, lens, aside)


def _windowed(eye: Eye, room: tuple[float, float], lens: float, aside: Floats) -> Eye:
    """The eye with its picture's middle aside (x, y) of what is straight ahead, as it is with lens 1."""
    x, y = aside.tolist()
    return replace(eye, lens=lens, middle=(room[0] / 2 - lens * x, room[1] / 2 - lens * y))


def _bounds(eye: Eye, off: Floats, radii: Floats) -> tuple[Floats, Floats]:
    """The box (x, y) that balls fill in the picture of an eye with lens 1, exactly.

    A ball at (a, d) across and ahead is seen between the tangents ``(a d -+ r s) / (d^2 - r^2)`` with
    ``s^2 = a^2 + d^2 - r^2``.
    """
    ahead = np.maximum(off @ eye.ahead, radii + NEAR)
    below = ahead * ahead - radii * radii
    aside = np.stack([eye.right, -eye.up]) @ off.T
    root = radii * np.sqrt(aside * aside + below)
    return ((aside * ahead - root) / below).min(axis=1), ((aside * ahead + root) / below).max(axis=1)


@dataclass(frozen=True)
class Stand:
    """Where the player's eye is: mm behind the cue ball and above the cloth, radians turned about it.

    ``turn`` 0 looks from the cue ball to the object ball; + goes round to the left. ``across`` is the field
    of view, radians across the picture.
    """

    back: float
    up: float
    turn: float = 0.0
    across: float = math.radians(22.0)


# Down on the shot and standing behind it, at the height of a head over the cloth. Each view has one lens, so
# that what is as far away is as large in every shot. The eye is as much higher or lower as the object ball is
# farther or nearer: seen at one tilt, a way at an angle to the line of sight slants by
# tan(slant) = tan(angle) / sin(tilt), so one slant is one angle.
DOWN = Stand(1200.0, 450.0)
STANDING = Stand(900.0, 800.0, across=math.radians(36.0))
STANDS = {"down": DOWN, "standing": STANDING}
USUAL = 900.0  # mm from cue ball to object ball: there the eye is as high as the stand says
STEP_BACK, NEAREST = 1.5, 1.001  # factors: of a try farther back, and how closely the least is found
MOST_BACK = 12.0  # times as far; where that is not enough the field of view gives way


def eye_of(
    stand: Stand,
    cue_ball: tuple[float, float],
    object_ball: tuple[float, float],
    shown: Sequence[tuple[ArrayLike, float]],
    room: tuple[float, float],
) -> Eye:
    """The eye of a player who stands so and looks at the object ball, in a picture that shows some balls.

    Where its field of view can't hold them (a thin cut to a pocket far aside) the eye steps back, up in
    proportion, no farther than it must.
    """
    cue, ball = np.array([*cue_ball, 0.0]), np.array([*object_ball, 0.0])
    x, y, _ = ((ball - cue) / math.dist(cue_ball, object_ball)).tolist()
    cosine, sine = math.cos(stand.turn), math.sin(stand.turn)
    back = stand.back * np.array([cosine * x + sine * y, cosine * y - sine * x, 0.0])
    own = cue - back
    own[2] = stand.up * math.dist(own, ball) / (stand.back + USUAL)

    def tried(times: float, across: float | None = stand.across) -> Eye | None:
        return framed(ball + times * (own - ball), ball, shown, room, across)

    least = most = 1.0
    found = tried(most)
    while found is None and most < MOST_BACK:
        least, most = most, most * STEP_BACK
        found = tried(most)
    if found is None:  # a picture of a cell or two
        found = tried(most, None)
        assert found is not None
        return found
    while most > NEAREST * least:
        middle = math.sqrt(least * most)
        nearer = tried(middle)
        if nearer is None:
            least = middle
        else:
            most, found = middle, nearer
    return found
