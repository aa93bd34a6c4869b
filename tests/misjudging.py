"""Players who misjudge in one known way, each by what it does at the table, and not by a curve.

Nothing here comes from the belief. A shot is laid out in plan: the object ball at the origin, the cue ball
far down the line of aim. A player sends the cue ball's centre along a line, ``aimed`` ball widths beside the
object ball's centre, where the pot needs ``needed``; what comes of it is an error of fullness.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from trainer.drills.question import bounds
from trainer.learner.call import Call
from trainer.play.set_in_play import SetInPlay
from trainer.simulate.simulation import answer

DAY = 739_000
NAMED = (1.0, 0.75, 0.5, 0.25)  # fractions that players call shots by: common practice
CUTS = 2.5, 72.5  # degrees
GRID = np.sin(np.radians(np.concatenate([-np.arange(5.0, 71.0, 5.0)[::-1], np.arange(5.0, 71.0, 5.0)])))


@dataclass
class Misjudging:
    """A player: what is done wrong, and how finely it is seen; lengths in ball widths.

    ``contact`` is the part of the cue ball's width that isn't allowed for: 1 for whoever sends the middle of
    the cue ball at the contact point. ``right`` is how far to the right the line of aim lies at every shot,
    ``fuller`` by how much fuller every hit is, ``to_names`` the part of the way to the nearest named
    fraction, ``to_middle`` by how much a full hit is seen thinner and a graze fuller, ``lost`` what is added
    where the line of aim misses the object ball, and ``no_throw`` the part of throw that isn't allowed for.
    ``in_view`` is what is added in a view. ``bump`` is a local fault: cut in degrees, size, width at half
    its height. Noise has this standard deviation at 35 degrees and grows by ``growth`` of it over 35 more;
    ``skew`` is its skewness. ``serial`` is the pull of the last answer, ``lapse`` the share of answers that
    have nothing to do with the shot.
    """

    contact: float = 0.0
    right: float = 0.0
    fuller: float = 0.0
    to_names: float = 0.0
    to_middle: float = 0.0
    lost: float = 0.0
    no_throw: float = 0.0
    in_view: dict[str, float] = field(default_factory=dict)
    bump: tuple[float, float, float] | None = None
    noise: float = 0.05
    growth: float = 0.0
    skew: float = 0.0
    serial: float = 0.0
    lapse: float = 0.0

    def bias(self, sine: float, view: str = "plan", thrown: float = 0.0) -> float:
        """The error of fullness without noise, + thick, of a shot with this sine of its signed cut."""
        needed = sine  # + left: the line of aim passes to the right of the ball's centre
        beside = abs(needed)
        # The contact point lies on the ball's surface, half a ball width from its centre, toward the line.
        point = math.copysign(0.5 * beside, needed)
        aimed = needed + self.contact * (point - needed) + self.right
        error = math.copysign(1.0, needed) * (needed - aimed) + self.fuller
        fullness = 1.0 - beside
        if fullness >= 1 / 8:
            error += self.to_names * (min(NAMED, key=lambda name: abs(name - fullness)) - fullness)
        error -= self.to_middle * (2 * fullness - 1)
        if beside > 0.5:  # the line of aim misses the object ball
            error += self.lost
        if self.bump is not None:
            cut, size, wide = self.bump
            away = (math.degrees(math.asin(sine)) - cut) / wide
            error += size * math.exp(-4 * math.log(2) * away * away)
        return error + self.in_view.get(view, 0.0) + self.no_throw * thrown

    def scatter(self, sine: float, rng: np.random.Generator) -> float:
        """The noise of one call."""
        size = self.noise * max(0.2, 1 + self.growth * (math.degrees(math.asin(abs(sine))) - 35) / 35)
        if not self.skew:
            return float(size * rng.standard_normal())
        shape = (2 / self.skew) ** 2
        return float(size * (rng.gamma(shape) - shape) / math.sqrt(shape))


@dataclass
class Asking:
    """How shots are asked: each kind of question with its share, as (drill and view, width of answers)."""

    kinds: tuple[tuple[str, float], ...] = (("aim plan", 0.0),)
    in_a_set: int = 20
    a_day: int = 40
    cuts: tuple[float, float] = CUTS
    clipped: bool = False  # no call is fuller than full, nor thinner than a graze
    chosen: bool = False  # shots are chosen for the player; else they come evenly


FREE = Asking()
BANDS = Asking((("band down", 1 / 8),))
ROWS = Asking((("aim down", 1 / 16),))
MIXED = Asking((("aim down", 1 / 16), ("slide down", 0.0), ("band down", 1 / 8), ("judge standing", 1 / 12)))


def calls_of(player: Misjudging, seed: int, calls: int, asking: Asking = FREE, start: int = 0) -> list[Call]:
    """A player's calls of shots spread evenly over cuts and sides."""
    at_table = Playing(player, seed, asking, start)
    return [at_table.call(at_table.sine()) for _ in range(calls)]


class Playing:
    """A player at the table: call by call, of shots spread evenly or of those that somebody chooses."""

    def __init__(self, player: Misjudging, seed: int, asking: Asking = FREE, start: int = 0) -> None:
        self.player, self.seed, self.asking = player, seed, asking
        self.rng = np.random.default_rng([91, seed])
        self.number = start
        self._last: float | None = None
        self._kind = asking.kinds[0]

    def sine(self) -> float:
        """The sine of the signed cut of a shot as it comes."""
        self._kind = self.asking.kinds[int(self.rng.integers(len(self.asking.kinds)))]
        return float(
            math.sin(math.radians(self.rng.uniform(*self.asking.cuts))) * self.rng.choice((-1.0, 1.0))
        )

    def call(self, sine: float, thrown: float = 0.0) -> Call:
        """What is called of the next shot, which throw makes ``thrown`` thicker for whoever ignores it."""
        asking, rng, k = self.asking, self.rng, self.number
        where, width = self._kind
        self.number += 1
        fullness = 1 - abs(sine)
        if k % asking.in_a_set == 0:
            self._last = None
        error = self.player.bias(sine, where.split()[1], thrown) + self.player.scatter(sine, rng)
        if self._last is not None:
            error += self.player.serial * (self._last - fullness)
        if rng.random() < self.player.lapse:
            error = rng.uniform(-0.05, 1.05) - fullness
        if asking.clipped:
            error = min(max(error, -fullness), 1 - fullness)
        low = high = error
        if width and where.startswith("band"):
            names = np.arange(1, 9) / 8
            said = names[np.abs(names - (fullness + error)).argmin()]
            error = float(said - fullness)
            low, high = bounds(error, (names - fullness).tolist())
        elif width:
            low = math.floor((error - (first := rng.uniform(0, width))) / width) * width + first
            error, high = low + width / 2, low + width
        self._last = fullness + error
        set_id, day = f"{self.seed} {k // asking.in_a_set}", DAY + k // asking.a_day
        return Call(sine, low, high, error, abs(error) < 1 / 32, where, set_id, day, thrown=thrown)


@dataclass
class Seeing:
    """A misjudging player who plays the game itself: what is seen of a shot, in a view, with what throw does.

    It stands in for the players of ``trainer.simulate`` where a question is answered.
    """

    player: Misjudging
    rng: np.random.Generator
    view: str = "down"
    thrown: float = 0.0

    def play(self, played: SetInPlay, calls: int = 1000) -> int:
        """Play at most so many calls of a set; how many they were."""
        done = 0
        while not played.done and done < calls:
            question = played.question()
            self.look(question.truth.cut, question.truth.throw, played.views[0])
            played.call(answer(question, self), 8.0)  # type: ignore[arg-type]
            done += 1
        return done

    def look(self, cut: float, throw: float, view: str) -> None:
        """Look at the next shot, of a signed cut that throw straightens by so much, radians."""
        size = abs(cut)
        self.view, self.thrown = view, math.sin(size) - math.sin(size - throw)

    def sees(self, cut: float, fullness: float) -> float:
        """How full a shot of a signed cut (degrees) is taken to be."""
        sine = math.sin(math.radians(cut))
        return fullness + self.player.bias(sine, self.view, self.thrown) + self.player.scatter(sine, self.rng)

    def answered(self, fullness: float) -> None:
        """What was called is of no matter here."""

    def answers(self, seen: float, fullnesses: np.ndarray) -> int:
        """Which of the fullnesses is nearest to what was seen."""
        return int(np.argmin(np.abs(fullnesses - seen)))
