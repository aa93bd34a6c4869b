"""Texts in CSV that a spreadsheet would run as a formula, held so that it shows them, and let go again.

Of a text that begins with an apostrophe a spreadsheet shows the rest, and runs none of it.
"""

import re
from collections.abc import Sequence
from typing import Any

from trainer.history.fields import Text
from trainer.history.record import Record

LIVE = re.compile(r"'*[=+\-@]")  # how one begins, or one that would be taken for one that is held
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)  # it is that everywhere
BEGINNINGS = frozenset("'=+-@")


def held(text: str) -> str:
    """A text as a CSV file holds it."""
    return f"'{text}" if LIVE.match(text) and not NUMBER.fullmatch(text) else text


def let_go(text: str) -> str:
    """The text that :func:`held` was given."""
    return text[1:] if text[:1] == "'" and held(text[1:]) == text else text


def texts_of(kind: Record[Any]) -> tuple[int, ...]:
    """Which columns of a file hold texts that come from anywhere."""
    return tuple(i for i, field in enumerate(kind.fields) if isinstance(field, Text))


def held_row(values: list[Any], texts: Sequence[int]) -> list[Any]:
    """A line's values, the texts among them held."""
    for i in texts:
        if values[i][:1] in BEGINNINGS:
            values[i] = held(values[i])
    return values


def let_go_column(texts: Sequence[str]) -> Sequence[str]:
    """The texts of a column, let go."""
    return [let_go(text) if text[:1] == "'" else text for text in texts]
