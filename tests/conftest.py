"""What every test starts from: no settings of the machine's own, and a data folder of its own."""

import asyncio
import gc
import itertools
import os
import random
import re
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack
from pathlib import Path

# Before numpy comes: workers run on every core already, and threads of their own only get in the way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import once
import pytest
import textual.constants
from at_rest import draw_at_rest
from hypothesis import HealthCheck, settings
from turned import TurnedLoop, turn_clocks

from trainer.history.clock import Clock, FixedClock
from trainer.history.store import History
from trainer.levels.shelf import Shelf, open_shelf
from trainer.play.game import Game

NOON = "2026-03-01T12:00:00+00:00"
_NUMBERS = itertools.count()
# No test leans on the machine's speed.
settings.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any machine")


def pytest_configure() -> None:
    """Keep compiled modules, whatever the machine's setting says.

    Else each run compiles all tests anew in each worker, and each command that a test starts the game.
    """
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """What is ``long`` runs only where the word is said: ``-m "not slow"`` doesn't ask for it."""
    if "long" not in re.findall(r"\w+", config.option.markexpr):
        config.hook.pytest_deselected(items=[item for item in items if item.get_closest_marker("long")])
        items[:] = [item for item in items if not item.get_closest_marker("long")]


def pytest_collection_finish() -> None:
    """Look for garbage less often, and not among what was imported: that is an eighth of a run."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)


@pytest.hookimpl(trylast=True)
def pytest_asyncio_loop_factories() -> Mapping[str, Callable[[], asyncio.AbstractEventLoop]]:
    """Screens are tested by a clock that the test turns."""
    return {"turned": TurnedLoop}


@pytest.fixture(autouse=True, scope="session")
def _patches(pytestconfig: pytest.Config) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        turn_clocks(patch)
        if not re.search(r"(?<!not )\b(slow|long)\b", pytestconfig.option.markexpr):
            draw_at_rest(patch)
        once.keep(patch)
        yield


@pytest.fixture(autouse=True)
def _own_surroundings(
    request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    for name in [
        n
        for n in os.environ
        if n.startswith("TEXTUAL")
        or n in ("NO_COLOR", "COLORTERM", "TRAINER_COLOURS", "TRAINER_GLYPHS", "TRAINER_PLAYER")
    ]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("TRAINER_TRACEBACK", "1")  # a fault of the program is to be seen in full
    # A folder is made only for those that ask for one: thousands of them take their time.
    if "tmp_path" in request.fixturenames:
        own: Path = request.getfixturevalue("tmp_path")
    else:
        own = tmp_path_factory.getbasetemp() / f"none-{next(_NUMBERS)}"
    monkeypatch.setenv("TRAINER_DATA", str(own / "data"))
    monkeypatch.setattr("trainer.pictures.terminal.asked_aspect", lambda: None)
    # What is left to chance is the same in every run.
    monkeypatch.setattr("secrets.randbits", random.Random(1).getrandbits)
    # Nothing moves unless a test is about what moves.
    monkeypatch.setattr(textual.constants, "TEXTUAL_ANIMATIONS", "none")


@pytest.fixture
def history(tmp_path: Path) -> Iterator[History]:
    """An empty history whose clock stands at noon."""
    with History.open(tmp_path / "data", FixedClock(NOON)) as opened:
        yield opened


@pytest.fixture(scope="session")
def shelf() -> Shelf:
    """The built-in levels and tables, read once: nothing changes them."""
    return open_shelf()


@pytest.fixture
def game(history: History, shelf: Shelf) -> Game:
    """A player who has never called a shot."""
    return Game(history, shelf)


@pytest.fixture
def opening(shelf: Shelf) -> Iterator[Callable[[Path, Clock], Game]]:
    """Opens the games of histories by their folder; they are closed when the test is over."""
    with ExitStack() as stack:
        yield lambda folder, clock: Game(stack.enter_context(History.open(folder, clock)), shelf)
