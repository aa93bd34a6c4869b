"""Which ways of the object ball a pocket accepts, on the table as it is set: clean, or off its jaws too."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.jaws import EVEN, KINDS, RESTITUTION, check, line_edge
from trainer.geometry.pockets import Window, axes, clean_window
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, angle_between, cross, dot, length, turn_by

MIDDLE = np.array([name.startswith("middle") for name in POCKETS])
REFINED = 4  # Newton steps inside one gap between entry angles, where all is almost straight


def table_window(
    table: Table,
    object_ball: ArrayLike,
    pocket: ArrayLike,
    *,
    help: str | None = None,
    restitution: float = RESTITUTION,
) -> Window:
    """The window of a table's pocket, with the help from its jaws that the table counts.

    The middle and the target are those of the clean window, also where help makes it wider to one
    side; where no ball passes cleanly, its two ends have passed each other, and midway between them is
    still where the two jaws leave the ball the same room.

    Parameters
    ----------
    table : Table
    object_ball : (..., 2) float
        Centre, mm, on the cloth.
    pocket : (...) int
        Index into ``POCKETS``.
    help : str, optional
        ``none``, ``near`` or ``both`` instead of the table's own.
    restitution : float
        As in :func:`jaws.drops`.

    Returns
    -------
    Window
        Without help exact. With help its ends are those of :func:`jaws.line_edge`, straight between
        the angles worked out there: by far most within 0.01 mm at the mouth, and never inside the
        clean window's.
    """
    help = table.help if help is None else help
    check(help, restitution)
    clean = clean_window(table, object_ball, pocket)
    if help == "none":
        return clean
    ball, pocket = np.asarray(object_ball, float), np.asarray(pocket, np.intp)
    shape = clean.is_open.shape
    hole = np.broadcast_to(pocket, shape).ravel()
    axis = axes(table)[hole]
    spot = np.broadcast_to(ball, (*shape, 2)).reshape(-1, 2)
    rel = spot - table.mouths[hole]
    before, left_by = -dot(rel, axis), cross(axis, rel)
    middle = angle_between(axis, clean.middle.reshape(-1, 2))
    far = length(table.jaws[hole] - spot[:, None]).T
    helps = far <= far[::-1] * (1.0 + EVEN) if help == "near" else np.ones(far.shape, bool)
    # The right end as the left one of the mirror image; both at once, (2, n).
    side = np.array([[-1.0], [1.0]])
    asked = np.broadcast_to(before, far.shape), side * left_by, side * middle
    turned = np.full(far.shape, np.nan)
    for kind in KINDS:
        rows = np.nonzero(helps & (MIDDLE[hole] == (kind == "middle")))
        if rows[0].size:
            edge = _edge(table, kind, "left" if help == "near" else "both", restitution)
            turned[rows] = _last_entry(edge, *(part[rows] for part in asked))
    turned *= side
    helped = turn_by(axis, np.where(np.isnan(turned), 0.0, turned))
    own = np.stack([clean.right, clean.left]).reshape(2, -1, 2)
    wider = ~np.isnan(turned) & (side * cross(own, helped) > 0)
    end = np.where(wider[..., None], helped, own)
    room = (side * cross(clean.middle.reshape(-1, 2), end) > 0).all(axis=0)
    right, left = end.reshape(2, *shape, 2)
    mouth = table.jaws[pocket, 1] - table.jaws[pocket, 0]
    faces = cross(table.jaws[pocket, 0] - ball, table.jaws[pocket, 1] - ball) > 0
    is_open = room.reshape(shape) & faces & (cross(clean.middle, mouth) > 0)
    return Window(right, left, clean.middle, clean.target, np.asarray(is_open))


@dataclass(frozen=True)
class _Edge:
    """The edge of :func:`line_edge`, with the sines and cosines of its entries and its slope to the next."""

    entries: Floats
    edge: Floats
    sines: Floats
    cosines: Floats
    slopes: Floats


@lru_cache(maxsize=64)
def _edge(table: Table, kind: str, helper: str, restitution: float) -> _Edge:
    entries, edge = line_edge(table, kind, helper, restitution)
    return _Edge(entries, edge, np.sin(entries), np.cos(entries), np.diff(edge) / np.diff(entries))


def _last_entry(on: _Edge, before: Floats, left_by: Floats, middle: Floats) -> Floats:
    """The entry angle of the leftmost way that drops; NaN where not even the middle one does.

    The balls lie ``before`` the mouth and ``left_by`` of its
    axis, mm; ``middle`` is the entry angle of the way to start from. All (n,), angles in radians.
    """
    entries, edge, sines, cosines, slopes = on.entries, on.edge, on.sines, on.cosines, on.slopes

    def over(angle: Floats, i: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """How far a ball's line passes left of the edge, and how fast that grows with the angle."""
        sine, cosine = np.sin(angle), np.cos(angle)
        value = left_by * cosine + before * sine - edge[i] - slopes[i] * (angle - entries[i])
        return value, before * cosine - left_by * sine - slopes[i]

    low = np.searchsorted(entries, middle, "right") - 1
    low = np.minimum(np.maximum(low, 0), len(entries) - 2)
    high = np.full(len(before), len(entries) - 1)
    ok = (over(middle, low)[0] < 0) & (middle > entries[0]) & (middle < entries[-1])
    for _ in range((len(entries) - 1).bit_length()):  # halved until all of them are neighbours
        half = (low + high) // 2
        out = left_by * cosines[half] + before * sines[half] > edge[half]
        low, high = np.where(out, low, half), np.where(out, np.maximum(half, low + 1), high)
    least, most = np.maximum(entries[low], middle), entries[high]
    angle = least
    for _ in range(REFINED):
        value, grows = over(angle, low)
        angle = np.maximum(angle - value / np.where(grows > 0, grows, np.inf), least)
        angle = np.minimum(angle, most)
    return np.where(ok, angle, np.nan)
