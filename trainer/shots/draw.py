"""Drawing random shots within limits.

Positions come out of ``Generator.random()``, ``+ - * /`` and ``sqrt`` alone, so a seed gives the
same bits on every machine. (Where a table counts throw, its tangent, rounded, is one thing more.)

How much a shot forgives is not drawn but waited for: a shot of the wanted cut is drawn as ever, and
again until it forgives what the limits ask. So the cuts stay as even as without that limit, and the
places of each cut keep their odds among those that are left; nothing narrower than the limit itself
gives the cut away. Some of it shows all the same and must: at one place a thin cut forgives less than
a thick one, so of shots that forgive alike the thin ones are the closer ones. The wider the limit, the
less of that.
"""

from dataclasses import dataclass
from typing import NamedTuple, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trainer.geometry.acceptance import table_window
from trainer.geometry.aiming import MEDIUM, Stroke
from trainer.geometry.cue_path import cue_path
from trainer.geometry.cushion import choices
from trainer.geometry.pockets import Window, on_cloth, straight_widths
from trainer.geometry.tables import POCKETS
from trainer.geometry.throw import friction_impulse
from trainer.geometry.vectors import Floats, cross, distance_to_way, length, turn, way_to_edge
from trainer.shots.shot import Limits, NoSuchShot, Shots
from trainer.shots.truth import work_out

ROUNDS = 400  # rounds of drawing before the limits are called empty
TRIES = 256  # in one round, at least
FIRST = 16  # of a shot's tries, looked at before the others: of ten tries four or more are good, most often
LAST_TRIES = 4096  # to find out which limit stands in the way
APART = 1.0  # mm of daylight between the two balls at least
# A pocket that is seen so far from the side that it gives a ball less than this part of the room it
# gives straight on, to either side of the middle, doesn't take the ball.
LEAST_ROOM = 0.35
SAME = 1e-9  # balls: the offset that pots is the one drawn


def draw(rng: np.random.Generator, n: int, limits: Limits, offsets: ArrayLike | None = None) -> Shots:
    """Draw ``n`` shots within ``limits``.

    Parameters
    ----------
    rng : numpy.random.Generator
        The same state gives the same shots.
    n : int
        How many.
    limits : Limits
    offsets : (n,) float, optional
        Signed offsets in ball widths (+ sends the ball left) that the shots must have, exactly;
        everything else stays random, and the limits' cuts and sides don't count. Without them the
        offsets are spread evenly over those that the limits allow.

    Returns
    -------
    Shots

    Raises
    ------
    NoSuchShot
        If nothing fits; the message names the limit that stands in the way.
    """
    table = limits.table
    if offsets is None:
        sines = signed_sines(rng.random(n), rng.random(n), limits)
    else:
        sines = np.broadcast_to(np.asarray(offsets, float), (n,)) / table.reach
        if not (np.abs(sines) < 1).all():
            worst = float(np.abs(sines).max() * table.reach)
            raise NoSuchShot(f"an offset of {worst:g} ball widths misses the object ball")
    cue, ball = np.zeros((n, 2)), np.zeros((n, 2))
    pocket = np.zeros(n, np.intp)
    todo = np.arange(n)
    for _ in range(ROUNDS):
        if not len(todo):
            return Shots(table, cue, ball, pocket, table.stroke)
        # Few rows left are tried many times over in one round; the first good try counts, so the later ones
        # are looked at only where none of the first is good.
        times = max(1, TRIES // len(todo))
        tries = _Tries.drawn(rng, np.tile(sines[todo], times))
        each, missing = np.arange(len(tries.sines)).reshape(times, len(todo)), np.arange(len(todo))
        for some in (each[:FIRST], each[FIRST:]):
            part = some[:, missing]
            if not part.size:
                break
            batch = _placed(limits, tries.at(part.ravel()), _Tally())
            good = batch.good.reshape(part.shape)
            found = np.flatnonzero(good.any(axis=0))
            taken, rows = good.argmax(axis=0)[found] * len(missing) + found, todo[missing[found]]
            cue[rows], ball[rows], pocket[rows] = batch.cue[taken], batch.ball[taken], batch.pocket[taken]
            missing = np.delete(missing, found)
        todo = todo[missing]
    tally = _Tally()
    _placed(limits, _Tries.drawn(rng, np.resize(sines[todo], LAST_TRIES)), tally)
    reason = REASONS[tally.hardest].format(
        limits=limits, pockets=", ".join(limits.pockets), found=_found(tally, sines[todo])
    )
    raise NoSuchShot(f"no shot fits: {reason}")


REASONS = {
    "pocket_distance": "pocket_distance of {limits.pocket_distance[0]:g} to "
    "{limits.pocket_distance[1]:g} mm leaves no place for the object ball",
    "pockets": "the pockets {pockets} don't take a ball from pocket_distance "
    "{limits.pocket_distance[0]:g} to {limits.pocket_distance[1]:g} mm",
    "touching": "pocket_distance of {limits.pocket_distance[0]:g} to {limits.pocket_distance[1]:g} mm "
    "leaves no place for the cue ball behind the object ball",
    "cue_distance": "cue_distance of {limits.cue_distance[0]:g} to {limits.cue_distance[1]:g} mm "
    "leaves no place for the cue ball",
    "by_cushion": "no shot can be potted by a cushion first as well {found}",
    "gets_away": "the cue ball meets a cushion or stops right after contact {found}",
    "stroke": "the table's stroke has no hit that pots {found}",
    "forgives": "forgives of {limits.forgives[0]:g} to {limits.forgives[1]:g} balls is not to be had {found}",
}


def _found(tally: "_Tally", sines: Floats) -> str:
    """Which cuts were left, and what they forgive: words for the two last reasons."""
    cuts = np.degrees(np.arcsin(np.abs(sines)))
    said = f"at cuts of {cuts.min():.1f} to {cuts.max():.1f} degrees"
    if tally.forgives is None:
        return said
    low, high = tally.forgives
    return f"{said}: such shots here forgive {low:.4f} to {high:.4f}"


class _Tally:
    """How many tries came to each rule, and how many met it, in the order of the rules."""

    def __init__(self) -> None:
        self._met: dict[str, tuple[int, int]] = {}
        self.forgives: tuple[float, float] | None = None  # the least and the most met with

    def add(self, rule: str, came: int, met: int) -> None:
        """Count the tries that came to a rule."""
        self._met[rule] = came, met

    @property
    def hardest(self) -> str:
        """The rule that the fewest of those who came to it met."""
        return min(self._met, key=lambda rule: self._met[rule][1] / max(self._met[rule][0], 1e-9))


def signed_sines(spread: Floats, side: Floats, limits: Limits) -> Floats:
    """Sines of signed cuts, evenly spread over the limits; ``spread`` and ``side`` are (n,) in 0 to 1."""
    stretches = limits.sines
    if not stretches:
        raise NoSuchShot(
            f"no shot fits: cuts of {limits.cuts[0]:g} to {limits.cuts[1]:g} degrees hold none of "
            "the fullnesses asked for"
        )
    widths = [high - low for low, high in stretches]
    along = np.asarray(spread, float) * sum(widths)
    size = np.full(np.shape(along), stretches[-1][1])
    start = 0.0
    for (low, _), width in zip(stretches, widths, strict=True):
        here = (along >= start) & (along <= start + width)
        size = np.where(here, low + along - start, size)
        start += width
    if len(limits.sides) == 2:
        return np.where(side < 0.5, size, -size)
    return size if limits.sides[0] == "left" else -size


def even_offsets(rng: np.random.Generator, n: int, limits: Limits) -> Floats:
    """``n`` signed offsets (ball widths) that cover the limits evenly, in random order, shape (n,).

    One from each of ``n`` equal steps, so that a small batch leaves no gap.
    """
    spread = (np.arange(n) + rng.random(n)) / n
    order = np.argsort(rng.random(n), kind="stable")
    return signed_sines(spread[order], rng.random(n), limits) * limits.table.reach


@dataclass(frozen=True)
class _Tries:
    """The sines of ``n`` tries, and what is drawn for each: all of it before the first is looked at.

    Each in 0 to 1: ``pocket`` (n,) which one, ``ball`` (n, 2) where the object ball lies, ``along`` (n,)
    how far away the cue ball.
    """

    sines: Floats
    pocket: Floats
    ball: Floats
    along: Floats

    @classmethod
    def drawn(cls, rng: np.random.Generator, sines: Floats) -> Self:
        """Tries at these sines."""
        n = len(sines)
        return cls(sines, rng.random(n), rng.random((n, 2)), rng.random(n))

    def at(self, rows: NDArray[np.intp]) -> Self:
        """Some of them."""
        return type(self)(self.sines[rows], self.pocket[rows], self.ball[rows], self.along[rows])


class _Batch(NamedTuple):
    cue: Floats
    ball: Floats
    pocket: NDArray[np.intp]
    good: NDArray[np.bool_]


def _placed(limits: Limits, tries: _Tries, tally: _Tally) -> _Batch:
    """What becomes of each try: a pocket, a place for the object ball, the cue ball from the cut."""
    table, sines, n = limits.table, tries.sines, len(tries.sines)
    cue_radius, radius, distance = table.balls.cue_radius, table.balls.object_radius, table.contact
    good = np.ones(n, bool)

    def require(rule: str, ok: NDArray[np.bool_]) -> None:
        nonlocal good
        tally.add(rule, int(good.sum()), int((good & ok).sum()))
        good = good & ok

    allowed = np.array([POCKETS.index(name) for name in limits.pockets], np.intp)
    pocket = allowed[(tries.pocket * len(allowed)).astype(np.intp)]
    ball = _near_pocket(limits, pocket, tries.ball)
    opening = table_window(table, ball, pocket)
    to_pocket = length(opening.target - ball)
    low, high = limits.pocket_distance
    require("pocket_distance", on_cloth(table, ball, radius) & (to_pocket >= low) & (to_pocket <= high))
    # The sines of the window's two halves; over this distance, the room each gives.
    sight = np.minimum(cross(opening.right, opening.middle), cross(opening.middle, opening.left))
    straight = straight_widths(table)[pocket]
    require("pockets", opening.is_open & (2 * sight * to_pocket >= LEAST_ROOM * straight))

    cosines = np.sqrt(1.0 - sines * sines)
    centres = _thrown(opening.middle, sines, table.stroke)
    touching = ball - centres * distance
    require("touching", on_cloth(table, touching, cue_radius))
    aim = turn(centres, -sines, cosines)
    # Centre-to-centre distance D and travel t: D^2 = t^2 + 2 t d cos + d^2, so one gives the other.
    room = np.maximum(way_to_edge(touching, -aim, cue_radius, table.size), 0.0)
    farthest = np.sqrt(room * room + 2 * room * distance * cosines + distance**2)
    nearest = max(limits.cue_distance[0], distance + APART)
    farthest = np.minimum(farthest, limits.cue_distance[1])
    between = nearest + np.maximum(farthest - nearest, 0.0) * tries.along
    travel = np.sqrt(between * between - (distance * sines) ** 2) - distance * cosines
    cue = touching - aim * travel[:, None]
    # The object ball's way to the pocket must not pass the cue ball.
    clear = distance_to_way(ball, opening.target, cue) > distance
    require("cue_distance", (farthest >= nearest) & on_cloth(table, cue, cue_radius) & clear)
    if limits.by_cushion is not None:
        require("by_cushion", _by_cushion(limits, good, cue, ball, opening))
    if limits.gets_away is not None:
        path = cue_path(table, touching, aim, np.arcsin(sines), table.stroke or Stroke(MEDIUM))
        wide = table.ball_width
        require("gets_away", length(path.end - ball) >= distance + limits.gets_away * wide)
    if table.stroke is not None or limits.forgives is not None:
        rows = np.flatnonzero(good)
        truths = work_out(Shots(table, cue[rows], ball[rows], pocket[rows], table.stroke))
        # Several hits may pot with throw; only the one that counts as the truth is a shot.
        same = np.zeros(n, bool)
        same[rows] = truths.can_pot & (np.abs(truths.offset - sines[rows] * table.reach) <= SAME)
        require("stroke", same)
        if limits.forgives is not None:
            half = np.full(n, -1.0)
            half[rows] = (truths.margin[:, 1] - truths.margin[:, 0]) / 2
            if good.any():
                tally.forgives = float(half[good].min()), float(half[good].max())
            require("forgives", (half >= limits.forgives[0]) & (half <= limits.forgives[1]))
    return _Batch(cue, ball, pocket, good)


def _by_cushion(
    limits: Limits, good: NDArray[np.bool_], cue: Floats, ball: Floats, opening: Window
) -> NDArray[np.bool_]:
    """Which of the good tries can be potted both ways, one of them so much the surer."""
    rows = np.flatnonzero(good)
    found = choices(limits.table, cue[rows], ball[rows], opening.at(rows))
    more, less = np.maximum(found.wide, found.direct_wide), np.minimum(found.wide, found.direct_wide)
    both = (found.cushion >= 0) & (less > 0)
    ok = np.zeros(len(good), bool)
    ok[rows] = both & (more >= limits.by_cushion * less)
    return ok


def _thrown(way: Floats, sines: Floats, stroke: Stroke | None) -> Floats:
    """The line of centres from which a ball hit at these cuts leaves along ``way``."""
    if stroke is None:
        return way
    right, _ = friction_impulse(np.arcsin(sines), stroke.speed, stroke.roll, stroke.side_spin)
    # Rounded, since the last bit of a sine is not the same on every machine.
    tangent = np.round(right, 12)
    secant = np.sqrt(1.0 + tangent * tangent)
    return turn(way, tangent / secant, 1.0 / secant)


def _near_pocket(limits: Limits, pocket: NDArray[np.intp], spread: Floats) -> Floats:
    """Places for the object ball, even over the part of the table that the limits can reach.

    ``spread`` is (n, 2) in 0 to 1.
    """
    table = limits.table
    radius = table.balls.object_radius
    # The target wanders along the mouth, so the box is wider than the limit by half a mouth.
    reach = limits.pocket_distance[1] + max(table.corner, table.middle) / 2
    centre = table.jaws[pocket].sum(axis=1) / 2
    edge = np.array(table.size) - radius
    low = np.maximum(centre - reach, radius)
    high = np.minimum(centre + reach, edge)
    return np.asarray(low + (high - low) * spread)
