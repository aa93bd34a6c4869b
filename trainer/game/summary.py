"""What one set showed, per band and side."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from trainer.drills.words import ball_part
from trainer.game.calls import call_of
from trainer.geometry.bands import band_of, bands
from trainer.records.attempt import Attempt

TRUE = 1 / 32  # balls: a mean error below this is called true


@dataclass(frozen=True)
class Seen:
    """A kind of shot in one set: how many calls, how many right, the mean signed error in balls.

    There is none where the calls don't tell how full a shot was seen.
    """

    band: str
    side: str
    calls: int
    right: int
    error: float | None

    @property
    def well(self) -> bool:
        """Every call right, or as many thick as thin and at least half right."""
        as_thick = self.error is not None and abs(self.error) < TRUE
        return self.right == self.calls or (as_thick and 2 * self.right >= self.calls)

    @property
    def seen_wrong(self) -> bool:
        """Whether it looks thick or thin: one call alone doesn't tell."""
        return not self.well and self.error is not None and self.calls > 1

    @property
    def words(self) -> str:
        """The mean error in words."""
        if self.error is None:
            return ""
        said = f"{ball_part(self.error)} {'thick' if self.error > 0 else 'thin'}"
        return said + (" on average" if self.calls > 1 else "")


def seen_in(attempts: Sequence[Attempt]) -> list[Seen]:
    """The kinds of shot that came up, thick to thin, left before right."""
    rows = []
    for band in bands():
        for side in ("left", "right"):
            mine = [
                a
                for a in attempts
                if band_of(a.fullness).name == band.name and ("right" if a.cut_deg < 0 else "left") == side
            ]
            errors = [a.error for a in mine if _tells(a)]
            if mine:
                rows.append(
                    Seen(
                        band=band.name,
                        side=side,
                        calls=len(mine),
                        right=sum(a.right for a in mine),
                        error=sum(errors) / len(errors) if errors else None,
                    )
                )
    return rows


def _tells(attempt: Attempt) -> bool:
    """Whether a call tells that its shot was seen thick or thin."""
    call = call_of(attempt)
    return call.against is None and (math.isfinite(call.low) or math.isfinite(call.high))
