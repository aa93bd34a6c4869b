"""``trainer notebook``, and notes in export, import and report."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., tuple[int, str, str]]


def test_a_note_is_added_listed_and_taken_back(run: Run) -> None:
    assert run("notebook", "1/2", "left", "thick", "far") == (
        0,
        "noted: 1/2 to the left, missed thick, far, snooker (1 note)\n",
        "",
    )
    assert run("notebook", "thinner", "right", "potted", "--table", "pool-9")[1] == (
        "noted: thinner than 1/8 to the right, potted, far, pool-9 (2 notes)\n"
    )
    assert run("notebook", "0.4", "left", "thin", "near")[1] == (
        "noted: 0.4 to the left, missed thin, near, pool-9 (3 notes)\n"
    )
    code, out, err = run("notebook", "--list")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert [line.split("  ")[2] for line in lines[:3]] == [
        "1/2 to the left, missed thick, far",
        "thinner than 1/8 to the right, potted, far",
        "0.4 to the left, missed thin, near",
    ]
    sides = "misses to the right can tell your eye from your stroke"
    assert lines[3:5] == ["3 notes", f"  1 thick and 1 thin over all shots: {sides}."]
    assert lines[5] == "  1/2 and 3/8 left: 1 thick, 1 thin, 0 potted"
    assert run("notebook", "--undo") == (0, "taken back: 0.4 to the left, missed thin, near, pool-9\n", "")
    assert run("notebook", "--list")[1].splitlines()[2] == "2 notes"
    assert [run("notebook", "--undo")[0] for _ in range(3)] == [0, 0, 1]
    assert run("notebook", "--undo")[2] == "trainer: there is no note to take back\n"
    assert run("notebook", "--list")[1] == "no notes yet; add one, as: trainer notebook half left thick far\n"


def test_a_position_says_the_kind(run: Run) -> None:
    where = ("--table", "pool-9", "--cue-ball", "900,500", "--object-ball", "1600,420")
    code, out, _ = run("notebook", "thick", *where, "--pocket", "top-right", "--json")
    note = json.loads(out)
    shot = json.loads(run("shot", *where, "--pocket", "top-right", "--json")[1])
    assert code == 0
    assert note["fullness"] == pytest.approx(shot["truth"]["fullness"], abs=1e-8)
    assert (note["called"], note["side"]) == (shot["truth"]["band"], shot["truth"]["side"])
    assert (note["cue_ball"], note["object_ball"], note["pocket"]) == ([900, 500], [1600, 420], "top-right")
    assert run("notebook", "thin", *where)[0] == 0


def test_json_for_scripts(run: Run) -> None:
    made = json.loads(
        run("notebook", "3/8", "right", "thin", "middle", "--json", "--now", "2026-03-01T02:00+01:00")[1]
    )
    assert (made["time"], made["local_day"]) == ("2026-03-01T02:00:00.000+01:00", "2026-02-28")
    found = json.loads(run("notebook", "--json")[1])
    assert found["notes"] == [made]
    (row,) = found["table"]
    assert (row["kind"], row["side"], row["thin"], row["verdict"]) == (
        *("1/2 and 3/8", "right"),
        *(1, "not enough yet"),
    )
    assert json.loads(run("report", "--json")[1])["table"] == found["table"]
    out = run("report")[1]
    sides = "misses to the left can tell your eye from your stroke"
    assert (
        f"At the table:\n  0 thick and 1 thin over all shots: {sides}.\n  1/2 and 3/8 right: 0 thick" in out
    )
    assert json.loads(run("notebook", "--undo", "--json")[1])["id"] == made["id"]
    assert json.loads(run("notebook", "--json")[1]) == {"notes": [], "table": [], "table_causes": []}
    assert "At the table" not in run("report")[1]


def test_the_keys_of_the_screen_and_first_letters_are_understood(run: Run) -> None:
    assert (
        run("notebook", "4/8", "L", "n", "f")[1]
        == "noted: 1/2 to the left, missed thin, far, snooker (1 note)\n"
    )
    assert (
        run("notebook", "Half", "r", "P", "NEAR")[1]
        == "noted: 1/2 to the right, potted, near, snooker (2 notes)\n"
    )
    assert (
        run("notebook", "0.7", "r", "t")[1]
        == "noted: 0.7 to the right, missed thick, near, snooker (3 notes)\n"
    )


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("most", "left", "thick"), 1, "'most' is no fullness; allowed: full, 7/8, 3/4, 5/8, 1/2, 3/8, 1/4"),
        (("1/2", "up", "thick"), 1, "side 'up'; allowed: left, right"),
        (("1/2", "left", "missed"), 1, "result 'missed'; allowed: potted, thick, thin"),
        (
            ("1/2", "left", "thick", "away"),
            1,
            "'away' is neither distance nor pace; allowed: near, middle, far; ",
        ),
        (
            ("1/2", "left"),
            1,
            "2 words; allowed: fullness, side, result and maybe the distance",
        ),
        (("1/2", "left", "thick", "far", "near"), 1, "'near': the distance is said twice; allowed: once"),
        (("1/2", "left", "thick", "far", "slow", "x"), 1, "6 words; allowed: "),
        (("1/2", "l", "p", ",", "thin", "l", "z"), 1, "note 2: result 'z'; allowed: potted, thick, thin"),
        (
            ("1/2", "left", "thick", "--table", "billiards"),
            1,
            "no table is called 'billiards'; tables:",
        ),
        (("--table", "snooker"), 2, "--table goes with a note"),
        (("--undo", "--list"), 2, "--undo takes the last note back; give it alone"),
        (("--undo", "1/2", "left", "thick"), 2, "--undo takes the last note back; give it alone"),
        (("--list", "1/2", "left", "thick"), 2, "--list and a note: give one of them"),
        (("thick", "--cue-ball", "900,500"), 2, "a position needs --cue-ball and --object-ball"),
        (("thick", "--pocket", "top-left"), 2, "a position needs --cue-ball and --object-ball"),
        (
            ("1/2", "left", "thick", "--cue-ball", "900,500", "--object-ball", "1600,420"),
            2,
            "with the balls laid down only the result is to be said",
        ),
        (
            ("thick", "--cue-ball", "900,500", "--object-ball", "900,510"),
            1,
            "the balls overlap or touch",
        ),
        (
            ("thick", "--cue-ball", "900,500", "--object-ball", "1600,420", "--pocket", "bag"),
            1,
            "no pocket is called 'bag'",
        ),
        (
            (),
            1,
            "the game needs a terminal for input and output; for scripts there is: trainer notebook",
        ),
    ],
)
def test_what_is_wrong_is_said_in_one_line_and_nothing_noted(
    run: Run, args: tuple[str, ...], code: int, said: str
) -> None:
    found = run("notebook", *args)
    assert (found[0], found[1]) == (code, "")
    assert found[2].startswith("trainer")
    assert said in found[2]
    assert found[2].count("\n") == 1
    assert json.loads(run("notebook", "--json")[1])["notes"] == []


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_notes_go_out_and_in_the_same(run: Run, tmp_path: Path, ending: str) -> None:
    run("notebook", "1/2", "left", "thick", "far")
    run("notebook", "1/4", "right", "thin")
    run("notebook", "--undo")
    first, second = (str(tmp_path / f"{name}.{ending}") for name in ("a", "b"))
    other = ("--data", str(tmp_path / "other"))
    assert run("export", first, "--notes") == (0, f"3 notes written to {first}\n", "")
    assert run("import", first, "--notes", *other)[1] == "3 notes added, 0 were there already\n"
    assert run("import", first, "--notes", *other)[1] == "0 notes added, 3 were there already\n"
    run("export", second, "--notes", *other)
    assert Path(first).read_bytes() == Path(second).read_bytes()
    assert run("notebook", "--list", *other)[1] == run("notebook", "--list")[1]
    assert run("export", second)[1] == f"0 calls written to {second}\n"
    code, _, err = run("import", first)
    assert code == 1
    assert "these are notes; import them with --notes" in err
