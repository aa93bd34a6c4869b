"""``undo``, ``backups``, ``restore``, ``players``, ``--player`` and ``levels --add``."""

import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.history import TrainerError
from trainer.history.store import History
from trainer.play import player_model

Run = Callable[..., tuple[int, str, str]]
DAYS = [f"2026-03-0{day}T12:00:00+01:00" for day in (1, 2, 3)]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The data folder that the variable names."""
    assert os.environ["TRAINER_DATA"] == str(tmp_path / "data")
    return tmp_path / "data"


def calls(run: Run, number: int, *more: str, now: str = DAYS[0]) -> None:
    code, _, err = run(
        *(*more, "play", "--lines", "--drill", "band", "--seed", "2"),
        *("--shots", str(number), "--now", now),
        text="1\n" * number,
    )
    assert (code, err) == (0, "")


def attempts(run: Run, *more: str) -> int:
    code, out, err = run(*more, "report", "--json", "--now", DAYS[2])
    assert (code, err) == (0, "")
    return int(json.loads(out)["attempts"])


def one_line(err: str) -> str:
    assert err.count("\n") == 1
    assert err.startswith("trainer")
    assert err.strip().isprintable()
    return err


# Taking back


def test_undo_asks(run: Run) -> None:
    calls(run, 2)
    code, out, _ = run("undo", text="n\n")
    assert code == 1
    assert "The last call: full (band), wrong, " in out
    assert "shot 2 of free, 2026-03-01 12:00." in out
    assert "counts for nothing? [y/N] Left as it is." in out
    assert run("undo", text="")[0] == 1  # no answer at all
    assert attempts(run) == 2
    code, out, err = run("undo", text="y\n")
    assert (code, err) == (0, "")
    assert out.endswith("Taken back: it stays in the history, and counts for nothing.\n")
    assert attempts(run) == 1


def test_undo_twice_does_nothing(run: Run, tmp_path: Path) -> None:
    calls(run, 2)
    first = json.loads(run("undo", "--json")[1])
    assert (first["undone"], first["before"]) == (True, False)
    code, out, _ = run("undo", "--yes")
    assert code == 0
    assert "It has been taken back already: only the last call can be." in out
    assert json.loads(run("undo", "--json")[1]) == first | {"before": True}
    assert attempts(run) == 1
    run("export", str(tmp_path / "a.csv"))
    lines = (tmp_path / "a.csv").read_text().splitlines()
    assert len(lines) == 3
    assert [line.rpartition(",")[2] != "" for line in lines] == [True, False, True]


def test_undo_with_nothing_to_take_back(run: Run) -> None:
    code, out, err = run("undo", "--yes")
    assert (code, out) == (1, "")
    assert "there is no call to take back yet" in one_line(err)


def test_an_import_says_what_was_taken_back(run: Run, tmp_path: Path) -> None:
    calls(run, 2)
    run("export", str(tmp_path / "before.csv"))
    run("undo", "--yes")
    run("export", str(tmp_path / "after.csv"))
    other = ("--data", str(tmp_path / "other"))
    assert run(*other, "import", str(tmp_path / "before.csv"))[1] == ("2 calls added, 0 were there already\n")
    assert run(*other, "import", str(tmp_path / "after.csv"))[1] == (
        "0 calls added, 2 were there already, 1 taken back\n"
    )
    assert attempts(run, *other) == 1
    run(*other, "export", str(tmp_path / "again.csv"))
    assert (tmp_path / "again.csv").read_bytes() == (tmp_path / "after.csv").read_bytes()


def test_an_import_leaves_nothing_to_work_out(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(player_model, "WORTH_KEEPING", 3)
    calls(run, 3)
    run("export", str(tmp_path / "all.csv"))
    report = run("report", "--json", "--now", DAYS[2])
    other = ("--data", str(tmp_path / "other"))
    assert run(*other, "import", str(tmp_path / "all.csv"))[0] == 0
    monkeypatch.delattr(player_model, "built")
    assert run(*other, "report", "--json", "--now", DAYS[2]) == report
    assert run(*other, "import", str(tmp_path / "all.csv"))[1] == "0 calls added, 3 were there already\n"


# Copies


def test_backups_and_back(run: Run) -> None:
    code, out, _ = run("backups")
    assert code == 0
    assert "No copy of the history is kept yet" in out
    for number, now in zip((2, 3, 1), DAYS, strict=True):
        calls(run, number, now=now)
    code, out, _ = run("backups")
    assert code == 0
    assert "2026-03-01-1-played  2 calls until 2026-03-01 12:00, " in out
    assert "2026-03-02-1-played  5 calls until 2026-03-02 12:00, " in out
    assert out.count("; when a play ended\n") == 3
    rows = json.loads(run("backups", "--json")[1])["backups"]
    assert [(row["name"], row["calls"], row["last"]) for row in rows] == [
        ("2026-03-01-1-played", 2, "2026-03-01T12:00:00.000+01:00"),
        ("2026-03-02-1-played", 5, "2026-03-02T12:00:00.000+01:00"),
        ("2026-03-03-1-played", 6, "2026-03-03T12:00:00.000+01:00"),
    ]
    back = ("restore", "2026-03-01-1-played", "--now", DAYS[2])
    code, out, _ = run(*back, text="no\n")
    assert code == 1
    assert "Of the present history 4 calls since 2026-03-02 would be lost." in out
    assert out.endswith("[y/N] Left as it is.\n")
    assert attempts(run) == 6
    code, out, err = run(*back, text="yes\n")
    assert (code, err) == (0, "")
    assert out.endswith("Restored; what was there is kept as 2026-03-03-1-played.\n")
    assert attempts(run) == 2
    code, out, err = run("restore", "2026-03-03-1-played", "--yes", "--now", DAYS[2])
    assert (code, err) == (0, "")
    assert "no call would be lost; 4 calls would come back." in out
    assert attempts(run) == 6


def test_a_copy_that_cannot_be_read_is_told(run: Run, data: Path) -> None:
    for now in DAYS[:2]:
        calls(run, 1, now=now)
    (data / "backups" / "2026-03-02-1-played.sqlite3").write_text("my shopping")
    assert "2026-03-02-1-played  can't be read; when a play ended" in run("backups")[1]
    _, row = json.loads(run("backups", "--json")[1])["backups"]
    assert row["calls"] is None
    assert "is not a history" in row["problem"]
    code, out, err = run("restore", "2026-03-02-1-played", "--yes")
    assert (code, out) == (1, "")
    assert "2026-03-02-1-played.sqlite3 is damaged; trainer backups lists the others" in one_line(err)
    assert attempts(run) == 2


def test_a_damaged_history_is_restored(run: Run, data: Path) -> None:
    for now in DAYS[:2]:
        calls(run, 1, now=now)
    (data / "history.sqlite3").write_text("my shopping")
    code, out, _ = run("restore", "2026-03-01-1-played", "--yes", "--now", DAYS[2])
    assert code == 0
    assert "The history is damaged." in out
    assert "kept as 2026-03-03-1-damaged." in out
    assert (data / "backups" / "2026-03-03-1-damaged.sqlite3").read_text() == "my shopping"
    assert attempts(run) == 1


# And whether the last call, which isn't in the copy, can still be read. An export reads a value as it stands.
SPOIL = [
    ("report", True, False),
    ("play", False, True),
    *(pytest.param(name, True, False, marks=pytest.mark.slow) for name in ("export", "today", "play")),
    *(pytest.param(name, False, True, marks=pytest.mark.slow) for name in ("report", "today")),
]


@pytest.mark.parametrize(("command", "zeroed", "whole"), SPOIL)
def test_a_command_goes_on_from_the_newest_copy(
    run: Run, data: Path, command: str, zeroed: bool, whole: bool
) -> None:
    for now in DAYS[:2]:
        calls(run, 1, now=now)
    (data / "backups" / "2026-03-02-1-played.sqlite3").unlink()  # as after a sudden end
    with sqlite3.connect(data / "history.sqlite3") as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("UPDATE attempts SET error = 'none' WHERE id = (SELECT min(id) FROM attempts)")
        (page,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'attempts'").fetchone()
    db.close()
    if zeroed:
        with (data / "history.sqlite3").open("rb+") as file:
            file.seek((page - 1) * 4096)
            file.write(bytes(4096))
    args = {"export": ["export", str(data / "a.csv")], "play": ["play", "--lines", "--shots", "1"]}
    code, out, err = run(*args.get(command, [command]), "--now", DAYS[2], text="1\n")
    assert (code, bool(out)) == (0, True)
    said = one_line(err).rstrip()
    assert "history.sqlite3 was damaged (" in said
    assert "is set aside as 2026-03-03-1-damaged; the newest good copy, 2026-03-01-1-played, is in" in said
    if whole:
        assert said.endswith(
            "with 1 call made since that could still be read: 2 calls until 2026-03-02 12:00"
        )
    else:
        assert said.endswith("its place: 1 call until 2026-03-01 12:00; 1 call can't be read any more")
    assert attempts(run) == 1 + whole + (command == "play")


def test_a_damaged_history_without_a_copy_is_left(run: Run, data: Path) -> None:
    calls(run, 1)
    shutil.rmtree(data / "backups")
    (data / "history.sqlite3").write_text("my shopping")
    code, out, err = run("report")
    assert (code, out) == (1, "")
    assert "is not a history of the trainer, or its beginning is damaged; it is left as it is" in one_line(
        err
    )
    assert (data / "history.sqlite3").read_text() == "my shopping"


def test_the_last_call_of_a_set_counts_when_no_more_can_be_written(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: History, set_id: str) -> None:
        raise TrainerError("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(History, "finish_set", full)
        code, out, _ = run("play", "--lines", "--drill", "band", "--shots", "1", "--now", DAYS[0], text="1\n")
    assert (code, out.count('"mark"')) == (0, 1)
    assert attempts(run) == 1


def test_restoring_another_name(run: Run) -> None:
    code, out, err = run("restore", "\x1b[2J", "--yes")
    assert (code, out) == (1, "")
    assert "there is none yet" in one_line(err)
    assert run("restore")[0] == 2


def test_a_copy_that_fails_is_told_after_playing(run: Run, data: Path) -> None:
    calls(run, 1)
    shutil.rmtree(data / "backups")
    (data / "backups").write_text("in the way")
    code, out, err = run(
        *("play", "--lines", "--drill", "band", "--shots", "1", "--now", DAYS[1]), text="1\n"
    )
    assert code == 0
    assert '"type": "summary", "shots": 1' in out
    assert "no copy of the history could be kept" in one_line(err)
    assert attempts(run) == 2


# Players


def test_each_has_a_history_and_settings(run: Run, data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls(run, 1)
    calls(run, 2, "--player", "Anna", now=DAYS[1])
    monkeypatch.setenv("TRAINER_PLAYER", "Ben")
    calls(run, 3, now=DAYS[2])
    assert attempts(run) == 3
    assert attempts(run, "--player", "Anna") == 2
    monkeypatch.delenv("TRAINER_PLAYER")
    assert attempts(run) == 1
    assert sorted(p.name for p in (data / "players").iterdir()) == ["Anna", "Ben"]
    code, out, err = run("players")
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        "(no name)  1 call, last on 2026-03-01",
        "Anna       2 calls, last on 2026-03-02",
        "Ben        3 calls, last on 2026-03-03",
    ]
    rows = json.loads(run("players", "--json")[1])["players"]
    assert rows[0] == {"name": None, "calls": 1, "last_day": "2026-03-01"}
    assert [row["name"] for row in rows] == [None, "Anna", "Ben"]


def test_nobody_yet(run: Run, data: Path) -> None:
    assert "Nobody has played yet." in run("players")[1]
    assert json.loads(run("players", "--json")[1]) == {"players": [], "problems": []}
    assert not data.exists()


@pytest.mark.parametrize("name", ["../x", "", "a/b", "\x1b[2J", "x" * 41])
@pytest.mark.parametrize("command", ["report", "backups", "levels"])
def test_no_name(run: Run, data: Path, command: str, name: str) -> None:
    code, out, err = run("--player", name, command)
    assert (code, out) == (1, "")
    assert "can't be a name; allowed: 1 to 40 letters" in one_line(err)
    assert not data.exists()


def test_the_list_of_players_looks_into_their_folder_as_often_for_many(
    run: Run, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked, listdir = list[Path](), os.listdir
    monkeypatch.setattr(os, "listdir", lambda folder: looked.append(Path(folder)) or listdir(folder))
    often = []
    for many in (1, 9):
        for number in range(many):
            (data / "players" / f"player {number}").mkdir(parents=True, exist_ok=True)
        looked.clear()
        assert run("players")[1].count("0 calls") == many
        often.append(looked.count(data / "players"))
    assert often[0] == often[1] > 0


def test_a_player_whose_history_cannot_be_read(run: Run, data: Path) -> None:
    calls(run, 1, "--player", "Anna")
    calls(run, 1, "--player", "Ben")
    (data / "players" / "Anna" / "history.sqlite3").write_text("my shopping")
    code, out, err = run("players")
    assert code == 0
    assert "Anna  can't be read\nBen   1 call, last on 2026-03-01\n" in out
    assert "is not a history" in one_line(err)


# A coach's level

LEVEL = 'title = "Thin ones"\nteaches = "Thin cuts."\ndrill = "aim"\nplace = 85\n[shots]\ncuts = [40, 60]\n'


@pytest.fixture
def sent(tmp_path: Path) -> Path:
    """A file that a coach sent."""
    file = tmp_path / "thin-ones.toml"
    file.write_text(LEVEL)
    return file


def test_a_level_is_taken_in(run: Run, data: Path, sent: Path) -> None:
    code, out, err = run("--player", "Anna", "levels", "--add", str(sent))
    assert (code, err) == (0, "")
    assert out == "thin-ones: 'Thin ones' is one of your levels now; trainer play thin-ones\n"
    kept = data / "players" / "Anna" / "levels" / "thin-ones.toml"
    assert kept.read_bytes() == sent.read_bytes()

    def names(*more: str) -> set[str]:
        return {level["name"] for level in json.loads(run(*more, "levels", "--json")[1])["levels"]}

    assert "thin-ones" in names("--player", "Anna")
    assert "thin-ones" not in names()


def test_one_that_is_there_is_asked_about(run: Run, data: Path, sent: Path) -> None:
    run("levels", "--add", str(sent))
    sent.write_text(LEVEL.replace("Thin ones", "Thinner ones"))
    code, out, _ = run("levels", "--add", str(sent), text="\n")
    assert code == 1
    assert out == "You have a level of your own called thin-ones; replace it? [y/N] Left as it is.\n"
    assert (data / "levels" / "thin-ones.toml").read_text() == LEVEL
    assert run("levels", "--add", str(sent), text="y\n")[0] == 0
    assert (data / "levels" / "thin-ones.toml").read_bytes() == sent.read_bytes()
    sent.write_text(LEVEL)
    assert run("levels", "--add", str(sent), "--yes")[0] == 0
    assert (data / "levels" / "thin-ones.toml").read_text() == LEVEL


def test_a_built_in_name_is_asked_about(run: Run, sent: Path) -> None:
    named = sent.rename(sent.with_name("eighths.toml"))
    code, out, _ = run("levels", "--add", str(named), text="no\n")
    assert code == 1
    assert out.startswith("eighths is a built-in level; let this one take its place?")
    assert run("levels", "--add", str(named), "--yes")[0] == 0


def test_a_bad_level_is_told_in_full_and_not_taken(run: Run, data: Path, sent: Path) -> None:
    sent.write_text(LEVEL.replace('"aim"', '"ame"').replace("place", "plaice"))
    code, out, err = run("levels", "--add", str(sent), "--yes")
    assert (code, out) == (1, "")
    assert err.count("\n") == 2
    assert not data.exists()
    code, _, err = run("levels", "--add", "/nowhere/a.toml")
    assert code == 1
    assert "can't be read" in err
    assert run("levels", "--add", "a.toml", "--check", "a.toml")[0] == 2


def test_where_it_cannot_be_written(
    run: Run, data: Path, sent: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", full)
        code, _, err = run("levels", "--add", str(sent))
    assert code == 1
    assert "thin-ones.toml can't be written: No space left on device" in one_line(err)
    assert list((data / "levels").iterdir()) == []
    (data / "levels").rmdir()
    (data / "levels").write_text("in the way")
    code, _, err = run("levels", "--add", str(sent))
    assert code == 1
    assert "can't be written: File exists" in one_line(err)
