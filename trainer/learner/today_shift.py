"""Whether a few calls of today show an eye that is not as usual.

What may be off today is looked at in turn: everything, the line of aim, the cue ball's width, and thick and
thin cuts to either side. A call's error is taken to be

    usual(group) + offset(condition) + shift, today alone
        + a (call before - shot) + c (mean of the set - shot) + noise

in balls of fullness, + thick, known to lie within the call's interval; fitted to today's calls and those
before (:func:`~trainer.learner.censored.fit_linear`). A condition is a drill and a view. ``a`` is serial
dependence and ``c`` central tendency, with the belief's priors: a warm-up goes from thick to thin and back,
and without them they would pass for a shift. Where there are few earlier calls, the usual error is taken to
be none. A shift is reported where it is sure, with a threshold for so many looks that was set by simulation
(``tests/benchmarks/bench_warmup.py`` prints how often it errs, and what it finds).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.geometry.fullness import SIDES
from trainer.geometry.vectors import Floats
from trainer.learner.belief import CENTRAL_SD, CONDITION_SD, SERIAL_SD
from trainer.learner.call import Call, context_distances
from trainer.learner.causes import NAMED_CAUSES
from trainer.learner.censored import fit_linear, truncated_moments

SURE = 3.3  # standard deviations, of seven looks: see the simulation
LEAST = 1 / 64  # balls: less is not worth taking to the table
FEWEST = 4  # calls of a group today
KNOWN = 20  # earlier calls of a group, from which it is known how this player usually sees it
RECENT = 400  # earlier calls that say what is usual
NOISE = 0.06  # balls: what calls scatter by where it isn't known
THICK_CUTS = 0.5  # up to this sine a cut is thick: a half ball
SCATTERING = 8  # calls today, before their scatter is told
USUAL_SD = 0.2  # balls: what is usual for a player may be anything
SHIFT_SD = 0.2  # balls: and so may be what is off today
EVERYTHING, LINE, WIDTH = "everything", "line-shift", "ball-width"
GROUPS = tuple(f"{sort} to the {side}" for side in SIDES for sort in ("thick cuts", "thin cuts"))


@dataclass(frozen=True)
class Shift:
    """What is off today: one of ``GROUPS``, or ``EVERYTHING``, ``LINE`` or ``WIDTH``.

    ``error`` is how large it is in all, in balls: today's mean error, + thick; of the line, + right; of the
    cue ball's width at half ball, + thick. ``sure`` is by how many standard deviations it is off the usual,
    0 where that isn't sure.
    """

    shots: str
    error: float
    sure: float

    @property
    def is_sure(self) -> bool:
        """Whether it is surely there."""
        return self.sure > 0.0


@dataclass(frozen=True)
class TodayShifts:
    """Today's shifts, how many calls there were, and their scatter.

    ``scatter`` is over what is usual, a ratio; 0 where too few calls tell.
    """

    shifts: tuple[Shift, ...]
    calls: int
    scatter: float


def today_shifts(today: Sequence[Call], before: Sequence[Call]) -> TodayShifts:
    """What is off today.

    Parameters
    ----------
    today, before : sequence of Call
        Calls of one skill that tell thick or thin; ``before`` are those from before today's, in order. The
        last ``RECENT`` say what is usual.
    """
    calls = [*before[-RECENT:], *today]
    if not today:
        return TodayShifts((), 0, 0.0)
    sines = np.array([call.sine for call in calls])
    at_day = np.arange(len(calls)) >= len(calls) - len(today)
    group = np.array([_group(call) for call in calls])
    mine = group[:, None] == np.arange(len(GROUPS))
    conditions = sorted({call.condition for call in calls})
    condition = np.array([conditions.index(call.condition) for call in calls])
    known = (mine & ~at_day[:, None]).sum(axis=0) >= KNOWN
    plain = np.hstack(
        [
            mine * np.where(known, USUAL_SD, 0.0),
            CONDITION_SD * (condition[:, None] == np.arange(len(conditions))) * known.any(),
            context_distances(calls) * (SERIAL_SD, CENTRAL_SD),
        ]
    )
    noisy = 2 * condition + (np.abs(sines) >= THICK_CUTS)
    usual, _, noise = fit_linear(plain, calls, noisy, NOISE)
    found = []
    shapes = {name: NAMED_CAUSES[name].shape(sines) for name in (LINE, WIDTH)}
    for shots, shape in ({EVERYTHING: np.ones(len(calls))} | shapes).items():
        found.append(_shift(shots, shape, at_day, plain, calls, noisy))
    for place, shots in enumerate(GROUPS):
        found.append(_shift(shots, 1.0 * mine[:, place], at_day, plain, calls, noisy))
    return TodayShifts(tuple(found), len(today), _scatter(calls, plain @ usual, noise, at_day))


def _shift(
    shots: str, shape: Floats, at_day: np.ndarray, plain: Floats, calls: Sequence[Call], noisy: np.ndarray
) -> Shift:
    """One shift, fitted beside all else."""
    design = np.column_stack([SHIFT_SD * shape * at_day, plain])
    mean, covariance, _ = fit_linear(design, calls, noisy, NOISE)
    shift, sd = SHIFT_SD * float(mean[0]), SHIFT_SD * math.sqrt(float(covariance[0, 0]))
    told = at_day & (shape != 0.0)
    # What is usual for these shots, as a size of the same shape.
    weights, drawn = shape[told], 2  # serial dependence and central tendency are no error of an eye
    seen = plain[told, :-drawn] @ mean[1:-drawn]
    before = float(weights @ seen / (weights @ weights)) if told.any() else 0.0
    error = before + shift
    # Off the usual and off the truth the same way: else there is nothing to take to the table.
    worth = told.sum() >= FEWEST and min(abs(shift), abs(error)) > LEAST and error * shift > 0
    return Shift(shots, error, abs(shift) / sd if worth and abs(shift) > SURE * sd else 0.0)


def _scatter(calls: Sequence[Call], expected: Floats, noise: Floats, at_day: np.ndarray) -> float:
    """By how much today's calls scatter more than usual; robust against lapses."""
    if at_day.sum() < SCATTERING:
        return 0.0
    low, high = (np.array([getattr(call, end) for call in calls]) for end in ("low", "high"))
    inner, variance = truncated_moments(low, high, expected, noise)
    size = np.sqrt((inner - expected) ** 2 + variance)
    earlier = size[~at_day]
    usual = float(np.median(earlier)) if len(earlier) >= KNOWN else 0.6745 * NOISE
    return float(np.median(size[at_day])) / max(usual, 0.6745 / 64)


def _group(call: Call) -> int:
    """The place among ``GROUPS``."""
    return 2 * (call.sine < 0) + (abs(call.sine) >= THICK_CUTS)
