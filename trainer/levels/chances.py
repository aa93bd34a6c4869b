"""How hard levels are, worked out beforehand for the built-in ones: their list doesn't wait for it.

``chances.json`` holds what ``level.level_chance`` gives, by a text that stands for a level. That comes of all
that a chance depends on, so that of another level is never taken. ``tests/write_chances.py`` writes the file;
a test holds it against what is worked out anew.
"""

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

from trainer.levels.level import Level, level_chance

FILE = Path(__file__).with_name("chances.json")


def key_of(level: Level) -> str:
    """What stands for a level without its words and its place, with its table and all."""
    bare = replace(level, name="", title="", teaches="", chapter="", place=0)
    return blake2b(repr(bare).encode(), digest_size=10).hexdigest()


@lru_cache(maxsize=1)
def _written() -> dict[str, float]:
    """The chances of the file; none where it isn't there."""
    return dict(json.loads(FILE.read_text(encoding="utf-8"))) if FILE.exists() else {}


def chance_of(level: Level, kept: dict[str, float]) -> float:
    """The part of a level's shots that the usual player pots.

    Parameters
    ----------
    level : Level
        Any level.
    kept : dict of str to float
        Chances by :func:`key_of` that were worked out before; one that isn't known anywhere comes to them.
    """
    key = key_of(level)
    known: Mapping[str, float] = kept if key in kept else _written()
    if key not in known:
        known = kept
        kept[key] = level_chance(level)
    return known[key]


def write(chances: dict[str, float]) -> None:
    """Write the file anew."""
    FILE.write_text(json.dumps(dict(sorted(chances.items())), indent=1) + "\n", encoding="utf-8")
