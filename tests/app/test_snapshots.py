"""Each screen looks as it did; where that is meant to change, ``tests/app/snapshots.py`` writes them anew."""

import shutil
from pathlib import Path

import pytest
from snapshots import FOLDER, KINDS, SCREENS, file_of, make_player, taken


@pytest.fixture(scope="module")
def player(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("player") / "data"
    make_player(folder)
    return folder


@pytest.mark.slow
@pytest.mark.parametrize(("size", "coloured"), KINDS)
@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_looks_as_it_did(
    player: Path, tmp_path: Path, screen: str, size: tuple[int, int], coloured: bool
) -> None:
    shutil.copytree(player, tmp_path / "data")
    was = file_of(screen, size, coloured=coloured).read_text(encoding="utf-8")
    assert taken(tmp_path / "data", screen, size, coloured=coloured) == was


def test_every_file_is_of_a_screen() -> None:
    wanted = {file_of(screen, size, coloured=on) for screen in SCREENS for size, on in KINDS}
    assert set(FOLDER.iterdir()) == wanted
