"""Write the edges of the built-in tables' pockets anew, after a change to how they are worked out.

.venv/bin/python tests/write_edges.py
"""

from trainer.geometry.edges import number_of, write
from trainer.geometry.jaws import KINDS, RESTITUTION, bare, worked_out
from trainer.geometry.tables import TABLES
from trainer.geometry.vectors import Floats


def anew() -> dict[int, tuple[Floats, Floats]]:
    """The edges of every built-in table's two kinds of pocket, by their numbers."""
    return {
        number_of(bare(table), kind, RESTITUTION): worked_out(bare(table), kind, "both", RESTITUTION)
        for table in TABLES.values()
        for kind in KINDS
    }


if __name__ == "__main__":
    write(anew())
