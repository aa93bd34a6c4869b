"""The jaws: their outline as a ball's centre meets it, and balls that touch one and drop all the same.

The trace of a ball among the jaws is a model: straight ways, and a rebound that keeps the speed along
the rubber and ``restitution`` of the speed into it. Ball on rail: 0.6 to 0.9 (Alciatore, typical values,
https://billiards.colostate.edu/threads/physics.html); the middle of that is taken. Left out
are the ball's speed (a fast ball rattles more), its roll and spin, the rubber's friction and give, the
nap of the cloth and the edge of the slate: a ball drops where its centre is as deep as its jaws' ends.

What becomes of a ball that rolls at a pocket depends on the line it rolls along and not on where it started,
so the lines that drop are worked out once a pocket, as an edge over the entry angle, and then serve every
ball.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.edges import known
from trainer.geometry.pockets import axes, clear_line
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, dot, left_of, length, scaled, turn_by, unit

RESTITUTION = 0.75  # speed into the rubber: middle of the published 0.6 to 0.9, see above
NOSE, FACING, END, CUSHION = range(4)  # parts of a jaw, as first_contact orders them
INSIDE = 1e-6  # mm; a centre this far inside a straight part still counts as touching it


@dataclass(frozen=True)
class Outline:
    """The jaws of the six pockets. All lengths in mm; axes pocket, jaw (right-hand, left-hand).

    ``centres`` (6, 2, 2, 2) and ``radii`` (6, 2, 2): nose and inner end as discs. ``starts``,
    ``ways``, ``normals`` (6, 2, 2, 2) and ``runs`` (6, 2, 2): facing and cushion as straight lines, the
    unit way they run from the nose, their unit normal toward the ball, their length. ``axes`` (6, 2)
    and ``drop`` (6,): a ball drops where its centre's ``dot`` with the axis is ``drop``.
    """

    centres: Floats
    radii: Floats
    starts: Floats
    ways: Floats
    normals: Floats
    runs: Floats
    axes: Floats
    drop: Floats


@lru_cache(maxsize=32)
def outline(table: Table) -> Outline:
    """The outline of a table's jaws."""
    centres, radii, facing = table.discs
    noses, end = table.jaws, centres[:, :, 1]
    into = axes(table)
    across = unit(noses - noses[:, ::-1])  # away from the other jaw
    # Along the edge of the table: the mouth's direction less what of it leaves the table.
    on_side = (noses[..., 1] == 0) | (noses[..., 1] == table.width)
    along = np.where(on_side[..., None], [1.0, 0.0], [0.0, 1.0])
    away = scaled(along, np.sign(dot(along, across)))
    to_table = np.array(table.size) / 2 - noses
    turned = left_of(away)
    cushion_normal = scaled(turned, np.sign(dot(turned, to_table)))
    turned = left_of(facing)
    facing_normal = scaled(turned, np.sign(dot(turned, -across)))
    # The rounding touches both lines at the foot of its centre.
    tangent = dot(centres[:, :, 0] - noses, facing)
    starts = np.stack([noses + scaled(facing, tangent), noses + scaled(away, tangent)], axis=2)
    # A cushion runs to the jaw that faces its start along the same nose.
    gap = starts[:, :, 1].reshape(1, 12, 2) - starts[:, :, 1].reshape(12, 1, 2)
    flat = away.reshape(12, 1, 2)
    ahead, aside = dot(gap, flat), np.abs(cross(gap, flat))
    faces = (ahead > 0) & (aside < INSIDE) & (dot(flat, away.reshape(1, 12, 2)) < 0)
    cushion = np.where(faces, ahead, np.inf).min(axis=1).reshape(6, 2)
    runs = np.stack([dot(end - starts[:, :, 0], facing), cushion], axis=2)
    return Outline(
        centres=centres,
        radii=radii,
        starts=starts,
        ways=np.stack([facing, away], axis=2),
        normals=np.stack([facing_normal, cushion_normal], axis=2),
        runs=runs,
        axes=into,
        drop=dot(end[:, 0], into),
    )


def first_contact(on: Outline, ball: Floats, way: Floats, pocket: NDArray[np.intp], radius: float) -> Floats:
    """How far each ball runs until it touches each part of a pocket's jaws, (n, 2, 4); inf if never.

    ``ball`` and ``way`` (n, 2), ``pocket`` (n,). The last part is the cushion, up to the next pocket.
    """
    ball, way = ball[:, None, None], way[:, None, None]
    rel = ball - on.centres[pocket]
    back, off = -dot(rel, way), cross(way, rel)
    reach = on.radii[pocket] + radius
    depth = reach * reach - off * off
    hits = (back > 0) & (depth > 0)
    run = np.maximum(back - np.sqrt(np.where(hits, depth, 0.0)), 0.0)
    # The nose is round only as far as the facing.
    touch = dot(rel + scaled(way, run), on.ways[pocket][..., :1, :])
    hits &= (touch < INSIDE) | (np.arange(2) == 1)
    round_run = np.where(hits, run, np.inf)

    rel = ball - on.starts[pocket]
    high, fall = dot(rel, on.normals[pocket]) - radius, -dot(way, on.normals[pocket])
    run = np.maximum(high, 0.0) / np.where(fall > 0, fall, 1.0)
    foot = dot(rel + scaled(way, run), on.ways[pocket])
    hits = (fall > 0) & (high > -INSIDE) & (foot >= 0) & (foot <= on.runs[pocket])
    line_run = np.where(hits, run, np.inf)
    parts = (round_run[..., 0], line_run[..., 0], round_run[..., 1], line_run[..., 1])
    return np.stack(parts, axis=-1)


def normal_at(
    on: Outline, at: Floats, pocket: NDArray[np.intp], jaw: NDArray[np.intp], part: NDArray[np.intp]
) -> Floats:
    """The unit normal, toward the ball, of the part of a jaw that a ball touches at ``at`` (n, 2)."""
    disc = np.where(part == END, 1, 0)
    line = np.where(part == CUSHION, 1, 0)
    is_round = (part == NOSE) | (part == END)
    return np.where(
        is_round[:, None], unit(at - on.centres[pocket, jaw, disc]), on.normals[pocket, jaw, line]
    )


MOST_CONTACTS = 8  # a ball that rattles more than this doesn't drop
HELPS = ("none", "near", "both")
EVEN = 1e-9  # jaws whose distances differ by less than this part are both near
KINDS = {"corner": POCKETS.index("top-right"), "middle": POCKETS.index("middle-left")}
"""A pocket of each kind; the others are its mirror images."""
# Pockets whose left-hand jaw ends a long cushion: a ball may come along it that meets it farther from the
# pocket than any does along the short one.
EDGED = {"corner": POCKETS.index("top-left"), "middle": POCKETS.index("middle-left")}
WIDEST = 89.0  # entry angles, degrees off the axis to each side
COARSE = 1.0  # degrees between them
PARTS, FINER = 4, 4  # where the edge has a corner or jumps a gap is parted in so many, so many times over
STRAIGHT = 0.1  # mm: an entry whose edge is farther off the line between its neighbours' is at a corner
TRIED = 24  # lines tried over half a mouth and more: a gap narrower than that step is not seen
BESIDE = 0.5  # of that step, where the middle line doesn't drop
NOWHERE = -1e3  # mm: the edge where no line drops
EVERY = slice(None)
HALVINGS = 16  # of that step, to 1e-4 mm
# Halvings at once, of many entries and of fewer than FEW: a few more lines cost less than another call.
AT_ONCE, OF_FEW, FEW = 2, 4, 100


def drops(
    on: Outline,
    at: Floats,
    way: Floats,
    hole: NDArray[np.intp],
    barred: NDArray[np.bool_],
    radius: float,
    restitution: float,
) -> NDArray[np.bool_]:
    """Whether balls drop that roll among the jaws, contact by contact.

    Parameters
    ----------
    on : Outline
    at, way : (n, 2) float
        Centres, mm, on the cloth, and unit directions.
    hole : (n,) int
        Indices into ``POCKETS``.
    barred : (n, 2) bool
        The jaws (right-hand, left-hand) that give no help: they must not be touched, not even while the
        ball goes down.
    radius : float
        The balls', mm.
    restitution : float
        Part of the speed into the rubber that the ball keeps, 0 to 1.

    Returns
    -------
    (n,) bool
        After at most ``MOST_CONTACTS`` contacts, each with a jaw or with the cushion beside one.
    """
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
        line between it and the middle one, in mm left of the middle of the mouth; of a way so steep that
        the middle one doesn't, the leftmost that drops at all; ``NOWHERE`` if none does. Lines that no
        ball on the cloth can roll along are left out. To the right it is the mirror image:
        ``-edge(-entry)``.
    """
    if (same := bare(table)) != table:
        return line_edge(same, kind, helper, restitution)
    both = known(table, kind, restitution) if helper == "both" else None
    both = both or worked_out(table, kind, helper, restitution)
    for part in both:
        part.flags.writeable = False
    return both


def bare(table: Table) -> Table:
    """The table without what no jaw knows of: tables that differ only in that share their edges."""
    return replace(table, name="", title="", baulk=0.0, d_radius=0.0, spots=(), stroke=None, help="both")


def worked_out(table: Table, kind: str, helper: str, restitution: float) -> tuple[Floats, Floats]:
    """What :func:`line_edge` gives of a :func:`bare` table: some 80 ms of work."""
    entries = np.arange(-WIDEST, WIDEST + COARSE / 2, COARSE)
    edge = _edge_at(table, kind, helper, restitution, np.radians(entries))
    wide = COARSE
    for _ in range(FINER):
        part = (entries[1:-1] - entries[:-2]) / (entries[2:] - entries[:-2])
        bend = np.abs(edge[:-2] + part * (edge[2:] - edge[:-2]) - edge[1:-1]) > STRAIGHT
        corner = np.append(bend, False) | np.insert(bend, 0, False)
        gaps = np.flatnonzero(corner & (np.diff(entries) > wide / 2))
        between = (entries[gaps, None] + wide * np.arange(1, PARTS) / PARTS).ravel()
        more = _edge_at(table, kind, helper, restitution, np.radians(between))
        wide /= PARTS
        entries, edge = np.concatenate([entries, between]), np.concatenate([edge, more])
        order = np.argsort(entries)
        entries, edge = entries[order], edge[order]
    return np.radians(entries), edge


def _edge_at(table: Table, kind: str, helper: str, restitution: float, entries: Floats) -> Floats:
    """The edge of :func:`line_edge` at these entry angles."""
    k = EDGED[kind]
    on, radius = outline(table), table.balls.object_radius
    way = turn_by(np.broadcast_to(axes(table)[k], (len(entries), 2)), entries)
    centre = table.jaws[k].mean(axis=0)
    # The lines that a ball on the cloth can roll along pass between the outermost places for its centre.
    low, high = np.full(2, radius), np.array(table.size) - radius
    places = np.array([low, [low[0], high[1]], [high[0], low[1]], high]) - centre
    across = cross(way[:, None], places)
    leftmost = across.max(axis=1)
    middle = np.clip(clear_line(table, way, k), across.min(axis=1), leftmost)
    step = 0.6 * float(length(table.jaws[k, 1] - table.jaws[k, 0])) / TRIED

    def falls(offset: Floats, rows: NDArray[np.intp] | slice = EVERY) -> NDArray[np.bool_]:
        """For lines (n, m), mm left of the middle of the mouth, of all entries or some."""
        found = offset <= leftmost[rows, None]
        ways = np.broadcast_to(way[rows, None], (*offset.shape, 2))[found]
        line = centre + scaled(left_of(ways), offset[found])
        with np.errstate(divide="ignore", invalid="ignore"):
            goes = np.fmax((low - line) / ways, (high - line) / ways).min(axis=1)
        start = line + scaled(ways, goes)  # where it meets the first cushion
        barred = np.broadcast_to([helper == "left", False], (len(ways), 2))
        found[found] = drops(on, start, ways, np.full(len(ways), k), barred, radius, restitution)
        return np.asarray(found)

    # Into a steep way the middle line may not drop, and lines beside it do.
    last, wide = np.full(len(entries), -np.inf), np.ones(len(entries))
    there = falls(middle[:, None])[:, 0]
    usual, steep = np.flatnonzero(there), np.flatnonzero(~there)
    good = falls(middle[usual, None] + step * np.arange(TRIED), usual)
    last[usual] = np.where(good.all(axis=1), TRIED, good.argmin(axis=1)) - 1
    aside = np.sign(entries[steep, None]) * np.arange(0.0, TRIED, BESIDE)
    good = falls(middle[steep, None] + step * aside, steep)
    last[steep], wide[steep] = np.where(good, aside, -np.inf).max(axis=1, initial=-np.inf), BESIDE
    none = np.isinf(last)
    inside = middle + step * np.where(none, 0.0, last)
    outside = inside + step * wide
    rows = np.arange(len(entries))
    at_once = AT_ONCE if len(entries) >= FEW else OF_FEW
    for _ in range(HALVINGS // at_once):
        ends = np.stack([inside, outside], axis=1)
        for _ in range(at_once):  # every place that so many halvings may come to
            between = (ends[:, 1:] + ends[:, :-1]) / 2
            ends = np.insert(ends, np.arange(1, ends.shape[1]), between, axis=1)
        there, at, step_of = falls(ends[:, 1:-1]), np.full(len(entries), 0), 2**at_once
        while step_of > 1:
            step_of //= 2
            at = np.where(there[rows, at + step_of - 1], at + step_of, at)
        inside, outside = ends[rows, at], ends[rows, at + 1]
    return np.where(none, NOWHERE, inside)


def check(help: str, restitution: float) -> None:
    """ValueError where the help or the restitution is none that there is."""
    if help not in HELPS:
        raise ValueError(f"help {help!r}; allowed: {', '.join(HELPS)}")
    if not 0 <= restitution <= 1:
        raise ValueError(f"a restitution of {restitution:g}; allowed: 0 to 1")
