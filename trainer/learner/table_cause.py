"""Seeing or cueing over all cuts: whether misses at the table have one cause, in the eye or in the stroke.

A stroke that goes across by the same amount at every shot makes cuts to one side thick and those to the
other thin; eighteen kinds of shot would each wait for misses of their own to tell it. Here all misses are
taken together, each counted as going the cause's way or against it, and held against what the eye would make
of them (:mod:`trainer.learner.table_verdict`). A cause is told only where the misses to either side speak for
it, and where no other cause explains them as well: what goes wrong in one kind of shot runs through nothing.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief
from trainer.learner.causes import NAMED_CAUSES, OVERALL
from trainer.learner.table_verdict import Misses, TableShot, conclusion, table_evidence, way_of
from trainer.learner.verdicts import NOT_YET, SURE_SMALL, THICK, THIN, TRUE, forgiven, is_sure

LINE = "line-shift"
# What counts as the cause's own way, + and -, by its name.
WAYS = {LINE: ("right", "left"), OVERALL: (THICK, THIN)}
FALSE = 0.05  # of players without such a cause so many may ever be told of one, over both causes and ways
LOG_THRESHOLD = math.log(2 * len(WAYS) / FALSE)
EACH_SIDE = 1.0  # logarithm of the evidence that the misses to either side must bring by themselves
PLACES = np.sin(np.radians(np.concatenate([-np.arange(5.0, 66.0, 5.0), np.arange(5.0, 66.0, 5.0)])))


@dataclass(frozen=True)
class TableCause:
    """A cause of misses at the table that runs through all cuts, and whether it is the eye or the stroke.

    ``table`` is the way that misses surely go, ``eye`` the one that the eye is surely off to (or ``true``),
    ``stroke`` the one that the stroke surely adds; each of ``WAYS`` of the cause or ``not enough yet``.
    ``mine`` of the ``misses`` went the way that most did; of so many ``expected`` is the part that the eye
    alone would have sent there. ``verdict`` and ``to_go`` are as those of a kind of shot at the table.
    """

    cause: str
    way: str
    mine: int
    misses: int
    table: str
    eye: str
    stroke: str
    expected: float
    verdict: str
    to_go: int | None


def table_causes(belief: Belief, played: Sequence[TableShot]) -> list[TableCause]:
    """The causes that run through what was played at the table, those with a verdict first."""
    counted = [one for one in played if one.ticked or one.result in (THICK, THIN)]
    sides = [[one for one in counted if one.sine * sign > 0] for sign in (1.0, -1.0)]
    if not all(any(one.result in (THICK, THIN) for one in side) for side in sides):
        return []
    told = {cause: _Pooled(belief, counted, sides, cause) for cause in WAYS}
    found = []
    for cause, pooled in told.items():
        others = [other.evidence.max() for name, other in told.items() if name != cause]
        found.append((float(pooled.evidence.max()), pooled.told(max(0.0, *others))))
    return [each for _, each in sorted(found, key=lambda one: (one[1].verdict == NOT_YET, -one[0]))]


class _Pooled:
    """All that was played, taken as if one cause made the misses."""

    def __init__(
        self,
        belief: Belief,
        counted: Sequence[TableShot],
        sides: Sequence[Sequence[TableShot]],
        cause: str,
    ) -> None:
        self.belief, self.cause = belief, cause
        self.all = self._held(counted)
        self.evidence = self.all.evidence()
        self._least = np.min([self._held(side).evidence() for side in sides], axis=0)
        plus = int(self.all.thick.sum())
        self.counts = plus, int((self.all.outcome < 2).sum()) - plus

    def _held(self, played: Sequence[TableShot]) -> Misses:
        sines = np.array([one.sine for one in played])
        return Misses(self.belief, played, self.belief.noise(sines), _signs(self.cause, sines), LOG_THRESHOLD)

    def told(self, other: float) -> TableCause:
        """What is told, where another cause has the logarithm ``other`` of the evidence."""
        most = int(self.counts[1] > self.counts[0])
        table = self._way(table_evidence(*self.counts))
        stroke = self._way(np.where(self._least >= EACH_SIDE, self.evidence - other, 0.0))
        eye, expected = self._eye(), self.all.expected
        said = conclusion(table, eye, stroke, WAYS[self.cause])
        return TableCause(
            cause=self.cause,
            way=WAYS[self.cause][most],
            mine=self.counts[most],
            misses=sum(self.counts),
            table=table,
            eye=eye,
            stroke=stroke,
            expected=1.0 - expected if most else expected,
            verdict=said,
            to_go=0 if said != NOT_YET else self.all.to_go(not most),
        )

    def _way(self, evidence: Floats) -> str:
        return way_of(evidence, LOG_THRESHOLD, WAYS[self.cause])

    def _eye(self) -> str:
        """The way that the eye is surely off to over all cuts, or that it is surely off to none."""
        weight = _signs(self.cause, PLACES) / len(PLACES)
        bias, covariance = self.belief.joint(PLACES)
        mean, sd = float(weight @ bias), math.sqrt(max(float(weight @ covariance @ weight), 0.0))
        if is_sure(mean, sd):
            return WAYS[self.cause][int(mean < 0)]
        return TRUE if abs(mean) + SURE_SMALL * sd < float(forgiven(PLACES).mean()) else NOT_YET


def _signs(cause: str, sines: Floats) -> Floats:
    """+1 where the cause makes a shot of this signed cut thick, -1 where it makes it thin, (n,)."""
    return np.asarray(np.sign(NAMED_CAUSES[cause].shape(sines)), float)
