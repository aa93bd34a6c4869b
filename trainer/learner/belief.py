"""What the program thinks of a player's seeing: bias and noise over the signed cut.

A call's error is modelled as

    bias(cut) + offset(condition) + a (call before - shot) + c (mean of the set - shot) + noise

in balls of fullness, + thick. The bias is a curve. A condition is a drill and a view: each has an offset and
a noise of its own (``priors``). ``a`` is serial dependence, the attraction of the previous call, and ``c``
central tendency, the attraction of the mean shown in the set. Without them the choice of shots alone could
look like a bias. Noise is log-linear in the cut. A few calls are lapses, unrelated to the shot.

Where two shots are compared, the error is the difference of their errors:

    bias(cut) - bias(cut of the other) + offset(condition) + noise + noise of the other look

Serial dependence and central tendency act on both looks alike and cancel. The offset doesn't cancel: the two
shots are shown in different ways. It is no part of what is seen wrong in a single shot, so it isn't reported
as bias. The other shot is the one that is as full, whichever was called: a cut that followed from the answer
would be explained by it.

The bias is a local curve and the parts that known causes have in it (``causes``). Throw that isn't allowed
for is a part of its own: it goes by the speed and the spin. So is what differs from view to view.

Everything but the noise is one Gaussian over coefficients, updated call by call in closed form: intervals by
moment matching, over all levels of noise at once. From day to day the curve drifts a little and reverts to
the prior in the long run, so that old calls fade.

Four models are updated side by side: players with faults and players with hardly any, each with and without
serial dependence and central tendency. What is reported is their Bayesian model average. The simple models
keep the full one from reading faults into noise.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.learner import priors
from trainer.learner.call import Call, Context
from trainer.learner.causes import CAUSES, OVERALL, THROW, VIEW
from trainer.learner.censored import call_likelihood
from trainer.learner.lapses import Tail, log_lapse
from trainer.learner.packing import packed, unpacked
from trainer.learner.priors import NoisePosterior, log_normalised, log_sum_exp, noise_levels

LAPSE_RATE, LAPSE_CALLS = 0.02, 30.0  # the prior's mean, and how many calls it is worth
# Prior standard deviations. Published serial dependence and central tendency are of the order of a tenth.
SERIAL_SD, CENTRAL_SD = 0.1, 0.15
CONDITION_SD = 0.03  # balls: of the offsets of drills and views
# From day to day: by how much the bias at one cut drifts, in balls, and what the noise's posterior keeps.
WANDERS = 0.007
KEPT = 0.985
# Sizes of the prior's local curve and of its causes: of players with faults, of those with next to none.
SIZES, CAUSED = (1.0, 0.3), (1.0, 0.2)
CONTEXTS = (1.0, 0.0)  # with serial dependence and central tendency, and without
LEAST = -20.0  # log of the least weight of a model: none falls so low that it can't come back
RECENT = 0.98  # a call's weight in which drills and views are in use, from call to call
THROW_SD = 0.6  # of the part of throw that isn't allowed for
# Places of coefficients: the curve, serial dependence, central tendency, throw; then the conditions' offsets.
_CURVE = slice(0, priors.COEFFICIENTS)
_SERIAL, _CENTRAL, _THROW = (priors.COEFFICIENTS + k for k in range(3))
_CONDITIONS = priors.COEFFICIENTS + 3


@dataclass(frozen=True)
class Estimate:
    """A bias and how sure of it: mean and standard deviation, in balls, + thick."""

    mean: float
    sd: float

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval."""
        return self.mean - 1.96 * self.sd

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval."""
        return self.mean + 1.96 * self.sd


@dataclass(frozen=True)
class CauseSizes:
    """The sizes of causes in each model, in balls.

    ``mean`` (models, causes) and ``covariance`` (models, causes, causes) after the calls, ``prior``
    (causes, causes) the covariance before them; their means were 0. ``log_weight`` (models,) of the models.
    """

    names: tuple[str, ...]
    log_weight: Floats
    mean: Floats
    covariance: Floats
    prior: Floats


@dataclass
class _Condition:
    """A drill and view: the place of its offset among the coefficients, its noise, its recent use."""

    place: int
    noise: NoisePosterior
    view: str
    compares: bool = False
    used: float = 0.0


class Belief:
    """The posterior of one player, in all models at once: the first axis of every array is the models."""

    def __init__(self) -> None:
        self._caused, self._size, self._context = (
            part.ravel() for part in np.meshgrid(CAUSED, SIZES, CONTEXTS, indexing="ij")
        )
        models, coefficients = len(self._size), _CONDITIONS
        self._prior = np.ones((models, coefficients))  # variances before any call
        self._prior[:, : priors.LOCAL] = self._size[:, None] ** 2
        self._prior[:, priors.LOCAL : priors.COEFFICIENTS] = self._caused[:, None] ** 2
        self._prior[:, [_SERIAL, _CENTRAL]] = self._context[:, None]
        self._log_weight = np.zeros(models)
        self._mean = np.zeros((models, coefficients))
        self._cov = self._prior[:, :, None] * np.eye(coefficients)
        self._lapses = np.zeros(models)  # how many calls were lapses, expected
        self._conditions: dict[str, _Condition] = {}
        self._tail = Tail()
        self._before = Context()
        self.calls = 0

    # Learning

    def update(self, call: Call) -> float:
        """Learn from one call.

        Returns
        -------
        float
            The log predictive probability of the call's interval; of a free answer the log density, per
            ball.
        """
        self._drift_to(call.day)
        self._before.begin(call)
        condition = self._condition(call.condition, call.compares)
        at = self._features(call, condition)
        spread = self._cov @ at
        mean, variance = (part @ at[:, None] for part in (self._mean, spread))
        scatter = noise_levels(call.sine) ** 2
        if call.against is not None:
            scatter = scatter + noise_levels(call.against) ** 2
        deviation = np.sqrt(variance + scatter)
        log_answer, first, second = call_likelihood(call, mean, deviation)
        rate = ((LAPSE_RATE * LAPSE_CALLS + self._lapses) / (LAPSE_CALLS + self.calls))[:, None]
        log_meant = np.log1p(-rate) + log_answer
        log_call = np.logaddexp(log_meant, np.log(rate) + log_lapse(call))
        meant = np.exp(log_meant - log_call)
        evidence = condition.noise.weigh(log_call)
        posterior = condition.noise.posterior
        # Mean and variance of the mixture over all levels of noise, each call meant or a lapse.
        step = (posterior * meant * first / deviation).sum(axis=1)
        shrink = (posterior * meant * (second + first**2) / deviation**2).sum(axis=1) - step**2
        self._mean += step[:, None] * spread
        for model, way in enumerate(spread):  # one by one: all at once would go through a large array
            self._cov[model] += (shrink[model] * way)[:, None] * way
        lapsed = np.maximum(0.0, 1.0 - (posterior * meant).sum(axis=1))
        self._lapses += lapsed
        self._tail.take(call, float(self.weights @ lapsed), float(self.weights @ mean[:, 0]))
        self._before.take(call)
        self.calls += 1
        for each in self._conditions.values():
            each.used *= RECENT
        condition.used += 1.0
        log_predictive = float(log_sum_exp(log_normalised(self._log_weight) + evidence))
        weight = self._log_weight + evidence
        self._log_weight = np.maximum(weight - weight.max(), LEAST)
        return log_predictive

    def _drift_to(self, day: int) -> None:
        days = day - self._before.day if self.calls else 0
        if days <= 0:
            return
        # An Ornstein-Uhlenbeck process: each coefficient reverts to the prior.
        kept = (1.0 - WANDERS**2 / float(priors.bias_covariance([0.0], [0.0])[0, 0])) ** days
        self._mean[:, _CURVE] *= math.sqrt(kept)
        self._cov[:, _CURVE] *= math.sqrt(kept)
        self._cov[:, :, _CURVE] *= math.sqrt(kept)
        diagonal = np.arange(priors.COEFFICIENTS)
        self._cov[:, diagonal, diagonal] += (1.0 - kept) * self._prior[:, _CURVE]
        for condition in self._conditions.values():
            condition.noise.fade(KEPT**days)

    def _condition(self, name: str, compares: bool) -> _Condition:
        if name not in self._conditions:
            models, size = self._mean.shape
            self._conditions[name] = _Condition(size, NoisePosterior(models), _view_of(name), compares)
            self._mean = np.pad(self._mean, ((0, 0), (0, 1)))
            self._cov = np.pad(self._cov, ((0, 0), (0, 1), (0, 1)))
            self._cov[:, size, size] = 1.0
        return self._conditions[name]

    def _features(self, call: Call, condition: _Condition) -> Floats:
        """The design row of a call, (coefficients,): times the coefficients it gives the mean."""
        at = np.zeros(self._mean.shape[1])
        at[condition.place] = CONDITION_SD
        if call.against is not None:
            one, other = priors.basis_at([call.sine, call.against])
            at[_CURVE] = one - other
            return at
        at[_CURVE] = priors.basis_at([call.sine])[0]
        previous, mean = self._before.distances(call)
        at[_SERIAL], at[_CENTRAL] = SERIAL_SD * previous, CENTRAL_SD * mean
        at[_THROW] = THROW_SD * call.thrown
        return at

    # Keeping it

    def plain(self) -> dict[str, Any]:
        """Everything, for JSON; arrays as text, to the last bit."""
        return {
            "log_weight": packed(self._log_weight),
            "mean": packed(self._mean),
            "cov": packed(self._cov),
            "lapses": packed(self._lapses),
            "conditions": {
                name: [one.place, packed(one.noise.log_weight), one.compares, one.used]
                for name, one in self._conditions.items()
            },
            "tail": [self._tail.calls, self._tail.total, self._tail.squares],
            "set": self._before.set_id,
            "day": self._before.day,
            "last": self._before.previous,
            "shown": self._before.shown[:],
            "calls": self.calls,
        }

    @classmethod
    def of_plain(cls, plain: Mapping[str, Any]) -> Self:
        """What ``plain`` gave."""
        found = cls()
        found._log_weight, found._mean = unpacked(plain["log_weight"]), unpacked(plain["mean"])
        found._cov, found._lapses = unpacked(plain["cov"]), unpacked(plain["lapses"])
        for name, (place, log_weight, compares, used) in plain["conditions"].items():
            noise = NoisePosterior(len(found._mean))
            noise.log_weight = unpacked(log_weight)
            found._conditions[name] = _Condition(place, noise, _view_of(name), compares, used)
        found._tail = Tail(*plain["tail"])
        found._before = Context(plain["set"], plain["day"], plain["last"], list(plain["shown"]))
        found.calls = plain["calls"]
        return found

    # What is known

    @property
    def day(self) -> int:
        """The player's day of the last call, counted."""
        return self._before.day

    @property
    def weights(self) -> Floats:
        """Posterior probability of each model, (models,): for each of ``SIZES`` those of ``CONTEXTS``."""
        return np.exp(log_normalised(self._log_weight))

    def noise(self, sines: ArrayLike, where: str | None = None) -> Floats:
        """Standard deviation of a call without its bias, at sines of signed cuts (n,), in balls.

        Averaged over the drills and views by their recent use; or in one of them, or in one view.
        """
        shares = [(each.noise, share) for each, share in self._shares(where)]
        shares = shares or [(NoisePosterior(len(self._mean)), 1.0)]
        logs = np.sum([share * noise.at(sines) for noise, share in shares], axis=0)
        return np.asarray(self.weights @ np.exp(logs))

    def context_effects(self) -> tuple[Estimate, Estimate]:
        """Serial dependence and central tendency: attraction to the call before, and to the set's mean."""
        found = []
        for place, sd in ((_SERIAL, SERIAL_SD), (_CENTRAL, CENTRAL_SD)):
            at = np.zeros((1, self._mean.shape[1]))
            at[0, place] = sd
            found.append(self._estimate(at))
        return found[0], found[1]

    def causes(self) -> CauseSizes:
        """The sizes of all causes that the calls can tell of."""
        rows = dict[str, Floats]()
        wide = self._mean.shape[1]
        for k, cause in enumerate(CAUSES, priors.LOCAL):
            rows[cause.name] = np.zeros(wide)
            rows[cause.name][k] = cause.sd
        shares = self._shares(single=True)
        for condition, share in shares:  # what is off in every drill and view is off everywhere
            rows[OVERALL][condition.place] = CONDITION_SD * share
        if self._cov[0, _THROW, _THROW] < 1.0:
            rows[THROW] = np.zeros(wide)
            rows[THROW][_THROW] = THROW_SD
        first, *others = sorted({condition.view for condition, _ in shares}) or [""]
        for view in others:
            rows[f"{VIEW} {view} {first}"] = self._offset(view) - self._offset(first)
        at, full = np.array(list(rows.values())), self._caused == CAUSED[0]  # sizes of the prior: 1
        mean, covariance = self._mean[full] @ at.T, at @ self._cov[full] @ at.T
        overall = list(rows).index(OVERALL)
        mean[:, overall] += self._tail.mean
        covariance[:, overall, overall] += self._tail.variance
        return CauseSizes(tuple(rows), log_normalised(self._log_weight[full]), mean, covariance, at @ at.T)

    def _offset(self, view: str) -> Floats:
        """The row of the mean offset in a view, by the drills' use."""
        row = np.zeros(self._mean.shape[1])
        for condition, share in self._shares(view, single=True):
            row[condition.place] = CONDITION_SD * share
        return row

    def curve(self, sines: ArrayLike, where: str | None = None) -> tuple[Floats, Floats]:
        """Mean and standard deviation of the bias at sines of signed cuts (n,), in balls.

        Averaged over the drills and views by their recent use; or in one of them, or in one view.
        """
        mean, sd = self._mixture(self._rows(sines, where))
        return mean + self._tail.mean, np.sqrt(sd**2 + self._tail.variance)

    def joint(self, sines: ArrayLike, where: str | None = None) -> tuple[Floats, Floats]:
        """Mean (n,) and covariance (n, n) of the bias at sines of signed cuts (n,), in balls.

        Averaged over the drills and views by their recent use; or in one of them, or in one view.
        """
        at = self._rows(sines, where)
        mean, covariance = self._average
        return at @ mean + self._tail.mean, np.asarray(at @ covariance @ at.T) + self._tail.variance

    def rest(self, sines: ArrayLike) -> tuple[Floats, Floats]:
        """Mean and standard deviation of the local curve at sines (n,): what no cause explains, in balls."""
        at = self._rows(sines)
        at[:, priors.LOCAL :] = 0.0
        return self._mixture(at)

    def average(self, sines: ArrayLike, where: str | None = None) -> Estimate:
        """The bias averaged over sines of signed cuts (n,)."""
        found = self._estimate(self._rows(sines, where).mean(axis=0, keepdims=True))
        return Estimate(found.mean + self._tail.mean, math.sqrt(found.sd**2 + self._tail.variance))

    def sample(
        self, rng: np.random.Generator, sines: ArrayLike, spread: float = 1.0, *, faulty: bool = False
    ) -> Floats:
        """A bias curve drawn from the posterior, at sines of signed cuts (n,), in balls.

        ``spread`` multiplies its distance from the mean; ``faulty`` draws from the models with faults alone.
        """
        posterior = np.where((self._size == SIZES[0]) | (not faulty), self.weights, 0.0)
        model = int(rng.choice(len(posterior), p=posterior / posterior.sum()))
        root = np.linalg.cholesky(self._cov[model] + 1e-9 * np.eye(self._cov.shape[1]))
        drawn = self._mean[model] + spread * (root @ rng.standard_normal(len(root)))
        return np.asarray(self._rows(sines) @ drawn)

    def _rows(self, sines: ArrayLike, where: str | None = None) -> Floats:
        """Design rows of the bias at sines (n,): (n, coefficients)."""
        bare = priors.basis_at(sines)
        at = np.zeros((len(bare), self._mean.shape[1]))
        at[:, _CURVE] = bare
        for condition, share in self._shares(where, single=True):
            at[:, condition.place] = CONDITION_SD * share
        return at

    def _shares(self, where: str | None = None, single: bool = False) -> list[tuple[_Condition, float]]:
        """The drills and views and each one's share of recent use; ``where``: only those named so.

        ``single``: only those that don't compare two shots.
        """
        found = [
            condition
            for name, condition in self._conditions.items()
            if where in (None, name, condition.view) and not (single and condition.compares)
        ]
        total = sum(condition.used for condition in found)
        return [(condition, condition.used / total) for condition in found] if total else []

    @property
    def _average(self) -> tuple[Floats, Floats]:
        """Mean (coefficients,) and covariance (coefficients, coefficients) over all models."""
        weights = self.weights
        mean = weights @ self._mean
        apart = self._mean - mean
        return mean, np.tensordot(weights, self._cov, 1) + apart.T @ (weights[:, None] * apart)

    def _mixture(self, at: Floats) -> tuple[Floats, Floats]:
        """Mean and deviation of linear functions ``at`` (n, coefficients), over all models."""
        mean, covariance = self._average
        return at @ mean, np.sqrt(np.maximum(((at @ covariance) * at).sum(axis=1), 0.0))

    def _estimate(self, at: Floats) -> Estimate:
        mean, sd = self._mixture(at)
        return Estimate(float(mean[0]), float(sd[0]))


def _view_of(condition: str) -> str:
    return condition.rpartition(" ")[2]
