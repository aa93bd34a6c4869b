"""Which of a batch of shots to ask next.

Three of ten shots cover the level evenly: they find what nobody thought of, and their calls are a fair
sample. The others come in blocks of five or six about one cut: where a curve sampled from the belief is
farthest from none (Thompson sampling). The sample's spread about the mean is cut down, since a full sample
explores every cut until it is known as well as it ever needs to be: simulated, a fault is found by 95 % of
players in 120 calls with a third of the spread, by 80 % with all of it. With less the search can stay long
with two cuts that look a little wrong.

A fault that is sure has every other block at most, so that the search for others goes on.

Nothing is kept from shot to shot: the set's seed says which shots are even and where blocks begin, and the
set's own calls where the block under way is.
"""

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief
from trainer.learner.verdicts import is_sure

EVEN_SHARE = 0.3
BLOCK = (5, 6)  # shots of one kind in a row: what keeps learning from being disturbed by the mixture
SPREAD = 0.3  # of a sampled curve about its mean
FIRST_STARTS = 32  # shots of a set whose blocks are worked out at once, at least
REACH = 4.5  # degrees of cut to each side of a block's middle
FLANKS = 15.0  # degrees: nearer than this to a fault is the same fault


def choose(
    belief: Belief,
    sines: ArrayLike,
    rng: np.random.Generator,
    *,
    number: int = 1,
    seed: int = 0,
    asked: Mapping[int, float] | None = None,
    resting: Sequence[tuple[float, float]] = (),
    about: tuple[float, float] | None = None,
    adaptive: bool = True,
) -> int:
    """The index of the shot to ask, out of a batch that covers the level evenly.

    Parameters
    ----------
    belief : Belief
    sines : (n,) float
        Sine of the signed cut of each shot.
    rng : numpy.random.Generator
    number, seed : int
        Which shot of the set this is, from 1, and the set's seed.
    asked : mapping of int to float, optional
        By number the sines that the set has asked already.
    resting : sequence of (float, float)
        Stretches of signed sines (low, high) that no block is to be about.
    about : (float, float), optional
        The stretch of signed sines that all blocks are about, whatever the belief.
    adaptive : bool
        False: even coverage only.
    """
    sines, asked = np.asarray(sines, float), asked or {}
    # Both are drawn in any case, so that a seed's later draws don't depend on the branch.
    which, sampled = int(rng.random() * len(sines)), int(rng.integers(1 << 62))
    starts = block_starts(seed, number)
    first = starts[-1]
    if not adaptive or first is None:
        return which
    if first != number and first in asked:
        near = np.flatnonzero(_near(sines, asked[first], REACH))
        return int(near[which % len(near)]) if len(near) else int(np.abs(sines - asked[first]).argmin())
    if about is not None:
        inside = np.flatnonzero((sines >= about[0]) & (sines <= about[1]))
        return (
            int(inside[which % len(inside)]) if len(inside) else int(np.abs(sines - sum(about) / 2).argmin())
        )
    worth = _worth(belief, sines, np.random.default_rng(sampled))
    for low, high in resting:
        worth = np.where((sines >= low) & (sines <= high), 0.0, worth)
    before = [start for start in starts if start not in (None, first)]
    if before and before[-1] in asked:
        middle = asked[before[-1]]
        sure = is_sure(*belief.curve([middle, *sines.tolist()]))
        worth = np.where(sure[0] & (sure[1:] | _near(sines, middle, FLANKS)), 0.0, worth)
    return int(worth.argmax()) if worth.any() else which


def block_start(seed: int, number: int) -> int | None:
    """The number of the shot that began the block which shot ``number`` of a set is in.

    None for a shot that only covers the level. The seed decides, and nothing else.
    """
    return block_starts(seed, number)[-1]


def block_starts(seed: int, number: int) -> tuple[int | None, ...]:
    """:func:`block_start` of the shots 1 to ``number``."""
    return _first_starts(seed, max(FIRST_STARTS, 1 << (number - 1).bit_length()))[:number]


@lru_cache(maxsize=4)
def _first_starts(seed: int, count: int) -> tuple[int | None, ...]:
    """Those of a set's first shots, worked out for many at once: every question asks for all before it."""
    draws = np.random.default_rng([seed, 0x6B]).random((count, 2)).tolist()
    found: list[int | None] = []
    start, left = 0, 0
    for at, (even, long) in enumerate(draws, 1):
        if even < EVEN_SHARE:
            found.append(None)
            continue
        if left == 0:
            start, left = at, BLOCK[int(long < 0.5)]
        left -= 1
        found.append(start)
    return tuple(found)


def _near(sines: Floats, middle: float, reach: float) -> NDArray[np.bool_]:
    """Which shots are within so many degrees of cut of a sine."""
    return np.asarray(np.abs(np.degrees(np.arcsin(sines)) - math.degrees(math.asin(middle))) <= reach)


def _worth(belief: Belief, sines: Floats, rng: np.random.Generator) -> Floats:
    """How much there is to gain by asking each shot: what its bias is thought to be, or might be.

    Biases that are sure are weighed by what they cost: the thinner the cut, the narrower the margin.
    """
    size = np.abs(belief.sample(rng, sines, SPREAD, faulty=True))
    cosines = np.sqrt(np.maximum(1.0 - sines**2, 0.05))
    return np.asarray(np.where(is_sure(*belief.curve(sines)), size / cosines, size))
