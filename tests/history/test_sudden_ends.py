"""Sudden ends of the game, of an import, of a change to a newer version; two games and a script at once.

``tests/benchmarks/bench_sudden_ends.py`` does the same hundreds of times.
"""

import random
import shutil
import subprocess
import threading
from pathlib import Path

import pytest

from trainer.history.exchange import export

from .damaging import fill
from .older import make_older
from .strategies import open_history, plain
from .sudden import errors_told, kill_command, kill_lines, kill_screen, play, power_cuts, sound
from .test_at_once import appender


@pytest.mark.slow
def test_a_set_over_lines_is_killed(tmp_path: Path) -> None:
    rng = random.Random(1)
    assert sum(kill_lines(tmp_path, rng) for _ in range(2)) > 0


@pytest.mark.slow
def test_the_game_on_the_screen_is_killed(tmp_path: Path) -> None:
    rng = random.Random(2)
    assert sum(kill_screen(tmp_path, rng) for _ in range(2)) > 0


@pytest.fixture(scope="module")
def many_calls(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a history of 3,000 calls, four of them taken back, and a table of them."""
    folder = tmp_path_factory.mktemp("many")
    fill(folder / "data", 3000, a_day=100)
    with open_history(folder / "data") as history:
        export(history, folder / "a.csv")
    return folder


@pytest.mark.slow
@pytest.mark.parametrize("what", ["import", "newer version", "daily copy"])
def test_killed_at_what_takes_longer(many_calls: Path, tmp_path: Path, what: str) -> None:
    rng = random.Random(what)
    held = 2996
    for number in range(2):
        folder = tmp_path / str(number)
        after = rng.uniform(0.2, 1.5)
        if what == "import":
            with open_history(folder) as history:
                history.append(plain(history))
            kill_command(folder, after, "import", str(many_calls / "a.csv"))
            assert len(sound(folder)) in (1, 1 + held)
            continue
        shutil.copytree(many_calls / "data", folder)
        if what == "newer version":
            make_older(folder)
            kill_command(folder, after, "report")
        else:
            kill_command(folder, after, "undo", "--yes", "--now", "2027-01-01T12:00:00+00:00")
        assert held - 1 <= len(sound(folder)) <= held


def test_the_power_goes_while_a_set_is_played(tmp_path: Path) -> None:
    found = power_cuts(tmp_path / "data", tmp_path / "aside", random.Random(3), many=40, copies=30)
    assert len(found) > 3
    assert all(held >= told for told, held in found)


@pytest.mark.slow
@pytest.mark.parametrize("many", [25, pytest.param(1000, marks=pytest.mark.long)])
def test_two_games_and_a_script_at_once(tmp_path: Path, many: int) -> None:
    said: list[tuple[str, str]] = []

    def hear(game: "subprocess.Popen[str]") -> None:
        assert game.stdout is not None
        assert game.stderr is not None
        said.append((game.stdout.read(), game.stderr.read()))

    with play(tmp_path, many) as one, play(tmp_path, many) as two, appender(tmp_path, many) as script:
        listeners = [threading.Thread(target=hear, args=(game,)) for game in (one, two)]
        for listener in listeners:
            listener.start()
        assert script.stdout is not None
        told = script.stdout.read().split()
        for listener in listeners:
            listener.join()
    assert (one.returncode, two.returncode, script.returncode) == (0, 0, 0)
    assert [err for _, err in said] == ["", ""]
    attempts = sound(tmp_path)
    assert len(attempts) == 3 * many == len(told) + sum(len(errors_told(out)) for out, _ in said)
    assert {attempt.id for attempt in attempts} >= set(told)
