"""The edges of the built-in tables' pockets, worked out beforehand: a start has no time for it.

After a change of the tables or of :mod:`trainer.geometry.jaw_help` write the file anew:

    python -m trainer.geometry.kept_edges

A test works all of them out and compares. What isn't in the file is worked out when it is asked for.
"""

import base64
import hashlib
import json
from functools import lru_cache
from pathlib import Path

import numpy as np

from trainer.geometry.tables import Table
from trainer.geometry.vectors import Floats

FILE = Path(__file__).with_name("kept_edges.json")


def kept_edge(table: Table, kind: str, helper: str, restitution: float) -> tuple[Floats, Floats] | None:
    """Entries and edge as :func:`~trainer.geometry.jaw_help.line_edge` gives them; None: not in the file."""
    found = _file().get(name_of(table, kind, helper, restitution))
    if found is None:
        return None
    entries, edge = (np.frombuffer(base64.b64decode(text), "<f8").astype(float) for text in found)
    return entries, edge


def name_of(table: Table, kind: str, helper: str, restitution: float) -> str:
    """What tells one edge from all others."""
    return hashlib.sha256(repr((table, kind, helper, restitution)).encode()).hexdigest()[:24]


@lru_cache(maxsize=1)
def _file() -> dict[str, list[str]]:
    try:
        return dict(json.loads(FILE.read_text(encoding="utf-8")))
    except (OSError, ValueError):  # it only saves time
        return {}


def main() -> None:
    """Work out all edges of the built-in tables and write the file."""
    from trainer.geometry.jaw_help import KINDS, bare, worked_out
    from trainer.geometry.jaws import RESTITUTION
    from trainer.geometry.tables import TABLES

    found = {}
    for table in map(bare, TABLES.values()):
        for kind in KINDS:
            for helper in ("left", "both"):
                pair = worked_out(table, kind, helper, RESTITUTION)
                texts = [base64.b64encode(part.astype("<f8").tobytes()).decode("ascii") for part in pair]
                found[name_of(table, kind, helper, RESTITUTION)] = texts
    FILE.write_text(json.dumps(dict(sorted(found.items())), indent=0) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
