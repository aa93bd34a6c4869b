"""Help from the jaws: balls that touch a jaw, or the cushion beside it, and drop all the same.

The rebound is the model of ``jaws``; its limits are stated there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.jaws import CUSHION, RESTITUTION, first_contact, normal_at, outline
from trainer.geometry.pockets import Window, axes, table_window
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, dot, length, scaled, turn_by, unit

MOST_CONTACTS = 8  # a ball that rattles more than this doesn't drop
HELPS = ("none", "near", "both")
SIDE_STEPS = 128  # ways tried to each side: a gap narrower than a mouth / 128 is not seen
EVEN = 1e-9  # jaws whose distances differ by less than this part are both near
HALVINGS = 48  # a step over 2^48 is below 1e-13 mm at the mouth


def drops(
    table: Table,
    object_ball: ArrayLike,
    way: ArrayLike,
    pocket: ArrayLike,
    *,
    help: str = "both",
    restitution: float = RESTITUTION,
) -> NDArray[np.bool_]:
    """Whether a ball drops, with what help it gets from the jaws.

    Parameters
    ----------
    table : Table
    object_ball : (..., 2) float
        Centre, mm, on the cloth.
    way : (..., 2) float
        Unit direction it leaves along.
    pocket : (...) int
        Index into ``POCKETS``.
    help : str
        ``none``: it may touch nothing; ``near``: only the nearer jaw and its cushion; ``both``. A jaw
        that gives no help must not be touched by the ball while it goes down, either.
    restitution : float
        Part of the speed into the rubber that the ball keeps, 0 to 1.

    Returns
    -------
    (...) bool
        After at most ``MOST_CONTACTS`` contacts, each with a jaw or with the cushion beside one.
    """
    _check(help, restitution)
    ball, way = np.asarray(object_ball, float), np.asarray(way, float)
    pocket = np.asarray(pocket, np.intp)
    shape = np.broadcast_shapes(ball.shape[:-1], way.shape[:-1], pocket.shape)
    at = np.broadcast_to(ball, (*shape, 2)).reshape(-1, 2)
    way = np.broadcast_to(way, (*shape, 2)).reshape(-1, 2)
    hole = np.broadcast_to(pocket, shape).reshape(-1)
    on, radius = outline(table), table.balls.object_radius
    far = length(table.jaws[hole] - at[:, None])
    # A ball in the middle has two near jaws.
    barred = (far > far[:, ::-1] * (1.0 + EVEN)) if help == "near" else np.full(far.shape, help == "none")

    found = np.zeros(len(at), bool)
    rows = np.arange(len(at))
    for _ in range(MOST_CONTACTS + 1):
        runs = first_contact(on, at, way, hole, radius)
        run = runs.min(axis=(1, 2))
        to_drop, speed = on.drop[hole] - dot(at, on.axes[hole]), dot(way, on.axes[hole])
        falls = (to_drop >= 0) & (speed > 0) & (to_drop <= run * np.where(speed > 0, speed, 1.0))
        # It drops between the jaws; a way out through another pocket's mouth doesn't count.
        end, other = on.centres[hole, 0, 1], on.centres[hole, 1, 1]
        down = at + scaled(way, to_drop / np.where(speed > 0, speed, 1.0))
        falls &= (dot(down - end, other - end) >= 0) & (dot(down - other, end - other) >= 0)
        # A barred jaw must not be touched while the ball goes down, either.
        later = (np.isfinite(runs[..., :CUSHION]).any(axis=2) & barred).any(axis=1)
        found[rows[falls & ~later]] = True
        which = runs.reshape(-1, 8).argmin(axis=1)
        jaw, part = which // 4, which % 4
        on_way = ~falls & np.isfinite(run) & ~barred[np.arange(len(rows)), jaw]
        if not on_way.any():
            break
        rows, hole, barred = rows[on_way], hole[on_way], barred[on_way]
        at = at[on_way] + scaled(way[on_way], run[on_way])
        normal = normal_at(on, at, hole, jaw[on_way], part[on_way])
        into = dot(way[on_way], normal)
        way = unit(way[on_way] - scaled(normal, (1.0 + restitution) * into))
    return found.reshape(shape)


@dataclass(frozen=True)
class Helped:
    """A window with help from the jaws, ``window``, and the ``clean`` one inside it."""

    window: Window
    clean: Window

    @property
    def only_with_help(self) -> NDArray[np.bool_]:
        """Whether the pocket takes the ball off a jaw but not cleanly, shape (...)."""
        return np.asarray(self.window.is_open & ~self.clean.is_open)


def helped_window(
    table: Table,
    object_ball: ArrayLike,
    pocket: ArrayLike,
    *,
    help: str = "both",
    restitution: float = RESTITUTION,
) -> Helped:
    """The connected range of directions about the clean window that drops with help.

    Where the clean window is closed, it is the widest range that drops off a jaw. Parameters as in
    :func:`drops`. Edges are halved to rounding; gaps and ranges narrower than 1/128 of the mouth
    aren't seen.
    """
    _check(help, restitution)
    ball, pocket = np.asarray(object_ball, float), np.asarray(pocket, np.intp)
    shape = np.broadcast_shapes(ball.shape[:-1], pocket.shape)
    ball = np.broadcast_to(ball, (*shape, 2)).reshape(-1, 2)
    hole = np.broadcast_to(pocket, shape).reshape(-1)
    clean = table_window(table, ball, hole)
    right, left = table.jaws[hole, 0], table.jaws[hole, 1]
    centre, mouth = (right + left) / 2, left - right

    # A direction is told by where it crosses the mouth's line, in mouths from the middle.
    def way_at(s: Floats) -> Floats:
        return unit(centre[:, None] + mouth[:, None] * s[..., None] - ball[:, None])

    def falls(s: Floats) -> NDArray[np.bool_]:
        return drops(table, ball[:, None], way_at(s), hole[:, None], help=help, restitution=restitution)

    side = np.arange(-SIDE_STEPS, SIDE_STEPS + 1) / SIDE_STEPS
    square = dot(mouth, mouth)
    aimed = dot(np.where(clean.is_open[:, None], clean.target, centre) - centre, mouth) / square
    before = cross(right - ball, left - ball) > 0
    seed = np.where(clean.is_open, aimed, _widest(falls(np.broadcast_to(side, (len(ball), len(side)))), side))
    tried = seed[:, None] + side
    good = falls(tried)
    edges = []
    for step in (-1, 1):  # right, then left
        outward = good[:, SIDE_STEPS::step]
        all_drop = outward.all(axis=1)
        last = np.where(all_drop, SIDE_STEPS, np.maximum(outward.argmin(axis=1) - 1, 0))
        first_out = np.where(all_drop, last, last + 1)
        edges.append(seed + step * np.stack([last, first_out]) / SIDE_STEPS)
    inside, outside = np.stack(edges, axis=-1)  # (n, 2) each
    for _ in range(HALVINGS):
        half = (inside + outside) / 2
        ok = falls(half)
        inside, outside = np.where(ok, half, inside), np.where(ok, outside, half)
    ways = way_at(inside)
    ends = ways[:, 0], ways[:, 1]
    is_open = good[:, SIDE_STEPS] & before
    middle_way = unit(ends[0] + ends[1])
    run = cross(middle_way, mouth)
    far = cross(right - ball, mouth) / np.where(run > 0, run, 1.0)
    target = ball + scaled(middle_way, far)
    helped = Window(ends[0], ends[1], middle_way, target, is_open)
    return Helped(_shaped(helped, shape), _shaped(clean, shape))


def _shaped(seen: Window, shape: tuple[int, ...]) -> Window:
    right, left, middle, target = (
        v.reshape(*shape, 2) for v in (seen.right, seen.left, seen.middle, seen.target)
    )
    return Window(right, left, middle, target, seen.is_open.reshape(shape))


def _widest(good: NDArray[np.bool_], places: Floats) -> Floats:
    """The middle place of the longest run of true in each row (n, m); 0 where there is none."""
    count = np.zeros(len(good), np.intp)
    best, end = count.copy(), count.copy()
    for i in range(good.shape[1]):
        count = np.where(good[:, i], count + 1, 0)
        end = np.where(count > best, i, end)
        best = np.maximum(best, count)
    return np.where(best > 0, places[end - np.maximum(best - 1, 0) // 2], 0.0)


def effective_opening(
    table: Table,
    kind: str,
    entry_angle: ArrayLike,
    distance: float = 1000.0,
    *,
    help: str = "none",
    restitution: float = RESTITUTION,
) -> Floats:
    """How wide a pocket is for the ball's centre, mm, as a function of the entry angle. Shape (...).

    Parameters
    ----------
    table : Table
    kind : str
        ``corner`` or ``middle``.
    entry_angle : (...) float
        Where the ball lies, seen from the middle of the mouth, off the pocket's axis, radians; at a
        corner + is toward the long cushion, which runs at 45 degrees.
    distance : float
        From the middle of the mouth, mm. With help the ball must lie on the table.
    help, restitution
        As in :func:`drops`.

    Returns
    -------
    (...) float
        ``2 distance tan(half the window)``; 0 where nothing drops.
    """
    if kind not in ("corner", "middle"):
        raise ValueError(f"a pocket of kind {kind!r}; allowed: corner, middle")
    k = POCKETS.index("top-right" if kind == "corner" else "middle-left")
    axis = axes(table)[k]
    back = turn_by(-axis, np.asarray(entry_angle, float))
    ball = table.jaws[k].sum(axis=0) / 2 + distance * back
    if help == "none":
        seen = table_window(table, ball, k)
    else:
        seen = helped_window(table, ball, k, help=help, restitution=restitution).window
    half = cross(seen.right, seen.left) / (1.0 + dot(seen.right, seen.left))
    return np.where(seen.is_open, 2.0 * distance * half, 0.0)


def _check(help: str, restitution: float) -> None:
    if help not in HELPS:
        raise ValueError(f"help {help!r}; allowed: {', '.join(HELPS)}")
    if not 0 <= restitution <= 1:
        raise ValueError(f"a restitution of {restitution:g}; allowed: 0 to 1")
