"""Layouts to practise from at a table: kinds of shot, set up from round numbers, that forgive small slips.

Places are tried, thousands at once, the round ones next to where the hit would be just as full as is
wanted with throw counted; of those that are full enough and fit to play, and whose aim hangs on no pace, the
ones that forgive the set-up best are taken.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trainer.geometry.aiming import signed_throw
from trainer.geometry.contact import touching_position
from trainer.geometry.fullness import SIDES, SIGNS, Band, bands
from trainer.geometry.pockets import clean_window, on_cloth, straight_widths
from trainer.geometry.tables import POCKETS, Table
from trainer.geometry.vectors import Floats, cross, distance_to_way, length, turn, turn_by, way_to_edge
from trainer.shots.places import COARSE, SAME, Place, baulk_places, landmarks, place_at, snapped
from trainer.shots.played import FAR, hangs, holds, stroke_for
from trainer.shots.shot import NoSuchShot, Shot, Shots
from trainer.shots.style import HAIR
from trainer.shots.tolerance import steepness, worst_change
from trainer.shots.truth import Truth, work_out

WITHIN = 1 / 100  # balls: how near a layout comes to the fullness that it is named after
SAID = 0.001  # balls: what is left for spots and lines, whose numbers are rounded when they are said
OFF = 5.0  # mm: how far from its place each ball may lie
# What is fit to set up and play, mm: judgement, not a rule of the trade.
FROM_POCKET = (250.0, FAR)  # the object ball, from its target
APART = (300.0, 1200.0)  # the balls' centres
BEHIND = (150.0, 1000.0)  # room behind the cue ball, along the line of aim: for the bridge, and to reach it
FROM_CUSHION = 25.0  # daylight between a ball and any cushion at least
ROOM = 0.6  # of the room a pocket gives a ball straight on, what it must give from there
TRIES = 4000  # a kind
SPREAD = 0.03  # balls about the fullness that is wanted
NEXT_TO = 100.0  # mm: object balls so near to each other make layouts alike
KEPT = 200  # layouts a kind that are looked at closely
# What makes a layout worse, in balls of fullness that it is off when it isn't set up well.
NOT_MARKED = 0.004  # a ball that lies on no spot or line
USED = 0.006  # a pocket that another layout of the card has
NOT_QUITE = 0.5  # as much of what the layout itself is off its name
HANGS = 1.0  # an aim that pots at some paces only, or less forgiving than throw is strong
LUCK = 0.006  # so that another seed gives another card


@dataclass(frozen=True)
class Wanted:
    """A kind of shot to lay out; a full hit has no side (``""``)."""

    band: Band
    side: str

    @property
    def name(self) -> str:
        """``3/8 right``, ``full``."""
        return f"{self.band.name} {self.side}".strip()

    @property
    def sine(self) -> float:
        """The signed sine of the cut, + left."""
        return (1.0 - self.band.value) * SIGNS.get(self.side, 1.0)


@dataclass(frozen=True)
class Layout:
    """A shot to set up: its kind, where the balls go, its truth, and how much it is off if they don't.

    ``change`` is the most by which the fullness is another with each ball up to ``OFF`` mm from its place.
    """

    wanted: Wanted
    shot: Shot
    truth: Truth
    cue_ball: Place
    object_ball: Place
    change: float


def wanted(band: str, side: str) -> Wanted:
    """The kind of this band and side; LookupError for one that isn't there."""
    named = {one.name: one for one in bands()}
    if band not in named or side not in (*SIDES, ""):
        raise LookupError(f"no kind of shot is called {band} {side}")
    return Wanted(named[band], "" if named[band].value == 1.0 else side)


def kinds_said(words: Sequence[str]) -> list[Wanted]:
    """The kinds in what somebody wrote: ``3/8 right``, ``full``, ``1/2`` for both sides; each once.

    Raises
    ------
    ValueError
        For a word that is neither a fullness nor a side after one.
    """
    names = [band.name for band in bands()]
    said: list[tuple[str, tuple[str, ...]]] = []
    open_ended = False
    for word in " ".join(words).replace(",", " ").lower().split():
        if word in names:
            said.append((word, SIDES))
            open_ended = True
        elif word in SIDES and open_ended:
            said[-1] = said[-1][0], (word,)
            open_ended = False
        else:
            raise ValueError(
                f"{word[:40]!r}: allowed are fullnesses ({', '.join(names)}), each with a side "
                "(left or right) or without for both, as '3/8 right'"
            )
    if not said:
        raise ValueError("names no kind of shot; allowed is a fullness and a side, as '3/8 right'")
    return list(dict.fromkeys(wanted(band, side) for band, sides in said for side in sides))


def lay_out(
    table: Table, kinds: Sequence[Wanted], count: int, rng: np.random.Generator, unit: str = "mm"
) -> list[Layout]:
    """``count`` different layouts, the kinds taken in turn.

    Parameters
    ----------
    table : Table
    kinds : sequence of Wanted
        One at least.
    count : int
    rng : numpy.random.Generator
        The same state gives the same layouts.
    unit : str
        ``mm`` or ``in``: what the round numbers are in.

    Raises
    ------
    NoSuchShot
        If there are not so many of a kind on that table.
    """
    used = np.zeros(len(POCKETS))
    found: dict[int, Layout] = {}
    for first, kind in enumerate(kinds[:count]):
        shots, cost = _possible(table, kind, rng, unit)
        for number in range(first, count, len(kinds)):
            best = _best(kind, shots, cost + USED * used[shots.pocket], unit)
            if best is None:
                many = number // len(kinds)
                said = f"only {many} different layout{'s' * (many > 1)}" if many else "no layout"
                raise NoSuchShot(f"{said} of {kind.name} to be had on {table.name} from round numbers")
            i, found[number] = best
            used[shots.pocket[i]] += 1
            # Not the same again, and one next to it only if there is nothing else.
            beside = length(shots.object_ball - shots.object_ball[i])
            cost[beside < NEXT_TO] += 1.0
            cost[np.maximum(beside, length(shots.cue_ball - shots.cue_ball[i])) < SAME] = np.inf
    return [found[number] for number in range(count)]


def _best(kind: Wanted, shots: Shots, cost: Floats, unit: str) -> tuple[int, Layout] | None:
    """The best of some layouts that is of its kind even when both balls are put wrong."""
    for i in np.argsort(cost, kind="stable").tolist():
        if np.isinf(cost[i]):
            break
        shot = shots[i]
        one = Shots.of(shot)
        truths, change = work_out(one), worst_change(one, OFF)
        if _stays(kind, truths.fullness, change)[0]:
            cue, ball = (place_at(shot.table, at, unit) for at in (shot.cue_ball, shot.object_ball))
            return i, Layout(kind, shot, truths[0], cue, ball, float(change[0]))
    return None


def _stays(kind: Wanted, fullness: Floats, change: Floats) -> NDArray[np.bool_]:
    """Whether the fullness (n,) is nearer to its name than to any other, whatever becomes of it."""
    # A full hit that becomes a cut to the other side is less full either way.
    upper = np.inf if not kind.side else kind.band.high
    return np.asarray((fullness - change >= kind.band.low) & (fullness + change <= upper))


def _possible(table: Table, kind: Wanted, rng: np.random.Generator, unit: str) -> tuple[Shots, Floats]:
    """Layouts of a kind that are fit to play, and how far from good each is, (n,)."""
    cue, ball, pocket, marked = _tried(table, kind, rng, unit)
    far = length(cue - ball)
    inside = (far > APART[0]) & (far < APART[1]) & (far > table.contact)
    for centre, radius in ((cue, table.balls.cue_radius), (ball, table.balls.object_radius)):
        inside &= on_cloth(table, centre, radius + FROM_CUSHION)
    stroke = stroke_for(table, kind.band.value)
    shots = Shots(table, cue, ball, pocket, stroke).at(inside)
    fits = _is_fit(shots, kind)
    shots, marked = shots.at(fits), marked[inside][fits]
    truths, change = work_out(shots), OFF * steepness(shots)
    fullness = truths.fullness
    cost = change + NOT_MARKED * (2 - marked) + LUCK * rng.random(len(shots))
    cost += NOT_QUITE * np.abs(fullness - kind.band.value)
    cost += HANGS * hangs(shots, truths, kind.band.value, stroke)
    cost = np.where(_stays(kind, fullness, change), cost, np.inf)
    first = np.argsort(cost, kind="stable")[:KEPT]
    return shots.at(first), cost[first]


def _tried(
    table: Table, kind: Wanted, rng: np.random.Generator, unit: str
) -> tuple[Floats, Floats, NDArray[np.intp], Floats]:
    """Cue balls, object balls and pockets to try, and how many balls lie on marks; a line is half a mark."""
    size = np.array(table.size)
    spots, line = landmarks(table), baulk_places(table, unit)
    marks = np.concatenate([spots, line])
    worth = np.repeat([1.0, 0.5], [len(spots), len(line)])
    # Every mark with every mark is few enough on any table, and most tables have none that will do.
    first, second, hole = (part.ravel() for part in np.indices((len(marks), len(marks), len(POCKETS))))
    on_marks = _roughly(table, kind, marks[first], marks[second], hole)
    first, second, hole = first[on_marks], second[on_marks], hole[on_marks]

    pocket = (rng.random(TRIES) * len(POCKETS)).astype(np.intp)
    free = snapped(table, rng.random((TRIES, 2)) * size, unit, COARSE[unit])
    on_mark = (rng.random(TRIES) < 0.5) & (len(marks) > 0)
    chosen = (rng.random(TRIES) * len(marks)).astype(np.intp)
    ball = np.where(on_mark[:, None], marks[chosen] if len(marks) else free, free)
    sines = np.clip(kind.sine + SPREAD * (2 * rng.random(TRIES) - 1), -0.995, 0.995)
    thrown = signed_throw(np.arcsin(sines), stroke_for(table, kind.band.value))
    centres = turn_by(clean_window(table, ball, pocket).middle, thrown)
    aim = turn(centres, -sines, np.sqrt(1.0 - sines * sines))
    gone = APART[0] + (APART[1] - APART[0]) * rng.random(TRIES)
    cue = snapped(table, touching_position(ball, centres, table.contact) - aim * gone[:, None], unit)
    return (
        np.concatenate([marks[first], cue]),
        np.concatenate([marks[second], ball]),
        np.concatenate([hole, pocket]),
        np.concatenate([worth[first] + worth[second], np.where(on_mark, worth[chosen], 0.0)]),
    )


def _roughly(
    table: Table, kind: Wanted, cue: Floats, ball: Floats, pocket: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Which shots may be of a kind, by the angle at the ball between cue ball and pocket."""
    mouths = table.jaws.mean(axis=1)[pocket]
    to_ball, to_pocket = ball - cue, mouths - ball
    both = length(to_ball) * length(to_pocket)
    sine = cross(to_ball, to_pocket) / np.where(both > 0, both, 1.0)
    cut = math.asin(kind.sine)
    sent = math.sin(cut - float(signed_throw(cut, stroke_for(table, kind.band.value))))
    # The line of aim is turned from the line of centres by as much as the ball is wide from there.
    slack = 0.1 + table.contact / np.maximum(length(to_ball), 1.0)
    ahead = (to_ball * to_pocket).sum(axis=-1) > 0
    return np.asarray((both > 0) & ahead & (np.abs(sine - sent) < slack))


def _is_fit(shots: Shots, kind: Wanted) -> NDArray[np.bool_]:
    """Which shots are of a kind, and such as a person can play and learn from."""
    table, truths = shots.table, work_out(shots)
    window = truths.window
    sines = truths.offset / table.reach
    off = np.abs(np.abs(sines) - abs(kind.sine) if not kind.side else sines - kind.sine)
    to_pocket = length(window.target - shots.object_ball)
    sight = np.minimum(cross(window.right, window.middle), cross(window.middle, window.left))
    straight = straight_widths(table)[shots.pocket]
    back = shots.cue_ball - truths.touching
    gone = length(back)
    back = back / np.where(gone > 0, gone, 1.0)[:, None]
    behind = way_to_edge(shots.cue_ball, back, table.balls.cue_radius, table.size)
    way_free = distance_to_way(shots.object_ball, window.target, shots.cue_ball) > 2 * table.contact
    return np.asarray(
        truths.can_pot
        & holds(truths.margin, kind.band.value, HAIR / table.reach)
        & (off <= WITHIN - SAID)
        & (to_pocket >= FROM_POCKET[0])
        & (to_pocket <= FROM_POCKET[1])
        & (2 * sight * to_pocket >= ROOM * straight)
        & on_cloth(table, truths.touching, table.balls.cue_radius)
        & (behind >= BEHIND[0])
        & (behind <= BEHIND[1])
        & way_free
    )
