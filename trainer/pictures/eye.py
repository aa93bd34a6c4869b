"""A pinhole eye over the table: where the table's points lie in its picture, and where to put it.

Points are (x, y, z) in mm, ``z`` up from the cloth. A picture's places are widths of a pixel from its top
left corner, ``y`` down, as on a :class:`~trainer.pictures.canvas.Canvas`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats

NEAR = 60.0  # mm: what is nearer than this in front of the eye isn't drawn
AIMINGS = 12  # rounds of turning the eye to the middle of what it must show
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

    def circle(self, centre: tuple[float, float], radius: float, height: float = 0.0) -> Floats | None:
        """A level circle as the picture shows it: the ellipse ``p C p = 0``, C (3, 3), p = (x, y, 1).

        None where not all of it is in front of the eye, or the eye is no higher than it.
        """
        middle = np.array([*centre, height])
        reach = radius * float(np.hypot(self.ahead[0], self.ahead[1]))
        rise = height - float(self.place[2])
        if float(self.depth(middle)) - reach < NEAR or rise >= -1e-6:
            return None
        # A place p is seen along `ways @ p`; the ray meets the level at u / w, v / w from the centre.
        ways = np.stack(
            [
                self.right / self.lens,
                -self.up / self.lens,
                self.ahead - (self.middle[0] * self.right - self.middle[1] * self.up) / self.lens,
            ],
            axis=1,
        )
        w = ways[2]
        u, v = ((self.place[k] - middle[k]) * w + rise * ways[k] for k in (0, 1))
        return np.asarray(np.outer(u, u) + np.outer(v, v) - radius * radius * np.outer(w, w))

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


def looking(place: ArrayLike, toward: ArrayLike, lens: float = 1.0) -> Eye:
    """An eye at a place that looks toward a point, upright; both (3,) mm, not one above the other."""
    place, toward = np.asarray(place, float), np.asarray(toward, float)
    ahead = toward - place
    ahead = ahead / np.linalg.norm(ahead)
    right = np.array([ahead[1], -ahead[0], 0.0])
    right = right / np.linalg.norm(right)
    return Eye(place, right, np.cross(right, ahead), ahead, lens, (0.0, 0.0))


def framed(place: ArrayLike, balls: Sequence[tuple[ArrayLike, float]], room: tuple[float, float]) -> Eye:
    """An eye at a place with the longest lens that still shows all of some balls.

    It looks at the middle of them, so that the picture is stretched as little as can be.

    Parameters
    ----------
    place : (3,) float
        mm, outside all the balls.
    balls : sequence of ((3,) float, float)
        Centres and radii, mm.
    room : (float, float)
        Width and height of the picture, widths of a pixel.
    """
    place = np.asarray(place, float)
    centres = np.array([np.asarray(c, float) for c, _ in balls])
    radii = np.array([r for _, r in balls])
    toward = centres.mean(axis=0)
    for _ in range(AIMINGS):
        eye = looking(place, toward)
        low, high = _bounds(eye, centres, radii)
        x, y = (low + high) / 2
        way = eye.ahead + x * eye.right - y * eye.up
        toward = place + way * 1000.0
    eye = looking(place, toward)
    low, high = _bounds(eye, centres, radii)
    free = 1.0 - 2.0 * FRAME
    lens = min(room[0] * free / (high[0] - low[0]), room[1] * free / (high[1] - low[1]))
    x, y = -(low + high) / 2 * lens
    return replace(eye, lens=float(lens), middle=(room[0] / 2 + float(x), room[1] / 2 + float(y)))


def _bounds(eye: Eye, centres: Floats, radii: Floats) -> tuple[Floats, Floats]:
    """The box (x, y) that balls fill in the picture of an eye with lens 1, exactly.

    A ball at (a, d) across and ahead is seen between the tangents ``(a d -+ r s) / (d^2 - r^2)`` with
    ``s^2 = a^2 + d^2 - r^2``.
    """
    off = centres - eye.place
    ahead = np.maximum(off @ eye.ahead, radii + NEAR)
    low, high = [], []
    for aside in (off @ eye.right, -(off @ eye.up)):
        root = radii * np.sqrt(aside**2 + ahead**2 - radii**2)
        below = ahead**2 - radii**2
        low.append(((aside * ahead - root) / below).min())
        high.append(((aside * ahead + root) / below).max())
    return np.array(low), np.array(high)


@dataclass(frozen=True)
class Stand:
    """Where the player's eye is: mm behind the cue ball and above the cloth, radians turned about it.

    ``turn`` 0 looks from the cue ball to the object ball; + goes round to the left.
    """

    back: float
    up: float
    turn: float = 0.0


# Down on the shot and standing behind it; sizes chosen to look right, see README.
DOWN, STANDING = Stand(1200.0, 350.0), Stand(900.0, 1500.0)
STANDS = {"down": DOWN, "standing": STANDING}
WIDEST = math.radians(40.0)  # across; a lens wider than this steps back instead
STEP_BACK = 1.15
MOST_BACK = 6000.0


def eye_of(
    stand: Stand,
    cue_ball: tuple[float, float],
    object_ball: tuple[float, float],
    shown: Sequence[tuple[ArrayLike, float]],
    room: tuple[float, float],
) -> Eye:
    """The eye of a player who stands so, with a lens that shows all of some balls.

    Where that would take too wide a lens (a thin cut to a pocket far aside) the eye steps back, up
    in proportion, until it doesn't.
    """
    cue, ball = np.array(cue_ball), np.array(object_ball)
    way = (ball - cue) / math.dist(cue_ball, object_ball)
    cosine, sine = math.cos(stand.turn), math.sin(stand.turn)
    way = np.array([cosine * way[0] + sine * way[1], cosine * way[1] - sine * way[0]])
    back, up = stand.back, stand.up
    while True:
        eye = framed([*(cue - back * way), up], shown, room)
        if room[0] <= 2.0 * eye.lens * math.tan(WIDEST / 2) or back > MOST_BACK:
            return eye
        back, up = back * STEP_BACK, up * STEP_BACK
