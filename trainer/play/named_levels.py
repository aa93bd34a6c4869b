"""Levels by their names: the files' own, free practice, those with a game of their own, and a kind of shot.

Practice about a kind of shot: most shots are of its band and side, the others of any.
"""

import re
from collections.abc import Mapping
from dataclasses import replace

from trainer.drills.words import KINDS, capital, kind_name
from trainer.geometry.fullness import Kind, bands
from trainer.geometry.tables import Table
from trainer.levels.level import FREE, Level, free_practice
from trainer.levels.shelf import Shelf
from trainer.names import DRILLS as NAMES
from trainer.play import first_look, primer, warmup

SHOTS = 12
ABOUT = re.compile(f"about-({'|'.join(re.escape(band.name) for band in bands())})-(left|right)")
OF_THEIR_OWN = (
    first_look.LEVEL,
    primer.LEVEL,
    warmup.LEVEL,
)  # not from files
USUAL = "aim"  # the usual drill: it asks as the table does


def about(kind: Kind, tables: Mapping[str, Table], drill: str | None = None) -> Level:
    """The level of shots about one kind, named ``about-3/8-right``."""
    name = kind_name(kind)
    return replace(
        free_practice(drill or USUAL, tables),
        name=f"about-{kind.band}-{kind.side}",
        title=capital(name) if kind.band in KINDS else f"About {name}",
        teaches=f"Most shots are {name}, the others of any kind.",
        about=kind.sines,
        shots=SHOTS,
    )


def _about_named(name: str, tables: Mapping[str, Table], drill: str | None = None) -> Level | None:
    """The level of this name, if it is one about a kind of shot."""
    found = ABOUT.fullmatch(name)
    return about(Kind(found[1], found[2]), tables, drill) if found else None


def level_named(shelf: Shelf, name: str | None, drill: str | None = None) -> Level:
    """The level of this name, asked with another drill if one is given; None: free practice.

    Raises
    ------
    LookupError
        If there is no such level.
    """
    for level in OF_THEIR_OWN:
        if name == level.name:
            if drill not in (None, level.drill):
                raise LookupError(f"{name} asks in its own way; leave --drill out")
            return level
    if name is None or name == FREE:
        return free_practice(drill or NAMES[0], shelf.tables)
    kind = _about_named(name, shelf.tables, drill)
    if kind is not None:
        return kind
    found = shelf.find(name)
    return found if drill is None or drill == found.drill else found.with_drill(drill)
