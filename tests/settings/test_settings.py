"""The player's settings on disk: what comes back, what is refused and how, and that nothing is lost."""

import errno
import os
import tomllib
from dataclasses import fields
from itertools import cycle, product
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.history.test_folder import guest
from trainer.history import TrainerError
from trainer.names import GLYPHS
from trainer.pictures import GLYPH_SETS
from trainer.pictures.terminal import DEPTH_NAMES, Depth
from trainer.settings.settings import (
    CELL_SHAPES,
    COLOURS,
    FILE,
    SETTINGS,
    Settings,
    read_settings,
    save_settings,
)

FULL = Settings("sextants", "256", 2.16)


def put(folder: Path, text: str | bytes) -> Path:
    file = folder / FILE
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    return file


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_table_has_what_settings_hold_and_what_pictures_know() -> None:
    assert [setting.key for setting in SETTINGS] == [field.name for field in fields(Settings)][:-1]
    assert fields(Settings)[-1].name == "keys"  # a table of its own
    assert GLYPHS == GLYPH_SETS
    assert [DEPTH_NAMES[name] for name in COLOURS] == list(Depth)
    for setting in SETTINGS:
        assert setting.field.check(setting.example) == setting.example


def test_no_file_is_no_problem_and_reading_makes_none(tmp_path: Path) -> None:
    assert read_settings(tmp_path / "none") == (Settings(), ())
    assert read_settings(tmp_path) == (Settings(), ())
    assert names(tmp_path) == []


@pytest.mark.parametrize("before", [None, "", Settings(), FULL, Settings(colours="16")])
def test_what_is_saved_comes_back_whatever_was_there(tmp_path: Path, before: Settings | str | None) -> None:
    shapes = cycle((None, CELL_SHAPES[0], 1.3 + 0.1, 2.0, CELL_SHAPES[1], 2.06))
    for i, (glyphs, colours) in enumerate(product((None, *GLYPHS), (None, *COLOURS))):
        wanted = Settings(glyphs, colours, next(shapes))
        folder = tmp_path / str(i)  # which saving makes
        if isinstance(before, str):
            folder.mkdir()
            put(folder, before)
        elif before is not None:
            assert save_settings(folder, before) is None
        assert save_settings(folder, wanted) is None or before == ""
        assert read_settings(folder) == (wanted, ())
        told = tomllib.loads((folder / FILE).read_text())
        assert told.pop("keys", {}) == {}  # all of them comments
        kept = {"glyphs": wanted.glyphs, "colours": wanted.colours, "cell_shape": wanted.cell_shape}
        assert told == {key: value for key, value in kept.items() if value is not None}


def test_the_file_says_what_each_line_is_and_allows(tmp_path: Path) -> None:
    save_settings(tmp_path, Settings(colours="none"))
    text = (tmp_path / FILE).read_text()
    for word in (*GLYPHS, *COLOURS, "1.3", "3.2", '# glyphs = "quadrants"', "# cell_shape = 2.0"):
        assert word in text
    assert '\ncolours = "none"\n' in text
    # Taking away the # of an example gives a file that can be read.
    put(tmp_path, text.replace("# glyphs", "glyphs").replace("# cell_shape", "cell_shape"))
    assert read_settings(tmp_path) == (Settings("quadrants", "none", 2.0), ())


@pytest.mark.parametrize(
    ("text", "settings"),
    [
        ("colours = 256", Settings(colours="256")),
        ("colours = 16", Settings(colours="16")),
        ("colours = true", Settings(colours="true")),
        ("cell_shape = 2", Settings(cell_shape=2.0)),
        ("'cell_shape' = 1.3", Settings(cell_shape=1.3)),
        ("\r\n  glyphs='plain' # mine\r\n", Settings(glyphs="plain")),
    ],
)
def test_what_a_player_plainly_means_is_taken(tmp_path: Path, text: str, settings: Settings) -> None:
    put(tmp_path, text)
    assert read_settings(tmp_path) == (settings, ())


BROKEN = [
    ("glyphs = \n", "not TOML: Invalid value (at line 1, column 10)"),
    ("a = 1\nglyphs 'x'", "line 2"),
    ("glyphs = 'plain'\nglyphs = 'plain'\n", "line 2"),
    ("x = [" * 5000, "not TOML"),
    ("cell_shape = " + "9" * 5000, "not TOML"),
    (b"\xff\xfe", "not UTF-8 text, at byte 0"),
    (b"#" * 70_000, "larger than 64 KiB"),
    ("glyphs = 'Sextants'", "glyphs: 'Sextants' is not allowed; allowed: plain, halves, quadrants"),
    ("glyphs = 3", "glyphs: 3 is not allowed; allowed: plain"),
    ("colours = 8", "colours: '8' is not allowed; allowed: true, 256, 16, none"),
    ("colours = false", "colours: 'false' is not allowed"),
    ("colours = 256.0", "colours: 256.0 is not allowed"),
    ("cell_shape = 1.29", "cell_shape: 1.29 is not allowed; allowed: a number from 1.3 to 3.2"),
    ("cell_shape = nan", "cell_shape: nan"),
    ("cell_shape = true", "cell_shape: True"),
    ("cell_shape = '2'", "cell_shape: '2'"),
    ("cell_shape = 1979-05-27", "cell_shape: datetime.date"),
    ("color = 'true'", "color: no such key; did you mean colours?"),
    ("zzz = 1", "zzz: no such key; allowed here: glyphs, colours, cell_shape"),
    ("[glyphs]\nset = 1", "glyphs: {'set': 1} is not allowed"),
    ("glyphs = '\\u001b[2J'".replace("'", '"'), "glyphs: '\\x1b[2J' is not allowed"),
]


@pytest.mark.parametrize(("text", "said"), BROKEN, ids=lambda v: str(v)[:30])
def test_every_fault_is_one_line_with_file_and_place_and_what_is_allowed(
    tmp_path: Path, text: str | bytes, said: str
) -> None:
    file = put(tmp_path, text)
    settings, problems = read_settings(tmp_path)
    assert settings == Settings()
    (problem,) = [line for line in problems if said in line]
    for line in problems:
        assert line.startswith(f"{file}: ")
        assert line.isprintable()
        assert len(line) < 500
    assert said in problem


def test_all_faults_are_told_and_the_rest_is_used(tmp_path: Path) -> None:
    put(tmp_path, "glyphs = 'plain'\ncolours = 7\ncell_shape = 9\nscenery = 'dark'\n")
    settings, problems = read_settings(tmp_path)
    assert settings == Settings(glyphs="plain")
    assert [problem.split(": ")[1] for problem in problems] == ["scenery", "colours", "cell_shape"]


def test_what_is_no_file_is_a_fault_and_nothing_waits_for_it(tmp_path: Path) -> None:
    (tmp_path / "a" / FILE).mkdir(parents=True)
    (tmp_path / "b").mkdir()
    os.mkfifo(tmp_path / "b" / FILE)
    (tmp_path / "c").mkdir()
    (tmp_path / "c" / FILE).symlink_to(tmp_path / "nowhere")
    for folder in ("a", "b", "c"):
        settings, problems = read_settings(tmp_path / folder)
        assert settings == Settings()
        assert len(problems) == 1


@pytest.mark.parametrize("text", [text for text, _ in BROKEN[:10]], ids=lambda v: str(v)[:30])
def test_a_broken_file_is_set_aside_whole_and_never_over_another(tmp_path: Path, text: str | bytes) -> None:
    for number in (1, 2):
        before = put(tmp_path, text).read_bytes()
        aside = save_settings(tmp_path, FULL)
        assert aside == tmp_path / f"{FILE}.old-{number}"
        assert aside.read_bytes() == before
        assert read_settings(tmp_path) == (FULL, ())
    assert names(tmp_path) == [FILE, f"{FILE}.old-1", f"{FILE}.old-2"]


def test_a_folder_in_the_way_is_set_aside_too(tmp_path: Path) -> None:
    (tmp_path / FILE).mkdir()
    (tmp_path / FILE / "mine").write_text("kept")
    assert save_settings(tmp_path, FULL) == tmp_path / f"{FILE}.old-1"
    assert (tmp_path / f"{FILE}.old-1" / "mine").read_text() == "kept"
    assert read_settings(tmp_path) == (FULL, ())


def test_a_sound_file_keeps_all_that_the_player_wrote(tmp_path: Path) -> None:
    mine = (
        "# My own words: glyphs = the best\r\n"
        "colours = 256   # the beamer at the club\r\n"
        "\r\n"
        "  glyphs   = 'halves'\t# for now\r\n"
        "# the end"
    )
    put(tmp_path, mine)
    assert save_settings(tmp_path, Settings("halves", "256")) is None
    assert (tmp_path / FILE).read_bytes().decode() == mine
    assert save_settings(tmp_path, Settings("plain", "16", 2.1)) is None
    text = (tmp_path / FILE).read_bytes().decode()
    for kept in (
        "# My own words: glyphs = the best\r\n",
        "# the beamer at the club\r\n",
        "\t# for now",
        "# the end",
    ):
        assert kept in text
    assert read_settings(tmp_path) == (Settings("plain", "16", 2.1), ())
    assert save_settings(tmp_path, Settings()) is None
    text = (tmp_path / FILE).read_bytes().decode()
    assert text.startswith("# My own words: glyphs = the best\r\n# colours = ")
    assert save_settings(tmp_path, FULL) is None
    assert read_settings(tmp_path) == (FULL, ())
    assert (tmp_path / FILE).read_text().count("glyphs = ") == 2
    assert names(tmp_path) == [FILE]


@pytest.mark.parametrize(
    "line", ['"glyphs" = "plain"', 'glyphs = """\\\n  plain"""', "# glyphs = 1 \\\nglyphs='plain'"]
)
def test_what_can_not_be_changed_in_place_is_set_aside_and_not_spoilt(tmp_path: Path, line: str) -> None:
    before = put(tmp_path, line + "\n# mine\n").read_bytes()
    assert read_settings(tmp_path) == (Settings("plain"), ())
    aside = save_settings(tmp_path, FULL)
    assert read_settings(tmp_path) == (FULL, ())
    kept = (tmp_path / FILE).read_text() if aside is None else aside.read_text()
    assert "# mine" in kept
    if aside is not None:
        assert aside.read_bytes() == before


def test_a_link_is_not_written_to_and_stays_one(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    own = tmp_path / "dotfiles.toml"
    own.write_text("glyphs = 'halves'\n")
    (tmp_path / "data" / FILE).symlink_to(own)
    assert read_settings(tmp_path / "data") == (Settings("halves"), ())
    with pytest.raises(TrainerError, match="is a link, and not written to; change the file it leads to"):
        save_settings(tmp_path / "data", FULL)
    assert own.read_text() == "glyphs = 'halves'\n"
    assert (tmp_path / "data" / FILE).is_symlink()


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        (Settings("octants"), "setting glyphs: 'octants' is not allowed; allowed: plain"),
        (Settings(cell_shape=float("nan")), "setting cell_shape: nan"),
    ],
)
def test_nothing_is_saved_that_could_not_be_read(tmp_path: Path, settings: Settings, said: str) -> None:
    with pytest.raises(TrainerError, match=said):
        save_settings(tmp_path, settings)
    assert names(tmp_path) == []


def no_space(*_: object) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


SOUND = "# mine\nglyphs = 'plain'\n"


@pytest.mark.parametrize(
    ("text", "fails"),
    [
        (SOUND, "os.fsync"),
        (SOUND, "pathlib.Path.replace"),
        ("broken", "os.fsync"),
        ("broken", "pathlib.Path.replace"),
        ("broken", "pathlib.Path.rename"),
    ],
)
def test_a_disk_that_fails_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, fails: str
) -> None:
    put(tmp_path, text)
    with monkeypatch.context() as patch:
        patch.setattr(fails, no_space)
        with pytest.raises(TrainerError) as caught:
            save_settings(tmp_path, FULL)
    assert str(caught.value) == f"{tmp_path / FILE} can't be written: No space left on device"
    assert names(tmp_path) == [FILE]
    assert (tmp_path / FILE).read_text() == text


def test_at_every_moment_the_file_is_the_old_or_the_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_settings(tmp_path, Settings("plain"))
    seen = []

    def look(handle: int) -> None:
        seen.append(read_settings(tmp_path))
        sync(handle)

    sync = os.fsync
    monkeypatch.setattr("os.fsync", look)
    save_settings(tmp_path, FULL)
    assert seen == [(Settings("plain"), ()), (FULL, ())]  # before it is replaced, and its folder after


def test_no_permission() -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        file = put(folder, "glyphs = 'plain'\n")
        with guest(folder, 0o555):
            assert read_settings(folder) == (Settings("plain"), ())
            with pytest.raises(TrainerError, match=r"settings.toml can't be written: Permission denied"):
                save_settings(folder, FULL)
        with guest(folder, 0o000):
            settings, _ = read_settings(folder)
            assert settings == Settings()
            with pytest.raises(TrainerError, match="can't be"):
                save_settings(folder, FULL)
        file.chmod(0o000)
        with guest(folder, 0o777):
            settings, problems = read_settings(folder)
            assert settings == Settings()
            assert problems == (f"{file}: can't be read: Permission denied",)
            assert save_settings(folder, FULL) == folder / f"{FILE}.old-1"
            assert read_settings(folder) == (FULL, ())
        assert (folder / f"{FILE}.old-1").read_text() == "glyphs = 'plain'\n"
