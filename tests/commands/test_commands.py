"""Every command, good and bad input: what it prints, how it exits, and never a traceback."""

import json
import math
import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., tuple[int, str, str]]


def lines(out: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in out.splitlines()]


PLACE = ("--cue-ball", "1000,500", "--object-ball", "2000,600", "--pocket", "top-right")

USAGE = [
    ("nonsense",),
    ("--no-such-option",),
    ("shot", "--no-such-option"),
    ("shot", "--seed", "x"),
    ("shot", "--seed", "-1"),
    ("shot", "--seed", "9" * 400),
    ("shot", "--seed", "1.5"),
    ("shot", "--seed", "0" * 25 + "9" * 25),
    ("shot", "--seed", "\u0663"),
    ("shot", "--drill", "bend"),
    ("shot", "--view", "moon"),
    ("shot", "--view", "plan", "--size", "0x5"),
    ("shot", "--view", "plan", "--size", "80"),
    ("shot", "--view", "plan", "--size", "9999999x9"),
    ("shot", "--view", "plan", "--json"),
    ("shot", "--size", "80x20"),
    ("shot", "--cue-ball", "1"),
    ("shot", "--cue-ball", "1,2,3"),
    ("shot", "--cue-ball", "a,b"),
    ("shot", "--cue-ball", "1000,500"),
    ("shot", "--seed", "1", "--pocket", "top-left"),
    ("shot", *PLACE, "--speed", "fast"),
    ("shot", *PLACE, "--speed", "nan"),
    ("shot", *PLACE, "--speed", "0"),
    ("shot", *PLACE, "--speed", "2", "--side-spin", "1.5"),
    ("shot", *PLACE, "--spin", "stun"),
    ("play", "--lines", "--shots", "0"),
    ("play", "--lines", "--shots", "1001"),
    ("play", "--lines", "--drill", "x"),
    ("play", "a", "b"),
    ("export",),
    ("import", "a.csv", "b.csv"),
    ("levels", "--check"),
    ("report", "extra"),
    ("shot", "\x1b[2J"),
]

FAILURES = [
    ("shot", "--level", "no-such-level"),
    ("shot", *PLACE, "--table", "billiard"),
    ("shot", "--cue-ball", "1000,500", "--object-ball", "2000,600", "--pocket", "top"),
    ("shot", "--cue-ball", "nan,500", "--object-ball", "2000,600", "--pocket", "top-right"),
    ("shot", "--cue-ball", "1e308,1e308", "--object-ball", "2000,600", "--pocket", "top-right"),
    ("shot", "--cue-ball", "1000,5000", "--object-ball", "2000,600", "--pocket", "top-right"),
    ("shot", "--cue-ball", "1000,500", "--object-ball", "1010,510", "--pocket", "top-right"),
    ("shot", "--cue-ball", "1000,500", "--object-ball", "2000,600", "--pocket", "baulk-left"),
    ("shot", "--cue-ball", "1000,500", "--object-ball", "200,30", "--pocket", "middle-right"),
    ("play", "--lines", "no-such-level"),
    ("play",),
    (),
    ("import", "/no/such/file.csv"),
    ("import", "/no/such/file.txt"),
    ("export", "/no/such/folder/file.csv"),
    ("export", "file.xyz"),
    ("levels", "--check", "/no/such/file.toml"),
    ("levels", "--now", "yesterday"),
    ("report", "--data", "/dev/null"),
    ("play", "--lines", "--now", "2026-01-01"),
]


@pytest.mark.parametrize("args", USAGE, ids=" ".join)
def test_a_usage_error_is_one_line_and_exits_with_2(run: Run, args: tuple[str, ...]) -> None:
    code, out, err = run(*args)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert err.strip().isprintable()


@pytest.mark.parametrize("args", FAILURES, ids=" ".join)
def test_any_other_failure_is_one_line_and_exits_with_1(run: Run, args: tuple[str, ...]) -> None:
    code, out, err = run(*args)
    assert (code, out) == (1, "")
    assert len(err.splitlines()) == 1
    assert err.strip().isprintable()


@pytest.mark.parametrize("name", ["", "play", "shot", "levels", "report", "export", "import"])
def test_every_command_has_help(run: Run, name: str) -> None:
    code, out, err = run(*filter(None, [name]), "--help")
    assert code == 0
    assert "usage: trainer" in out
    assert "--now" not in out
    assert not err


def test_the_version(run: Run) -> None:
    from trainer import __version__

    assert run("--version") == (0, f"trainer {__version__}\n", "")


@pytest.mark.parametrize("seeds", [60, pytest.param(1000, marks=pytest.mark.long)])
def test_a_drawn_shot_agrees_with_a_computation_from_balls_and_target_alone(run: Run, seeds: int) -> None:
    seen = set()
    for seed in range(1, seeds + 1):
        code, out, _ = run("shot", "--seed", str(seed), "--json")
        assert code == 0
        shot = json.loads(out)
        (cx, cy), (ox, oy), (tx, ty) = shot["cue_ball"], shot["object_ball"], shot["pocket"]["target"]
        to_pocket = math.atan2(ty - oy, tx - ox)
        far = math.sqrt(shot["table"]["cue_ball_mm"] * shot["table"]["object_ball_mm"])
        gx, gy = ox - far * math.cos(to_pocket), oy - far * math.sin(to_pocket)
        cut = math.remainder(to_pocket - math.atan2(gy - cy, gx - cx), 2 * math.pi)
        truth = shot["truth"]
        assert math.dist(truth["touching"], (gx, gy)) < 1e-9
        assert abs(truth["cut_deg"] - math.degrees(cut)) < 1e-9
        assert abs(truth["fullness"] - (1 - math.sin(abs(cut)))) < 1e-9
        assert abs(truth["offset"] - math.sin(cut)) < 1e-9
        assert truth["side"] == ("left" if cut > 0 else "right")
        seen.add(shot["pocket"]["name"])
    assert len(seen) == 6


def test_a_seed_gives_the_same_bytes_and_a_level_and_drill_are_heeded(run: Run) -> None:
    args = ("shot", "--seed", "5", "--level", "thin-cuts", "--json")
    assert run(*args) == run(*args)
    for seed in range(20):
        shot = json.loads(run("shot", "--seed", str(seed), "--level", "thin-cuts", "--json")[1])
        assert shot["level"] == "thin-cuts"
        assert 25 - 1e-9 <= abs(shot["truth"]["cut_deg"]) <= 75 + 1e-9


def test_a_given_position_is_worked_out_in_words_json_and_as_a_picture(run: Run) -> None:
    code, words, _ = run("shot", *PLACE)
    assert code == 0
    assert "degrees to the" in words
    assert "forgives" in words
    shot = json.loads(run("shot", *PLACE, "--json")[1])
    assert shot["seed"] is None
    assert shot["truth"]["throw_deg"] == 0
    assert [one["name"] for one in shot["at_speeds"]] == ["slow", "fast"]
    assert [way["spin"] for way in shot["cue_ball_ways"]] == ["stun", "natural roll"]
    assert words.count("than without throw") == 2
    assert words.count("  cue ball  ") == 3  # where it lies, and where it goes twice
    assert "at_speeds" not in json.loads(run("shot", "--seed", "1", "--json")[1])
    picture = run("shot", *PLACE, "--view", "plan", "--size", "60x20")[1]
    assert len(picture.rstrip("\n").split("\n")) == 20


def test_what_a_pot_forgives_is_said_of_the_side_that_forgives_it(run: Run) -> None:
    """Steep into a middle pocket a thick hit goes in off the far jaw, and a thin one hardly at all."""
    steep = ("--table", "pool-9", "--cue-ball", "500,430", "--object-ball", "824.7,248.8")
    steep += ("--pocket", "middle-right")
    truth = json.loads(run("shot", *steep, "--json")[1])["truth"]
    thin, thick = truth["fullness"] - truth["margin"][0], truth["margin"][1] - truth["fullness"]
    assert thick > 3 * thin
    said = re.search(r"forgives +1/(\d+) ball thick, 1/(\d+) ball thin", run("shot", *steep)[1])
    assert said is not None
    assert [1 / int(n) for n in said.groups()] == pytest.approx([thick, max(thin, 1 / 512)], rel=0.25)


def test_throw_counts_when_a_speed_is_given_and_the_ball_still_leaves_for_the_target(run: Run) -> None:
    plain = json.loads(run("shot", *PLACE, "--json")[1])["truth"]
    thrown = json.loads(run("shot", *PLACE, "--speed", "1", "--spin", "stun", "--json")[1])["truth"]
    assert thrown["throw_deg"] > 1
    # The hit must be thinner, since friction straightens the ball.
    assert thrown["fullness"] < plain["fullness"]
    faster = json.loads(run("shot", *PLACE, "--speed", "3", "--spin", "stun", "--json")[1])["truth"]
    assert faster["throw_deg"] < thrown["throw_deg"]


def test_an_impossible_request_says_what_would_be_possible(run: Run) -> None:
    _, _, err = run("shot", "--cue-ball", "1000,500", "--object-ball", "2000,600", "--pocket", "baulk-left")
    assert "possible from there: " in err
    assert "top-right" in err


def test_a_set_over_lines_and_its_report(run: Run) -> None:
    text = "rubbish\n1\n2\n\n3\nthinner\n"
    code, out, err = run("play", "--lines", "--drill", "band", "--shots", "4", "--seed", "1", text=text)
    assert (code, err) == (0, "")
    said = lines(out)
    kinds = [m["type"] for m in said]
    assert kinds == [
        *("question", "problem", "question", "mark", "question", "mark"),
        *("question", "problem", "question", "mark", "question", "mark", "summary"),
    ]
    assert [m["number"] for m in said if m["type"] == "question"] == [1, 1, 2, 3, 3, 4]
    assert said[0]["shot"] == said[2]["shot"]
    assert "truth" not in said[0]["shot"]  # type: ignore[operator]
    marks = [m for m in said if m["type"] == "mark"]
    found = json.loads(run("report", "--json")[1])
    assert found["attempts"] == len(marks) == 4
    assert said[-1]["shots"] == 4
    assert said[-1]["potted"] == sum(bool(m["potted"]) for m in marks)


def test_end_of_input_ends_a_set_in_good_order_and_it_goes_on_another_time(run: Run) -> None:
    code, out, _ = run("play", "--lines", "first-look", text="1\n1\n1\n")
    assert code == 0
    assert lines(out)[-1]["type"] == "summary"
    assert lines(out)[-1]["shots"] == 3
    again = lines(run("play", "--lines", "first-look")[1])
    assert again[0]["number"] == 4


def test_very_long_and_odd_lines_are_problems_not_failures(run: Run) -> None:
    text = "x" * 100_000 + "\n" + "\x1b[2J\x00\n" + "1\n"
    code, out, err = run("play", "--lines", "--shots", "1", text=text)
    assert (code, err) == (0, "")
    said = lines(out)
    assert [m["type"] for m in said] == [
        *("question", "problem", "question", "problem", "question", "mark", "summary")
    ]
    for problem in (said[1], said[3]):
        assert str(problem["message"]).isprintable()


def test_export_and_import_round_trip(run: Run, tmp_path: Path) -> None:
    run("play", "--lines", "--drill", "aim", "--shots", "5", "--seed", "1", text="1\n2\n3\n4\n5\n")
    for ending in ("csv", "json"):
        a, b = tmp_path / f"a.{ending}", tmp_path / f"b.{ending}"
        new = str(tmp_path / f"new-{ending}")
        assert run("export", str(a))[0] == 0
        assert run("import", str(a), "--data", new)[1] == "5 calls added, 0 were there already\n"
        assert run("import", str(a), "--data", new)[1] == "0 calls added, 5 were there already\n"
        assert run("export", str(b), "--data", new)[0] == 0
        assert a.read_bytes() == b.read_bytes()


def test_levels_are_listed_and_passed_ones_said(run: Run) -> None:
    rows = json.loads(run("levels", "--json")[1])["levels"]
    assert [r["name"] for r in rows][:2] == ["first-look", "thick-cuts"]
    assert not any(r["passed"] for r in rows)
    words = run("levels")[1]
    assert all(f" {row['name']} " in words and row["teaches"] in words for row in rows)
    assert all(f"{row['chapter']}: " in words for row in rows)


def test_own_levels_are_found_and_bad_ones_named(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "data" / "levels"
    folder.mkdir(parents=True)
    (folder / "mine.toml").write_text('title = "Mine"\nteaches = "x"\ndrill = "aim"\nplace = 1\n')
    (folder / "bad.toml").write_text('titel = "Mine"\n')
    code, out, err = run("levels")
    assert code == 0
    assert out.splitlines()[2] == "Others"
    assert out.splitlines()[3].split()[:2] == ["mine", "Mine:"]
    assert "bad.toml: titel: no such key; did you mean title?" in err
    assert run("levels", "--check", str(folder / "mine.toml"))[0] == 0
    code, _, err = run("levels", "--check", str(folder / "bad.toml"))
    assert code == 1
    assert len(err.splitlines()) == 4  # titel, and title, teaches, drill missing


def test_now_sets_the_clock(run: Run, tmp_path: Path) -> None:
    now = ("--now", "2026-07-05T03:59:00+02:00")
    run("play", "--lines", "--shots", "1", "--seed", "1", *now, text="1\n")
    run("export", str(tmp_path / "a.csv"))
    header, row = (tmp_path / "a.csv").read_text().splitlines()
    fields = dict(zip(header.split(","), row.split(","), strict=False))
    assert fields["time"] == "2026-07-05T03:59:00.000+02:00"
    assert fields["local_day"] == "2026-07-04"  # the day rolls over at four


@pytest.mark.parametrize("where", ["before", "after"])
def test_the_data_folder_and_the_clock_may_stand_before_the_command_or_after_it(
    run: Run, tmp_path: Path, where: str
) -> None:
    shared = ("--data", str(tmp_path / "other"), "--now", "2026-05-05T12:00:00+00:00")
    command = ("play", "--lines", "--shots", "1", "--seed", "1")
    args = (*shared, *command) if where == "before" else (*command, *shared)
    assert run(*args, text="1\n")[0] == 0
    assert (tmp_path / "other" / "history.sqlite3").is_file()
    assert not (tmp_path / "data").exists()
    assert run("--now", "garbage", "report")[0] == 1


def test_pipes_and_odd_names_for_an_export_are_refused_in_one_plain_line(run: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    run("play", "--lines", "--shots", "1", "--seed", "1", text="1\n")
    (tmp_path / "same.csv").symlink_to(tmp_path / "data" / "history.sqlite3")
    for args in (
        ("import", str(tmp_path / "pipe.csv")),
        ("export", str(tmp_path / "pipe.csv")),
        ("export", str(tmp_path / "same.csv")),
    ):
        code, _, err = run(*args)
        assert code == 1
        assert len(err.splitlines()) == 1
    code, out, _ = run("export", str(tmp_path / "\x1b[31mx.csv"))
    assert code == 0
    assert out.strip().isprintable()
    assert json.loads(run("report", "--json")[1])["attempts"] == 1


def test_a_shot_in_words_has_finite_numbers(run: Run) -> None:
    for seed in range(30):
        out = run("shot", "--seed", str(seed))[1]
        assert "nan" not in out
        assert "inf" not in out


def test_the_glyphs_are_shown_and_a_player_may_choose(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    code, out, _ = run("terminal")
    assert code == 0
    assert "drawn with quadrants" in out
    for name in ("plain", "halves", "quadrants", "sextants", "slanted"):
        assert f"\n{name} " in out
    monkeypatch.setenv("TRAINER_GLYPHS", "halves")
    assert "drawn with halves" in run("terminal")[1]
    view = ("shot", "--seed", "3", "--view", "down", "--size", "60x20")
    assert not set("▘▝▖▗▚▎▊▂") & set(run(*view)[1])
    assert set("▘▝▖▗▚▎▊▂") & set(run(*view, "--glyphs", "quadrants")[1])
    plain = run(*view, "--glyphs", "plain")[1]
    assert all(c.isascii() for c in plain)
    monkeypatch.setenv("TRAINER_GLYPHS", "octopus")
    code, _, err = run("terminal")
    assert code == 1
    assert err.count("\n") == 1
    assert "allowed: plain, halves" in err
    assert run("shot", "--seed", "1", "--glyphs", "halves")[0] == 2


def test_a_level_with_a_problem_is_named_with_it_and_not_called_unknown(run: Run, tmp_path: Path) -> None:
    levels = tmp_path / "own" / "levels"
    levels.mkdir(parents=True)
    (levels / "mine.toml").write_text('title = "Mine"\nteaches = "x"\ndrill = "band"\nplace = -1\n')
    code, _, err = run("--data", str(tmp_path / "own"), "shot", "--level", "mine")
    assert code == 1
    assert "mine.toml: place: -1 can't be used; allowed" in err
    assert err.count("\n") == 1


def test_a_place_that_begins_with_a_minus_is_read_as_a_place(run: Run) -> None:
    where = ("--object-ball", "2000,600", "--pocket", "top-right")
    code, _, err = run("shot", "--cue-ball", "-5,600", *where)
    assert code == 1
    assert "the cue ball at -5,600 is not on the table" in err
