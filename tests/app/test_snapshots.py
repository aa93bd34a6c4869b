"""Each screen looks as it did; where that is meant to change, ``tests/app/snapshots.py`` writes them anew."""

import shutil
from pathlib import Path

import pytest
from snapshots import FOLDER, KINDS, SCREENS, file_of, make_player, pictures_of, taken


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
    found, pictures = taken(tmp_path / "data", screen, size, coloured=coloured)
    assert found == was
    if coloured:
        file = pictures_of(screen, size)
        compare(pictures.split(), file.read_text(encoding="utf-8").split() if file.exists() else [])


def compare(found: list[str], was: list[str]) -> None:
    """Pictures are as they were, but for a tone of a colour."""
    assert len(found) == len(was)
    for now, before in zip(found, was, strict=True):
        if now != before:  # a name, or a colour of three digits
            assert max(abs(int(a, 16) - int(b, 16)) for a, b in zip(now, before, strict=True)) <= 1


def test_a_ball_that_is_gone_is_seen() -> None:
    text = pictures_of("question", (80, 24)).read_text(encoding="utf-8").split()
    white = next(i for i, colour in enumerate(text) if colour in ("eee", "eed", "ddd", "ccc"))
    with pytest.raises(AssertionError):
        compare([*text[:white], "164", *text[white + 1 :]], text)


def test_every_file_is_of_a_screen() -> None:
    wanted = {file_of(screen, size, coloured=on) for screen in SCREENS for size, on in KINDS}
    drawn = {pictures_of(screen, size) for screen in SCREENS for size, on in KINDS if on}
    assert wanted <= set(FOLDER.iterdir()) <= wanted | drawn
