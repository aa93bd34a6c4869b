"""How much a shot forgives: a player whose calls scatter, its kind and distance, balls that are misplaced."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from trainer.geometry.acceptance import table_window
from trainer.geometry.fullness import cut_from_fullness
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, turn_by
from trainer.shots.shot import Shots
from trainer.shots.truth import Truths, contacts, work_out

NOISE = 1 / 20  # balls of fullness: no measured value, a round one of our own to compare levels by
TURNED_DOWN = 1 / 64  # balls: a pot that forgives less is turned down at the table
# Of three calls that scatter by `NOISE`, two or more of an easy pot drop, fewer than one of a hard one: in
# thirds three words say the most. A pot that forgives more than about 1/20 ball to either side is easy then,
# one that forgives less than about 1/48 hard.
EASY, HARD = 2 / 3, 1 / 3

erf = np.vectorize(math.erf, otypes=[float])


def chance(margin: ArrayLike, fullness: ArrayLike, noise: ArrayLike = NOISE) -> Floats:
    """How likely a call pots whose error is normal about the truth.

    Parameters
    ----------
    margin : (..., 2) float
        The fullness that still pots, low and high.
    fullness : (...) float
        The true one.
    noise : (...) float
        Standard deviation of the called fullness, in balls, above 0.

    Returns
    -------
    (...) float
        ``Phi((high - f) / noise) - Phi((low - f) / noise)``, 0 to 1.

    Raises
    ------
    ValueError
        If the noise isn't above 0.
    """
    noise = np.asarray(noise, float)
    if not (noise > 0).all():
        raise ValueError("the noise of a player's calls is above 0")
    off = (np.asarray(margin, float) - np.asarray(fullness, float)[..., None]) / noise[..., None]
    ends = erf(off / np.sqrt(2.0))
    return np.asarray(np.clip((ends[..., 1] - ends[..., 0]) / 2.0, 0.0, 1.0))


def chances(truths: Truths, noise: ArrayLike = NOISE) -> Floats:
    """:func:`chance` for every shot of a batch, shape (n,); 0 where none pots."""
    return np.where(truths.can_pot, chance(truths.margin, truths.fullness, noise), 0.0)


def ease(margin: ArrayLike, fullness: float) -> str:
    """``easy``, ``medium`` or ``hard``: how likely a call pots whose error is as in :func:`chance`.

    Parameters
    ----------
    margin : (2,) float
        The fullness that still pots, low and high.
    fullness : float
        The true one.
    """
    drops = float(chance(margin, fullness))
    return "easy" if drops >= EASY else "hard" if drops < HARD else "medium"


POCKET = "top-left"  # a corner; all four are alike
BETWEEN = 500.0  # mm between the touching position and the cue ball: what a pot forgives hardly depends on it
LEAST = 1e-3  # balls


@lru_cache(maxsize=4096)
def forgives(table: Table, fullness: float, distance: float) -> float:
    """How far off a hit may be and still pot, either way, in balls of fullness.

    The object ball lies ``distance`` mm from the middle of a corner pocket's mouth, straight in front of it,
    as near as it can be at the least and on the table's bed at the most.
    """
    pocket = POCKETS.index(POCKET)
    mouth = table.jaws[pocket].mean(axis=0)
    into = np.array([1.0, 1.0]) / math.sqrt(2.0)
    radius = table.balls.object_radius
    farthest = (min(float(mouth[1]), float(mouth[0])) - radius) * math.sqrt(2.0)
    ball = mouth - into * min(max(distance, 2.0 * radius), farthest)
    touching = ball - into * table.contact
    way = turn_by(into, float(cut_from_fullness(min(max(fullness, 1 / 64), 1.0))))
    shots = Shots(table, (touching - way * BETWEEN)[None], ball[None], np.array([pocket]))
    low, high = work_out(shots).margin[0].tolist()
    return float(max((high - low) / 2.0, LEAST))


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
    opening = table_window(shots.table, shots.object_ball, shots.pocket)
    _, cut, offset = contacts(shots, opening)
    return np.where(opening.is_open & (np.abs(cut) < np.pi / 2), offset / shots.table.reach, np.nan)
