"""Files that an export can't be written to or an import read from, and those that are there already."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from trainer.history import TrainerError
from trainer.history.exchange import export, import_
from trainer.history.store import History

from .strategies import open_history, plain

BOTH = pytest.mark.parametrize("ending", ["csv", "json"])


@pytest.fixture
def history(tmp_path: Path) -> Iterator[History]:
    with open_history(tmp_path / "data") as history:
        yield history


@pytest.mark.parametrize("name", ["a", "a.txt", "a.csv.gz"])
def test_only_known_endings(history: History, tmp_path: Path, name: str) -> None:
    for act in (export, import_):
        with pytest.raises(TrainerError, match=r"no known ending; allowed: \.csv, \.json"):
            act(history, tmp_path / name)


@BOTH
def test_files_that_cannot_be_read_or_written(history: History, tmp_path: Path, ending: str) -> None:
    with pytest.raises(TrainerError, match="can't be read: No such file"):
        import_(history, tmp_path / f"missing.{ending}")
    with pytest.raises(TrainerError, match="there is no folder"):
        export(history, tmp_path / "missing" / f"a.{ending}")
    (tmp_path / f"folder.{ending}").mkdir()
    with pytest.raises(TrainerError, match="is not a file; give an exported file"):
        import_(history, tmp_path / f"folder.{ending}")
    with pytest.raises(TrainerError, match="is a folder"):
        export(history, tmp_path / f"folder.{ending}")
    (tmp_path / f"latin.{ending}").write_bytes(b'["\xe9"]\n')
    with pytest.raises(TrainerError, match="is not UTF-8 text"):
        import_(history, tmp_path / f"latin.{ending}")


@BOTH
def test_a_failing_export_leaves_the_whole_one(
    history: History, tmp_path: Path, ending: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    history.append(plain(history))
    path = tmp_path / f"a.{ending}"
    export(history, path)
    before = path.read_bytes()
    history.append(plain(history))

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(TrainerError, match="can't be written: No space left"):
        export(history, path)
    assert path.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == [path.name, "data"]


def test_the_old_file_is_never_half_overwritten(history: History, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    export(history, path)
    with path.open(encoding="utf-8") as old:
        history.append(plain(history))
        export(history, path)
        assert len(old.readlines()) == 1
    assert len(path.read_text("utf-8").splitlines()) == 2


def test_a_link_stays_a_link(history: History, tmp_path: Path) -> None:
    (tmp_path / "real.csv").write_text("old")
    (tmp_path / "link.csv").symlink_to(tmp_path / "real.csv")
    export(history, tmp_path / "link.csv")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_text().startswith("id,time,")
