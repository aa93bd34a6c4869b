"""A table built afresh from its numbers, and a ball that is marched over it in small steps.

Nothing here shares a formula with the trainer: a pocket's mouth is cut out of the rectangle, a
ball is a disc, and it touches something where a step brings it nearer than its radius.
"""

import math
from dataclasses import dataclass

import numpy as np

from trainer.geometry.tables import Table

STEP = 0.2  # mm; a step may miss up to STEP^2 / (8 R) = 0.0002 mm of depth


@dataclass
class Ground:
    """Jaws by pocket as ``(name, one, other)``, cushions by name as ``(name, one, other)``."""

    mouths: list[tuple[str, np.ndarray, np.ndarray]]
    cushions: list[tuple[str, np.ndarray, np.ndarray]]
    radius: float


def ground(table: Table) -> Ground:
    length, width = table.length, table.width
    c, m, mid = table.corner * math.sqrt(0.5), table.middle * 0.5, table.length * 0.5
    at = {
        "baulk-right": ((c, 0), (0, c)),
        "baulk-left": ((0, width - c), (c, width)),
        "middle-right": ((mid - m, 0), (mid + m, 0)),
        "middle-left": ((mid - m, width), (mid + m, width)),
        "top-right": ((length - c, 0), (length, c)),
        "top-left": ((length, width - c), (length - c, width)),
    }
    runs = [
        ("right", (c, 0), (mid - m, 0)),
        ("right", (mid + m, 0), (length - c, 0)),
        ("left", (c, width), (mid - m, width)),
        ("left", (mid + m, width), (length - c, width)),
        ("baulk", (0, c), (0, width - c)),
        ("top", (length, c), (length, width - c)),
    ]
    return Ground(
        [(name, np.array(a, float), np.array(b, float)) for name, (a, b) in at.items()],
        [(name, np.array(a, float), np.array(b, float)) for name, a, b in runs],
        table.balls.object_radius,
    )


def steps(start: np.ndarray, way: np.ndarray, run: float) -> np.ndarray:
    """The centres of a ball marched ``run`` mm along ``way``, (n, 2)."""
    return start + np.arange(0.0, run, STEP)[:, None] * way


def crosses(path: np.ndarray, one: np.ndarray, other: np.ndarray) -> int:
    """The first step whose centre lies past the segment, having gone through it; -1 if none does."""
    mouth = other - one
    size = math.hypot(*mouth)
    past = (mouth[0] * (path[:, 1] - one[1]) - mouth[1] * (path[:, 0] - one[0])) / size
    along = (path - one) @ mouth / size
    through = (np.sign(past[1:]) != np.sign(past[:-1])) & (along[1:] > 0) & (along[1:] < size)
    return int(through.argmax()) + 1 if through.any() else -1


def drops(path: np.ndarray, one: np.ndarray, other: np.ndarray, radius: float) -> bool | None:
    """Whether a marched ball passes between two points untouched; None where it's too close to say."""
    near = min(float(np.hypot(*(path - one).T).min()), float(np.hypot(*(path - other).T).min()))
    if abs(near - radius) < 2e-3:
        return None
    return near > radius and crosses(path, one, other) > 0


@dataclass
class Met:
    what: str
    which: str
    at: np.ndarray
    jaw: np.ndarray | None = None
    doubtful: bool = False


def first_met(on: Ground, start: np.ndarray, way: np.ndarray, run: float) -> Met:
    """The first thing that a marched ball touches, or the mouth that it passes untouched."""
    path = steps(start, way, run)
    best = len(path)
    met: Met | None = None
    grazes = False
    for name, one, other in on.cushions:
        size = math.hypot(*(other - one))
        along = (path - one) @ (other - one) / size
        inside = (along >= 0) & (along <= size)
        foot = one + np.clip(along, 0, size)[:, None] * (other - one) / size
        touching = inside & (np.hypot(*(path - foot).T) < on.radius)
        if touching.any() and touching.argmax() < best:
            best = int(touching.argmax())
            met = Met("cushion", name, path[best])
    for name, one, other in on.mouths:
        for jaw in (one, other):
            far = np.hypot(*(path - jaw).T)
            grazes |= bool(abs(far.min() - on.radius) < 2e-3)
            touching = far < on.radius
            if touching.any() and touching.argmax() < best:
                best = int(touching.argmax())
                met = Met("jaw", name, path[best], jaw)
    for name, one, other in on.mouths:
        k = crosses(path, one, other)
        if 0 < k < best:
            # through the mouth: it drops if neither jaw is touched on the way on
            if met is not None and met.what == "jaw" and met.which == name:
                continue
            best, met = k, Met("pocket", name, path[k])
    assert met is not None
    met.doubtful = grazes
    return met
