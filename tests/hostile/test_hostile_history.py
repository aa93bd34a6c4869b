"""Histories with values changed by hand, so that they still open: one clear line in every command."""

import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hostile import COMMANDS, CONTROL, NOW, answered, change_history
from textual.pilot import WaitForScreenTimeout

from trainer.app.app import TrainerApp
from trainer.cli import main
from trainer.commands.opening import history_of
from trainer.history import TrainerError
from trainer.history.clock import FixedClock
from trainer.history.errors import Damaged
from trainer.history.store import FILE
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game


def changed(sound: Path, folder: Path, chance: random.Random) -> tuple[Path, str]:
    """A changed copy of the history, and what was changed."""
    data = folder / "data"
    shutil.rmtree(data, ignore_errors=True)
    shutil.copytree(sound / "history", data)
    return data, change_history(data / FILE, chance)


def try_histories(sound: Path, folder: Path, seeds: range, commands: int) -> None:
    """Have one history a seed read by some of the commands."""
    for seed in seeds:
        chance = random.Random(seed)
        data, done = changed(sound, folder, chance)
        for words in chance.sample(COMMANDS, commands):
            wrong = answered((*words, "--data", str(data), *NOW))
            assert not wrong, (seed, done, words, wrong)


async def try_screens(sound: Path, folder: Path, seeds: range) -> None:
    """Open the app on one history a seed and go through its screens; it may leave, with a line."""
    for seed in seeds:
        data, done = changed(sound, folder, random.Random(seed))
        left, app = "", None
        try:
            with history_of(data, FixedClock(NOW[1])) as history:
                app = TrainerApp(Game(history, open_shelf()))
                async with app.run_test(size=(80, 24)) as pilot:
                    await pilot.pause()
                    for key in ("p", "escape", "w", "escape", "m", "escape", "v", "escape", "n", "1"):
                        strips = app.screen._compositor.render_strips()
                        said = "\n".join(strip.text for strip in strips)
                        assert not CONTROL.search(said), (seed, done)
                        await pilot.press(key)
                        await pilot.pause()
                        if app.fault is not None:
                            break
        except TrainerError as error:
            left = str(error)
        except WaitForScreenTimeout:  # of an app that has left nothing comes any more
            left = str(app.fault) if app is not None and isinstance(app.fault, Damaged) else "\n"
        assert left.isprintable(), (seed, done)


def test_a_hostile_history_is_answered_in_one_line(
    sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    try_histories(sound, tmp_path, range(16), 1)


async def test_a_hostile_history_does_not_break_the_app(sound: Path, tmp_path: Path) -> None:
    await try_screens(sound, tmp_path, range(1))


@pytest.mark.parametrize(
    ("change", "words", "said"),
    [
        ("UPDATE attempts SET choices = '[[1]]'", ["report"], "a value of attempts is none that"),
        ("UPDATE notes SET fullness = 9e999", ["export", "n.json", "--notes"], "CHECK constraint failed"),
        ("UPDATE attempts SET error = 'x'", ["report"], "CHECK constraint failed in attempts"),
    ],
)
def test_a_line_says_what_was_changed(
    sound: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    change: str,
    words: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(sound / "history", tmp_path / "data", ignore=shutil.ignore_patterns("backups"))
    with closing(sqlite3.connect(tmp_path / "data" / FILE, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute(change)
        db.execute("DELETE FROM snapshots")
    assert main([*words, "--data", str(tmp_path / "data"), *NOW]) == 1
    err = capsys.readouterr().err
    assert said in err
    assert len(err.splitlines()) == 1
    assert not CONTROL.search(err)


@pytest.mark.long
@pytest.mark.parametrize("part", range(10))
def test_3_000_commands_on_hostile_histories(
    sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, part: int
) -> None:
    monkeypatch.chdir(tmp_path)
    try_histories(sound, tmp_path, range(1000 + part * 75, 1075 + part * 75), 4)


@pytest.mark.long
@pytest.mark.parametrize("part", range(5))
async def test_the_app_on_200_hostile_histories(sound: Path, tmp_path: Path, part: int) -> None:
    await try_screens(sound, tmp_path, range(1000 + part * 40, 1040 + part * 40))
