"""A small history to damage."""

import shutil
from pathlib import Path

import pytest

from .damaging import fill


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("small") / "data"
    fill(folder, 36, digest=False)
    return folder


@pytest.fixture
def mine(small: Path, tmp_path: Path) -> Path:
    """A history of this test's own."""
    shutil.copytree(small, tmp_path / "data")
    return tmp_path / "data"
