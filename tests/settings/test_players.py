"""Players' names and folders: what is a name, and that none leads outside."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.history import TrainerError
from trainer.settings.players import checked, chosen_player, player_folder, players


@pytest.mark.parametrize("name", ["Anna", "a", "7", "Anna-Lena B", "v1.2_x", "Jürgen", "李", "n" * 40])
def test_names(tmp_path: Path, name: str) -> None:
    folder = player_folder(tmp_path, name)
    assert folder == tmp_path / "players" / name
    assert not (tmp_path / "players").exists()
    folder.mkdir(parents=True)
    assert players(tmp_path) == [name]
    assert player_folder(tmp_path, name) == folder


@pytest.mark.parametrize(
    "name",
    [
        *("", " ", ".", "..", "../x", "a/b", "a\\b", "/", "/etc", "~", "a:b", "-x", "_", ".hidden", "x."),
        *("x ", " x", "a\nb", "a\x00b", "\x1b[2J", "a\u202eb", "a\u2028b", "n" * 41, "a*b", "a?b", "a\tb"),
        *("con", "NUL", "Com1", "nul.txt", "\ud800", "a\u00a0b", "🎱"),
    ],
)
def test_no_names(tmp_path: Path, name: str) -> None:
    with pytest.raises(TrainerError) as caught:
        player_folder(tmp_path, name)
    said = str(caught.value)
    assert said.isprintable()
    assert "allowed: 1 to 40" in said or "for a device; give another" in said
    assert len(said) < 300


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.text(max_size=45))
def test_any_text_is_a_folder_inside_or_refused(name: str) -> None:
    data = Path("/data")
    try:
        folder = player_folder(data, name)
    except TrainerError:
        return
    assert folder.parent == data / "players"
    assert folder.resolve().parent == (data / "players").resolve()
    assert checked(folder.name) == folder.name


def test_capitals_and_marks_make_no_other_player(tmp_path: Path) -> None:
    (tmp_path / "players" / "Jürgen").mkdir(parents=True)
    for name in ("jürgen", "JÜRGEN", "JU\u0308RGEN"):
        with pytest.raises(TrainerError, match="is there as 'Jürgen'; give that name"):
            player_folder(tmp_path, name)
    assert player_folder(tmp_path, "Ju\u0308rgen") == tmp_path / "players" / "Jürgen"


def test_where_the_name_comes_from(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("TRAINER_PLAYER", raising=False)
    assert chosen_player(None) is None
    assert player_folder(tmp_path, None) == tmp_path
    monkeypatch.setenv("TRAINER_PLAYER", "Anna")
    assert chosen_player(None) == "Anna"
    assert chosen_player("Ben") == "Ben"
    monkeypatch.setenv("TRAINER_PLAYER", "")
    assert chosen_player(None) is None
    with pytest.raises(TrainerError, match="can't be a name"):
        chosen_player("")
    monkeypatch.setenv("TRAINER_PLAYER", "../x")
    with pytest.raises(TrainerError, match="can't be a name"):
        chosen_player(None)


def test_links_and_files_in_the_way(tmp_path: Path) -> None:
    outside, data = tmp_path / "outside", tmp_path / "data"
    outside.mkdir()
    (data / "players").mkdir(parents=True)
    (data / "players" / "Anna").symlink_to(outside)
    (data / "players" / "Ben").write_text("a file")
    with pytest.raises(TrainerError, match="Anna is a link"):
        player_folder(data, "Anna")
    with pytest.raises(TrainerError, match="Ben is not a folder"):
        player_folder(data, "Ben")
    assert players(data) == []
    other = tmp_path / "other"
    other.mkdir()
    (other / "players").symlink_to(outside)
    with pytest.raises(TrainerError, match="players is a link"):
        player_folder(other, "Anna")
