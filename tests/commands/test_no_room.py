"""A disk that is full, or may not be written: what was marked is kept, and one line says that no more is."""

import json
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from trainer.app.app import TrainerApp
from trainer.app.screens.home import HomeScreen
from trainer.cli import main
from trainer.history import upkeep
from trainer.history.clock import SystemClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game

Run = Callable[..., tuple[int, str, str]]
# As SQLite itself refuses: for want of pages, or since the file is not to be written.
FULL, READ_ONLY = "max_page_count = {pages}", "query_only = ON"


@pytest.fixture(scope="module")
def some_calls(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The history of a player with some calls."""
    folder = tmp_path_factory.mktemp("some") / "data"
    assert main(["simulate", "--into", str(folder), "--days", "1", "--shots", "20"]) == 0
    return folder


@pytest.fixture
def data(some_calls: Path, tmp_path: Path) -> Path:
    """Such a player."""
    return shutil.copytree(some_calls, tmp_path / "data")


@pytest.fixture
def bound(monkeypatch: pytest.MonkeyPatch) -> Callable[[str, int], None]:
    """From now on a history that is opened has so many pages more, or may not be written."""
    connect = upkeep.connect

    def binder(how: str, more: int) -> None:
        def bounded(*args: object) -> sqlite3.Connection:
            db = connect(*args)  # type: ignore[arg-type]
            (pages,) = db.execute("PRAGMA page_count").fetchone()
            db.execute(f"PRAGMA {how.format(pages=pages + more)}")
            return db

        monkeypatch.setattr(upkeep, "connect", bounded)

    return binder


def kept(data: Path) -> list[str]:
    with sqlite3.connect(data / upkeep.FILE) as db:
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        rows = db.execute("SELECT key FROM attempts ORDER BY id").fetchall()
    db.close()
    return [key for (key,) in rows]


@pytest.mark.parametrize(
    ("how", "more", "said"), [(FULL, 3, "the disk is full"), (READ_ONLY, 0, "can't be written")]
)
def test_a_set_over_lines_ends_in_a_line_and_every_mark_is_kept(
    run: Run, data: Path, bound: Callable[[str, int], None], how: str, more: int, said: str
) -> None:
    before = len(kept(data))
    bound(how, more)
    code, out, err = run("play", "--lines", "--shots", "90", "--data", str(data), text="2\n1\n" * 50)
    assert code == 1
    assert said in err
    assert len(err.splitlines()) == 1
    marks = [line["call"] for line in map(json.loads, out.splitlines()) if line["type"] == "mark"]
    assert bool(marks) == (how == FULL)
    assert len(marks) < 90
    assert len(kept(data)) == before + len(marks)
    assert kept(data)[before:] == (["2", "1"] * 50)[: len(marks)]


@pytest.mark.parametrize(
    ("command", "how"),
    [
        *[(command, READ_ONLY) for command in ("report", "levels", "players", "backups")],
        ("today", FULL),
        pytest.param("today", READ_ONLY, marks=pytest.mark.slow),
        *[
            pytest.param(command, FULL, marks=pytest.mark.slow)
            for command in ("report", "players", "backups")
        ],
    ],
)
def test_what_only_reads_goes_on(
    run: Run, data: Path, bound: Callable[[str, int], None], how: str, command: str
) -> None:
    bound(how, 0)
    code, out, err = run(command, "--data", str(data))
    assert (code, err) == (0, "")
    assert out


def test_a_card_that_cannot_be_kept_is_laid_out_all_the_same(
    run: Run, data: Path, bound: Callable[[str, int], None]
) -> None:
    bound(READ_ONLY, 0)
    code, out, err = run("card", "--kinds", "1/2 left", "--data", str(data))
    assert code == 0
    assert out.startswith("Practice card: ")
    assert err.startswith("trainer: the card has no number, since it can't be kept: ")
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize(
    "words",
    [("notebook", "1/2", "left", "thin"), ("undo", "--yes"), ("import", "calls.csv")],
    ids=lambda w: w[0],
)
def test_what_writes_says_that_it_could_not(
    run: Run,
    data: Path,
    bound: Callable[[str, int], None],
    words: tuple[str, ...],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(data.parent)
    assert run("simulate", "--into", "other", "--days", "1", "--shots", "5", "--seed", "2")[0] == 0
    assert run("export", "calls.csv", "--data", "other")[0] == 0
    bound(READ_ONLY, 0)
    code, _, err = run(*words, "--data", str(data))
    assert code == 1
    assert "can't be written" in err
    assert len(err.splitlines()) == 1


@pytest.mark.parametrize(("how", "said"), [(FULL, "the disk is full"), (READ_ONLY, "can't be written")])
async def test_the_game_says_that_calls_are_not_kept(
    data: Path, bound: Callable[[str, int], None], how: str, said: str
) -> None:
    bound(how, 0)
    with History.open(data, SystemClock()) as history:
        app = TrainerApp(Game(history, open_shelf()))
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await pilot.pause()
            assert isinstance(app.screen, HomeScreen)
            await pilot.press("n")
            for _ in range(200):
                await pilot.press("1")
                await pilot.pause()
                if any(said in told.message for told in app._notifications):
                    break
            else:
                raise AssertionError("nothing was said")
            for key in ("escape", "p", "escape", "w", "escape"):
                await pilot.press(key)
                await pilot.pause()
            assert isinstance(app.screen, HomeScreen)
        assert app.fault is None
