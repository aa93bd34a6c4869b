"""The limits that shots are drawn within."""

from dataclasses import dataclass

from trainer.geometry.tables import POCKETS, TABLES, Table

CUT_LIMIT = 80.0  # degrees: thinner hits can't be judged, and hardly be played


@dataclass(frozen=True)
class Limits:
    """What a drawn shot may be.

    ``cuts`` in degrees, unsigned; ``sides`` a choice of ``left`` and ``right``; distances in mm:
    ``cue_distance`` between the centres of the balls, ``pocket_distance`` from the object ball's
    centre to the pocket's target.
    """

    table: Table = TABLES["snooker"]
    cuts: tuple[float, float] = (0.0, 75.0)
    sides: tuple[str, ...] = ("left", "right")
    pockets: tuple[str, ...] = POCKETS
    cue_distance: tuple[float, float] = (300.0, 1500.0)
    pocket_distance: tuple[float, float] = (200.0, 1500.0)


class NoSuchShot(ValueError):
    """The limits leave no shot; the message names the limit that stands in the way."""
