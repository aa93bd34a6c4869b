"""A player's own table: read from a file, checked whole, and played on by levels."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from hypothesis import strategies as st
from laws import law
from openings import drops

from trainer.geometry.aiming import Stroke
from trainer.geometry.tables import POCKETS, TABLES, Table
from trainer.levels.level import narrowed
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf
from trainer.levels.table_file import KEYS, read_table, read_table_file
from trainer.levels.toml_reader import FileError
from trainer.shots.draw import draw, even_offsets
from trainer.shots.shot import Limits
from trainer.shots.truth import work_out

GOOD = """
title = "The club's third table"
like = "pool-9"

[size]
length_mm = 2500
width_in = 49.5

[balls]
object_mm = 57.2
cue_mm = 58
object_g = 165
cue_g = 170

[marks]
baulk_mm = 640
d_radius_mm = 200
spots_mm = [[625, 628], [1875, 628]]

[corner]
mouth_in = 4.75
facing = 141
depth_mm = 30
rounding_mm = 4

[middle]
mouth_mm = 130
facing = 103
depth_in = 0.25
rounding_mm = 5

[pockets]
jaw_help = "near"

[stroke]
speed = 1.4
spin = "stun"
side_spin = -0.25
"""

LEVEL = """
title = "On ours"
teaches = "Something."
drill = "aim"
table = "{table}"
[shots]
cuts = [5, 60]
"""


def problems(text: str, name: str = "mine") -> list[str]:
    with pytest.raises(FileError) as caught:
        read_table(text, name, f"{name}.toml")
    return caught.value.problems


def test_a_table_is_what_its_file_says() -> None:
    table = read_table(GOOD, "mine", "mine.toml")
    assert (table.name, table.title) == ("mine", "The club's third table")
    assert table.size == (2500, pytest.approx(49.5 * 25.4))
    balls = table.balls
    assert (balls.cue_radius, balls.object_radius) == (29, pytest.approx(28.6))
    assert (balls.cue_mass, balls.object_mass) == (170, 165)
    assert (table.baulk, table.d_radius, table.spots) == (640, 200, ((625, 628), (1875, 628)))
    assert (table.corner, table.middle) == (pytest.approx(4.75 * 25.4), 130)
    corner, middle = table.corner_jaw, table.middle_jaw
    assert (corner.facing, corner.depth, corner.rounding) == (141, 30, 4)
    assert (middle.facing, middle.depth, middle.rounding) == (103, pytest.approx(6.35), 5)
    assert table.help == "near"
    assert table.stroke == Stroke(1.4, 0.0, -0.25)


@pytest.mark.parametrize("like", TABLES)
def test_what_is_left_out_is_as_on_the_table_it_is_like(like: str) -> None:
    table = read_table(f'title = "Ours"\nlike = "{like}"', "mine", "mine.toml")
    for field in dataclasses.fields(Table):
        if field.name not in ("name", "title", "balls"):
            assert getattr(table, field.name) == getattr(TABLES[like], field.name), field.name
    for field in dataclasses.fields(table.balls):
        assert getattr(table.balls, field.name) == pytest.approx(
            getattr(TABLES[like].balls, field.name), rel=1e-12
        )
    assert read_table('title = "Ours"', "mine", "mine.toml").size == TABLES["snooker"].size


def test_marks_and_balls_follow_in_proportion() -> None:
    text = 'title = "Half"\nlike = "snooker"\n[size]\nlength_mm = 1784.5\nwidth_mm = 889'
    table, like = read_table(text, "mine", "mine.toml"), TABLES["snooker"]
    assert table.baulk == pytest.approx(like.baulk / 2)
    assert table.d_radius == pytest.approx(like.d_radius / 2)
    np.testing.assert_allclose(table.spots, np.array(like.spots) / 2)
    text = 'title = "Small"\nlike = "small-ball"\n[balls]\nobject_mm = 45.72\n[corner]\nmouth_mm = 80'
    balls, usual = read_table(text, "mine", "mine.toml").balls, TABLES["small-ball"].balls
    assert balls.cue_radius == pytest.approx(usual.cue_radius * 0.9)
    assert balls.object_mass == pytest.approx(usual.object_mass * 0.9**3)
    assert balls.cue_mass == pytest.approx(usual.cue_mass * 0.9**3)


@pytest.mark.parametrize(
    ("stroke", "meant"),
    [
        ("", None),
        ("[stroke]\nspeed = 2", Stroke(2.0, 1.0, 0.0)),
        ("[stroke]\nthrow = false\nspeed = 2\nside_spin = 1", None),
        ('[stroke]\nthrow = true\nspeed = 0.5\nspin = "stun"', Stroke(0.5, 0.0, 0.0)),
    ],
)
def test_a_stroke_counts_where_a_speed_is_given_or_throw_says_so(stroke: str, meant: Stroke | None) -> None:
    assert read_table(f'title = "Ours"\n{stroke}', "mine", "mine.toml").stroke == meant


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('title = "The club\'s third table"', "", "title", "missing; allowed: a line of 1 to 48"),
        ('like = "pool-9"', 'like = "pool"', "like", "allowed: snooker, pool-9"),
        ('like = "pool-9"', "like = 9", "like", "9 can't be used"),
        ('like = "pool-9"', "replaces = true", "replaces", "mine is no built-in table"),
        ('like = "pool-9"', "replaces = 1", "replaces", "true or false"),
        ("length_mm = 2500", "length_mm = 250", "size.length_mm", "a number of mm from 1200 to 4200"),
        ("length_mm = 2500", "length_mm = nan", "size.length_mm", "from 1200"),
        ("length_mm = 2500", "length_mm = true", "size.length_mm", "from 1200"),
        ("length_mm = 2500", 'length_mm = "2500"', "size.length_mm", "'2500' can't be used"),
        ("length_mm = 2500", "length_mm = 1" + "0" * 4000, "size.length_mm", "from 1200"),
        (
            "length_mm = 2500\nwidth_in = 49.5",
            "length_mm = 2000\nwidth_mm = 2100",
            "size",
            "2100 mm wide, 2000 mm long",
        ),
        ("length_mm = 2500", "length_mm = 2500\nlength_in = 98", "size.length_in", "one of the two"),
        ("length_mm = 2500", "length = 2500", "size.length", "did you mean length_"),
        ("width_in = 49.5", "width_in = 4950", "size.width_in", "inches from 23.63 to 86.61"),
        ("object_mm = 57.2", "object_mm = 5.72", "balls.object_mm", "30 to 75"),
        ("cue_mm = 58", "cue_mm = 30", "balls", "1.91 times as wide as the other; allowed: up to 1.5"),
        ("object_g = 165", "object_g = 0.165", "balls.object_g", "a number of grams from 40 to 300"),
        ("baulk_mm = 640", "baulk_mm = 2600", "marks.baulk_mm", "0 to 2500"),
        ("d_radius_mm = 200", "d_radius_mm = 629", "marks.d_radius_mm", "from 0 to 628.65"),
        ("baulk_mm = 640", "baulk_mm = 150", "marks.d_radius", "reaches past the baulk cushion"),
        ("[[625, 628], [1875, 628]]", "[[625, 1628]]", "marks.spots_mm", "y from 0 to 1257.3"),
        ("[[625, 628], [1875, 628]]", "[625, 628]", "marks.spots_mm", "points [x, y] in mm"),
        ("[[625, 628], [1875, 628]]", "[[625, 628, 1]]", "marks.spots_mm", "points [x, y] in mm"),
        ("[[625, 628], [1875, 628]]", f"{[[1, 1]] * 13}", "marks.spots_mm", "up to 12 points"),
        ("mouth_in = 4.75", "mouth_in = 47.5", "corner.mouth_in", "inches from 1.58 to 9.84"),
        ("mouth_in = 4.75", "mouth_mm = 57", "corner", "too wide to drop cleanly"),
        ("facing = 141", "facing = 95", "corner.facing", "115 to 160"),
        ("facing = 103", "facing = 141", "middle.facing", "75 to 125"),
        ("depth_mm = 30", "depth_mm = -1", "corner.depth_mm", "0 to 100"),
        ("facing = 141\ndepth_mm = 30", "facing = 160\ndepth_mm = 90", "corner", "too wide to drop"),
        ("rounding_mm = 5", "rounding_mm = inf", "middle.rounding_mm", "0 to 150"),
        ("[middle]", "[qqq]", "qqq", "allowed here: title"),
        ("[pockets]", "[pocket]", "pocket", "did you mean pockets?"),
        ('jaw_help = "near"', "jaw_help = true", "pockets.jaw_help", "none, near, both"),
        ("speed = 1.4", "speed = 140", "stroke.speed", "m/s from 0.05 to 15"),
        ("speed = 1.4", "throw = true", "stroke.speed", "missing"),
        ("speed = 1.4\n", "", "stroke.side_spin", "with stroke.speed beside it"),
        ('spin = "stun"', 'spin = "top"', "stroke.spin", "stun, roll"),
        ("side_spin = -0.25", "side_spin = 2", "stroke.side_spin", "-1 to 1"),
        ("[stroke]", "stroke = 1\n[x]", "x", "allowed here"),
    ],
)
def test_a_bad_key_is_answered_with_file_key_what_is_wrong_and_what_is_allowed(
    old: str, new: str, key: str, said: str
) -> None:
    assert old in GOOD
    found = problems(GOOD.replace(old, new, 1))
    assert any(p.startswith(f"mine.toml: {key}: ") and said in p for p in found), found
    assert all(p.isprintable() for p in found)


def test_pockets_that_eat_up_their_cushions_are_refused() -> None:
    text = 'title = "x"\n[size]\nlength_mm = 1200\nwidth_mm = 600\n{}\n'
    assert read_table(text.format(""), "mine", "mine.toml").length == 1200
    # A rounding takes its radius times tan(half the turn of the rubber) off the cushion.
    corner = 250 / 2**0.5 + 150 * np.tan(np.radians(65) / 2)
    wide = "[corner]\nmouth_mm = 250\nfacing = 115\nrounding_mm = 150\n"
    middle = 125 + 150 * np.tan(np.radians(105) / 2)
    (said,) = problems(text.format(wide + "[middle]\nmouth_mm = 250\nfacing = 75\nrounding_mm = 150"))
    assert f"corner: the pockets take {corner + middle:.0f} of 600 mm of the long cushions" in said
    (said,) = problems(text.format(wide + "[balls]\nobject_mm = 60"))
    assert f"corner: the pockets take {2 * corner:.0f} of 600 mm of the short cushions" in said


def test_all_problems_are_named_at_once() -> None:
    text = GOOD.replace("2500", "-1").replace("= 58", '= "58"').replace("141", "0").replace("1.4", "0")
    found = problems(text.replace("spots_mm", "spots"))
    for key in ("size.length_mm", "balls.cue_mm", "corner.facing", "stroke.speed", "marks.spots"):
        assert any(f": {key}: " in p for p in found), (key, found)


@pytest.mark.parametrize("text", ["title = ", "\x00", "x = " + "[" * 5000, "x = 1" + "0" * 5000])
def test_what_is_not_toml_says_so(text: str) -> None:
    found = problems(text)
    assert any("not TOML" in p or "no such key" in p for p in found)
    assert all(p.isprintable() for p in found)


def leaves() -> list[str]:
    keys = [f"{section}.{key}" if section else key for section, inner in KEYS.items() for key in inner]
    return [key for key in keys if key not in KEYS]


VALUES = st.one_of(
    st.floats(),
    st.integers(-(10**30), 10**30),
    st.booleans(),
    st.text(max_size=8),
    st.sampled_from(["none", "near", "both", "stun", "roll", "snooker"]),
    st.lists(st.one_of(st.integers(0, 3000), st.lists(st.floats(0, 3000), max_size=3)), max_size=3),
)


@law(st.dictionaries(st.sampled_from(leaves()), VALUES, max_size=5), some=40, many=150)
def test_whatever_a_file_holds_it_gives_a_table_or_problems(data: dict[str, object]) -> None:
    text = "\n".join(f"{key} = {toml(value)}" for key, value in {"title": "x", **data}.items())
    found: list[str] = []
    try:
        table = read_table(text, "mine", "mine.toml")
    except FileError as error:
        found = error.problems or [""]
    assert all(p.startswith("mine.toml: ") and p.isprintable() for p in found)
    if not found:
        assert len(draw(np.random.default_rng(1), 3, Limits(table, (0.0, 50.0), cue_distance=(100.0, 500.0))))


def toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return (
            '"' + "".join(f"\\U{ord(c):08X}" if not 0xD800 <= ord(c) <= 0xDFFF else "" for c in value) + '"'
        )
    if isinstance(value, list):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    return repr(value)


# --- On the shelf -----------------------------------------------------------------------------------


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path]:
    levels, tables = tmp_path / "levels", tmp_path / "tables"
    levels.mkdir()
    tables.mkdir()
    return levels, tables


def test_own_tables_stand_beside_the_built_in_ones(folders: tuple[Path, Path]) -> None:
    levels, tables = folders
    (tables / "my-club.toml").write_text(GOOD)
    (tables / "broken.toml").write_text("title = 1")
    (tables / "notes.txt").write_text("no table")
    (levels / "ours.toml").write_text(LEVEL.format(table="my-club"))
    (levels / "lost.toml").write_text(LEVEL.format(table="my-clib"))
    before = dict(TABLES)
    shelf = open_shelf(levels, tables)
    assert list(shelf.tables) == [*TABLES, "my-club"]
    assert shelf.tables.keys() - TABLES.keys() == {"my-club"}
    assert shelf.find("ours").limits.table == read_table_file(tables / "my-club.toml")
    assert any("broken.toml: title: 1 can't be used" in p for p in shelf.problems)
    lost = [p for p in shelf.problems if "lost.toml" in p]
    assert len(lost) == 1
    assert f"table: 'my-clib' can't be used; allowed: {', '.join(TABLES)}, my-club" in lost[0]
    assert before == TABLES  # nothing is kept anywhere but on the shelf
    assert dict(open_shelf().tables) == TABLES
    with pytest.raises(FileError):
        read_level(LEVEL.format(table="my-club"), "ours", "ours.toml")


def test_a_built_in_table_is_replaced_only_by_a_file_that_says_so(folders: tuple[Path, Path]) -> None:
    _, tables = folders
    (tables / "snooker.toml").write_text('title = "Ours"\n[corner]\nmouth_mm = 89')
    shelf = open_shelf(None, tables)
    assert shelf.tables["snooker"] is TABLES["snooker"]
    (said,) = shelf.problems
    assert "replaces: snooker is the name of a built-in table; allowed: true for" in said
    (tables / "snooker.toml").write_text('title = "Ours"\nreplaces = true\n[corner]\nmouth_mm = 89')
    shelf = open_shelf(None, tables)
    assert not shelf.problems
    assert (shelf.tables["snooker"].corner, shelf.tables["snooker"].length) == (89, 3569)
    assert shelf.find("eighths").limits.table.title == "Ours"
    assert shelf.find("any-pocket-pool").limits.table is TABLES["pool-9"]


# --- Playing on it ----------------------------------------------------------------------------------

STROKES = [
    Stroke(0.4, 0.0, 0.0),
    Stroke(1.0, 1.0, 0.0),
    Stroke(2.5, 0.0, 0.5),
    Stroke(1.5, 1.0, -1.0),
]


@pytest.mark.parametrize("stroke", STROKES, ids=str)
@pytest.mark.parametrize("name", ["snooker", "small-ball"])
def test_shots_on_a_table_with_throw_have_just_the_offset_asked_for(name: str, stroke: Stroke) -> None:
    table = dataclasses.replace(TABLES[name], stroke=stroke)
    limits = Limits(table, cuts=(0.0, 60.0), cue_distance=(250.0, 900.0), pocket_distance=(150.0, 800.0))
    offsets = even_offsets(np.random.default_rng(0), 300, limits)
    shots = draw(np.random.default_rng(1), 300, limits, offsets)
    assert shots.stroke == stroke
    truths = work_out(shots)
    np.testing.assert_allclose(truths.offset, offsets, atol=1e-9)
    assert truths.can_pot.all()
    assert np.abs(truths.throw).max() > 1e-3


def test_counting_throw_moves_the_aim_thinner_than_the_line_to_the_pocket() -> None:
    table = dataclasses.replace(TABLES["snooker"], stroke=Stroke(0.5, 0.0, 0.0))
    shots = draw(np.random.default_rng(2), 200, Limits(table, cuts=(15.0, 60.0)))
    with_throw, ideal = work_out(shots), work_out(dataclasses.replace(shots, stroke=None))
    assert (with_throw.fullness < ideal.fullness).all()


def test_help_from_the_jaws_widens_the_margin_and_moves_nothing_else() -> None:
    table = TABLES["pool-9"]
    shots = draw(np.random.default_rng(3), 60, Limits(table))
    clean = work_out(dataclasses.replace(shots, table=dataclasses.replace(table, help="none")))
    for jaw_help in ("near", "both"):
        helped_table = dataclasses.replace(table, help=jaw_help)
        helped = work_out(dataclasses.replace(shots, table=helped_table))
        np.testing.assert_array_equal(helped.offset, clean.offset)
        np.testing.assert_array_equal(helped.window.target, clean.window.target)
        rows = clean.window.is_open
        assert rows.sum() > 50
        assert (helped.margin[rows, 0] <= clean.margin[rows, 0] + 1e-12).all()
        assert (helped.margin[rows, 1] >= clean.margin[rows, 1] - 1e-12).all()
        assert np.mean(np.diff(helped.margin) > 1.001 * np.diff(clean.margin)) > 0.9
        # Just inside its ends the ball drops, rolled at the jaws; just outside it doesn't.
        for i in np.flatnonzero(rows)[::5]:
            at = float(clean.fullness[i])
            for end, side in zip(helped.margin[i], (-1, 1), strict=True):
                for step, falls in ((-1e-4, True), (1e-4, False)):
                    way = sent_way(shots, i, float(end) + side * step)
                    hole = int(shots.pocket[i])
                    assert bool(drops(table, shots.object_ball[i], way, hole, help=jaw_help)) is falls, (
                        i,
                        at,
                    )


def sent_way(shots: object, i: int, fullness: float) -> np.ndarray:
    """The object ball's way for a fullness, worked out from the line of aim with plain vectors."""
    cue, ball = shots.cue_ball[i], shots.object_ball[i]  # type: ignore[attr-defined]
    truth = work_out(shots)[i]  # type: ignore[arg-type]
    d = 2 * shots.table.balls.object_radius  # type: ignore[attr-defined]
    between = ball - cue
    far = np.hypot(*between)
    angle = np.arctan2(between[1], between[0]) - np.arcsin(truth.sign * (1 - fullness) * d / far)
    aim = np.array([np.cos(angle), np.sin(angle)])
    along = aim @ between
    touching = cue + aim * (along - np.sqrt(d**2 - (far**2 - along**2)))
    return np.asarray((ball - touching) / d)


def test_every_pocket_of_an_own_table_is_played(folders: tuple[Path, Path]) -> None:
    levels, tables = folders
    (tables / "my-club.toml").write_text(GOOD)
    (levels / "ours.toml").write_text(LEVEL.format(table="my-club"))
    level = open_shelf(levels, tables).find("ours")
    shots = draw(np.random.default_rng(4), 200, narrowed(level))
    assert set(shots.pocket.tolist()) == set(range(len(POCKETS)))
    assert shots.stroke == Stroke(1.4, 0.0, -0.25)
