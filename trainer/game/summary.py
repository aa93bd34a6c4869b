"""What one set showed, per band and side."""

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.drills.words import ball_part
from trainer.geometry.bands import band_of, bands
from trainer.records.attempt import Attempt

TRUE = 1 / 32  # balls: a mean error below this is called true


@dataclass(frozen=True)
class Seen:
    """A kind of shot in one set: how many calls, how many right, the mean signed error in balls."""

    band: str
    side: str
    calls: int
    right: int
    error: float

    @property
    def well(self) -> bool:
        """Every call right, or as many thick as thin and at least half right."""
        return self.right == self.calls or (abs(self.error) < TRUE and 2 * self.right >= self.calls)

    @property
    def words(self) -> str:
        """The mean error in words."""
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
            if mine:
                rows.append(
                    Seen(
                        band=band.name,
                        side=side,
                        calls=len(mine),
                        right=sum(a.right for a in mine),
                        error=sum(a.error for a in mine) / len(mine),
                    )
                )
    return rows
