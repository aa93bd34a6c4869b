"""Where a player sees the centre of the object ball, from calls of shots as cut left, straight, cut right.

Each of three answers in order is given where what is seen, the truth and some normal noise, lies below,
between or above two criteria: probit analysis of three categories (J. Aitchison and S. D. Silvey, "The
generalization of probit analysis to the case of multiple responses", Biometrika 44, 1957, 131-140; from
memory). How wide the player takes "straight" is the distance of the criteria; the middle between them is
the point of subjective equality, and that is where the centre is seen.

It is fitted by maximum likelihood. With ``u = slope x - m`` and criteria at ``-d`` and ``d`` the likelihood
is concave (J. W. Pratt, "Concavity of the log likelihood", JASA 76, 1981, 103-106; from memory), so
Newton's steps find its top, and the interval of the profile likelihood (D. J. Venzon and S. H. Moolgavkar,
"A method for computing profile-likelihood-based confidence intervals", Applied Statistics 37, 1988, 87-94;
from memory) is one piece.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.vectors import Floats
from trainer.learner.censored import interval_likelihood

FEWEST = 30  # calls before anything is said
REMEMBERED = 400  # calls: older ones are of another eye
FINEST = 0.005  # balls: noise smaller than this would surprise, so few calls don't make it out to be none
CHI_SQUARED = 3.841458820694124  # its 95 % point with one degree of freedom
STEPS, HALVINGS, SAME = 60, 20, 1e-10
FARTHEST = 1.0  # balls: nobody sees the centre outside the ball


@dataclass(frozen=True)
class CentreSeen:
    """Where the centre is seen: ``bias`` in balls right of where it is, 95 % interval, number of calls."""

    bias: float
    low: float
    high: float
    calls: int


@dataclass(frozen=True)
class Fit:
    """Three categories fitted.

    ``middle`` of the two criteria and ``half`` the distance between them, and the ``noise``, in balls;
    ``top`` is the log likelihood.
    """

    middle: float
    half: float
    noise: float
    top: float


def centre_seen(offsets: ArrayLike, answers: ArrayLike) -> CentreSeen | None:
    """Where the centre is seen, after the last ``REMEMBERED`` of these calls.

    Parameters
    ----------
    offsets : (n,) float
        What each shot needs: signed offset in balls, + right of the centre.
    answers : (n,) float
        What it was called: 1 a cut to the left (so it needs an offset to the right), 0 straight, -1 a
        cut to the right.

    Returns
    -------
    Sighting or None
        None after fewer than ``FEWEST`` calls, and where they can't tell: if the answers have next to
        nothing to do with the shots, or there is but one of them.
    """
    x = np.asarray(offsets, float)[-REMEMBERED:]
    y = np.sign(np.asarray(answers, float))[-REMEMBERED:]
    if len(x) < FEWEST:
        return None
    found = fit(x, y, FINEST)
    if found is None:
        return None
    ends = [_end(x, y, found, way) for way in (-1.0, 1.0)]
    if max(map(abs, ends)) > FARTHEST:
        return None
    return CentreSeen(found.middle, ends[0], ends[1], len(x))


def fit(offsets: ArrayLike, answers: ArrayLike, finest: float = 0.0) -> Fit | None:
    """Fit by maximum likelihood; arguments as in `sighting`.

    ``finest`` holds the slope back a little where it is steeper than one over this: answers without any
    overlap would make it infinite. None where the slope isn't surely above 0: there is no middle then.
    """
    x, y = np.asarray(offsets, float), np.asarray(answers, float)
    middle, scale = float(x.mean()), float(x.std())
    if not scale:
        return None
    z = (x - middle) / scale  # steps are well scaled so
    design = np.stack([z, -np.ones_like(z)], axis=1)
    theta, top = _climb(design, y, finest / scale)
    if theta[0] <= 0 or 2 * (top - _without_slope(y)) <= CHI_SQUARED:
        return None
    noise = scale / float(theta[0])
    return Fit(middle + noise * float(theta[1]), noise * float(theta[-1]) * (len(theta) > 2), noise, top)


def _end(x: Floats, y: Floats, found: Fit, way: float) -> float:
    """Where the profile likelihood of the middle has fallen to the interval's end, to one side."""
    theta = None

    def inside(middle: float) -> bool:
        nonlocal theta  # where the top was last, it isn't far now
        theta, top = _climb(((x - middle) / found.noise)[:, None], y, FINEST / found.noise, theta)
        return 2 * (found.top - top) <= CHI_SQUARED

    near, step = found.middle, way * found.noise / 4
    far = near + step
    while inside(far) and abs(far) <= FARTHEST:
        near, step = far, 2 * step
        far = near + step
    for _ in range(HALVINGS):
        half = (near + far) / 2
        near, far = (half, far) if inside(half) else (near, half)
    return near


def _climb(design: Floats, y: Floats, ridge: float, start: Floats | None = None) -> tuple[Floats, float]:
    """The top of the log likelihood over ``u = design @ theta[:k]`` and, if "straight" was called, ``d``.

    Parameters
    ----------
    design : (n, k) float
        The first column is that of the slope.
    y : (n,) float
        1, 0 or -1.
    ridge : float
        The slope is held by ``(ridge slope)^2 / 2``.
    start : (k or k + 1,) float, optional
        Theta to begin with.

    Returns
    -------
    theta, top
        ``d``, half the distance of the criteria, is the last of theta where there is one.
    """
    some = bool((y == 0).any())
    k = design.shape[1]
    theta = np.array([0.0] * k + [0.5] * some) if start is None else start
    # The ends of what is seen, less u: their derivatives by theta.
    below = np.where(y[:, None] > -1, np.hstack([-design, _column(np.where(y == 0, -1.0, 1.0), some)]), 0.0)
    above = np.where(y[:, None] < 1, np.hstack([-design, _column(np.where(y == 0, 1.0, -1.0), some)]), 0.0)
    held = np.zeros(len(theta))
    held[0] = ridge**2

    def at(theta: Floats) -> tuple[float, Floats, Floats]:
        a = np.where(y > -1, below @ theta, -np.inf)
        b = np.where(y < 1, above @ theta, np.inf)
        log_chance = interval_likelihood(a, b)[0]
        in_a, in_b = (
            np.exp(-0.5 * end * end - 0.5 * math.log(2 * math.pi) - log_chance) for end in (a, b)
        )  # 0 at an infinite end
        each = in_b[:, None] * above - in_a[:, None] * below
        a, b = np.where(y > -1, a, 0.0), np.where(y < 1, b, 0.0)
        second = (below.T * (a * in_a)) @ below - (above.T * (b * in_b)) @ above - each.T @ each
        value = float(log_chance.sum()) - 0.5 * float(held @ theta**2)
        return value, each.sum(axis=0) - held * theta, second - np.diag(held)

    value, slope, second = at(theta)
    for _ in range(STEPS):
        step = np.linalg.solve(second - 1e-9 * np.eye(len(theta)), -slope)
        gain = float(slope @ step)
        if gain < SAME:
            break
        part = 1.0
        while part > 1e-9:
            tried = theta + part * step
            if not some or tried[-1] > 0:
                risen = at(tried)
                if risen[0] > value:
                    theta, (value, slope, second) = tried, risen
                    break
            part /= 2
        else:
            break
    return theta, value


def _column(values: Floats, there: bool) -> Floats:
    return values[:, None][:, : int(there)]


def _without_slope(y: Floats) -> float:
    """The log likelihood of answers that have nothing to do with the shots: each as often as it was given."""
    counts = np.array([(y == way).sum() for way in (-1, 0, 1)])
    counts = counts[counts > 0]
    return float(counts @ np.log(counts / counts.sum()))
