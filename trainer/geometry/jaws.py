"""The outline of the jaws as a ball's centre meets it: nose, facing, inner end, and the cushion beside.

The trace of a ball among the jaws is a model: straight ways, and a rebound that keeps the speed along
the rubber and ``restitution`` of the speed into it. Ball on rail: 0.6 to 0.9 (Alciatore, typical values,
https://billiards.colostate.edu/threads/physics.html); the middle of that is taken. Left out
are the ball's speed (a fast ball rattles more), its roll and spin, the rubber's friction and give, the
nap of the cloth and the edge of the slate: a ball drops where its centre is as deep as its jaws' ends.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.pockets import axes
from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats, cross, dot, left_of, scaled, unit

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
