"""Simulated players of whom it is asked every day whether they are better."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from trainer.learner.call import Call
from trainer.learner.change import SHORTEST, changes
from trainer.levels.level import free_practice
from trainer.simulate.players import Bump, Nature
from trainer.simulate.simulation import practise, with_bump

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


def healing(number: int, *, days: int, shots: int, size: float = 0.1) -> list[Call]:
    """The calls of a player of whose only fault each day takes an eighth away."""
    first, _ = DRILLS[number % 2]
    nature = replace(nature_of(number, (size,)), learns=0.125)
    return [m.call for m in practise(free_practice(first), nature, days=days, shots=shots, seed=number)]


def told_better(calls: Sequence[Call], every: int = 1) -> int | None:
    """The first day, from 0, on which a player is told to be better at some kind of shot, None for never."""
    first, last = calls[0].day, calls[-1].day
    for day in range(first + SHORTEST, last + 1, every):
        if any(each.better for each in changes([c for c in calls if c.day <= day], day)):
            return day - first
    return None
