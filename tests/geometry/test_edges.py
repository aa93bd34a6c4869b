"""The edges that are kept for the built-in tables, against what is worked out anew."""

import dataclasses

import numpy as np
import pytest
from write_edges import anew

from trainer.geometry import edges, jaws
from trainer.geometry.jaws import KINDS, NOWHERE, RESTITUTION, bare, line_edge, worked_out
from trainer.geometry.tables import TABLES


def test_the_file_holds_what_is_worked_out() -> None:
    fresh = anew()
    assert len(fresh) == len(KINDS) * len({bare(table) for table in TABLES.values()})
    for table in TABLES.values():
        for kind in KINDS:
            what = bare(table), kind, RESTITUTION
            entries, edge = fresh[edges.number_of(*what)]
            kept = edges.known(*what)
            assert kept is not None, "run tests/write_edges.py"
            np.testing.assert_allclose(kept[0], entries, atol=1e-12)
            np.testing.assert_allclose(kept[1], edge, atol=1e-6)
            assert line_edge(table, kind, "both")[1] is not kept[1]
            assert (edge > NOWHERE).sum() > 100


def test_another_table_rebound_or_help_is_not_taken_from_it(monkeypatch: pytest.MonkeyPatch) -> None:
    table = bare(TABLES["pool-9"])
    assert edges.known(table, "middle", RESTITUTION + 0.01) is None
    assert edges.known(dataclasses.replace(table, middle=128.0), "middle", 0.75) is None
    asked = []

    def noted(*what: object) -> tuple[np.ndarray, np.ndarray]:
        asked.append(what[2])
        return worked_out(*what)  # type: ignore[arg-type]

    monkeypatch.setattr(jaws, "worked_out", noted)
    line_edge.cache_clear()
    line_edge(table, "middle", "both")
    assert asked == []
    line_edge(table, "middle", "left")
    line_edge(table, "middle", "both", 0.8)
    assert asked == ["left", "both"]


def test_without_the_file_edges_are_worked_out(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:  # type: ignore[no-untyped-def]
    usual = line_edge(TABLES["small-ball"], "corner", "both")
    monkeypatch.setattr(edges, "FILE", tmp_path / "edges.npy")
    edges._written.cache_clear()
    line_edge.cache_clear()
    try:
        again = line_edge(TABLES["small-ball"], "corner", "both")
    finally:
        edges._written.cache_clear()
        line_edge.cache_clear()
    np.testing.assert_allclose(again[1], usual[1], atol=1e-6)
