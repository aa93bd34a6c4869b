"""Whether a few calls of today show an eye that is not as usual.

Four groups of shots are looked at, thick and thin cuts to both sides. A call's error is taken to be

    usual(group) + shift(group), today alone + a (call before - shot) + c (mean of the set - shot) + noise

in balls of fullness, + thick, fitted by weighted least squares over today's calls and those before: a
warm-up goes from thick to thin and back, and what the shot before and the middle of a set pull a player by
would pass for a shift. Before any call the pulls are thought to be what the belief thinks. Where there are
few calls from before, usual is none. A group is told where its shift is surely there, with a threshold for
four looks that was set by simulation (``tests/benchmarks/bench_warmup.py`` prints how often it errs, and
what it finds).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.vectors import Floats
from trainer.learner.belief import LAST_SD, MEAN_SD
from trainer.learner.call import Call
from trainer.learner.report import SIDES

SURE = 3.0  # standard deviations, of four looks: see the simulation
LEAST = 1 / 64  # balls: less is not worth taking to the table
FEWEST = 4  # calls of a group today
KNOWN = 20  # earlier calls of a group, from which it is known how this player usually sees it
RECENT = 400  # earlier calls that say what is usual
NOISE, LEAST_NOISE = 0.06, 1 / 64  # balls: what calls scatter by where it isn't known, and at least
STRAY = 4.0  # deviations of a call that is a slip and no answer
NORMAL = 1.4826  # times the median distance from none is the deviation, where noise is normal
THICK_CUTS = 0.5  # up to this sine a cut is thick: a half ball
GROUPS = [f"{sort} to the {side}" for side, _ in SIDES for sort in ("thick cuts", "thin cuts")]
FREE, FIXED = 1e-6, 1e8  # precision of what may be anything, and of what is none


@dataclass(frozen=True)
class Shift:
    """Shots of one sort, ``thin cuts to the left``: today's mean error in balls, + thick, and is it told."""

    shots: str
    error: float
    told: bool


def shifts(today: Sequence[Call], before: Sequence[Call]) -> list[Shift]:
    """How today's calls are, for thick and thin cuts to both sides.

    Parameters
    ----------
    today, before : sequence of Call
        Calls of one skill whose errors tell thick or thin; ``before`` are those from before today's, in
        order. The last ``RECENT`` say what is usual.
    """
    calls = [*before[-RECENT:], *today]
    if not today:
        return [Shift(shots, 0.0, False) for shots in GROUPS]
    at_day = np.arange(len(calls)) >= len(calls) - len(today)
    group, errors = np.array([_group(call) for call in calls]), np.array([call.error for call in calls])
    mine = group[:, None] == np.arange(len(GROUPS))
    design = np.hstack([mine, mine & at_day[:, None], _pulls(calls)]).astype(float)
    known = (mine & ~at_day[:, None]).sum(axis=0) >= KNOWN
    prior = np.concatenate(
        [np.where(known, FREE, FIXED), np.full(len(GROUPS), FREE), [LAST_SD**-2, MEAN_SD**-2]]
    )
    kept = np.ones(len(calls), bool)
    noise = np.full(len(GROUPS), NOISE)
    for _ in range(2):  # the first tells slips and noise
        off = errors - design @ _fitted(design, errors, kept / noise[group] ** 2, prior)[0]
        spread = np.array([NORMAL * _median(np.abs(off[group == g])) for g in range(len(GROUPS))])
        kept = np.abs(off) <= STRAY * np.maximum(spread, LEAST_NOISE)[group]
        noise = np.array([_noise(off, kept & (group == g), at_day, known[g]) for g in range(len(GROUPS))])
    mean, covariance = _fitted(design, errors, kept / noise[group] ** 2, prior)
    found = []
    for g, shots in enumerate(GROUPS):
        shift, sd = mean[len(GROUPS) + g], math.sqrt(covariance[len(GROUPS) + g, len(GROUPS) + g])
        error, count = float(mean[g] + shift), int((kept & at_day & (group == g)).sum())
        # Off from what is usual, and off the truth the same way: else there is nothing to take to the table.
        worth = min(abs(shift), abs(error)) > LEAST and error * shift > 0
        found.append(Shift(shots, error, bool(count >= FEWEST and worth and abs(shift) > SURE * sd)))
    return found


def _group(call: Call) -> int:
    """The place among ``GROUPS``."""
    return 2 * (call.sine < 0) + (abs(call.sine) >= THICK_CUTS)


def _pulls(calls: Sequence[Call]) -> Floats:
    """How far from each shot were the call before and the mean of what its set had shown, (n, 2)."""
    found, of_set, last, shown = np.zeros((len(calls), 2)), "", 0.0, list[float]()
    for row, call in zip(found, calls, strict=True):
        if call.set_id != of_set:
            of_set, shown = call.set_id, []
        if shown:
            row[:] = last - call.fullness, sum(shown) / len(shown) - call.fullness
        last = call.fullness + call.error
        shown.append(call.fullness)
    return found


def _fitted(design: Floats, errors: Floats, weights: Floats, prior: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of the coefficients."""
    weighted = design * weights[:, None]
    covariance = np.asarray(np.linalg.inv(design.T @ weighted + np.diag(prior)), float)
    return covariance @ (weighted.T @ errors), covariance


def _median(values: Floats) -> float:
    return float(np.median(values)) if len(values) else 0.0


def _noise(off: Floats, mine: NDArray[np.bool_], at_day: NDArray[np.bool_], known: bool) -> float:
    """What calls of a group scatter by: the more of today's and the earlier ones'."""
    scatter = [LEAST_NOISE if known else NOISE]
    scatter += [float(off[some].std(ddof=1)) for some in (mine & at_day, mine & ~at_day) if some.sum() > 2]
    return max(scatter)
