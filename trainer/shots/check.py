"""Whether a given position is a shot at all; if not, one line says why and what would be possible."""

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from trainer.geometry.contact import cut_angle, touching_position
from trainer.geometry.pockets import on_cloth
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.geometry.vectors import distance_to_way
from trainer.shots.along_cushion import by_cushion
from trainer.shots.describe import place
from trainer.shots.shot import CUT_LIMIT, Point, Shot, Shots
from trainer.shots.style import Style
from trainer.shots.truth import Truth, Truths, work_out

GIVE = 2.0  # mm that the rubber gives way, so that a ball frozen to a cushion can be hit with it: a guess
FARTHEST = 1e6  # mm: no table is a kilometre long, and larger numbers overflow when squared


class ShotError(ValueError):
    """A position that is no shot; the message says what is wrong and what is possible."""


def table_named(name: str, tables: Mapping[str, Table] = TABLES) -> Table:
    """The table of this name; ShotError lists the names."""
    if name not in tables:
        raise ShotError(f"no table is called {name!r}; tables: {', '.join(tables)}")
    return tables[name]


def checked(shot: Shot, style: Style) -> Truth:
    """The truth of a position that can be potted; ``style`` is that of the error's message.

    Raises
    ------
    ShotError
        If a ball is off the table, the balls overlap, there is no such pocket or no way to it, or
        the touching position is behind the object ball or in a cushion.
    """
    table, balls = shot.table, shot.table.balls
    _on_table(table, "cue ball", shot.cue_ball, balls.cue_radius)
    _on_table(table, "object ball", shot.object_ball, balls.object_radius)
    apart = math.dist(shot.cue_ball, shot.object_ball)
    if apart <= table.contact:
        raise ShotError(
            f"the balls overlap or touch: their centres are {apart:.2f} mm apart; "
            f"they must be over {table.contact:.2f} mm apart"
        )
    if shot.pocket not in POCKETS:
        raise ShotError(f"no pocket is called {shot.pocket!r}; pockets: {', '.join(POCKETS)}")
    truths = work_out(Shots.of(shot))
    wrong = _refused(shot, truths)
    if wrong:
        raise ShotError(f"{wrong}; {_instead(shot, style)}")
    return truths[0]


def open_pockets(shot: Shot) -> list[str]:
    """The pockets that this position can be potted into, by name; the balls must be on the table."""
    shots = [replace(shot, pocket=name) for name in POCKETS]
    return [one.pocket for one in shots if _refused(one, work_out(Shots.of(one))) is None]


def _refused(shot: Shot, truths: Truths) -> str | None:
    """Why the pocket can't be played; None where it can."""
    table, cue_radius = shot.table, shot.table.balls.cue_radius
    if not bool(truths.window.is_open[0]):
        return f"the {shot.pocket} pocket doesn't take the ball from there"
    # Of ideal balls: with throw there may be no hit at all to take the angle from.
    ideal = touching_position(shot.object_ball, truths.window.middle[0], table.contact)
    cut = math.degrees(abs(float(cut_angle(shot.cue_ball, shot.object_ball, ideal))))
    if not bool(truths.can_pot[0]):
        if cut < CUT_LIMIT and shot.stroke is not None:
            return f"no hit with that stroke sends the ball to the {shot.pocket} pocket"
        return f"the {shot.pocket} pocket would need a cut of {cut:.2f} degrees; under 90 can be hit"
    if not bool(on_cloth(table, truths.touching[0], cue_radius - GIVE)):
        return "there is no room for the cue ball behind the object ball"
    if float(distance_to_way(shot.object_ball, truths.window.target[0], shot.cue_ball)) <= table.contact:
        return f"the cue ball lies in the object ball's way to the {shot.pocket} pocket"
    return None


def _on_table(table: Table, name: str, point: Point, radius: float) -> None:
    if (
        not np.isfinite(point).all()
        or max(map(abs, point)) > FARTHEST
        or not bool(on_cloth(table, point, radius))
    ):
        x, y = (f"{radius:.7g} to {size - radius:.7g}" for size in table.size)
        raise ShotError(
            f"the {name} at {point[0]:g},{point[1]:g} is not on the table; "
            f"allowed: x {x}, y {y} mm, and outside the pockets"
        )


def _instead(shot: Shot, style: Style) -> str:
    """What can be played from there: other pockets, or this one by the cushion first."""
    names = [name for name in open_pockets(shot) if name != shot.pocket]
    said = f"possible from there: {', '.join(names)}" if names else "no other pocket is possible either"
    cushion = by_cushion(shot)
    if cushion is None:
        return said
    by = f"by the {cushion.cushion} cushion first, met {place(shot.table, cushion.nose, style)}"
    return f"{said}; {by}, the {shot.pocket} pocket takes it"
