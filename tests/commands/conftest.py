"""Running the command line in this process."""

import asyncio
import sys
from collections.abc import Callable, Mapping
from io import StringIO
from pathlib import Path

import pytest

from tests.history.damaging import fill
from trainer.cli import main


def pytest_asyncio_loop_factories(
    item: pytest.Item,
) -> Mapping[str, Callable[[], asyncio.AbstractEventLoop]] | None:
    """A server and a browser keep the machine's own time."""
    return {"own": asyncio.SelectorEventLoop} if item.path.stem.startswith("test_serve") else None


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., tuple[int, str, str]]:
    """A command with its arguments and input: its exit code, and what it printed on both streams."""

    def runner(*args: str, text: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", StringIO(text))
        try:
            code = main(args)
        except SystemExit as stop:
            code = int(stop.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return runner


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A history of 36 calls, to be copied."""
    folder = tmp_path_factory.mktemp("small") / "data"
    fill(folder, 36, digest=False)
    return folder
