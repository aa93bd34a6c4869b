"""What the program thinks of a player's seeing: bias and noise over the signed cut.

A call's error is taken to be

    bias(cut) + own(where) + a (call before - shot) + c (mean of the set - shot) + noise

in balls of fullness, + thick: a curve; an offset of each drill and view; a pull toward the last call and
one toward what the set has shown up to now, since those would make a bias out of nothing but the choice of
shots. Noise is log-linear in the cut, and each drill and view has its own (``noise``). A few calls are
lapses, unrelated to the shot.

Where two shots are compared, the error is what the one is seen too full less what the other is,

    bias(cut) - bias(cut of the other) + own(where) + noise + noise of the other look

Pulls draw both looks alike and fall out. The offset doesn't: the one shot is shown otherwise than the other.
It is no part of what is seen wrong in a single shot, so it isn't told with the bias. The other is the one
that is as full, whichever was called: a cut that followed from the answer would be explained by it.

The first four are one Gaussian over coefficients, updated call by call in closed form: intervals by matching
moments, and over all levels of noise at once. From day to day the curve wanders a little, back to the prior
in the end, so that what is old fades.

All this is done in four models: players with faults and players with next to none, whom pulls draw or
don't. What is told is their mixture, by how well each foretold the calls. The simple ones keep the first
from seeing in noise what isn't there.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.learner import curve
from trainer.learner.call import Before, Call
from trainer.learner.moments import between
from trainer.learner.noise import Noise, log_chances, log_sum, noises
from trainer.learner.packing import packed, unpacked

LAPSE_RATE, LAPSE_CALLS = 0.02, 30.0  # thought of beforehand, and how many calls that is worth
LAPSE_DENSITY = 0.5  # a lapse lands anywhere over two balls' width
# What is thought of each before any call, as standard deviations. Published pulls of judgements toward the
# answer before and the middle of what was shown are of the order of a tenth.
LAST_SD, MEAN_SD = 0.1, 0.15
WHERE_SD = 0.03  # balls: drills and views differ from one another by so much
# From day to day: what the bias at one cut wanders by, in balls, and what is kept of what is known of noise.
WANDERS = 0.008
KEPT = 0.985
SIZES = (1.0, 0.3)  # of a prior curve: of players with faults, of those with next to none
PULLED = (1.0, 0.0)  # of the pulls: of players whom they draw, of those whom they don't
LEAST = -12.0  # log of the least chance that a model is left
RECENT = 0.98  # a call's weight in which drills and views are in use, from call to call
_OWN = slice(0, curve.SIZE)  # places of coefficients: the curve, the two pulls; then the drills and views
_LAST, _MEAN = curve.SIZE, curve.SIZE + 1


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


@dataclass
class _Where:
    """A drill and view: its offset's place among the coefficients, its noise, its use of late."""

    place: int
    noise: Noise
    compares: bool = False
    used: float = 0.0


class Belief:
    """What is thought of one player, by all models at once: arrays have an axis of models first."""

    def __init__(self) -> None:
        self._size, self._pulled = (part.ravel() for part in np.meshgrid(SIZES, PULLED, indexing="ij"))
        models, coefficients = len(self._size), curve.SIZE + 2
        self._log_weight = np.zeros(models)
        self._mean = np.zeros((models, coefficients))
        self._cov = np.tile(np.eye(coefficients), (models, 1, 1))
        self._lapses = np.zeros(models)  # calls that are thought to have been some
        self._wheres: dict[str, _Where] = {}
        self._before = Before()
        self.calls = 0

    # Learning

    def update(self, call: Call) -> float:
        """Learn from one call.

        Returns
        -------
        float
            The logarithm of how likely the call was before it was made: the chance of its interval,
            or the density of a free answer, a ball.
        """
        self._pass_time(call.day)
        self._before.begin(call)
        where = self._where(call.where, call.compares)
        at = self._features(call, where)
        spread = (self._cov @ at[:, :, None])[:, :, 0]
        mean, variance = ((at * part).sum(axis=1)[:, None] for part in (self._mean, spread))
        scatter = noises(call.sine) ** 2
        if call.against is not None:
            scatter = scatter + noises(call.against) ** 2
        deviation = np.sqrt(variance + scatter)
        log_seen, first, second = _seen(call, mean, deviation)
        rate = ((LAPSE_RATE * LAPSE_CALLS + self._lapses) / (LAPSE_CALLS + self.calls))[:, None]
        log_meant = np.log1p(-rate) + log_seen
        log_call = np.logaddexp(log_meant, np.log(rate) + _log_lapse(call))
        meant = np.exp(log_meant - log_call)
        evidence = where.noise.weigh(log_call)
        chances = where.noise.chances
        # The mean and variance of the mixture of all levels, each "meant" or "a lapse".
        step = (chances * meant * first / deviation).sum(axis=1)
        shrink = (chances * meant * (second + first**2) / deviation**2).sum(axis=1) - step**2
        self._mean += step[:, None] * spread
        self._cov += shrink[:, None, None] * (spread[:, :, None] * spread[:, None, :])
        self._lapses += np.maximum(0.0, 1.0 - (chances * meant).sum(axis=1))
        self._before.take(call)
        self.calls += 1
        for each in self._wheres.values():
            each.used *= RECENT
        where.used += 1.0
        foretold = float(log_sum(log_chances(self._log_weight) + evidence))
        weight = self._log_weight + evidence
        # None falls so low that it can't come back.
        self._log_weight = np.maximum(weight - weight.max(), LEAST)
        return foretold

    def _pass_time(self, day: int) -> None:
        days = day - self._before.day if self.calls else 0
        if days <= 0:
            return
        # Variance one is what each coefficient comes back to: an Ornstein-Uhlenbeck process.
        kept = (1.0 - WANDERS**2 / float(curve.covariance([0.0], [0.0])[0, 0])) ** days
        self._mean[:, _OWN] *= math.sqrt(kept)
        self._cov[:, _OWN] *= math.sqrt(kept)
        self._cov[:, :, _OWN] *= math.sqrt(kept)
        diagonal = np.arange(curve.SIZE)
        self._cov[:, diagonal, diagonal] += 1.0 - kept
        for where in self._wheres.values():
            where.noise.fade(KEPT**days)

    def _where(self, name: str, compares: bool) -> _Where:
        if name not in self._wheres:
            models, size = self._mean.shape
            self._wheres[name] = _Where(size, Noise(models), compares)
            self._mean = np.pad(self._mean, ((0, 0), (0, 1)))
            self._cov = np.pad(self._cov, ((0, 0), (0, 1), (0, 1)))
            self._cov[:, size, size] = 1.0
        return self._wheres[name]

    def _features(self, call: Call, where: _Where) -> Floats:
        """What turns the coefficients into a call's mean, (models, coefficients)."""
        at = np.zeros_like(self._mean)
        at[:, where.place] = WHERE_SD
        if call.against is not None:
            one, other = curve.rows([call.sine, call.against])
            at[:, _OWN] = self._size[:, None] * (one - other)
            return at
        at[:, _OWN] = self._size[:, None] * curve.rows([call.sine])
        last, middle = self._before.pulls(call)
        at[:, _LAST] = self._pulled * LAST_SD * last
        at[:, _MEAN] = self._pulled * MEAN_SD * middle
        return at

    # Keeping it

    def plain(self) -> dict[str, Any]:
        """All of it for JSON, arrays as text, to the last bit."""
        return {
            "log_weight": packed(self._log_weight),
            "mean": packed(self._mean),
            "cov": packed(self._cov),
            "lapses": packed(self._lapses),
            "wheres": {
                name: [where.place, packed(where.noise.log_weight), where.compares, where.used]
                for name, where in self._wheres.items()
            },
            "set": self._before.set_id,
            "day": self._before.day,
            "last": self._before.last,
            "shown": self._before.shown[:],
            "calls": self.calls,
        }

    @classmethod
    def of_plain(cls, plain: Mapping[str, Any]) -> Self:
        """What ``plain`` gave."""
        found = cls()
        found._log_weight, found._mean = unpacked(plain["log_weight"]), unpacked(plain["mean"])
        found._cov, found._lapses = unpacked(plain["cov"]), unpacked(plain["lapses"])
        for name, (place, log_weight, compares, used) in plain["wheres"].items():
            noise = Noise(len(found._mean))
            noise.log_weight = unpacked(log_weight)
            found._wheres[name] = _Where(place, noise, compares, used)
        found._before = Before(plain["set"], plain["day"], plain["last"], list(plain["shown"]))
        found.calls = plain["calls"]
        return found

    # What is known

    @property
    def weights(self) -> Floats:
        """Chance of each model, (models,): for each of ``SIZES`` those of ``PULLED``."""
        return np.exp(log_chances(self._log_weight))

    def noise(self, sines: ArrayLike, where: str | None = None) -> Floats:
        """Standard deviation of a call without its bias, at sines of signed cuts (n,), in balls.

        In the drills and views of late, in their shares; or in one of them.
        """
        shares = [(each.noise, share) for each, share in self._shares(where)]
        shares = shares or [(Noise(len(self._mean)), 1.0)]
        logs = np.sum([share * noise.at(sines) for noise, share in shares], axis=0)
        return np.asarray(self.weights @ np.exp(logs))

    def pulls(self) -> tuple[Estimate, Estimate]:
        """The pull toward the call before, and toward the mean of the set."""
        found = []
        for place, sd in ((_LAST, LAST_SD), (_MEAN, MEAN_SD)):
            at = np.zeros_like(self._mean)[:, None]
            at[:, 0, place] = self._pulled * sd
            found.append(self._estimate(at))
        return found[0], found[1]

    def curve(self, sines: ArrayLike, where: str | None = None) -> tuple[Floats, Floats]:
        """Mean and standard deviation of the bias at sines of signed cuts (n,), in balls.

        As seen in the drills and views of late, in their shares; or in one of them.
        """
        return self._told(self._rows(sines, where))

    def joint(self, sines: ArrayLike) -> tuple[Floats, Floats]:
        """Mean (n,) and covariance (n, n) of the bias at sines of signed cuts (n,), in balls.

        As seen in the drills and views of late, in their shares.
        """
        at = self._rows(sines)
        means = self._means(at)
        mean = self.weights @ means
        apart = (means - mean)[:, :, None] * (means - mean)[:, None, :]
        covariances = at @ self._cov @ at.transpose(0, 2, 1) + apart
        return mean, np.asarray(np.tensordot(self.weights, covariances, 1))

    def average(self, sines: ArrayLike, where: str | None = None) -> Estimate:
        """The bias averaged over sines of signed cuts (n,)."""
        return self._estimate(self._rows(sines, where).mean(axis=1, keepdims=True))

    def sample(
        self, rng: np.random.Generator, sines: ArrayLike, spread: float = 1.0, *, faulty: bool = False
    ) -> Floats:
        """One bias curve that the belief holds possible, at sines of signed cuts (n,), in balls.

        ``spread`` is what its distance from the mean is multiplied by; ``faulty``: of a player with faults.
        """
        chances = np.where((self._size == SIZES[0]) | (not faulty), self.weights, 0.0)
        model = int(rng.choice(len(chances), p=chances / chances.sum()))
        root = np.linalg.cholesky(self._cov[model] + 1e-9 * np.eye(self._cov.shape[1]))
        drawn = self._mean[model] + spread * (root @ rng.standard_normal(len(root)))
        return np.asarray(self._rows(sines)[model] @ drawn)

    def _rows(self, sines: ArrayLike, name: str | None = None) -> Floats:
        """What turns the coefficients into biases at sines (n,): (models, n, coefficients)."""
        bare = curve.rows(sines)
        at = np.zeros((len(self._mean), len(bare), self._mean.shape[1]))
        at[:, :, _OWN] = self._size[:, None, None] * bare
        for where, share in self._shares(name, single=True):
            at[:, :, where.place] = WHERE_SD * share
        return at

    def _shares(self, name: str | None = None, single: bool = False) -> list[tuple[_Where, float]]:
        """The drills and views in use, and how much each of late; or the one of a name.

        ``single``: only those that show a shot alone.
        """
        named = (
            self._wheres.values() if name is None else [self._wheres[name]] if name in self._wheres else []
        )
        found = [where for where in named if not (single and where.compares)]
        if name is not None:
            return [(where, 1.0) for where in found]
        total = sum(where.used for where in found)
        return [(where, where.used / total) for where in found] if total else []

    def _means(self, at: Floats) -> Floats:
        """Means (models, n) of linear functions ``at`` (models, n, coefficients)."""
        return np.asarray((at @ self._mean[:, :, None])[:, :, 0])

    def _told(self, at: Floats) -> tuple[Floats, Floats]:
        """Mean and deviation of linear functions ``at`` (models, n, coefficients), in the mixture."""
        means = self._means(at)
        variances = np.maximum(((at @ self._cov) * at).sum(axis=2), 0.0)
        mean = self.weights @ means
        return mean, np.asarray(np.sqrt(self.weights @ (variances + (means - mean) ** 2)))

    def _estimate(self, at: Floats) -> Estimate:
        mean, sd = self._told(at)
        return Estimate(float(mean[0]), float(sd[0]))


def _seen(call: Call, mean: Floats, deviation: Floats) -> tuple[Floats, Floats, Floats]:
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
