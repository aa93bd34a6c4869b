"""What became of a fault: its size from day to day, smoothed, and whether it surely is smaller.

One bias curve is fitted to all calls of ten weeks, with everything else that could look like a change:
serial dependence, central tendency, and an offset of each condition (drill and view). The cuts shown, their
order and the answers' fineness may have changed although the player has not.

Then a kind of shot is taken for a stretch of that curve that grows or shrinks as a whole. Its size from day
to day is one of several courses, weighed by the calls themselves: it stays as it is, it heals by the same
part each day, or it is a random walk. What is reported is their Bayesian model average.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.fullness import EVERY_KIND, Kind
from trainer.geometry.vectors import Floats
from trainer.learner import priors
from trainer.learner.belief import CENTRAL_SD, CONDITION_SD, SERIAL_SD
from trainer.learner.call import Call, context_distances
from trainer.learner.causes import NAMED_CAUSES
from trainer.learner.censored import STRAY, fit_linear, truncated_moments
from trainer.learner.priors import log_normalised
from trainer.learner.verdicts import LEAST_BIAS, SAMPLES, forgiven

DAYS = 70  # days ago: what is older is another eye's
AROUND, WEEK = 1, 7  # days before and after the worst; the last days, for how it is now
LATELY = 13  # days ago: a fault is seen as it is now in calls no older than this
SHORTEST = 4  # days from the first call to the last, before anything is compared
# Standard deviations that a fault must have been sure by once, and its change now, for a reader who looks
# every day. tests/benchmarks/bench_change.py prints how many players who don't change are told of one.
SURE_ONCE, SURE = 2.3, 3.1
POWER = 1.64  # standard deviations more, so that 19 of 20 real changes are seen
SMALLER = 0.5  # a fault half as large is what a player wants to hear of
MOSTLY = 0.75  # of its greatest size: so long a fault was as it had been
FEWEST = 8  # calls about a kind, in all and lately
CAUSED = 0.3  # of the usual size of causes: one curve needs no causes of their own
SIZE_SD = 0.08  # balls: the prior of a fault's size on its first day
STEPS = 0.003, 0.006, 0.012, 0.024  # balls a day: a walk's standard deviation
HEALS = 5.0, 10.0, 20.0  # days in which a fault that heals shrinks to 1 / e
LEFT_SD = 0.01  # balls: of what it may shrink to
# As likely as not there is no change at all; else it heals, or it is a walk.
SHARES = (0.5, *(0.25 / len(STEPS) for _ in STEPS), *(0.25 / len(HEALS) for _ in HEALS))
REACH = 12.0  # degrees of cut to each side of a kind's middle: calls there tell of it
ALIKE = 0.3, 3.0  # times the kind's own bias: where the curve is between these it is the same fault
LEAST = 0.006  # balls: a smaller bias has no shape to follow
MANY = 5  # kinds of shot that are better: more may have one cause
# The part of their squared biases that the cause may leave; one that was told before may leave more.
UNEXPLAINED, UNEXPLAINED_KNOWN = 0.2, 0.5
_MIDDLES = np.array([sum(kind.sines) / 2 for kind in EVERY_KIND])
THIRDS = 3  # of the cuts, by their sines: noise is told apart between them
ROUNDS = 4  # of finding what intervals tell


@dataclass(frozen=True)
class Change:
    """A kind of shot that was surely seen thick or thin: its bias at its greatest and now, balls, + thick.

    ``better``: it surely is smaller. ``until`` is the day (an ordinal) to which it was about as it had been,
    ``since`` the one from which on it has surely been less than such pots forgive; None where there is none.
    ``missing`` is about how many more calls of late it takes to say that a fault half as large is smaller,
    None where it is better or no number would do. ``now`` is not a number where there were no calls of late.
    ``cause`` stands where many kinds of shot are better for one reason: then the biases are its sizes, and
    there is no band or side.
    """

    band: str
    side: str
    then: float
    now: float
    better: bool
    until: int | None
    since: int | None
    missing: int | None
    cause: str = ""

    @property
    def kind(self) -> Kind:
        """Its band and side as one."""
        return Kind(self.band, self.side)

    @property
    def gone(self) -> float:
        """The part of it that is gone."""
        return 1.0 - self.now / self.then


@dataclass(frozen=True)
class Course:
    """A fault's size on each of its days: ``days`` (n,) ordinals, ``mean`` (n,) and ``covariance`` (n, n)."""

    days: NDArray[np.intp]
    mean: Floats
    covariance: Floats

    @property
    def sd(self) -> Floats:
        """Standard deviations, (n,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))


def changes(calls: Sequence[Call], today: int, known: Collection[str] = ()) -> list[Change]:
    """Every kind of shot that was surely seen thick or thin once, thick to thin, left before right.

    Where many are better for one cause, it is told first, in their place: one of those that are ``known`` to
    have been there, if any of them would do.
    """
    lately = [call for call in calls if 0 <= today - call.day <= DAYS]
    tells = np.array([call.tells for call in lately], bool)
    used, context = [call for call in lately if call.tells], context_distances(lately)[tells]
    if len(used) < FEWEST or used[-1].day - used[0].day < SHORTEST:
        return []
    sines = np.array([call.sine for call in used])
    conditions = sorted({call.condition for call in used})
    design = np.zeros((len(used), priors.COEFFICIENTS + 2 + len(conditions)))
    curve = slice(0, priors.COEFFICIENTS)
    design[:, curve] = _basis_at(sines)
    design[:, priors.COEFFICIENTS : priors.COEFFICIENTS + 2] = context * (SERIAL_SD, CENTRAL_SD)
    own = [priors.COEFFICIENTS + 2 + conditions.index(call.condition) for call in used]
    design[np.arange(len(used)), own] = CONDITION_SD
    mean, _, noise = fit_linear(design, used, _thirds(sines))
    seen = design[:, curve] @ mean[curve]
    drawn = design @ mean - seen
    ends = np.array([(call.low, call.high, call.error) for call in used]).T - drawn
    days = np.array([call.day for call in used])
    errors = _Errors(days, sines, ends, noise, today)
    found = [_of_kind(kind, errors, seen, mean[curve]) for kind in EVERY_KIND]
    return _as_one([change for change in found if change is not None], errors, known)


@dataclass(frozen=True)
class _Errors:
    """Calls' errors without what draws them: ``days``, ``sines``, ``noise`` (n,), ``ends`` (3, n).

    ``ends`` are the low and the high end of the interval of each, and its error.
    """

    days: NDArray[np.intp]
    sines: Floats
    ends: Floats
    noise: Floats
    today: int

    def change(self, kind: Kind, shape: Floats, mine: NDArray[np.bool_], room: float) -> Change | None:
        """What became of a fault that at these calls is its size times a ``shape`` (n,); None for none.

        ``room`` is how large it may be where it is not one any more.
        """
        if mine.sum() < FEWEST:
            return None
        days, part = self.days[mine], shape[mine]
        low, high, error = self.ends[:, mine] / part
        low, high = np.minimum(low, high), np.maximum(low, high)
        noise = self.noise[mine] / np.abs(part)
        lately = int((self.today - days <= LATELY).sum())
        counts = lately, int(mine.sum()) - lately
        return _change(
            kind, course_of(days, low, high, error, noise), counts, float(noise.mean()), room, self.today
        )


def _of_kind(kind: Kind, errors: _Errors, seen: Floats, curve: Floats) -> Change | None:
    """What became of a kind's fault, told by the calls around it, too; None where it was never sure.

    ``seen`` (n,) is the bias at the calls, ``curve`` the coefficients of the basis that it comes of.
    """
    own_bias = float((_basis_at(np.linspace(*kind.sines, SAMPLES)) @ curve).mean())
    if abs(own_bias) < LEAST:
        return None
    middle = sum(kind.sines) / 2
    cuts, at = (np.degrees(np.arcsin(np.clip(sines, -1.0, 1.0))) for sines in (errors.sines, middle))
    shape = seen / own_bias
    near = (np.abs(cuts - at) <= REACH) & (np.sign(cuts) == np.sign(at))
    mine = near & (shape >= ALIKE[0]) & (shape <= ALIKE[1])
    return errors.change(kind, shape, mine, float(forgiven([middle])[0]))


def _as_one(found: list[Change], errors: _Errors, known: Collection[str]) -> list[Change]:
    """The changes, with those that one cause explains told as one, first."""
    better = [change for change in found if change.better]
    if len(better) < MANY:
        return found
    then = np.array([change.then for change in better])
    middles = np.array([sum(change.kind.sines) / 2 for change in better])
    fits = {}
    for name, cause in NAMED_CAUSES.items():
        shape = cause.shape(middles)
        size = float(shape @ then) / max(float(shape @ shape), 1e-9)
        fits[name] = float(((then - size * shape) ** 2).sum() / (then**2).sum())
    fitting = [name for name in fits if name in known and fits[name] <= UNEXPLAINED_KNOWN]
    best = min(fitting or fits, key=lambda name: fits[name])
    shape, every = NAMED_CAUSES[best].shape(errors.sines), NAMED_CAUSES[best].shape(_MIDDLES)
    mean = float(np.abs(every).mean())
    mine = np.abs(shape) > ALIKE[0] * mean
    whole = errors.change(Kind("", ""), shape / mean, mine, float(forgiven(_MIDDLES).mean()))
    if (fits[best] > UNEXPLAINED and not fitting) or whole is None or not whole.better:
        return found
    one = replace(whole, then=whole.then / mean, now=whole.now / mean, cause=best)
    of_it = one.then * NAMED_CAUSES[best].shape(_MIDDLES)
    return [one, *(each for each in found if each.then * of_it[EVERY_KIND.index(each.kind)] <= 0)]


def course_of(days: NDArray[np.intp], low: Floats, high: Floats, error: Floats, noise: Floats) -> Course:
    """A fault's size from day to day, from calls whose errors lie between ``low`` and ``high``, all (n,).

    What a day's intervals tell is put as one normal observation of that day, found in some rounds; with those
    every course that it may have taken has its evidence in closed form.
    """
    at, place = np.unique(days, return_inverse=True)
    priors_of, shares = _courses((at - at[0]).astype(float)), np.array(SHARES)
    slack = np.where(np.isfinite(high - low), (high - low) / 2, 0.0)
    mean: Floats = np.zeros(len(at), np.float64)
    told, weight = mean, np.ones(len(at))
    middle = np.tensordot(shares[1:], priors_of[1:], 1) / shares[1:].sum()  # of those that change
    for _ in range(ROUNDS):
        expected = mean[place]
        inner, variance = truncated_moments(low, high, expected, noise)
        kept = np.abs(error - expected) <= slack + STRAY * noise + abs(expected)
        each = np.where(kept, (1.0 - variance / noise**2) / noise**2, 0.0)
        weight = np.maximum(np.bincount(place, each, len(at)), 1e-9)
        slope = np.bincount(place, np.where(kept, (inner - expected) / noise**2, 0.0), len(at))
        told = mean + slope / weight
        mean = middle @ np.linalg.solve(middle + np.diag(1.0 / weight), told)
    means, covariances, evidence = [], [], []
    for prior in priors_of:
        whole = prior + np.diag(1.0 / weight)
        gain = np.linalg.solve(whole, prior).T
        means.append(gain @ told)
        covariances.append(prior - gain @ prior)
        evidence.append(-0.5 * told @ np.linalg.solve(whole, told) - 0.5 * np.linalg.slogdet(whole)[1])
    share = np.exp(log_normalised(np.array(evidence) + np.log(shares)))
    mean = np.asarray(share @ np.array(means))
    apart = np.array(means) - mean
    covariance = np.tensordot(share, np.array(covariances) + apart[:, :, None] * apart[:, None, :], 1)
    return Course(at, mean, np.asarray(covariance))


def _courses(since: Floats) -> Floats:
    """The prior covariance of a fault's size on days (n,) counted from the first, by course: (courses, n, n).

    In the order of ``SHARES``.
    """
    same = np.full((len(since), len(since)), SIZE_SD**2)
    walks = [same + step**2 * np.minimum(since[:, None], since[None, :]) for step in STEPS]
    heals = [same * np.exp(-(since[:, None] + since[None, :]) / days) + LEFT_SD**2 for days in HEALS]
    return np.array([same, *walks, *heals])


def _change(
    kind: Kind, course: Course, counts: tuple[int, int], noise: float, room: float, today: int
) -> Change | None:
    """What became of a fault, with so many calls of late and before; None where it was never sure."""
    lately, before = counts
    size, sd = np.abs(course.mean), course.sd
    sure = size > LEAST_BIAS + SURE_ONCE * sd
    if not sure.any():
        return None
    most = int(np.where(sure, size, 0.0).argmax())
    # A day alone has few calls: then and now are averages over some.
    at_most = _average(np.abs(course.days - course.days[most]) <= AROUND)
    at_last = _average(course.days > course.days[-1] - WEEK)
    then, now = float(at_most @ course.mean), float(at_last @ course.mean)
    gain, apart = math.copysign(1.0, then) * (then - now), at_most - at_last
    spread = float(apart @ course.covariance @ apart)
    better = lately >= FEWEST and gain > SURE * math.sqrt(max(spread, 0.0)) and abs(now) < abs(then)
    small = size + POWER * sd < room
    from_here = np.logical_and.accumulate(small[::-1])[::-1]
    since = int(course.days[from_here.argmax()]) if better and from_here.any() else None
    as_it_was = course.mean * math.copysign(1.0, then) > MOSTLY * abs(then)
    until = int(course.days[np.flatnonzero(as_it_was)[-1]]) if better else None
    if today - course.days[-1] > LATELY:
        now = math.nan
    missing = None if better else _missing(then, before, lately, noise)
    return Change(kind.band, kind.side, then, now, better, until, since, missing)


def _average(days: NDArray[np.bool_]) -> Floats:
    return np.asarray(days / days.sum(), float)


def _missing(then: float, before: int, lately: int, noise: float) -> int | None:
    """How many more calls of late it takes until a fault half as large is told."""
    needed = (SMALLER * abs(then) / (SURE + POWER)) ** 2 / noise**2 - 1 / max(before, 1)
    return None if needed <= 0 else max(math.ceil(1 / needed) - lately, FEWEST - lately, 1)


def _basis_at(sines: Floats) -> Floats:
    """The basis of a bias at sines of signed cuts (n,): each cause of a usual size would drown the rest."""
    found = priors.basis_at(sines).copy()
    found[:, priors.LOCAL :] *= CAUSED
    return found


def _thirds(sines: Floats) -> NDArray[np.intp]:
    """Which third of the cuts each is in."""
    return np.asarray(np.minimum(np.abs(sines) * THIRDS, THIRDS - 1), np.intp)
