"""Spaced practice: when a kind of shot that is seen well should come back.

Spaced practice is kept better than massed practice: A. Latimier, H. Peyre and F. Ramus, "A meta-analytic
review of the benefit of spacing out retrieval practice episodes on retention", Educational Psychology Review
33 (2021): g = .74, growing gaps no better than even ones (.03). Growing ones keep the level higher on the
way: S. H. K. Kang et al., "Retrieval practice over the long term", Psychonomic Bulletin & Review 21 (2014).
The best gap is 20 to 40 % of a week that something is to be kept for, 5 to 10 % of a year: N. J. Cepeda et
al., "Spacing effects in learning", Psychological Science 19 (2008). The gaps here are 43, 23, 15 and 8 % of a
week, a month, a quarter and a year: in whole days what they found, between their delays by our own judgement.
"""

from dataclasses import dataclass
from typing import Self

GAPS = (3, 7, 14, 28)  # days
LOOKS = (1, 3, 7, 14, 28)  # days after a cause has healed, on which to see whether it holds


@dataclass(frozen=True)
class Practised:
    """How a kind of shot has been practised: days since it was, and the gap that it should have.

    A day counts when it had more calls about the kind than come by chance.
    """

    days: int
    gap: int

    @classmethod
    def since(cls, days: int, step: int) -> Self:
        """Practised so many days ago, with the gap at this place among ``GAPS``."""
        return cls(days, GAPS[step])

    @property
    def due(self) -> bool:
        """Whether the gap is over."""
        return self.days >= self.gap


def look_is_due(days: int, looked: int) -> bool:
    """Whether to look again at what healed so many days ago.

    ``looked`` is how many days after it had healed it was last looked at; 0 where it never was.
    """
    return looked < max((gap for gap in LOOKS if gap <= days), default=0)


def next_step(step: int, apart: int | None) -> int:
    """The place among ``GAPS`` of the gap after a day on which a kind of shot was practised.

    It grows when the kind comes back after its gap. Only what is seen true comes back: by the verdict, and
    not by pots, of which a player who scatters as most do never has four of five.

    Parameters
    ----------
    step : int
        The place before.
    apart : int or None
        Days since it was practised before; None: never.
    """
    if apart is not None and apart >= GAPS[step]:
        return min(step + 1, len(GAPS) - 1)
    return step
