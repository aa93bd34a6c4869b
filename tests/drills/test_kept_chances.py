"""The chances that are kept, of built-in levels in a file, of own ones in the history, against new ones."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from write_chances import anew

from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.levels import chances
from trainer.levels.level import Level, level_chance
from trainer.levels.shelf import built_in, open_shelf

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The levels whose chance is worked out."""
    names = list[str]()

    def noted(level: Level) -> float:
        names.append(level.name)
        return level_chance(level)

    monkeypatch.setattr(chances, "level_chance", noted)
    return names


def test_the_file_holds_what_is_worked_out(worked_out: list[str]) -> None:
    kept = dict[str, float]()
    found = {chances.key_of(level): chances.chance_of(level, kept) for level in open_shelf().levels}
    assert (worked_out, kept) == ([], {}), "run tests/write_chances.py"
    assert found == pytest.approx(anew(), abs=1e-9)


def test_a_level_with_other_words_is_the_same_and_with_another_table_it_isnt(worked_out: list[str]) -> None:
    level, kept = open_shelf().find("eighths"), dict[str, float]()
    assert chances.chance_of(replace(level, name="mine", title="Mine"), kept) == level_chance(level)
    assert worked_out == []
    wider = replace(level.limits.table, corner=level.limits.table.corner + 1.0)
    other = replace(level, limits=replace(level.limits, table=wider))
    for _ in range(2):
        assert chances.chance_of(other, kept) == level_chance(other) != level_chance(level)
    assert worked_out == ["eighths"]
    assert list(kept) == [chances.key_of(other)]


def test_without_the_file_it_is_worked_out(
    worked_out: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(chances, "FILE", tmp_path / "none.json")
    chances._written.cache_clear()
    level = open_shelf().find("eighths")
    assert chances.chance_of(level, {}) == level_chance(level)
    assert worked_out == ["eighths"]
    chances._written.cache_clear()


def test_of_own_levels_it_is_worked_out_once(
    worked_out: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from trainer.cli import main

    def listed() -> dict[str, float]:
        assert main(["--data", str(tmp_path / "data"), "levels", "--json"]) == 0
        return {each["name"]: each["chance"] for each in json.loads(capsys.readouterr().out)["levels"]}

    before = listed()
    assert worked_out == []
    assert not (tmp_path / "data").exists()  # asking makes nothing
    own = tmp_path / "data" / "levels"
    own.mkdir(parents=True)
    text = (built_in() / "eighths.toml").read_text(encoding="utf-8")
    (own / "mine.toml").write_text(text.replace("cuts = [0, 72]", "cuts = [20, 72]"), encoding="utf-8")
    assert listed()["mine"] != before["eighths"]
    assert worked_out == ["mine"]
    with History.open(tmp_path / "data", FixedClock("2026-04-20T12:00:00+00:00")) as history:
        history.put_setting("any", "thing")  # from now on there is a history to keep it in
    found = listed()
    assert worked_out == ["mine"] * 2
    assert listed() == found
    assert worked_out == ["mine"] * 2
