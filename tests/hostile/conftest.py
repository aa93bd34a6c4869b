"""Sound histories and exports, made once, to be spoilt."""

from pathlib import Path

import pytest
from hostile import make_exports


@pytest.fixture(scope="session")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a history, its exports and those of its notes."""
    folder = tmp_path_factory.mktemp("sound")
    make_exports(folder)
    return folder
