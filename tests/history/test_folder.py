"""Where the data lives, and what is said where it can't."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import platformdirs
import pytest

from trainer.history import TrainerError
from trainer.history.files import data_folder, make_folder
from trainer.history.store import FILE

from .strategies import open_history, plain


def test_the_order_of_places(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TRAINER_DATA", str(tmp_path / "variable"))
    assert data_folder(str(tmp_path / "given")) == tmp_path / "given"
    assert data_folder(None) == tmp_path / "variable"
    monkeypatch.delenv("TRAINER_DATA")
    own = platformdirs.user_data_path("potting-angles", appauthor=False)
    assert data_folder(None) == own
    monkeypatch.setenv("TRAINER_DATA", "")
    assert data_folder(None) == own
    monkeypatch.setenv("HOME", str(tmp_path))
    assert data_folder("~/angles") == tmp_path / "angles"
    monkeypatch.chdir(tmp_path)
    assert data_folder("angles") == tmp_path / "angles"
    assert list(tmp_path.iterdir()) == []  # naming a folder creates nothing


def test_created_on_first_need(tmp_path: Path) -> None:
    folder = data_folder(str(tmp_path / "a" / "b"))
    with open_history(folder) as history:
        assert history.count() == 0
        assert history.attempts() == []
        assert not history.put_snapshot("model", "", "", "none")
        assert not (tmp_path / "a").exists()  # asking creates nothing
        history.put_setting("minutes", "20")
        assert (folder / FILE).is_file()


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept")
    for name in ("file", "file/inside"):
        with pytest.raises(TrainerError, match=r"data folder .*/file"):
            make_folder(data_folder(str(tmp_path / name)))
    with pytest.raises(TrainerError, match="is a file; give a folder"):
        open_history(tmp_path / "file")
    assert (tmp_path / "file").read_text() == "kept"


@pytest.mark.parametrize("name", ["", "  "])
def test_an_empty_name(name: str) -> None:
    with pytest.raises(TrainerError, match="empty name"):
        data_folder(name)


@pytest.mark.parametrize("name", ["x" * 300, "~nobody-of-that-name/x"])
def test_an_impossible_name(name: str) -> None:
    with pytest.raises(TrainerError, match="data folder") as caught:
        make_folder(data_folder(name))
    assert "\n" not in str(caught.value)


@contextmanager
def guest(folder: Path, mode: int) -> Iterator[None]:
    """Be somebody whom the folder's mode binds, also where the tests run as root."""
    root = os.geteuid() == 0
    folder.chmod(mode)
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)


def test_no_permission() -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        with guest(folder, 0o555):
            with pytest.raises(TrainerError, match="can't be written"):
                open_history(folder)
            with pytest.raises(TrainerError, match="can't be created: Permission denied"):
                open_history(folder / "new")
        with open_history(folder) as history:
            history.append(plain(history))
        before = (folder / FILE).read_bytes()
        with guest(folder, 0o555), pytest.raises(TrainerError, match="can't be written"):
            open_history(folder)
        with guest(folder, 0o000), pytest.raises(TrainerError, match=r"can't be (reached|written)"):
            open_history(folder / "new")
        assert (folder / FILE).read_bytes() == before
