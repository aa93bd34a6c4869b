"""Practice about one kind of shot: most shots are of its band and side, the others of any."""

import re
from collections.abc import Mapping
from dataclasses import replace

from trainer.drills.words import KINDS, capital, kind_name
from trainer.geometry.bands import bands
from trainer.geometry.tables import Table
from trainer.learner.verdicts import stretch_named
from trainer.shots.level import Level, free_practice

SHOTS = 12
NAME = re.compile(f"about-({'|'.join(re.escape(band.name) for band in bands())})-(left|right)")
USUAL = "aim"  # the drill, where nothing else is asked for: that is how it is done at the table


def about(band: str, side: str, tables: Mapping[str, Table], drill: str | None = None) -> Level:
    """The level of shots about one kind, named ``about-3/8-right``."""
    name = kind_name(band, side)
    return replace(
        free_practice(drill or USUAL, tables),
        name=f"about-{band}-{side}",
        title=capital(name) if band in KINDS else f"About {name}",
        teaches=f"Most shots are {name}, the others of any kind.",
        about=stretch_named(band, side),
        shots=SHOTS,
    )


def about_named(name: str, tables: Mapping[str, Table], drill: str | None = None) -> Level | None:
    """The level of this name, if it is one about a kind of shot."""
    found = NAME.fullmatch(name)
    return about(found[1], found[2], tables, drill) if found else None
