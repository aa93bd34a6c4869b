"""``trainer players --report``: a line a player for whoever coaches them, and nothing written."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.history.store import FILE

Run = Callable[..., tuple[int, str, str]]
ACROSS = "half left thick, half right thin"
SOON = ("--now", "2026-03-09T12:00:00+00:00")


@pytest.fixture
def club(small: Path, tmp_path: Path) -> Path:
    """Two players of 36 calls each, four of them taken back."""
    for name in ("Ann", "Bo"):
        shutil.copytree(small, tmp_path / "club" / "players" / name)
    return tmp_path / "club"


def held(club: Path) -> dict[str, bytes]:
    return {str(file): file.read_bytes() for file in club.rglob("*.sqlite3*")}


def test_each_player_has_what_is_wrong_what_is_next_and_the_week(run: Run, club: Path) -> None:
    before = held(club)
    code, out, err = run("players", "--report", "--data", str(club), *SOON)
    assert (code, err) == (0, "")
    assert out.startswith(f"2 players in {club}, on this machine.\n\nAnn: 32 calls, last on ")
    assert "\n\nBo: 32 calls, last on " in out
    found = json.loads(run("players", "--report", "--json", "--data", str(club), *SOON)[1])
    assert found["problems"] == []
    assert [row["name"] for row in found["players"]] == ["Ann", "Bo"]
    alone = json.loads(run("report", "--json", "--player", "Bo", "--data", str(club), *SOON)[1])
    row = found["players"][1]
    assert row["sentence"] == alone["diagnosis"]["sentence"]
    assert row["sentence"] in out
    assert (row["calls"], row["last_day"]) == (32, "2026-03-08")
    assert row["week_calls"] == row["week_days"] == 0  # a Monday
    today = json.loads(run("today", "--json", "--player", "Bo", "--data", str(club), *SOON)[1])
    assert row["next"].startswith(today["parts"][0]["why"])
    assert held(club) == before


def test_the_week_is_counted_and_the_tables_notes_are_told(run: Run, club: Path) -> None:
    week = ("--now", "2026-03-08T20:00:00+00:00", "--data", str(club))
    for _ in range(25):
        run("notebook", f"{ACROSS}, {ACROSS.replace('half', '3/4')}", "--player", "Ann", *week)
    ann, bo = json.loads(run("players", "--report", "--json", *week)[1])["players"]
    told = json.loads(run("notebook", "--json", "--player", "Ann", *week)[1])["table_causes"]
    assert bool(ann["table"]) == bool(told)
    assert bo["table"] == ""
    listed = json.loads(run("players", "--json", *week)[1])["players"]
    assert [row["calls"] for row in listed] == [ann["calls"], bo["calls"]]
    assert bo["week_days"] == 7
    assert 0 < bo["week_calls"] <= bo["calls"]


def test_a_player_who_cannot_be_read_is_told_and_the_others_shown(run: Run, club: Path) -> None:
    (club / "players" / "Ann" / FILE).write_bytes(b"x" * 5000)
    shutil.rmtree(club / "players" / "Ann" / "backups", ignore_errors=True)
    code, out, err = run("players", "--report", "--data", str(club), *SOON)
    assert code == 0
    assert "Bo: 32 calls" in out
    assert err.startswith("trainer: Ann: ")


def test_nobody_has_played(run: Run, tmp_path: Path) -> None:
    assert run("players", "--report", "--data", str(tmp_path / "none"))[1].startswith("Nobody has played yet")
    assert not (tmp_path / "none").exists()
