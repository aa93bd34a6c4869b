"""Which kinds of shot are worth practising: first of all, and today."""

from collections.abc import Sequence

from trainer.learner.report import NOT_YET, THICK, THIN, TRUE, Kind
from trainer.learner.returns import Practised

A_DAY = 2  # kinds of shot that are seen wrong
NEVER = 1_000_000  # days: longer than any history
# Where nothing is known yet: from the angles that come up most to the ends, sides in turn. Judgement.
SPREAD = (
    *(("3/4", "left"), ("1/2", "right"), ("1/4", "left"), ("3/8", "right")),
    *(("1/2", "left"), ("3/4", "right"), ("3/8", "left"), ("1/4", "right")),
    *(("5/8", "left"), ("5/8", "right"), ("7/8", "left"), ("7/8", "right")),
    *(("1/8", "left"), ("1/8", "right")),
    *(("full", "left"), ("full", "right"), ("thinner", "left"), ("thinner", "right")),
)


def weak_kinds(rows: Sequence[Kind]) -> list[tuple[str, str]]:
    """Every kind of shot as (band, side), the weakest first.

    First those seen thick or thin, the greatest bias before; then those that were called and of which the
    least is known (the widest interval); then those never called, in the order of ``SPREAD``; last those
    that are seen true, the least sure of them before.

    Parameters
    ----------
    rows : sequence of Kind
        As :func:`~trainer.learner.report.kinds` gives them.
    """

    def key(row: Kind) -> tuple[int, float]:
        wide = row.high - row.low
        if row.verdict in (THICK, THIN):
            return 0, -abs(row.bias)
        if row.verdict == TRUE:
            return 3, -wide
        if row.attempts:
            return 1, -wide
        return 2, SPREAD.index((row.band, row.side))

    return [(row.band, row.side) for row in sorted(rows, key=key)]


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
