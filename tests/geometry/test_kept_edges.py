"""What is kept of the pockets' edges is what is worked out."""

import numpy as np
import pytest

from trainer.geometry import kept_edges
from trainer.geometry.jaw_help import KINDS, bare, line_edge, worked_out
from trainer.geometry.jaws import RESTITUTION
from trainer.geometry.kept_edges import FILE, kept_edge
from trainer.geometry.tables import TABLES


@pytest.mark.parametrize("helper", ["left", "both"])
@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("name", sorted(TABLES))
def test_every_edge_is_kept_as_it_is_worked_out(name: str, kind: str, helper: str) -> None:
    table = bare(TABLES[name])
    kept = kept_edge(table, kind, helper, RESTITUTION)
    assert kept is not None
    for one, other in zip(kept, worked_out(table, kind, helper, RESTITUTION), strict=True):
        # The last bit of a sine is the machine's own.
        np.testing.assert_allclose(one, other, rtol=0, atol=1e-6)


def test_another_table_or_rubber_is_worked_out() -> None:
    table = bare(TABLES["snooker"])
    assert kept_edge(table, "corner", "both", RESTITUTION + 0.01) is None
    entries, edge = line_edge(table, "corner", "both", RESTITUTION + 0.01)
    assert len(entries) == len(edge) > 100


def test_without_the_file_all_is_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    kept_edges._file.cache_clear()
    monkeypatch.setattr(kept_edges, "FILE", FILE.with_name("none.json"))
    assert kept_edge(bare(TABLES["snooker"]), "corner", "both", RESTITUTION) is None
    kept_edges._file.cache_clear()
