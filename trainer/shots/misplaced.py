"""How much the hit changes when the balls aren't quite where they are meant to be."""

from dataclasses import replace

import numpy as np

from trainer.geometry.vectors import Floats
from trainer.shots.shot import Shots
from trainer.shots.truth import work_out

STEP = 0.01  # mm, of a gradient
AROUND = 24  # directions of each ball that are looked at first
CLOSER = 7  # directions about the best one, in each round that looks closer
ROUNDS = 7


def steepness(shots: Shots) -> Floats:
    """About how much the fullness changes a mm, both balls put wrong the worst way round, (n,)."""
    found = np.zeros(len(shots))
    for ball in ("cue_ball", "object_ball"):
        slopes = []
        for axis in np.eye(2) * STEP:
            ends = [
                _sines(replace(shots, **{ball: getattr(shots, ball) + sign * axis})) for sign in (1.0, -1.0)
            ]
            slopes.append((ends[0] - ends[1]) / (2.0 * STEP))
        found += np.hypot(*slopes)
    return found


def worst_change(shots: Shots, off: float) -> Floats:
    """The most the fullness changes with each ball up to ``off`` mm from its place, in any direction, (n,).

    So little moves a ball that the hit changes one way right through the disc that it may lie in: there is
    no top or bottom inside, and the worst place of each ball is on the rim. Both rims are gone round at
    once, then ever closer about the worst pair of directions. A straight shot counts as changing on when
    it becomes a cut to the other side. Where a ball put wrong can't be potted at all it is infinite.
    """
    before = _sines(shots)
    turn = 2.0 * np.pi / AROUND
    around = np.arange(AROUND) * turn
    worst = np.zeros(len(shots))
    for way in (1.0, -1.0):
        best = np.zeros((len(shots), 2))
        tried, step = np.stack(np.meshgrid(around, around), axis=-1).reshape(-1, 2), turn
        for _ in range(ROUNDS):
            angles = best[:, None] + tried
            change = way * (_moved(shots, angles, off) - before[:, None])
            change = np.where(np.isnan(change), np.inf, change)
            top = change.argmax(axis=1)
            rows = np.arange(len(shots))
            worst = np.maximum(worst, change[rows, top])
            best = angles[rows, top]
            step /= CLOSER // 2
            close = (np.arange(CLOSER) - CLOSER // 2) * step
            tried = np.stack(np.meshgrid(close, close), axis=-1).reshape(-1, 2)
    return worst


def _moved(shots: Shots, angles: Floats, off: float) -> Floats:
    """The signed sines with the cue ball and the object ball put off along ``angles`` (n, k, 2), (n, k)."""
    moves = off * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    count = angles.shape[1]
    moved = replace(
        shots,
        cue_ball=(shots.cue_ball[:, None] + moves[:, :, 0]).reshape(-1, 2),
        object_ball=(shots.object_ball[:, None] + moves[:, :, 1]).reshape(-1, 2),
        pocket=np.repeat(shots.pocket, count),
    )
    return _sines(moved).reshape(-1, count)


def _sines(shots: Shots) -> Floats:
    """Signed: one less the fullness, + left; NaN where the shot can't be potted."""
    truths = work_out(shots)
    return np.where(truths.can_pot, truths.offset / shots.table.reach, np.nan)
