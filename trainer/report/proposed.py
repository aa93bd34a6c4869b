"""Which kinds of shot a practice card is of, where the player didn't say: what follows from the diagnosis.

A fault that is told is tried where it is greatest, to both sides: a stroke that goes across makes one side
thick and the other thin, and an eye that sees both alike doesn't. One that has healed lately is tried there
too: the table says whether it has. Else it is the kinds that are seen wrong, or least surely.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trainer.drills import ANGLE
from trainer.geometry.fullness import SIDES, bands
from trainer.learner.causes import NAMED_CAUSES
from trainer.learner.verdicts import KindVerdict, weak_kinds
from trainer.play.causes_in_words import HEALED
from trainer.play.diagnosis import HEALED_FOR, Diagnosis
from trainer.play.player_model import PlayerModel
from trainer.shots.layout import Wanted, wanted

# How many fullnesses of a fault are on a card, and the thinnest that is one to practise at a table.
FEWEST, THINNEST = 2, 1 / 8


@dataclass(frozen=True)
class Proposed:
    """Kinds to lay out, the most wanted first, and why these: a sentence, '' where there is none."""

    kinds: tuple[Wanted, ...]
    why: str


def proposed(diagnosis: Diagnosis, model: PlayerModel, rows: Sequence[KindVerdict]) -> Proposed:
    """What a player's card is of; ``rows`` are the verdicts on every kind of shot."""
    worst = diagnosis.worst
    if worst is not None and (worst.kinds or worst.cause in NAMED_CAUSES):
        told = [wanted(band, side) for band, side in worst.kinds]
        kinds = [*told, *_both_sides([one.band.name for one in told])] if told else _where(worst.cause)
        return Proposed(_once(kinds), f"{worst.short} Try whether the table agrees, to both sides.")
    skill = model.skill(ANGLE)
    for cause, healed in skill.looks.healed.items():
        name = cause.split()[0]
        if name in NAMED_CAUSES and skill.belief.day - healed.day < HEALED_FOR:
            why = f"{HEALED[name]} has healed here: see whether it has at the table."
            return Proposed(_once(_where(name)), why)
    return Proposed(_once([wanted(band, side) for band, side in weak_kinds(rows)]), "")


def _where(cause: str) -> list[Wanted]:
    """The fullnesses at which a cause is greatest, to both sides; of equal ones those next to half."""
    known = [band for band in bands() if THINNEST <= band.value < 1.0]
    size = np.abs(NAMED_CAUSES[cause].shape(np.array([1.0 - band.value for band in known])))
    order = sorted(range(len(known)), key=lambda i: (-round(float(size[i]), 6), abs(known[i].value - 0.5)))
    return _both_sides([known[i].name for i in order[:FEWEST]])


def _both_sides(names: Sequence[str]) -> list[Wanted]:
    return [wanted(band, side) for band in names for side in SIDES]


def _once(kinds: Sequence[Wanted]) -> tuple[Wanted, ...]:
    return tuple(dict.fromkeys(kinds))
