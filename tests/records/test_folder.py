"""Where the data lives, and what is said where it can't."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import platformdirs
import pytest

from trainer.records import RecordsError
from trainer.records.folder import data_folder, make_folder
from trainer.records.opened import FILE

from .strategies import open_records, plain


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
    assert not folder.exists()
    open_records(folder).close()
    assert (folder / FILE).is_file()


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept")
    for name in ("file", "file/inside"):
        with pytest.raises(RecordsError, match=r"data folder .*/file"):
            make_folder(data_folder(str(tmp_path / name)))
    with pytest.raises(RecordsError, match="is a file; give a folder"):
        open_records(tmp_path / "file")
    assert (tmp_path / "file").read_text() == "kept"


@pytest.mark.parametrize("name", ["", "  "])
def test_an_empty_name(name: str) -> None:
    with pytest.raises(RecordsError, match="empty name"):
        data_folder(name)


@pytest.mark.parametrize("name", ["x" * 300, "~nobody-of-that-name/x"])
def test_an_impossible_name(name: str) -> None:
    with pytest.raises(RecordsError, match="data folder") as caught:
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
            with pytest.raises(RecordsError, match="can't be written"):
                open_records(folder)
            with pytest.raises(RecordsError, match="can't be created: Permission denied"):
                open_records(folder / "new")
        with open_records(folder) as records:
            records.append(plain(records))
        before = (folder / FILE).read_bytes()
        with guest(folder, 0o555), pytest.raises(RecordsError, match="can't be written"):
            open_records(folder)
        with guest(folder, 0o000), pytest.raises(RecordsError, match=r"can't be (reached|written)"):
            open_records(folder / "new")
        assert (folder / FILE).read_bytes() == before
