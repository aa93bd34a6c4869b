"""What follows from its arguments alone and is asked for by hundreds of tests: worked out once a process.

A player starts the game once, a test run some thousand times in the same process. None of these results is
ever changed by whoever gets it; faults aren't kept. Tests that are about one of them call it themselves, from
where it is written.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet

import trainer.arguments
import trainer.levels.shelf
from trainer.geometry.tables import Table
from trainer.levels.level import Level
from trainer.levels.reading import read_level


def keep(patch: pytest.MonkeyPatch) -> None:
    """Let the game take these results from where they are kept."""
    patch.setattr(trainer.levels.shelf, "read_level", _read_level)
    patch.setattr(trainer.arguments, "_parser", cache(trainer.arguments._parser))
    patch.setattr(Stylesheet, "_parse_rules", _parse_rules)


@cache
def _level(text: str, name: str, where: str, tables: tuple[tuple[str, Table], ...], drawn: bool) -> Level:
    return read_level(text, name, where, dict(tables), drawn=drawn)


def _read_level(text: str, name: str, where: str, tables: Mapping[str, Table], *, drawn: bool) -> Level:
    return _level(text, name, where, tuple(tables.items()), drawn)


_RULES: dict[tuple[Any, ...], list[RuleSet]] = {}
_parse = Stylesheet._parse_rules


def _parse_rules(self: Stylesheet, *args: Any, **more: Any) -> list[RuleSet]:
    key = (args, tuple(more.items()), tuple(self._variables.items()))
    if key not in _RULES:
        _RULES[key] = _parse(self, *args, **more)
    return _RULES[key]
