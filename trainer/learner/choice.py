"""Which of a batch of shots to ask next.

About half of the shots are about what the player sees wrong: where a curve sampled from the belief is
farthest from none (Thompson sampling). The sample's spread about the mean is cut down, since a full sample
explores every cut until it is known as well as it ever needs to be. One of five covers the level evenly: such
shots find what nobody thought of, and their calls are a fair sample. The rest look like the first: nearly
the same cut, or the same fullness to the other side.

Which of the three a shot is, is drawn for each by itself, and so is the cut it is about: nothing that was
asked tells what comes next. To see a difference among shots that look alike is learnt better where they are
mixed (M. Brunmair, T. Richter, "Similarity matters: a meta-analysis of interleaved learning and its
moderators", Psychological Bulletin 145, 2019, 1029-1052; the title from memory). What it takes of a fault,
and what somebody scores who looks at nothing, ``tests/benchmarks/bench_practice.py`` prints.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.vectors import Floats
from trainer.learner.belief import Belief
from trainer.learner.verdicts import is_sure

EVEN_SHARE, FAULT_SHARE = 0.2, 0.5  # of the shots; the rest look like those about a fault
ABOUT_SHARE = 0.4  # where the player named the cut: to call that every time must not do
OTHERS = 0.25  # of the shots about a fault: about one that isn't sure, so that the search for others goes on
MIRRORED = 0.25  # of the shots that look alike: cut to the other side
SPREAD = 0.3  # of a sampled curve about its mean
REACH, ALIKE = 4.5, 13.5  # degrees of cut to each side of a shot's middle; of those that look like it
FLANKS = 15.0  # degrees: nearer than this to a fault is the same fault


def choose(
    belief: Belief,
    sines: ArrayLike,
    rng: np.random.Generator,
    *,
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
    resting : sequence of (float, float)
        Stretches of signed sines (low, high) that no shot is to be about.
    about : (float, float), optional
        The stretch of signed sines that shots are about, whatever the belief.
    adaptive : bool
        False: even coverage only.
    """
    sines = np.asarray(sines, float)
    # All is drawn in any case, so that a seed's later draws don't depend on the branch.
    which, sampled = int(rng.random() * len(sines)), int(rng.integers(1 << 62))
    sort, other, mirrored = rng.random(3)
    if not adaptive or sort < EVEN_SHARE:
        return which
    share, reach = ABOUT_SHARE, 0.0
    if about is None:
        wanted = _wanted(belief, sines, np.random.default_rng(sampled), resting, other < OTHERS)
        if wanted is None:
            return which
        about, share, reach = (wanted, wanted), FAULT_SHARE, REACH
    if sort < EVEN_SHARE + share:
        nearest = int(np.abs(sines - sum(about) / 2).argmin())
        return _one_of(_near(sines, about, reach), which, nearest)
    if mirrored < MIRRORED:
        return _one_of(_near(sines, (-about[1], -about[0]), REACH), which, which)
    return _one_of(_near(sines, about, ALIKE) & ~_near(sines, about, REACH), which, which)


def _one_of(found: NDArray[np.bool_], which: int, instead: int) -> int:
    """One of the shots that were found, or another, where there is none."""
    places = np.flatnonzero(found)
    return int(places[which % len(places)]) if len(places) else instead


def _near(sines: Floats, about: tuple[float, float], reach: float) -> NDArray[np.bool_]:
    """Which shots are within so many degrees of cut of a stretch of sines."""
    (low, high), cuts = _cuts(about), _cuts(sines)
    return np.asarray((cuts >= low - reach) & (cuts <= high + reach))


def _cuts(sines: ArrayLike) -> Floats:
    """The signed cuts of sines (n,), degrees."""
    return np.asarray(np.degrees(np.arcsin(np.clip(sines, -1.0, 1.0))))


def _wanted(
    belief: Belief,
    sines: Floats,
    rng: np.random.Generator,
    resting: Sequence[tuple[float, float]],
    others: bool,
) -> float | None:
    """The sine that there is most to gain about; ``others``: about what isn't sure. None for none."""
    sure = is_sure(*belief.curve(sines))
    worth = _worth(belief, sines, rng, sure)
    for low, high in resting:
        worth = np.where((sines >= low) & (sines <= high), 0.0, worth)
    if others and sure.any():
        cuts = _cuts(sines)
        near = (np.abs(cuts[:, None] - cuts[sure]) <= FLANKS).any(axis=1)
        worth = np.where(near, 0.0, worth) if (worth * ~near).any() else worth
    return float(sines[int(worth.argmax())]) if worth.any() else None


def _worth(belief: Belief, sines: Floats, rng: np.random.Generator, sure: NDArray[np.bool_]) -> Floats:
    """How much there is to gain by asking each shot: what its bias is thought to be, or might be.

    Biases that are sure are weighed by what they cost: the thinner the cut, the narrower the margin.
    """
    size = np.abs(belief.sample(rng, sines, SPREAD, faulty=True))
    cosines = np.sqrt(np.maximum(1.0 - sines**2, 0.05))
    return np.asarray(np.where(sure, size / cosines, size))
