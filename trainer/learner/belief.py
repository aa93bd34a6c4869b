"""What the program thinks of a player's seeing: bias and noise over the signed cut.

A call's error is taken to be

    bias(cut) + own(where) + a (call before - shot) + c (mean of the set - shot) + noise

in balls of fullness, + thick: a curve; an offset of each drill and view; a pull toward the last call and
one toward what the set has shown up to now, since those would make a bias out of nothing but the choice of
shots. Noise is log-linear in the cut, and each drill and view has its own. A few calls are lapses, unrelated
to the shot.

The first four are one Gaussian over coefficients, updated call by call in closed form: intervals by matching
moments, and over all levels of noise at once. How likely each level is follows from how well it foretold the
calls. From day to day the curve wanders a little, back to the prior in the end, so that what is old fades.

All this is done twice, for curves as large as those of players with faults and for curves that are next to
nothing; what is told is the mixture of the two, by how well each foretold the calls.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.learner import curve
from trainer.learner.call import Call
from trainer.learner.moments import between

LAPSE_RATE, LAPSE_CALLS = 0.025, 60.0  # thought of beforehand, and how many calls that is worth
LAPSE_DENSITY = 0.5  # a lapse lands anywhere over two balls' width
# What is thought of each before any call, as standard deviations. Published pulls of judgements toward the
# answer before and the middle of what was shown are of the order of a tenth.
LAST_SD, MEAN_SD = 0.1, 0.15
WHERE_SD = 0.03  # balls: drills and views differ from one another by so much
# Noise of a call: levels at a cut of 35 degrees, and how its logarithm grows over 35 degrees more.
LEVELS = np.exp(np.linspace(math.log(0.012), math.log(0.3), 27))
GROWTHS = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
USUAL_LEVEL, LEVEL_SD, GROWTH_SD = 0.06, 0.6, 0.25
MIDDLE = 35.0
_LOG_LEVEL, _GROWTH = (part.ravel() for part in np.meshgrid(np.log(LEVELS), GROWTHS, indexing="ij"))
# From day to day: what the bias at one cut wanders by, in balls, and what is kept of what is known of noise.
WANDERS = 0.008
KEPT = 0.985
SIZES = (1.0, 0.3)  # of a prior curve: of players with faults, of those with next to none
LEAST = -12.0  # log of the least chance that a model is left
RECENT = 0.98  # a call's weight in which drills and views are in use, from call to call


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


class Belief:
    """Two models, and how likely each: one of players with faults, one of players with next to none.

    The second keeps the first from seeing in noise what isn't there. What is told is the mixture of both.
    """

    def __init__(self) -> None:
        self._models = tuple(_Model(size) for size in SIZES)
        self._log_weight = np.zeros(len(SIZES))
        self.calls = 0

    def update(self, call: Call) -> float:
        """Learn from one call.

        Returns
        -------
        float
            The logarithm of how likely the call was before it was made: the chance of its interval,
            or the density of a free answer, a ball.
        """
        before = _chances(self._log_weight)
        evidence = np.array([model.update(call) for model in self._models])
        self._log_weight = _spread_again(self._log_weight + evidence)
        self.calls += 1
        highest = float(evidence.max())
        return highest + math.log(float(before @ np.exp(evidence - highest)))

    @property
    def weights(self) -> Floats:
        """Chance of each model: with faults, without."""
        return _chances(self._log_weight)

    def noise(self, sines: ArrayLike) -> Floats:
        """Standard deviation of a call without its bias, at sines of signed cuts (n,), in balls."""
        return np.asarray(np.tensordot(self.weights, [model.noise(sines) for model in self._models], 1))

    def pulls(self) -> tuple[Estimate, Estimate]:
        """The pull toward the call before, and toward the mean of the set."""
        last, mean = (self._mixed([model.pull(k) for model in self._models]) for k in (0, 1))
        return Estimate(float(last[0]), float(last[1])), Estimate(float(mean[0]), float(mean[1]))

    def curve(self, sines: ArrayLike, where: str | None = None) -> tuple[Floats, Floats]:
        """Mean and standard deviation of the bias at sines of signed cuts (n,), in balls.

        As seen in the drills and views of late, in their shares; or in one of them.
        """
        return self._mixed([model.told(model.rows(sines, where)) for model in self._models])

    def joint(self, sines: ArrayLike) -> tuple[Floats, Floats]:
        """Mean (n,) and covariance (n, n) of the bias at sines of signed cuts (n,), in balls.

        As seen in the drills and views of late, in their shares.
        """
        parts = [model.joint(model.rows(sines)) for model in self._models]
        mean = np.asarray(sum(w * m for w, (m, _) in zip(self.weights, parts, strict=True)))
        apart = [c + np.outer(m - mean, m - mean) for m, c in parts]
        return mean, np.asarray(sum(w * c for w, c in zip(self.weights, apart, strict=True)))

    def average(self, sines: ArrayLike, where: str | None = None) -> Estimate:
        """The bias averaged over sines of signed cuts (n,)."""
        parts = [model.told(model.rows(sines, where).mean(axis=0, keepdims=True)) for model in self._models]
        mean, sd = self._mixed(parts)
        return Estimate(float(mean[0]), float(sd[0]))

    def sample(
        self, rng: np.random.Generator, sines: ArrayLike, spread: float = 1.0, *, faulty: bool = False
    ) -> Floats:
        """One bias curve that the belief holds possible, at sines of signed cuts (n,), in balls.

        ``spread`` is what its distance from the mean is multiplied by; ``faulty``: of a player with faults.
        """
        which = 0 if faulty or rng.random() < self.weights[0] else 1
        return self._models[which].sample(rng, sines, spread)

    def _mixed(self, parts: Sequence[tuple[Floats, Floats]]) -> tuple[Floats, Floats]:
        means, sds = (np.array([part[k] for part in parts]) for k in (0, 1))
        mean = np.asarray(np.tensordot(self.weights, means, 1), float)
        variance = np.asarray(np.tensordot(self.weights, sds**2 + (means - mean) ** 2, 1), float)
        return mean, np.asarray(np.sqrt(variance))


def _spread_again(log_weight: Floats) -> Floats:
    """Log weights of which none falls so low that it can't come back."""
    return np.asarray(np.maximum(log_weight - log_weight.max(), LEAST))


class _Model:
    """A Gaussian over the curve's coefficients, both pulls and each drill and view's own offset.

    ``size`` is what the prior's curves are multiplied by.
    """

    def __init__(self, size: float) -> None:
        self._size = size
        self.calls = 0
        self._mean = np.zeros(curve.SIZE + 2)
        self._cov = np.eye(curve.SIZE + 2)
        self._wheres: dict[str, _Where] = {}
        self._set, self._day = "", 0
        self._lapses = 0.0  # calls that are thought to have been some
        self._last: float | None = None  # fullness called before, in this set
        self._shown: list[float] = []  # fullnesses of the set's shots

    def update(self, call: Call) -> float:
        """As :meth:`Belief.update`."""
        self._pass_time(call.day)
        if call.set_id != self._set:
            self._set, self._last, self._shown = call.set_id, None, []
        where = self._where(call.where)
        at = self._features(call, where)
        spread = self._cov @ at
        mean, variance = float(at @ self._mean), float(at @ spread)
        deviation = np.sqrt(variance + _noises(call.sine) ** 2)
        log_seen, first, second = _seen(call, mean, deviation)
        rate = (LAPSE_RATE * LAPSE_CALLS + self._lapses) / (LAPSE_CALLS + self.calls)
        log_meant = math.log(1 - rate) + log_seen
        log_call = np.logaddexp(log_meant, math.log(rate) + _log_lapse(call))
        meant = np.exp(log_meant - log_call)
        chances, evidence = where.weighed(log_call)
        # The mean and variance of the mixture of all levels, each "meant" or "a lapse".
        steps = meant * first / deviation
        step = float(chances @ steps)
        shrink = float(chances @ (meant * (second + first**2) / deviation**2)) - step * step
        self._mean += step * spread
        self._cov += shrink * spread[:, None] * spread
        self._lapses += max(0.0, 1.0 - float(chances @ meant))
        self._last = call.fullness + call.error
        self._shown.append(call.fullness)
        self.calls += 1
        for each in self._wheres.values():
            each.used *= RECENT
        where.used += 1.0
        return evidence

    def _pass_time(self, day: int) -> None:
        days, self._day = day - self._day if self.calls else 0, day
        if days <= 0:
            return
        # Variance one is what each coefficient comes back to: an Ornstein-Uhlenbeck process.
        kept = (1.0 - WANDERS**2 / float(curve.covariance([0.0], [0.0])[0, 0])) ** days
        own = np.arange(curve.SIZE)
        self._mean[own] *= math.sqrt(kept)
        self._cov[own] *= math.sqrt(kept)
        self._cov[:, own] *= math.sqrt(kept)
        self._cov[own, own] += 1.0 - kept
        for where in self._wheres.values():
            where.fade(KEPT**days)

    def _where(self, name: str) -> "_Where":
        if name not in self._wheres:
            size = len(self._mean)
            self._wheres[name] = _Where(size)
            self._mean = np.append(self._mean, 0.0)
            wider = np.eye(size + 1)
            wider[:size, :size] = self._cov
            self._cov = wider
        return self._wheres[name]

    def _features(self, call: Call, where: "_Where") -> Floats:
        at = np.zeros(len(self._mean))
        at[: curve.SIZE] = self._size * curve.rows([call.sine])[0]
        if self._last is not None:
            at[curve.SIZE] = LAST_SD * (self._last - call.fullness)
        if self._shown:
            shown = sum(self._shown) / len(self._shown)
            at[curve.SIZE + 1] = MEAN_SD * (shown - call.fullness)
        at[where.place] = WHERE_SD
        return at

    def noise(self, sines: ArrayLike) -> Floats:
        """Standard deviation of a call without its bias, at sines of signed cuts (n,), in balls."""
        sines = np.asarray(sines, float)
        shares, total = self._shares(), np.zeros(len(sines))
        for where, share in shares or [(_Where(0), 1.0)]:
            total += share * np.array([float(where.chances @ np.log(_noises(sine))) for sine in sines])
        return np.asarray(np.exp(total))

    def pull(self, k: int) -> tuple[Floats, Floats]:
        """Mean and deviation of the pull toward the call before (0), and toward the mean of the set (1)."""
        at = np.zeros((1, len(self._mean)))
        at[0, curve.SIZE + k] = (LAST_SD, MEAN_SD)[k]
        mean, sd = self.told(at)
        return mean[0], sd[0]

    def sample(self, rng: np.random.Generator, sines: ArrayLike, spread: float) -> Floats:
        """As :meth:`Belief.sample`."""
        at = self.rows(sines)
        size = len(self._mean)
        root = np.linalg.cholesky(self._cov + 1e-9 * np.eye(size))
        return np.asarray(at @ (self._mean + spread * (root @ rng.standard_normal(size))))

    def rows(self, sines: ArrayLike, name: str | None = None) -> Floats:
        """What turns the coefficients into biases at sines (n,)."""
        bare = self._size * curve.rows(sines)
        at = np.zeros((len(bare), len(self._mean)))
        at[:, : curve.SIZE] = bare
        for where, share in self._shares(name):
            at[:, where.place] = WHERE_SD * share
        return at

    def joint(self, at: Floats) -> tuple[Floats, Floats]:
        """Mean (n,) and covariance (n, n) of linear functions ``at`` (n, coefficients)."""
        return at @ self._mean, at @ self._cov @ at.T

    def told(self, at: Floats) -> tuple[Floats, Floats]:
        """Mean and deviation of linear functions ``at`` (n, coefficients)."""
        variance = ((at @ self._cov) * at).sum(axis=1)
        return at @ self._mean, np.sqrt(np.maximum(variance, 0.0))

    def _shares(self, name: str | None = None) -> list[tuple["_Where", float]]:
        """The drills and views in use, and how much each of late; or the one of a name."""
        if name is not None:
            return [(self._wheres[name], 1.0)] if name in self._wheres else []
        total = sum(where.used for where in self._wheres.values())
        return [(where, where.used / total) for where in self._wheres.values()] if total else []


class _Where:
    """A drill and view: the place of its own offset, how likely its levels of noise are, its use of late."""

    def __init__(self, place: int) -> None:
        self.place, self.used = place, 0.0
        self._log_prior = (
            -0.5 * ((_LOG_LEVEL - math.log(USUAL_LEVEL)) / LEVEL_SD) ** 2 - 0.5 * (_GROWTH / GROWTH_SD) ** 2
        )
        self._log_weight = self._log_prior.copy()

    @property
    def chances(self) -> Floats:
        """Chance of each level and growth."""
        return _chances(self._log_weight)

    def weighed(self, log_call: Floats) -> tuple[Floats, float]:
        """Weigh the levels by how likely each made a call; the chances after, and the log of the call's."""
        before = _chances(self._log_weight)
        highest = float(log_call.max())
        evidence = highest + math.log(float(before @ np.exp(log_call - highest)))
        self._log_weight = self._log_weight + log_call
        return _chances(self._log_weight), evidence

    def fade(self, kept: float) -> None:
        """Forget a part of what is known of the noise."""
        self._log_weight = self._log_prior + kept * (self._log_weight - self._log_prior)


def _chances(log_weight: Floats) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _noises(sine: float) -> Floats:
    """The noise at a cut, by level and growth."""
    cut = math.degrees(math.asin(min(abs(sine), 1.0)))
    return np.asarray(np.exp(_LOG_LEVEL + _GROWTH * (cut - MIDDLE) / MIDDLE))


def _seen(call: Call, mean: float, deviation: Floats) -> tuple[Floats, Floats, Floats]:
    """Log of how likely a meant call is, and that one's derivatives by the mean, in deviations."""
    if call.low < call.high:
        return between((call.low - mean) / deviation, (call.high - mean) / deviation)
    off = (call.low - mean) / deviation
    return -0.5 * off**2 - np.log(deviation * math.sqrt(2 * math.pi)), off, np.full_like(off, -1.0)


def _log_lapse(call: Call) -> float:
    """Log of how likely a lapse is to end in this call."""
    if call.low == call.high:
        return math.log(LAPSE_DENSITY)
    low, high = max(call.low, call.error - 0.5), min(call.high, call.error + 0.5)
    return math.log(LAPSE_DENSITY * (high - low))
