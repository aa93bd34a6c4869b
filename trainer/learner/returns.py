"""When a kind of shot that is seen well should come back.

What was learnt is kept better when practice is spaced: A. Latimier, H. Peyre and F. Ramus, "A meta-analytic
review of the benefit of spacing out retrieval practice episodes on retention", Educational Psychology Review
33 (2021): g = .74, growing gaps no better than even ones (.03). Growing ones keep the level higher on the
way: S. H. K. Kang et al., "Retrieval practice over the long term", Psychonomic Bulletin & Review 21 (2014).
The best gap is 20 to 40 % of a week that something is to be kept for, 5 to 10 % of a year: N. J. Cepeda et
al., "Spacing effects in learning", Psychological Science 19 (2008). The gaps here are about so for a week, a
month, a quarter and a year: our own judgement.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from trainer.learner.call import Call
from trainer.learner.report import NOT_YET, TRUE, Kind

GAPS = (3, 7, 14, 28)  # days
A_BLOCK = 3  # calls about a kind in a day: fewer come by chance, and are no practice of it
A_DAY = 2  # kinds of shot that are seen wrong
NEVER = 1_000_000  # days: longer than any history
WELL = 0.8  # the part of a day's calls that are right, when the kind is seen well on that day


@dataclass(frozen=True)
class Practised:
    """How a kind of shot has been practised: days since it was, and the gap that it should have.

    A day counts when there were so many calls about the kind as don't come by chance.
    """

    days: int
    gap: int

    @property
    def due(self) -> bool:
        """Whether the gap is over."""
        return self.days >= self.gap


def practised(calls: Sequence[Call], today: int) -> Practised | None:
    """How a kind of shot has been practised, from the calls about it; None: on no day yet.

    The gap grows from one of ``GAPS`` to the next when the kind comes back after it and is seen well, and
    begins anew when it isn't.

    Parameters
    ----------
    calls : sequence of Call
        About this kind, in order.
    today : int
        The player's day, counted as the calls' days are.
    """
    rights: dict[int, list[bool]] = {}
    for call in calls:
        rights.setdefault(call.day, []).append(call.right)
    step, last = 0, None
    for day, right in sorted(rights.items()):
        if len(right) < A_BLOCK:
            continue
        if sum(right) < WELL * len(right):
            step = 0
        elif last is not None and day - last >= GAPS[step]:
            step = min(step + 1, len(GAPS) - 1)
        last = day
    return None if last is None else Practised(today - last, GAPS[step])


def due(kinds: Sequence[tuple[Kind, Practised | None]]) -> list[tuple[Kind, Practised]]:
    """The kinds that are seen true and should come back now, the longest overdue first."""
    found = [(kind, when) for kind, when in kinds if kind.verdict == TRUE and when is not None and when.due]
    return sorted(found, key=lambda one: one[1].gap - one[1].days)


def weak(kinds: Sequence[tuple[Kind, Practised | None]]) -> list[tuple[Kind, Practised | None]]:
    """The kinds that are seen thick or thin and should be practised now, the longest ago first.

    Of those as long ago the worse comes first. In a day it is ``A_DAY`` at the most, with those that were
    practised today: they take turns from day to day, and leave time for the rest.
    """
    wrong = [(kind, when) for kind, when in kinds if kind.verdict not in (TRUE, NOT_YET)]
    rest = [(kind, when) for kind, when in wrong if when is None or when.days > 0]
    rest.sort(key=lambda one: (-one[1].days if one[1] else -NEVER, -abs(one[0].bias)))
    return rest[: max(A_DAY - (len(wrong) - len(rest)), 0)]
