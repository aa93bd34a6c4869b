"""Practice in small: eyes out of the belief's own prior, drawn by other means, and simulated players."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from trainer.drills.question import bounds
from trainer.learner.belief import Belief
from trainer.learner.call import Call
from trainer.learner.choice import choose
from trainer.simulate.players import Nature, Player

PLACES = np.arange(-69.0, 70.0, 3.0)  # degrees
DRAWN = np.arange(-69.0, 69.5, 1.0)  # where an eye's curve is drawn; straight lines between
PLACE_SINES = np.sin(np.radians(PLACES))
FIRST_DAY = 739_000
EIGHTHS = np.array([k / 8 for k in range(1, 9)])


def local(cuts: np.ndarray) -> np.ndarray:
    """What the belief says it holds likely of a local curve: two squared exponentials, in balls^2."""

    def similar(apart: np.ndarray, sd: float, scale: float) -> np.ndarray:
        return sd**2 * np.exp(-((apart / scale) ** 2) / 2)

    sizes = np.abs(cuts)
    across = sizes[:, None] - sizes[None, :]
    side = similar(np.subtract.outer(cuts, cuts), 0.045, 7)
    return similar(across, 0.025, 7) + side


def shapes(cuts: np.ndarray) -> np.ndarray:
    """What the belief says causes make of a curve, of a usual size each: (causes, n) balls."""
    sines = np.sin(np.radians(cuts))
    fullness = 1 - np.abs(sines)
    names = np.array([1.0, 0.75, 0.5, 0.25])
    nearest = names[np.abs(fullness[:, None] - names).argmin(axis=1)]
    return np.array(
        [
            0.08 * 2 * np.abs(sines),
            -0.03 * np.sign(sines),
            np.full(len(cuts), 0.04),
            np.where(fullness < 1 / 8, 0.0, 0.25 * (nearest - fullness)),
            0.06 * (1 - 2 * fullness),
            np.where(np.abs(cuts) > 30, 0.05, 0.0),
        ]
    )


def prior(cuts: np.ndarray) -> np.ndarray:
    """What it holds likely of the whole curve, in balls^2."""
    caused = shapes(cuts)
    return local(cuts) + caused.T @ caused


@cache
def _root() -> np.ndarray:
    """What turns independent normal variables into a curve at `DRAWN`."""
    values, vectors = np.linalg.eigh(local(DRAWN))
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0)))


def believe(calls: Sequence[Call]) -> Belief:
    """The belief after these calls, in their order."""
    belief = Belief()
    for call in calls:
        belief.update(call)
    return belief


def one_model(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the belief hold one model alone: a player with faults and causes, drawn by what came before."""
    monkeypatch.setattr("trainer.learner.belief.SIZES", (1.0,))
    monkeypatch.setattr("trainer.learner.belief.CAUSED", (1.0,))
    monkeypatch.setattr("trainer.learner.belief.CONTEXTS", (1.0,))


@dataclass
class Eye:
    """A player who is exactly what the belief takes players for: everything drawn from its prior.

    ``widest``: of those with faults whom pulls draw, whose answers spread most.
    """

    rng: np.random.Generator
    lapse: float = 0.02
    widest: bool = False

    def __post_init__(self) -> None:
        rng = self.rng
        # With faults, or with next to none; drawn by the call before and the set's middle, or not.
        self._size, drawn = float(rng.choice([1.0, 0.3])), float(rng.choice([1.0, 0.0]))
        if self.widest:
            self._size = drawn = 1.0
        self._curve = self._size * _root() @ rng.standard_normal(len(DRAWN))
        self._caused = 1.0 if self.widest else float(rng.choice([1.0, 0.2]))
        self._causes = self._caused * rng.standard_normal(6)
        self.own = 0.03 * rng.standard_normal()  # of the drill and view
        self.to_last, self.to_mean = (drawn * sd * rng.standard_normal() for sd in (0.1, 0.15))
        self.noise = self._drawn(np.exp(np.linspace(math.log(0.012), math.log(0.3), 27)), 0.06)
        growths = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
        weight = np.exp(-0.5 * (growths / 0.25) ** 2)
        self.growth = float(rng.choice(growths, p=weight / weight.sum()))
        self.begin_set()

    def _drawn(self, levels: np.ndarray, usual: float) -> float:
        weight = np.exp(-0.5 * (np.log(levels / usual) / 0.6) ** 2)
        return float(self.rng.choice(levels, p=weight / weight.sum()))

    @property
    def truth(self) -> np.ndarray:
        """The bias at `PLACES`, as seen in the drill and view played."""
        return (self._curve + self._causes @ shapes(DRAWN))[::3] + self.own

    def begin_set(self) -> None:
        self._last: float | None = None
        self._shown: list[float] = []

    def sleep(self) -> None:
        """A day: all of the bias goes back to none a little, and elsewhere, straight on by .007 ball."""
        kept = 1 - 0.007**2 / prior(np.zeros(1))[0, 0]
        new = self._caused * self.rng.standard_normal(6)
        self._causes = math.sqrt(kept) * self._causes + math.sqrt(1 - kept) * new
        fresh = self._size * _root() @ self.rng.standard_normal(len(DRAWN))
        self._curve = math.sqrt(kept) * self._curve + math.sqrt(1 - kept) * fresh

    def errs(self, cut: float, width: float = 0.0) -> tuple[float, float, float]:
        """Error of the answer to a shot, and between which errors it lies; ``width`` of the answers."""
        rng, fullness = self.rng, 1 - abs(math.sin(math.radians(cut)))
        error = float(np.interp(cut, DRAWN, self._curve)) + self.own
        error += float(self._causes @ shapes(np.array([cut]))[:, 0])
        if self._last is not None:
            error += self.to_last * (self._last - fullness)
        if self._shown:
            error += self.to_mean * (float(np.mean(self._shown)) - fullness)
        error += self.noise * math.exp(self.growth * (abs(cut) - 35) / 35) * rng.standard_normal()
        if rng.random() < self.lapse:
            error = rng.uniform(-1, 1)
        low = high = error
        if width:
            edge = rng.uniform(0, width)
            low = math.floor((error - edge) / width) * width + edge
            high = low + width
            error = low + width / 2
        self._last = fullness + error
        self._shown.append(fullness)
        return error, low, high


def practise_eye(
    seed: int,
    calls: int,
    *,
    width: float = 0.0,
    drift: bool = False,
    lapse: float = 0.02,
    shots: int = 40,
    widest: bool = False,
) -> tuple[Eye, Belief]:
    """An eye out of the prior, and the belief after its calls, a set a day."""
    rng = np.random.default_rng([71, seed])
    eye = Eye(np.random.default_rng([72, seed]), lapse, widest)
    belief = Belief()
    for k in range(calls):
        day = k // shots
        if k % shots == 0:
            eye.begin_set()
            if day and drift:
                eye.sleep()
        sines = rng.uniform(0.03, 0.933, 32) * rng.choice([-1, 1], 32)
        sine = float(sines[choose(belief, sines, rng)])
        error, low, high = eye.errs(math.degrees(math.asin(sine)), width)
        belief.update(Call(sine, low, high, error, True, "aim", str(day), FIRST_DAY + (day if drift else 0)))
    return eye, belief


def practise(
    nature: Nature,
    seed: int,
    *,
    sets: int,
    shots: int = 30,
    free: bool = True,
    sides: tuple[int, ...] = (-1, 1),
    days: bool = False,
    where: str = "aim",
    belief: Belief | None = None,
    cuts: tuple[float, float] = (2.5, 72.5),
) -> Iterator[tuple[Belief, Call]]:
    """A simulated player's sets, shots chosen by the learner; after each call the belief and the call."""
    rng, player = np.random.default_rng([81, seed]), Player(nature, np.random.default_rng([82, seed]))
    belief = Belief() if belief is None else belief
    low, high = np.sin(np.radians(cuts))
    for day in range(sets):
        if days and day:
            player.sleep()
        player.begin_set()
        for _ in range(shots):
            sines = rng.uniform(low, high, 48) * rng.choice(sides, 48)
            sine = float(sines[choose(belief, sines, rng)])
            call = answer(player, sine, free, where, f"{seed} {day}", FIRST_DAY + (day if days else 0))
            belief.update(call)
            yield belief, call


def answer(
    player: Player, sine: float, free: bool, where: str = "aim", set_id: str = "", day: int = 0
) -> Call:
    """What a player answers to one shot: a free answer, or the nearest eighth."""
    fullness = 1 - abs(sine)
    seen = player.sees(math.degrees(math.asin(sine)), fullness)
    if free:
        error = low = high = seen - fullness
    else:
        error = float(EIGHTHS[player.answers(seen, EIGHTHS)]) - fullness
        low, high = bounds(error, (EIGHTHS - fullness).tolist())
    player.answered(fullness + error)
    return Call(sine, low, high, error, abs(error) < 1 / 16, where, set_id, day)
