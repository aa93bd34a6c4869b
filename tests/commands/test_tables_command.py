"""``trainer tables``, own tables in the other commands, and where ``--data`` may stand."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.geometry.tables import TABLES

Run = Callable[..., tuple[int, str, str]]

CLUB = 'title = "Club, table three"\nlike = "pool-8"\n[corner]\nmouth_mm = 120\n'
LEVEL = 'title = "On ours"\nteaches = "x"\ndrill = "aim"\ntable = "my-club"\n'
PLACE = ("--cue-ball", "900,500", "--object-ball", "1600,420", "--pocket", "top-right")


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "own"
    (folder / "tables").mkdir(parents=True)
    (folder / "levels").mkdir()
    (folder / "tables" / "my-club.toml").write_text(CLUB)
    monkeypatch.setenv("TRAINER_DATA", str(folder))
    return folder


def test_the_tables_are_listed(run: Run, data: Path) -> None:
    code, out, err = run("tables")
    assert (code, err) == (0, "")
    for name, table in TABLES.items():
        assert any(line.split()[0] == name and table.title in line for line in out.splitlines())
    assert "my-club     Club, table three  (your own)" in out
    assert "2336.8 x 1168.4 mm, balls 57.15 mm, pockets 120 and 127 mm" in out
    assert "object ball 50.8, cue ball 47.62 mm" in out


def test_the_tables_as_json(run: Run, data: Path) -> None:
    (data / "tables" / "broken.toml").write_text("title = 1")
    (data / "tables" / "snooker.toml").write_text(
        'title = "Ours"\nreplaces = true\n[stroke]\nspeed = 1.5\nside_spin = 0.5\n'
        '[pockets]\njaw_help = "near"'
    )
    code, out, err = run("tables", "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    rows = {row["name"]: row for row in found["tables"]}
    assert set(rows) == {*TABLES, "my-club"}
    assert [name for name in rows if rows[name]["own"]] == ["snooker", "my-club"]
    assert rows["my-club"]["corner"]["mouth_mm"] == 120
    assert rows["pool-8"]["length_mm"] == pytest.approx(2336.8)
    assert rows["pool-8"]["stroke"] is None
    # A club's table like a pool table has its diamonds.
    assert [rows[name]["diamonds"] for name in ("pool-8", "my-club", "snooker")] == [8, 8, 0]
    assert rows["snooker"]["stroke"] == {"speed_m_s": 1.5, "roll": 1.0, "side_spin": 0.5}
    assert rows["snooker"]["jaw_help"] == "near"
    assert len(found["problems"]) == 1
    assert "broken.toml: title" in found["problems"][0]
    code, out, err = run("tables")
    assert code == 0
    assert "your own, in place of the built-in one" in out
    assert "throw counted: 1.5 m/s, natural roll, 0.5 of the most right-hand side" in out
    assert "a pot may touch the near jaw" in out
    assert err.startswith("trainer: ")
    assert "broken.toml" in err


def test_a_table_file_is_checked(run: Run, data: Path, tmp_path: Path) -> None:
    good = data / "tables" / "my-club.toml"
    assert run("tables", "--check", str(good)) == (0, "my-club: a good table, 'Club, table three'\n", "")
    bad = tmp_path / "bad.toml"
    bad.write_text(CLUB.replace("120", "12").replace("like", "alike") + "[stroke]\nspeed = 99\n")
    code, out, err = run("tables", "--check", str(bad))
    assert (code, out) == (1, "")
    assert [line.split(": ")[1] for line in err.splitlines()] == ["alike", "corner.mouth_mm", "stroke.speed"]
    code, out, err = run("tables", "--check", str(tmp_path / "none.toml"))
    assert (code, out, len(err.splitlines())) == (1, "", 1)


@pytest.mark.parametrize("args", [("tables", "x"), ("tables", "--check"), ("tables", "--no")])
def test_a_usage_error_is_one_line(run: Run, args: tuple[str, ...]) -> None:
    code, out, err = run(*args)
    assert (code, out, len(err.splitlines())) == (2, "", 1)


def test_help(run: Run) -> None:
    code, out, _ = run("tables", "--help")
    assert code == 0
    assert "--check FILE" in out


def test_a_shot_is_worked_out_on_an_own_table(run: Run, data: Path) -> None:
    _, plain, _ = run("shot", "--table", "my-club", *PLACE, "--json")
    assert json.loads(plain)["table"]["name"] == "my-club"
    assert json.loads(plain)["truth"]["throw_deg"] == 0
    (data / "tables" / "my-club.toml").write_text(CLUB + '[stroke]\nspeed = 1.2\nspin = "stun"')
    _, own, _ = run("shot", "--table", "my-club", *PLACE, "--json")
    _, said, _ = run("shot", "--table", "my-club", *PLACE, "--speed", "1.2", "--spin", "stun", "--json")
    assert json.loads(own)["truth"]["throw_deg"] > 0.1
    assert own == said  # the table's stroke is what its player means, unless one is given
    _, fast, _ = run("shot", "--table", "my-club", *PLACE, "--speed", "4", "--spin", "stun", "--json")
    assert json.loads(fast)["truth"]["throw_deg"] < json.loads(own)["truth"]["throw_deg"]


def test_a_table_that_is_not_there_or_is_broken(run: Run, data: Path) -> None:
    code, out, err = run("shot", "--table", "billiard", *PLACE)
    assert (code, out) == (1, "")
    assert f"tables: {', '.join(TABLES)}, my-club" in err
    for odd in ("../tables/my-club", "a\x00b", "", "x" * 5000):
        code, out, err = run("shot", "--table", odd, *PLACE)
        assert (code, out, len(err.splitlines())) == (1, "", 1)
    (data / "tables" / "my-club.toml").write_text(CLUB.replace("120", "12"))
    code, out, err = run("shot", "--table", "my-club", *PLACE)
    assert (code, out, len(err.splitlines())) == (1, "", 1)
    assert "my-club.toml: corner.mouth_mm: 12 can't be used" in err


def test_levels_are_played_on_an_own_table(run: Run, data: Path) -> None:
    level = data / "levels" / "ours.toml"
    level.write_text(LEVEL)
    assert run("levels", "--check", str(level))[0] == 0
    code, out, _ = run("shot", "--level", "ours", "--seed", "3", "--json")
    assert code == 0
    assert json.loads(out)["table"]["name"] == "my-club"
    code, out, _ = run("play", "ours", "--lines", "--shots", "1", text="1\n")
    assert code == 0
    assert json.loads(out.splitlines()[0])["shot"]["table"]["name"] == "my-club"
    level.write_text(LEVEL.replace("my-club", "no-such"))
    code, _, err = run("levels", "--check", str(level))
    assert code == 1
    assert f"table: 'no-such' can't be used; allowed: {', '.join(TABLES)}, my-club" in err


def test_levels_say_how_hard_they_are(run: Run) -> None:
    _, out, _ = run("levels", "--json")
    rows = json.loads(out)["levels"]
    assert all(0 < row["chance"] < 1 and row["noise"] == 0.05 for row in rows)
    assert len({row["chance"] for row in rows}) > len(rows) / 2
    _, words, _ = run("levels")
    assert words.count(" of 100\n") == len(rows)
    assert f"{rows[0]['title']}: {round(100 * rows[0]['chance'])} of 100\n" in words
    assert words.splitlines()[0] == "90 of 100: so many pot for a player who is off by about 1/20 ball."


@pytest.mark.parametrize("before", [True, False])
def test_the_data_folder_may_be_given_before_or_after_the_commands_name(
    run: Run, data: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, before: bool
) -> None:
    monkeypatch.setenv("TRAINER_DATA", str(tmp_path / "elsewhere"))
    given = ("--data", str(data))
    code, out, _ = run(*given, "tables") if before else run("tables", *given)
    assert code == 0
    assert "my-club" in out
