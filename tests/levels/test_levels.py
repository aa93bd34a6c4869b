"""Level files: the built-in ones, and every way to get one wrong."""

import os
from pathlib import Path

import numpy as np
import pytest

from trainer import drills
from trainer.levels import reading
from trainer.levels.level import narrowed
from trainer.levels.reading import read_level
from trainer.levels.shelf import open_shelf, read_file
from trainer.levels.toml_reader import FileError
from trainer.names import DRILLS
from trainer.shots.draw import draw, even_offsets
from trainer.shots.truth import work_out

GOOD = """
title = "A level"
teaches = "Something."
place = 5
drill = "band"
table = "snooker"
views = ["down", "plan"]
line_to_pocket = true
adaptive = false

[answers]
step = "1/8"

[shots]
cuts = [10, 40]
sides = ["left"]
pockets = ["top-left", "middle-right"]
cue_distance = [300, 900]
pocket_distance = [250, 800]

[set]
shots = 8

[passed]
in_a_row = 4
right = 6
of = 8
"""


def problems(text: str) -> list[str]:
    with pytest.raises(FileError) as caught:
        read_level(text, "mine", "mine.toml")
    return caught.value.problems


def test_a_level_says_what_its_file_says() -> None:
    level = read_level(GOOD, "mine", "mine.toml")
    assert (level.name, level.title, level.place, level.drill) == ("mine", "A level", 5, "band")
    assert level.limits.cuts == (10, 40)
    assert level.limits.sides == ("left",)
    assert set(level.limits.pockets) == {"top-left", "middle-right"}
    assert level.line_to_pocket
    assert not level.adaptive
    assert level.passed is not None
    assert (level.shots, level.passed.in_a_row, level.passed.right, level.passed.of) == (8, 4, 6, 8)


def test_the_drills_a_level_may_ask_for_are_the_drills_there_are() -> None:
    assert set(DRILLS) == set(drills.DRILLS)


@pytest.mark.parametrize("count", [12, pytest.param(40, marks=pytest.mark.slow)])
def test_there_is_a_path_of_built_in_levels_and_each_can_be_asked(count: int) -> None:
    shelf = open_shelf()
    assert not shelf.problems
    assert len(shelf.levels) >= 8
    assert [level.place for level in shelf.levels] == sorted({level.place for level in shelf.levels})
    for level in shelf.levels:
        rng = np.random.default_rng(1)
        limits = narrowed(level)
        offsets = even_offsets(rng, count, limits)
        shots = draw(rng, count, limits, offsets)
        truths = work_out(shots)
        cut = np.degrees(np.abs(truths.cut))
        assert (cut >= limits.cuts[0] - 1e-9).all()
        assert (cut <= limits.cuts[1] + 1e-9).all()
        for i in range(count):
            question = level.question(shots[i], truths[i], rng)
            if question.dial is not None:
                assert not question.choices
                continue
            assert 2 <= len(question.choices) <= 9
            near = question.choices[question.best].value
            if level.answers.within is not None:
                assert abs(near - question.truth.fullness) <= float(level.answers.within) + 1e-9


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('title = "A level"', "", "title", "missing"),
        ('title = "A level"', "title = 3", "title", "1 to 48 printable"),
        ('title = "A level"', 'title = ""', "title", "1 to 48 printable"),
        ('title = "A level"', f'title = "{"x" * 49}"', "title", "1 to 48 printable"),
        ('title = "A level"', 'title = "a\\u001b[2J"', "title", "1 to 48 printable"),
        ('teaches = "Something."', "teaches = []", "teaches", "1 to 160 printable"),
        ("place = 5", "place = 0", "place", "1 to 10000"),
        ("place = 5", "place = true", "place", "1 to 10000"),
        ("place = 5", "place = 1.5", "place", "1 to 10000"),
        ("place = 5", "place = 0x" + "f" * 6000, "place", "1 to 10000"),
        ('drill = "band"', 'drill = "bend"', "drill", "band, aim"),
        ('drill = "band"', "", "drill", "missing"),
        ('table = "snooker"', 'table = "pool"', "table", "pool-9"),
        ('views = ["down", "plan"]', 'views = ["moon"]', "views", "plan"),
        ("line_to_pocket = true", "line_to_pocket = 1", "line_to_pocket", "true or false"),
        ("adaptive = false", 'adaptive = "no"', "adaptive", "true or false"),
        ('step = "1/8"', 'step = "1/7"', "answers.step", '"1/8"'),
        ('step = "1/8"', "step = 0.125", "answers.step", '"1/8"'),
        ('step = "1/8"', 'step = "1/8"\nbands = ["3/7"]', "answers.bands", "7/8"),
        ('step = "1/8"', 'step = "1/8"\nbands = ["1/2"]', "answers", "2 to 9"),
        ('step = "1/8"', 'step = "1/32"', "answers", "2 to 9"),
        ('step = "1/8"', 'step = "1/8"\nwithin = "1/3"', "answers.within", '"1/16"'),
        ('step = "1/8"', 'step = "1/8"\nchoices = 5', "answers.choices", "only for the drill aim"),
        ('step = "1/8"', 'step = "1/8"\nchoices = 99', "answers.choices", "3 to 9"),
        ("cuts = [10, 40]", "cuts = [40, 10]", "shots.cuts", "the first smaller"),
        ("cuts = [10, 40]", "cuts = [10, 90]", "shots.cuts", "0 to 80"),
        ("cuts = [10, 40]", "cuts = [nan, 40]", "shots.cuts", "0 to 80"),
        ("cuts = [10, 40]", "cuts = [10, inf]", "shots.cuts", "0 to 80"),
        ("cuts = [10, 40]", "cuts = [10]", "shots.cuts", "[low, high]"),
        ("cuts = [10, 40]", 'cuts = "thin"', "shots.cuts", "[low, high]"),
        ('sides = ["left"]', 'sides = ["up"]', "shots.sides", "left, right"),
        ('sides = ["left"]', "sides = []", "shots.sides", "left, right"),
        ('sides = ["left"]', 'sides = ["left", "left"]', "shots.sides", "left, right"),
        ('pockets = ["top-left", "middle-right"]', 'pockets = "any"', "shots.pockets", "baulk-left"),
        ("cue_distance = [300, 900]", "cue_distance = [-1, 900]", "shots.cue_distance", "0 to 5000"),
        ("cue_distance = [300, 900]", "cue_distance = [4000, 4500]", "shots", "cue_distance of 4000"),
        ("pocket_distance = [250, 800]", "pocket_distance = [1, 2]", "shots", "pocket_distance 1 to 2"),
        ("pocket_distance = [250, 800]", "pocket_distance = [1, true]", "shots.pocket_distance", "in mm"),
        ("shots = 8", "shots = 2", "set.shots", "3 to 200"),
        ("shots = 8", 'shots = 8\nagain = "later"', "set.again", "stroke, view"),
        ("shots = 8", 'shots = 8\nagain = "stroke"', "set.again", "two speeds or spins"),
        ("in_a_row = 4", "in_a_row = 0", "passed.in_a_row", "1 to 50"),
        ("right = 6", "right = 9", "passed.right", "at most passed.of"),
        ("of = 8", "of = 1000", "passed.of", "1 to 200"),
        ("[set]\nshots = 8", "", "", ""),
        ("[passed]", "[past]", "past", "did you mean passed?"),
        ("place = 5", "plaice = 5", "plaice", "did you mean place?"),
        ("cuts = [10, 40]", "cut = [10, 40]", "shots.cut", "did you mean cuts?"),
        ("cuts = [10, 40]", "zzz = 1", "shots.zzz", "allowed here: cuts"),
        ("[answers]\nstep", "answers = 3\n[x]\nstep", "answers", "a table [answers]"),
    ],
)
def test_a_bad_key_is_answered_with_file_key_what_is_wrong_and_what_is_allowed(
    old: str, new: str, key: str, said: str
) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    if not key:  # left out, it has its usual value
        assert read_level(text, "mine", "mine.toml").shots == 12
        return
    found = problems(text)
    assert any(p.startswith(f"mine.toml: {key}: ") and said in p for p in found), found
    assert all(p.isprintable() for p in found)


def test_all_problems_are_named_at_once() -> None:
    text = GOOD.replace("place = 5", "place = -1").replace("[10, 40]", "3").replace("of = 8", "of = 0")
    text = text.replace("adaptive", "adoptive")
    found = problems(text)
    for key in ("place", "shots.cuts", "passed.of", "adoptive"):
        assert any(f": {key}: " in p for p in found), (key, found)


@pytest.mark.parametrize(
    "text", ["title = ", "[[[", "a = 1\na = 2", "\x00", "x = " + "[" * 5000, "place = " + "9" * 5000]
)
def test_what_is_not_toml_says_so(text: str) -> None:
    (found,) = problems(text)
    assert "not TOML" in found
    assert found.isprintable()


@pytest.mark.parametrize("key", ["a." * 32000 + "a = 1", "[" + "a . " * 200 + "a]", '"x".' * 33 + "y = 1"])
def test_a_key_of_many_parts_is_not_read(key: str) -> None:
    assert problems(GOOD + key + "\n") == ["mine.toml: not TOML: a key of over 32 parts"]


def test_words_and_numbers_are_no_keys() -> None:
    dots = "a.b " * 9 + "1.5, " * 9
    text = f"# {'see. ' * 40}\n" + GOOD.replace("Something.", dots)
    assert read_level(text, "mine", "mine.toml").teaches == dots


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert read_file(tmp_path / "mine.toml").title == "A level"


def test_only_what_is_asked_for_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(30):
        (tmp_path / f"own-{number}.toml").write_text(GOOD)
    read: list[str] = []

    def noted(text: str, name: str, *args: object, **more: object) -> object:
        read.append(name)
        return read_level(text, name, *args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr("trainer.levels.shelf.read_level", noted)
    shelf = open_shelf(tmp_path)
    assert shelf.find("own-7") is shelf.find("own-7")
    assert read == ["own-7"]
    shelf.find("quarters")
    assert read == ["own-7", "quarters"]
    assert len(shelf.levels) == len(read) == len(set(read))
    assert not shelf.problems
    assert len(read) == len(shelf.levels)


def test_along_the_path_a_level_is_drawn_when_it_is_its_turn(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn, draw_all = list[object](), reading._draw_all
    monkeypatch.setattr(reading, "_draw_all", lambda limits: drawn.append(limits) or draw_all(limits))
    for number in range(4):
        text = GOOD.replace("place = 5", f"place = {400 - number}")
        (tmp_path / f"apath-{number}.toml").write_text(text)
    path = open_shelf(tmp_path).path()
    assert next(path).name == open_shelf().levels[0].name
    assert drawn == []
    names = [level.name for level in path]
    assert len(drawn) == 4
    assert names == [level.name for level in open_shelf(tmp_path).levels][1:]
    (tmp_path / "apath-2.toml").write_text("no level")
    assert list(open_shelf(tmp_path).path()) == list(open_shelf(tmp_path).levels)


def test_an_own_level_that_can_not_be_used_leaves_the_built_in_one(tmp_path: Path) -> None:
    (tmp_path / "eighths.toml").write_text("title = 1")
    shelf = open_shelf(tmp_path)
    assert shelf.find("eighths") == open_shelf().find("eighths")
    assert any("eighths.toml: title" in problem for problem in shelf.problems)


def test_own_levels_appear_beside_the_built_in_ones_and_may_take_their_place(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(GOOD)
    (tmp_path / "eighths.toml").write_text(GOOD.replace("A level", "My eighths"))
    (tmp_path / "broken.toml").write_text("title = 1")
    (tmp_path / "notes.txt").write_text("not a level")
    shelf = open_shelf(tmp_path)
    assert shelf.find("mine").title == "A level"
    assert shelf.levels[0].name in ("mine", "eighths")
    assert shelf.find("eighths").title == "My eighths"
    assert len(shelf.levels) == len(open_shelf().levels) + 1
    assert any("broken.toml: title" in p for p in shelf.problems)


def test_a_level_that_is_not_there_is_answered_with_the_nearest_name() -> None:
    with pytest.raises(LookupError, match="did you mean eighths"):
        open_shelf().find("eights")
    with pytest.raises(LookupError, match="levels: first-look"):
        open_shelf().find("qqq")


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("big.toml", b"#" * 70000, "larger than 64 KiB"),
        ("latin.toml", 'title = "\u00e9"'.encode("latin-1"), "not UTF-8"),
        ("bad name.toml", b"", "letters, digits"),
    ],
)
def test_files_that_are_no_text_are_refused(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(FileError, match=said):
        read_file(tmp_path / name)


def test_a_file_that_is_not_there_or_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "dangling.toml").symlink_to("nowhere")
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    for name in ("none.toml", "folder.toml", "dangling.toml", "loop.toml"):
        with pytest.raises(FileError, match="can't be read"):
            read_file(tmp_path / name)
    assert len(open_shelf(tmp_path).problems) == 3


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(FileError, match="not a file"):
        read_file(tmp_path / "pipe.toml")


def test_shots_come_again_only_where_something_can_be_different() -> None:
    again = GOOD.replace("shots = 8", 'shots = 8\nagain = "view"')
    assert read_level(again, "mine", "mine.toml").again == "view"
    (said,) = problems(again.replace('views = ["down", "plan"]', 'views = ["down"]'))
    assert "set.again" in said
    assert "two views" in said
    picks = again.replace("[set]", "balls = 3\n\n[set]").replace('"band"', '"aim"')
    assert any("where a ball is picked first" in said for said in problems(picks))


ROUTINE = GOOD.replace("shots = 8", "shots = 8\nroutine = true").replace(
    '"down", "plan"', '"standing", "down"'
)


def test_a_level_may_ask_for_each_shot_twice() -> None:
    level = read_level(ROUTINE, "mine", "mine.toml")
    assert level.routine
    assert level.takes_routine
    assert not read_level(GOOD, "mine", "mine.toml").routine
    (built_in,) = [level for level in open_shelf().levels if level.routine]
    assert built_in.name == "choose-standing"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"standing", "down"', '"standing"', "set.routine: a shot is seen both ways"),
        ('"standing", "down"', '"plan", "down"', "allowed: the views standing and down"),
        ("routine = true", 'routine = true\nagain = "view"', "set.routine: not together with set.again"),
        ("shots = 8", "shots = 9", "set.shots: 9 calls leave one shot called once"),
        ("routine = true", "routine = 1", "set.routine"),
        ('"band"', '"back"', "set.routine: not for the drill back"),
        ('"band"', '"same"', "allowed: for band, aim, slide, judge, edge, throw, straight, cushion, send"),
    ],
)
def test_what_is_in_the_way_of_calling_a_shot_twice(old: str, new: str, said: str) -> None:
    assert old in ROUTINE
    assert any(said in problem for problem in problems(ROUTINE.replace(old, new, 1)))
