"""Levels by their names: the files' own, free practice, those with a game of their own, kinds of shot."""

import re
from collections.abc import Mapping

from trainer.geometry.fullness import Kind, bands
from trainer.geometry.tables import Table
from trainer.levels.level import FREE, TEST, Level, about, as_test, free_practice
from trainer.levels.shelf import Shelf
from trainer.names import DRILLS as NAMES
from trainer.play import first_look, measure, mixed, placement, primer, warmup
from trainer.play.set_in_play import SetInPlay

ABOUT = re.compile(f"about-({'|'.join(re.escape(band.name) for band in bands())})-(left|right)")
# Not from files: each with a set of its own kind.
SETS: Mapping[str, type[SetInPlay]] = {
    first_look.NAME: first_look.FirstLook,
    measure.LEVEL.name: measure.WeeklyMeasure,
    primer.NAME: primer.Primer,
    primer.SPACE.name: primer.Primer,
    warmup.NAME: warmup.Warmup,
    placement.NAME: placement.FindPlace,
    mixed.NAME: mixed.Mixed,
}
OF_THEIR_OWN = (
    *(first_look.LEVEL, measure.LEVEL, primer.LEVEL, primer.SPACE),
    *(warmup.LEVEL, placement.LEVEL, mixed.LEVEL),
)
OF_A_LENGTH = primer.LEVEL, primer.SPACE, measure.LEVEL  # that no other number of shots changes


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
    if name.startswith(TEST) and drill is None:
        return as_test(shelf.find(name.removeprefix(TEST)))
    found = shelf.find(name)
    return found if drill is None or drill == found.drill else found.with_drill(drill)
