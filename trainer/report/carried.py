"""Does it carry over? Whether misses at the table still go the way of a fault that has healed in the drills.

Only misses since the fault healed count, and only in shots that it would send one way. A fault that is still
there sends most of them its way, and without it about half go either. That is told with the interval of the
share; until it is narrow enough about how many more misses it takes.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from trainer.drills import ANGLE
from trainer.history.clock import short_date
from trainer.learner.causes import NAMED_CAUSES
from trainer.learner.measured import wilson
from trainer.learner.table_verdict import MOST_TO_GO, table_evidence
from trainer.learner.verdicts import NOT_YET, THICK, THIN
from trainer.play.causes_in_words import HEALED
from trainer.play.diagnosis import PLACES
from trainer.report.notebook import Notebook

AGREES, STILL = "agrees", "still"
# A fault that is told makes this part of misses at the least, at a table where a stroke scatters as well: a
# share that is surely below it is none. That more than half go its way is told as an uneven table is, of no
# more than ``FALSE`` of those whose misses are even, however often they look.
FAULTY, FALSE = 0.75, 0.05
LEAST_SHAPE = 0.1  # of the fault's greatest size: where it is smaller a miss says nothing of it


@dataclass(frozen=True)
class Carried:
    """A fault that healed on ``since``: of ``misses`` at the table since then ``mine`` went its way.

    ``low`` to ``high`` is the 95 % interval of that share. ``verdict`` is ``agrees`` (the table, that it has
    healed), ``still`` (it hasn't there) or ``not enough yet``; ``to_go`` is about how many more misses it
    takes if they go on so, 0 where it is told, None where they can't tell it.
    """

    cause: str
    since: str
    mine: int
    misses: int
    low: float
    high: float
    verdict: str
    to_go: int | None

    @property
    def words(self) -> str:
        """``The cue ball's width, healed here since 8 Mar: since then 14 of 31 misses at the table ...``"""
        began = f"{HEALED[self.cause]}, healed here since {short_date(self.since).strip()}"
        if not self.misses:
            return f"{began}: no miss was noted at the table since."
        share = f"{self.mine} of {self.misses} misses at the table went its way"
        sure = f"({self.low:.0%} to {self.high:.0%} of all such)"
        if self.verdict == AGREES:
            return f"{began}: since then {share} {sure}. The table agrees."
        if self.verdict == STILL:
            return f"{began}, but not at the table: since then {share} {sure}."
        more = "" if self.to_go is None else f" About {self.to_go} more misses can tell."
        return f"{began}: since then {share} {sure}.{more}"


def carried(book: Notebook) -> list[Carried]:
    """Every fault that has healed in the drills, the latest last."""
    healed = book.game.skill(ANGLE).looks.healed
    found = sorted((each.day, cause.split()[0], each.worst) for cause, each in healed.items())
    return [_carried(book, name, day, worst) for day, name, worst in found if name in NAMED_CAUSES]


def _carried(book: Notebook, cause: str, day: int, worst: float) -> Carried:
    since = date.fromordinal(day).isoformat()
    ways = list(_ways(book, cause, since, worst))
    mine, misses = sum(ways), len(ways)
    low, high = wilson(mine, misses) if misses else (0.0, 1.0)
    said = _verdict(mine, misses)
    return Carried(
        cause, since, mine, misses, low, high, said, 0 if said != NOT_YET else _to_go(mine, misses)
    )


def _ways(book: Notebook, cause: str, since: str, worst: float) -> Iterator[bool]:
    """Whether each miss since a day went the way that the fault sends it."""
    shape = NAMED_CAUSES[cause].shape
    most = float(np.abs(shape(PLACES)).max())
    for shot in book.played(since):
        size = float(shape(np.array([shot.sine]))[0]) * worst
        if shot.result in (THICK, THIN) and abs(size) >= LEAST_SHAPE * most * abs(worst):
            yield (shot.result == THICK) == (size > 0)


def _verdict(mine: int, misses: int) -> str:
    if not misses:
        return NOT_YET
    if table_evidence(mine, misses - mine)[0] >= -math.log(FALSE):
        return STILL
    return AGREES if wilson(mine, misses)[1] < FAULTY else NOT_YET


def _to_go(mine: int, misses: int) -> int | None:
    """About how many more misses tell it, if they go on as up to now; few are taken for even ones."""
    share = (mine + 1.0) / (misses + 2.0)
    for more in range(1, MOST_TO_GO + 1):
        if _verdict(mine + round(share * more), misses + more) != NOT_YET:
            return more
    return None
