"""Which causes of misses are surely there, each weighed against the others.

The belief gives every cause a size. Whether it is there at all is another question: here each is there, with
its prior, or it is not, and all combinations are compared by their marginal likelihood. For a Gaussian belief
that needs no other fit. What the calls said of the sizes is the posterior over the prior, and what is left of
it where some sizes are held at none has a closed form (the Savage-Dickey density ratio; J. M. Dickey, "The
weighted likelihood ratio, linear hypotheses on normal location parameters", Annals of Mathematical Statistics
42, 1971, 204-223; from memory). The local curve stands beside every combination, so that a fault in one
stretch of cuts is no cause.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.fullness import EVERY_KIND
from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief, Estimate
from trainer.learner.causes import LOCAL, THROW
from trainer.learner.priors import log_normalised
from trainer.learner.verdicts import is_sure

LIKELY, THROW_LIKELY = 0.1, 0.2  # the prior probability that a cause is there; many don't allow for throw
# The posterior probability from which a cause is told, and from which it is told no more. Set by simulation
# for a reader who looks after every call; tests/benchmarks/bench_diagnosis.py prints what they cost.
SURE, DROPPED = 0.8, 0.5
EVERY = 5  # calls between two looks
# Sines at which local faults are looked for: at both ends and in the middle of each kind of shot.
LOOKED_AT = np.concatenate([np.linspace(*kind.sines, 3) for kind in EVERY_KIND])


@dataclass(frozen=True)
class CauseSize(Estimate):
    """The size of a cause, if it is there, and the ``chance`` that it is.

    In balls, + as :mod:`trainer.learner.causes` says; of throw, the part of it that isn't allowed for.
    """

    cause: str
    chance: float


@dataclass(frozen=True)
class Weighed:
    """Every cause, weighed; ``either`` (causes, causes) is how likely at least one of two is there."""

    sizes: tuple[CauseSize, ...]
    either: Floats


class Healed(NamedTuple):
    """A cause that was told and is told no more: since which day, counted, and its size at its worst."""

    day: int
    worst: float


class Looks:
    """Which causes are told, each since which call, for a reader who looks again and again.

    ``LOCAL`` among them: a stretch of cuts that no cause explains. ``healed`` are those that were told and
    are told no more. ``worst`` holds the greatest size of each that is told.
    """

    def __init__(
        self,
        since: Mapping[str, int] | None = None,
        worst: Mapping[str, float] | None = None,
        healed: Mapping[str, Sequence[float]] | None = None,
    ) -> None:
        self.since, self.worst = dict(since or {}), dict(worst or {})
        self.healed = {cause: Healed(int(day), size) for cause, (day, size) in (healed or {}).items()}

    def plain(self) -> tuple[dict[str, int], dict[str, float], dict[str, Healed]]:
        """All of it for JSON: what it is made from."""
        return dict(self.since), dict(self.worst), dict(self.healed)

    def look(self, belief: Belief, number: int) -> None:
        """Look after the call of this number, if it is time to."""
        if belief.calls % EVERY:
            return
        sizes = weighed(belief).sizes
        # A view's name says which it is held against: with another first view it is another cause.
        known = {LOCAL, *(size.cause for size in sizes)}
        self.since = {cause: since for cause, since in self.since.items() if cause in known}
        for size in sizes:
            if size.chance > SURE:
                self.since.setdefault(size.cause, number)
                self.healed.pop(size.cause, None)
                self.worst[size.cause] = max(self.worst.get(size.cause, 0.0), size.mean, key=abs)
            elif size.chance < DROPPED and self.since.pop(size.cause, None) is not None:
                self.healed[size.cause] = Healed(belief.day, self.worst.pop(size.cause, size.mean))
        told = self.since.keys() - {LOCAL}
        if is_sure(*(belief.rest(LOOKED_AT) if told else belief.curve(LOOKED_AT))).any():
            self.since.setdefault(LOCAL, number)
        else:
            self.since.pop(LOCAL, None)


@cache
def _combinations(count: int) -> NDArray[np.bool_]:
    """Which of so many causes are there, (combinations, causes)."""
    return np.array(list(product((False, True), repeat=count)))


def _in_each_combination(matrix: Floats, causes: int) -> tuple[Floats, Floats]:
    """A matrix swept by the causes of each combination, and the logarithm of their block's determinant.

    Parameters
    ----------
    matrix : (..., n, n) float
        Symmetric; the block of the first ``causes`` rows is positive definite.
    causes : int
        How many of its rows are causes.

    Returns
    -------
    swept, log_determinant : (..., combinations, n, n), (..., combinations) float
        Where a combination has the causes S: minus the inverse of the block of S in the block of S, the
        solutions of its equations beside that, and what is left of the matrix where there is neither. One
        sweep leads from each combination to one with a cause more, so that nothing is inverted anew. Source:
        J. H. Goodnight, "A tutorial on the SWEEP operator", The American Statistician 33 (1979), 149-158.
    """
    found, log_determinant = matrix[..., None, :, :], np.zeros((*matrix.shape[:-2], 1))
    for k in reversed(range(causes)):
        row, pivot = found[..., k, :], found[..., k, k]
        part = row / pivot[..., None]
        swept = found - row[..., :, None] * part[..., None, :]
        swept[..., k, :] = swept[..., :, k] = part
        swept[..., k, k] = -1.0 / pivot
        found = np.concatenate([found, swept], axis=-3)
        log_determinant = np.concatenate([log_determinant, log_determinant + np.log(pivot)], axis=-1)
    return found, log_determinant


def weighed(belief: Belief) -> Weighed:
    """Every cause that the calls can tell of, with the chance that it is there."""
    found = belief.causes()
    count = len(found.names)
    there = _combinations(count)
    before = np.asarray(np.linalg.inv(found.prior), np.float64)
    after = np.linalg.inv(found.covariance)
    shift = (after @ found.mean[:, :, None])[:, :, 0]
    # What is not there is held at zero: its row and column are left out of the precision.
    equations = np.zeros((len(after), count + 1, count + 1))
    equations[:, :count, :count] = after
    equations[:, :count, count] = equations[:, count, :count] = shift
    swept, sharp = _in_each_combination(equations, count)
    means = swept[..., :count, count]
    squares = means**2 - np.diagonal(swept, axis1=2, axis2=3)[..., :count]
    gain = 0.5 * (_in_each_combination(before, count)[1] - swept[..., count, count] - sharp)
    prior = np.array([THROW_LIKELY if name == THROW else LIKELY for name in found.names])
    log_chance = gain + np.where(there, np.log(prior), np.log(1 - prior)).sum(axis=1)
    all_there = 0.5 * ((shift * found.mean).sum(axis=1) - sharp[:, -1])
    joint = found.log_weight[:, None] + log_chance - all_there[:, None]
    weight = np.exp(log_normalised(joint.ravel())).reshape(joint.shape)
    each = weight.sum(axis=0)
    chance = each @ there
    middle = np.einsum("mk,mkc,kc->c", weight, means, there) / chance
    square = np.einsum("mk,mkc,kc->c", weight, squares, there) / chance
    sd = np.sqrt(np.maximum(square - middle**2, 0.0))
    neither = (each[:, None] * ~there).T @ ~there
    values = zip(middle.tolist(), sd.tolist(), found.names, chance.tolist(), strict=True)
    return Weighed(tuple(CauseSize(*value) for value in values), 1.0 - neither)
