"""Edges of pockets, worked out beforehand for the built-in tables: the first shot doesn't wait for them.

``edges.npy`` holds rows of the number that stands for a table and a kind of pocket, an entry and its edge, as
``jaws.line_edge`` gives them for its usual rebound and help from both jaws. The number comes of all that an
edge depends on, so one of another table is never taken. ``tests/write_edges.py`` writes the file; a test
holds it against what is worked out anew.
"""

from functools import lru_cache
from pathlib import Path
from zlib import crc32

import numpy as np

from trainer.geometry.vectors import Floats

FILE = Path(__file__).with_name("edges.npy")


def number_of(*what: object) -> int:
    """The number that stands for a table without its names, a kind of pocket and a restitution."""
    return crc32(repr(what).encode())


@lru_cache(maxsize=1)
def _written() -> Floats:
    """The rows of the file, (n, 3); none where it isn't there."""
    return np.asarray(np.load(FILE), float) if FILE.exists() else np.empty((0, 3))


def known(*what: object) -> tuple[Floats, Floats] | None:
    """Entries and edge, (n,) each, if they are in the file."""
    rows = _written()
    rows = rows[rows[:, 0] == number_of(*what)]
    return (rows[:, 1].copy(), rows[:, 2].copy()) if len(rows) else None


def write(edges: dict[int, tuple[Floats, Floats]]) -> None:
    """Write the file anew."""
    rows = [
        np.stack([np.full(len(entries), number), entries, edge], axis=1)
        for number, (entries, edge) in edges.items()
    ]
    np.save(FILE, np.concatenate(rows))
