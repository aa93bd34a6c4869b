"""The limits that shots are drawn within."""

import math
from dataclasses import dataclass, replace

from trainer.geometry.aiming import Stroke
from trainer.geometry.fullness import SIDES
from trainer.geometry.tables import POCKETS, TABLES, Table

ANY_CUT = (0.0, 75.0)  # degrees
CUT_LIMIT = 80.0  # degrees: thinner hits can't be judged, and hardly be played


@dataclass(frozen=True)
class Limits:
    """What a drawn shot may be.

    ``cuts`` in degrees, unsigned; ``sides`` a choice of ``left`` and ``right``; distances in mm:
    ``cue_distance`` between the centres of the balls, ``pocket_distance`` from the object ball's
    centre to the pocket's target. ``fullness`` narrows the cuts further to stretches (low, high);
    empty: every fullness that the cuts allow. ``forgives`` is how far a call may be off either way and
    still pot, half the margin, in balls of fullness, from and to; None: however much. ``by_cushion``
    asks for shots that can be potted straight and by a cushion first, and how many times as many lines of
    aim must pot by the one way as by the other (1: as it comes); None: it doesn't matter.
    ``gets_away`` asks for shots after which the cue ball gets so many ball widths away from the object
    ball's place before it meets a cushion or stops, counted from contact; None: it doesn't matter.
    """

    table: Table = TABLES["snooker"]
    cuts: tuple[float, float] = ANY_CUT
    sides: tuple[str, ...] = SIDES
    pockets: tuple[str, ...] = POCKETS
    cue_distance: tuple[float, float] = (300.0, 1500.0)
    pocket_distance: tuple[float, float] = (200.0, 1500.0)
    fullness: tuple[tuple[float, float], ...] = ()
    forgives: tuple[float, float] | None = None
    by_cushion: float | None = None
    gets_away: float | None = None

    def __post_init__(self) -> None:
        low, high = self.cuts
        if not 0 <= low <= high < 90:
            raise ValueError(f"cuts of {low:g} to {high:g} degrees; allowed: 0 to under 90, in order")
        for name, chosen, allowed in (
            ("sides", self.sides, SIDES),
            ("pockets", self.pockets, POCKETS),
        ):
            if not chosen or not set(chosen) <= set(allowed):
                raise ValueError(f"{name} {chosen}; allowed: some of {', '.join(allowed)}")
        for name, (low, high) in (
            ("cue_distance", self.cue_distance),
            ("pocket_distance", self.pocket_distance),
        ):
            if not 0 <= low <= high:
                raise ValueError(f"{name} of {low:g} to {high:g} mm; allowed: 0 or more, in order")
        if self.forgives is not None:
            low, high = self.forgives
            if not 0 <= low <= high:
                raise ValueError(f"forgives {low:g} to {high:g} balls; allowed: 0 or more, in order")
        if self.by_cushion is not None and not self.by_cushion >= 1:
            raise ValueError(f"by_cushion {self.by_cushion:g} times as wide; allowed: 1 or more")

    def played(self, stroke: Stroke) -> "Limits":
        """The same with a stroke whose throw counts."""
        return replace(self, table=replace(self.table, stroke=stroke))

    @property
    def sines(self) -> tuple[tuple[float, float], ...]:
        """The stretches of ``sin |cut|`` that are allowed, low to high."""
        # Rounded, since the last bit of a sine is not the same on every machine.
        low, high = (round(math.sin(math.radians(cut)), 12) for cut in self.cuts)
        if not self.fullness:
            return ((low, high),)
        parts = sorted((max(low, 1 - f[1]), min(high, 1 - f[0])) for f in self.fullness)
        return tuple((a, b) for a, b in parts if b > a)


class NoSuchShot(ValueError):
    """The limits leave no shot; the message names the limit that stands in the way."""
