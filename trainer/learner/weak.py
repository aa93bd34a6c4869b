"""Which kinds of shot are worth practising first."""

from collections.abc import Sequence

from trainer.learner.report import THICK, THIN, TRUE, Kind

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
