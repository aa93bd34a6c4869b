"""``trainer card``: read back from what it prints, by a computation of its own."""

import cmath
import json
import math
import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from laid_out import Pace, blocks, named, placed, sine

from trainer.geometry.fullness import bands
from trainer.geometry.tables import TABLES, Table
from trainer.levels.table_file import read_table

Run = Callable[..., tuple[int, str, str]]

OWN = """
title = "The room at the back"
like = "pool-7"
[size]
length_mm = 1900
width_mm = 1000
[balls]
object_mm = 57
cue_mm = 60
[corner]
mouth_mm = 118
rounding_mm = 8
[middle]
mouth_mm = 131
[marks]
spots_mm = [[400, 500], [1500, 500]]
"""
KINDS = ("full", "3/4 left", "1/2 right", "3/8 left", "1/8 right", "thinner left")
SEES = ("--days", "2", "--shots", "60", "--bump", "+1/6", "--noise", ".03", "--drill", "aim")
NOW = ("--now", "2026-03-01T12:00:00+00:00")


@pytest.fixture(autouse=True)
def _tables(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "own" / "tables").mkdir(parents=True)
    (tmp_path / "own" / "tables" / "back-room.toml").write_text(OWN)
    monkeypatch.setenv("TRAINER_DATA", str(tmp_path / "own"))


def table_called(name: str) -> Table:
    own = read_table(OWN, "back-room", "x")
    return own if name == own.name else TABLES[name]


@pytest.mark.parametrize(
    ("name", "unit"),
    [("snooker", "mm"), ("back-room", "in")],  # the others below
)
def test_the_printed_numbers_alone_give_the_named_fullness(run: Run, name: str, unit: str) -> None:
    table = table_called(name)
    inches = ("--inches",) if unit == "in" else ()
    code, out, err = run("card", "--table", name, "--kinds", *KINDS, "--seed", "5", *inches, *NOW)
    assert (code, err) == (0, "")
    within = 1 / int(re.search(r"within 1/(\d+) ball", " ".join(out.split()))[1])
    assert within <= 1 / 64
    assert max(map(len, out.splitlines())) <= 80
    head = re.match(r"Practice card 1: (.+), ([\d. /]+) x ([\d. /]+) (mm|in), 2026-03-01\n", out)
    assert head[1] == table.title
    assert head[4] == unit
    found = blocks(out)
    assert [one["kind"] for one in found] == list(KINDS)
    chance = random.Random(name)
    for one in found:
        right(one, table, within, chance, 200)


# Each table in one unit in the slow tests; the other is only another way to print, and among the long ones.
@pytest.mark.parametrize(
    ("name", "unit"),
    [
        pytest.param(name, ("in", "mm")[i % 2], marks=[pytest.mark.slow, pytest.mark.long][i // 2])
        for k, name in enumerate([*TABLES, "back-room"])
        for i in (k % 2, 3 - k % 2)
    ],
)
def test_every_kind_on_every_table(run: Run, name: str, unit: str) -> None:
    table, chance = table_called(name), random.Random(name)
    every = [band.name for band in bands()]
    inches = ("--inches",) if unit == "in" else ()
    code, out, _ = run("card", "--table", name, "--kinds", *every, "--count", "34", "--seed", "0", *inches)
    assert code == 0
    found = blocks(out)
    assert len({(one["kind"], one["cue ball"], one["object ball"]) for one in found}) == 34
    for one in found:
        right(one, table, 1 / 100, chance, 60)


def right(one: dict[str, str], table: Table, within: float, chance: random.Random, slips: int) -> None:
    """A layout is what it says by its numbers alone, also when the balls are put a little wrong."""
    cue, ball = placed(one["cue ball"], table), placed(one["object ball"], table)
    pace = Pace.of(one["played"])
    true = sine(table, cue, ball, one["pocket"], pace)
    fullness = 1 - abs(true)
    assert abs(fullness - named(one["kind"])) <= within, one
    if " " in one["kind"]:
        assert one["kind"].endswith("left" if true > 0 else "right")
    said = re.fullmatch(
        r"([\d.]+), cut ([\d.]+) degrees; with both balls up to (5 mm|3/16 in) off "
        r"it changes by less than ([\d.]+)",
        one["fullness"],
    )
    assert said, one["fullness"]
    assert abs(float(said[1]) - fullness) < 0.0015
    assert abs(float(said[2]) - math.degrees(math.asin(abs(true)))) < 0.3
    for _ in range(slips):
        moves = [5 * math.sqrt(chance.random()) * cmath.exp(2j * math.pi * chance.random()) for _ in "cb"]
        moved = sine(table, cue + moves[0], ball + moves[1], one["pocket"], pace)
        assert abs(abs(moved) - abs(true)) < float(said[4])
    assert float(said[4]) < 1 / 16
    drawn(one, table, cue, ball)


def drawn(one: dict[str, str], table: Table, cue: complex, ball: complex) -> None:
    """The plan in characters has the balls and the pocket where they are."""
    rows = one["plan"].splitlines()
    assert len({len(row) for row in rows}) == 1
    wide, high = len(rows[0]) - 2, len(rows) - 2

    def at(sign: str) -> complex:
        places = [(row.index(sign), i) for i, row in enumerate(rows) if sign in row]
        assert len(places) == 1
        x, y = places[0]
        return complex((x - 0.5) / wide * table.length, (1 - (y - 0.5) / high) * table.width)

    for sign, place in (("C", cue), ("O", ball)):
        off = at(sign) - place
        assert abs(off.real) <= 0.51 * table.length / wide
        assert abs(off.imag) <= 0.51 * table.width / high
    end, side = one["pocket"].split("-")
    hole = at("@")
    assert abs(hole.real - {"baulk": 0, "middle": table.length / 2, "top": table.length}[end]) < 60
    assert abs(hole.imag - (table.width if side == "left" else 0)) < 120
    assert one["boxes"].count("[ ]") == 15
    assert re.findall("potted|thick|thin", one["boxes"]) == ["potted", "thick", "thin"]


def test_a_seed_gives_its_card_again_and_another_gives_another(run: Run) -> None:
    asked = ("card", "--table", "pool-9", "--kinds", "1/2 left", "1/4", "--count", "4", *NOW)
    first, again, other = (run(*asked, "--seed", seed)[1] for seed in ("1", "1", "2"))
    assert first == again != other
    found = blocks(first)
    assert [one["kind"] for one in found] == ["1/2 left", "1/4 left", "1/4 right", "1/2 left"]
    assert found[0]["object ball"] != found[3]["object ball"]
    assert first.rstrip().endswith("--seed 1")


def test_without_a_history_the_kinds_are_spread(run: Run) -> None:
    code, out, _ = run("card", "--seed", "1")
    assert code == 0
    assert [one["kind"] for one in blocks(out)] == ["3/4 left", "1/2 right", "1/4 left", "3/8 right"]


def test_with_a_history_they_are_the_players_weak_ones(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = str(tmp_path / "player")
    assert run("simulate", "--into", data, *SEES, "--seed", "3")[0] == 0
    report = json.loads(run("--data", data, "report", "--json")[1])
    told = [row for row in report["bands"] if row["verdict"] in ("thick", "thin")]
    assert told
    worst = max(told, key=lambda row: abs(row["bias"]))
    code, out, _ = run("card", "--data", data, "--seed", "1", "--count", str(len(told)))
    assert code == 0
    kinds = [one["kind"] for one in blocks(out)]
    assert kinds[0] == f"{worst['band']} {worst['side']}"
    assert set(kinds) == {f"{row['band']} {row['side']}" for row in told}


def test_the_card_as_json(run: Run) -> None:
    code, out, err = run("card", "--kinds", "1/2 left", "--seed", "4", "--json", *NOW)
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert (found["day"], found["seed"], found["unit"]) == ("2026-03-01", 4, "mm")
    (one,) = found["layouts"]
    assert one["kind"] == "1/2 left"
    assert abs(one["shot"]["truth"]["fullness"] - 0.5) <= found["within"]
    assert one["shot"]["stroke"] == {"speed_m_s": 1.4, "roll": 1.0, "side_spin": 0.0}
    played, low, high = one["played"], *one["shot"]["truth"]["margin"]
    assert played["forgives"] == pytest.approx({"thick": high - 0.5, "thin": 0.5 - low}, abs=1e-9)
    without = 1 - sine(TABLES["snooker"], *(complex(*one["shot"][at]) for at in ("cue_ball", "object_ball")),
                       one["shot"]["pocket"]["name"])  # fmt: skip
    assert played["without_throw"]["fullness"] == pytest.approx(without, abs=1e-5)
    assert played["thinner"] == pytest.approx(without - one["shot"]["truth"]["fullness"], abs=1e-5)
    assert [pace["name"] for pace in played["paces"]] == ["slow", "medium", "fast"]
    assert all(pace["pots"] for pace in played["paces"] if pace["reaches"])
    assert complex(*one["shot"]["cue_ball"]) == pytest.approx(
        placed(one["said"]["cue ball"], TABLES["snooker"]), abs=0.08
    )


def test_a_table_that_counts_throw_counts_it_here_too(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "own" / "tables" / "thrown.toml"
    file.write_text('title = "Thrown"\nlike = "pool-8"\n[stroke]\nspeed = 1.0\n')
    code, out, _ = run("card", "--table", "thrown", "--kinds", "1/2 left", "--seed", "2", "--json")
    assert code == 0
    said = json.loads(out)["layouts"][0]["shot"]
    assert said["truth"]["throw_deg"] > 1
    assert abs(said["truth"]["fullness"] - 0.5) < 0.01
    without = sine(
        TABLES["pool-8"], complex(*said["cue_ball"]), complex(*said["object_ball"]), said["pocket"]["name"]
    )
    # Without throw the ball would have to be hit fuller by the throw, as far as the balls are apart.
    assert math.degrees(math.asin(without)) + said["truth"]["throw_deg"] == pytest.approx(
        said["truth"]["cut_deg"], abs=0.6
    )
    assert "1 m/s, natural roll" in " ".join(
        run("card", "--table", "thrown", "--kinds", "1/2 left", "--seed", "2")[1].split()
    )


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--kinds", "3/9 right"), "'3/9': allowed are fullnesses (full, 7/8"),
        (("--kinds", "left"), "'left': allowed are fullnesses"),
        (("--kinds", "1/2 left right"), "'right': allowed are fullnesses"),
        (("--kinds", ""), "names no kind of shot; allowed is a fullness and a side"),
        (("--kinds",), "expected at least one argument"),
        (("--kinds", "1/2\x1b[2J"), "allowed are fullnesses"),
        (("--count", "0"), "allowed is a whole number from 1 to 48"),
        (("--count", "49"), "allowed is a whole number from 1 to 48"),
        (("--seed", "-1"), "allowed is a whole number from 0"),
        (("--paper", "a4"), "--paper needs --svg"),
        (("--paper", "a3", "--svg", "x.svg"), "invalid choice: 'a3'"),
        (("--svg", "card.pdf"), "--svg 'card.pdf': allowed is a file name that ends in .svg"),
        (("--svg", ""), "allowed is a file name that ends in .svg"),
        (("--svg", "x.svg", "--json"), "--json and --svg: give one of them"),
    ],
)
def test_bad_options_are_refused_in_one_line(run: Run, args: tuple[str, ...], said: str) -> None:
    code, out, err = run("card", *args)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert said in err
    assert "\x1b" not in err


def test_a_table_that_is_not_there_and_a_folder_that_is_not_there(run: Run, tmp_path: Path) -> None:
    code, out, err = run("card", "--table", "nine-ball")
    assert (code, out) == (1, "")
    assert "no table is called 'nine-ball'; tables: snooker" in err
    code, out, err = run("card", "--seed", "1", "--svg", str(tmp_path / "none" / "card.svg"))
    assert (code, out) == (1, "")
    assert err.count("\n") == 1
    assert "none/card.svg: there is no folder" in err


def test_a_table_without_room_for_so_many_says_so(run: Run, tmp_path: Path) -> None:
    tiny = "[size]\nlength_mm = 1200\nwidth_mm = 600\n[balls]\nobject_mm = 75\n[corner]\nmouth_mm = 110\n"
    file = tmp_path / "own" / "tables" / "tiny.toml"
    file.write_text('title = "Tiny"\nlike = "pool-7"\n' + tiny + "[middle]\nmouth_mm = 120\n")
    code, out, err = run("card", "--table", "tiny", "--kinds", "full", "--count", "48", "--seed", "1")
    assert (code, out) == (1, "")
    assert err.count("\n") == 1
    assert re.search(r"only \d+ different layouts of full to be had on tiny from round numbers", err)
