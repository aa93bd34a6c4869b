"""A small history to damage."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.drills import DRILLS
from trainer.play.game import Game

from .damaging import SHELF, fill
from .strategies import SetClock, open_history


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


@pytest.fixture
def every_drill() -> Callable[[Path], int]:
    """Plays each drill with choices, and with numbers where it takes them; how many calls that were."""

    def play(folder: Path) -> int:
        with open_history(folder, SetClock()) as history:
            game = Game(history, SHELF)
            for number, drill in enumerate(DRILLS):
                played = game.begin(game.level(None, drill), 3, number)
                while not played.done:
                    question = played.question()
                    played.call(DRILLS[drill].answer(question, 0.05))
            return history.ever()

    return play
