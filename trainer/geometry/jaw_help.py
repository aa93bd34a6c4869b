"""Help from the jaws: balls that touch a jaw, or the cushion beside it, and drop all the same.

The rebound is the model of ``jaws``; its limits are stated there. What becomes of a ball that rolls at a
pocket depends on the line it rolls along and not on where it started, so the lines that drop are worked
out once a pocket, as an edge over the entry angle, and then serve every ball.
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.jaws import CUSHION, RESTITUTION, Outline, first_contact, normal_at, outline
from trainer.geometry.pockets import axes, clear_line
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, dot, left_of, length, scaled, turn_by, unit

MOST_CONTACTS = 8  # a ball that rattles more than this doesn't drop
HELPS = ("none", "near", "both")
EVEN = 1e-9  # jaws whose distances differ by less than this part are both near
KINDS = {"corner": POCKETS.index("top-right"), "middle": POCKETS.index("middle-left")}
"""A pocket of each kind; the others are its mirror images."""
WIDEST = 89.0  # entry angles, degrees off the axis to each side
COARSE, FINE = 1.0, 1 / 8  # degrees between them; the fine step where the edge has a corner or a jump
STRAIGHT = 0.1  # mm: an edge that turns more than this from one coarse step to the next has a corner
TRIED = 24  # lines tried over half a mouth and more: a gap narrower than that step is not seen
HALVINGS = 16  # of that step, to 1e-4 mm
AT_ONCE = 2  # halvings: a few more lines cost less than another call


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
    check(help, restitution)
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

    return _rolled(on, at, way, hole, barred, radius, restitution).reshape(shape)


def _rolled(
    on: Outline,
    at: Floats,
    way: Floats,
    hole: NDArray[np.intp],
    barred: NDArray[np.bool_],
    radius: float,
    restitution: float,
) -> NDArray[np.bool_]:
    """Whether balls (n, 2) drop that must not touch the ``barred`` (n, 2) jaws of their pockets."""
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
    return found


@lru_cache(maxsize=64)
def line_edge(
    table: Table, kind: str, helper: str, restitution: float = RESTITUTION
) -> tuple[Floats, Floats]:
    """How far to the left a ball may roll and still drop, over the entry angle.

    Parameters
    ----------
    table : Table
    kind : str
        ``corner`` or ``middle``.
    helper : str
        The jaws that may be touched: ``left`` (as the ball looks at the pocket) or ``both``.
    restitution : float
        As in :func:`drops`.

    Returns
    -------
    entries, edge : (n,) float
        For ways turned left of the axis by ``entries`` radians: the leftmost line that drops with every
        line between it and the middle one, in mm left of the middle of the mouth. Where nothing drops
        it is the middle of the jaws' shadows. Lines that no ball on the cloth can roll along are left
        out. To the right it is the mirror image: ``-edge(-entry)``.
    """
    if (same := bare(table)) != table:
        return line_edge(same, kind, helper, restitution)
    both = _worked_out(table, kind, helper, restitution)
    for part in both:
        part.flags.writeable = False
    return both


def bare(table: Table) -> Table:
    """The table without what no jaw knows of: tables that differ only in that share their edges."""
    return replace(table, name="", title="", baulk=0.0, d_radius=0.0, spots=(), stroke=None, help="both")


def _worked_out(table: Table, kind: str, helper: str, restitution: float) -> tuple[Floats, Floats]:
    """What :func:`line_edge` gives, some 50 ms of work."""
    coarse = np.arange(-WIDEST, WIDEST + COARSE / 2, COARSE)
    edge = _edge_at(table, kind, helper, restitution, np.radians(coarse))
    corner = np.abs(np.diff(edge, 2)) > STRAIGHT
    gaps = np.flatnonzero(np.append(corner, False) | np.insert(corner, 0, False))
    between = (coarse[gaps, None] + np.arange(FINE, COARSE, FINE)).ravel()
    more = _edge_at(table, kind, helper, restitution, np.radians(between))
    entries = np.radians(np.concatenate([coarse, between]))
    order = np.argsort(entries)
    return entries[order], np.concatenate([edge, more])[order]


def _edge_at(table: Table, kind: str, helper: str, restitution: float, entries: Floats) -> Floats:
    """The edge of :func:`line_edge` at these entry angles."""
    k = KINDS[kind]
    on, radius, hole = outline(table), table.balls.object_radius, np.full(len(entries), k)
    way = turn_by(np.broadcast_to(axes(table)[k], (len(entries), 2)), entries)
    centre = table.jaws[k].mean(axis=0)
    # The lines that a ball on the cloth can roll along pass between the outermost places for its centre.
    low, high = np.full(2, radius), np.array(table.size) - radius
    places = np.array([low, [low[0], high[1]], [high[0], low[1]], high]) - centre
    across = cross(way[:, None], places)
    leftmost = across.max(axis=1)
    middle = np.clip(clear_line(table, way, k), across.min(axis=1), leftmost)
    step = 0.6 * float(length(table.jaws[k, 1] - table.jaws[k, 0])) / TRIED

    def falls(offset: Floats) -> NDArray[np.bool_]:
        """For lines (n,) or (n, m), mm left of the middle of the mouth."""
        wide = (slice(None),) + (None,) * (offset.ndim - 1)
        possible = offset <= leftmost[wide]
        ways = np.broadcast_to(way[wide], (*offset.shape, 2)).reshape(-1, 2)
        line = centre + scaled(left_of(ways), offset.ravel())
        with np.errstate(divide="ignore", invalid="ignore"):
            goes = np.fmax((low - line) / ways, (high - line) / ways).min(axis=1)
        goes = np.where(possible.ravel() & np.isfinite(goes), goes, 0.0)
        start = line + scaled(ways, goes)  # where it meets the first cushion
        holes = np.broadcast_to(hole[wide], offset.shape).ravel()
        barred = np.broadcast_to([helper == "left", False], (len(ways), 2))
        there = _rolled(on, start, ways, holes, barred, radius, restitution).reshape(offset.shape)
        return np.asarray(there & possible)

    good = falls(middle[:, None] + step * np.arange(TRIED))
    last = np.where(good.all(axis=1), TRIED, good.argmin(axis=1)) - 1
    inside = middle + step * np.maximum(last, 0)
    outside = inside + step
    rows = np.arange(len(entries))
    for _ in range(HALVINGS // AT_ONCE):
        ends = np.stack([inside, outside], axis=1)
        for _ in range(AT_ONCE):  # every place that so many halvings may come to
            between = (ends[:, 1:] + ends[:, :-1]) / 2
            ends = np.insert(ends, np.arange(1, ends.shape[1]), between, axis=1)
        there, at, step_of = falls(ends[:, 1:-1]), np.full(len(entries), 0), 2**AT_ONCE
        while step_of > 1:
            step_of //= 2
            at = np.where(there[rows, at + step_of - 1], at + step_of, at)
        inside, outside = ends[rows, at], ends[rows, at + 1]
    return np.where(last < 0, middle, inside)


def check(help: str, restitution: float) -> None:
    """ValueError where the help or the restitution is none that there is."""
    if help not in HELPS:
        raise ValueError(f"help {help!r}; allowed: {', '.join(HELPS)}")
    if not 0 <= restitution <= 1:
        raise ValueError(f"a restitution of {restitution:g}; allowed: 0 to 1")
