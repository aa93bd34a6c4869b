"""Simulated players of whom it is asked every day whether they are better than a month ago."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from trainer.learner.call import Call
from trainer.learner.change import Compared, compared, is_better, was_sure
from trainer.levels.level import free_practice
from trainer.simulate.players import Bump, Nature
from trainer.simulate.simulation import practise, with_bump

FIRST_LOOK = 22  # days: before there is nothing of three weeks ago
# Aim points a sixteenth apart or names to the nearest eighth all the time, or a change between them halfway.
DRILLS = (("aim", "aim"), ("band", "band"), ("aim", "band"), ("band", "aim"))
SIZES = (0.0, 0.04, 0.06, 0.1)  # of a fault, in balls


def nature_of(number: int, sizes: Sequence[float] = SIZES) -> Nature:
    """One player's eyes: every kind of drill with every size of fault, drawn by the last answer or not."""
    size, pulled = sizes[number // len(DRILLS) % len(sizes)], number // len(DRILLS) // len(sizes) % 2
    nature = Nature(noise=0.05, lapse=0.02, central=0.1 * pulled, serial=0.1 * pulled, growth=0.4 * pulled)
    rng = np.random.default_rng([88, number])
    return with_bump(nature, free_practice("aim"), size, rng) if size else nature


def played(number: int, then: Nature, now: Nature, *, days: int, shots: int) -> list[Call]:
    """The calls of one player whose eyes are ``now`` from the middle of the days on."""
    first, second = DRILLS[number % len(DRILLS)]
    if first == second and then == now:
        told = practise(free_practice(first), then, days=days, shots=shots, seed=number)
        return [moment.call for moment in told]
    half = days // 2
    early = practise(free_practice(first), then, days=half, shots=shots, seed=number)
    late = practise(free_practice(second), now, days=days - half, shots=shots, seed=number + 10**6)
    return [m.call for m in early] + [_later(m.call, half) for m in late]


def _later(call: Call, days: int) -> Call:
    return replace(call, day=call.day + days)


def unchanged(number: int, *, days: int, shots: int) -> list[Call]:
    """The calls of a player whose eyes stay as they are."""
    nature = nature_of(number)
    return played(number, nature, nature, days=days, shots=shots)


def halved(number: int, *, days: int, shots: int, sizes: Sequence[float] = (0.06, 0.1)) -> list[Call]:
    """The calls of a player whose only fault halves in the middle of the days."""
    then = nature_of(number, sizes)
    bump = then.bumps[0]
    now = replace(then, bumps=(Bump(bump.cut, bump.size / 2, bump.wide),))
    return played(number, then, now, days=days, shots=shots)


def looks(calls: Sequence[Call], every: int = 1) -> list[tuple[int, list[Compared]]]:
    """What is compared on each day, from 0; what a player could be told lies in it."""
    first, last = calls[0].day, calls[-1].day
    found = []
    for day in range(first + FIRST_LOOK, last + 1, every):
        found.append((day - first, compared([c for c in calls if c.day <= day], day)))
    return found


def told_better(calls: Sequence[Call], every: int = 1) -> int | None:
    """The first day on which a player is told to be better at some kind of shot, None for never."""
    for day, rows in looks(calls, every):
        if any(was_sure(row) and is_better(row) for row in rows):
            return day
    return None
