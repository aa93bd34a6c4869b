"""A history that several programs and threads write at once, and one that is killed while it does."""

import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from trainer.history import schema
from trainer.history.attempt import ATTEMPTS
from trainer.history.merge import Merged
from trainer.history.record import Row
from trainer.history.store import History

from .strategies import PLAIN, open_history, plain

APPEND = """
import pickle, sys
from dataclasses import replace
from pathlib import Path
from trainer.history.clock import SystemClock
from trainer.history.store import History
folder, plain, many = Path(sys.argv[1]), pickle.loads(bytes.fromhex(sys.argv[2])), int(sys.argv[3])
with History.open(folder, SystemClock()) as history:
    for _ in range(many):
        attempt = replace(plain, id=history.new_id(history.clock.now()))
        history.append(attempt)
        print(attempt.id, flush=True)
"""


@pytest.fixture
def history(tmp_path: Path) -> Iterator[History]:
    with open_history(tmp_path) as history:
        yield history


def appender(folder: Path, many: int) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", APPEND, str(folder), pickle.dumps(PLAIN).hex(), str(many)],
        stdout=subprocess.PIPE,
        text=True,
    )


def test_killed_while_appending_loses_nothing(tmp_path: Path) -> None:
    told: set[str] = set()
    rounds = (1, 40, 150)
    for enough in rounds:
        with appender(tmp_path, 10**6) as process:
            assert process.stdout is not None
            told |= {process.stdout.readline().strip() for _ in range(enough)}
            process.kill()
            told |= {line.strip() for line in process.stdout}
        assert process.returncode == -signal.SIGKILL
        with open_history(tmp_path) as history:
            kept = {attempt.id for attempt in history.attempts()}
            history.check()
        assert told <= kept
    # One a round may have been written and not told yet.
    assert sum(rounds) <= len(told) <= len(kept) <= len(told) + len(rounds)


def test_two_programs_at_once(tmp_path: Path) -> None:
    """Both find no folder, create the same one, and append to it."""
    folder = tmp_path / "new"
    with appender(folder, 200) as one, appender(folder, 200) as two:
        told = [*one.communicate()[0].split(), *two.communicate()[0].split()]
    assert (one.returncode, two.returncode) == (0, 0)
    with open_history(folder) as history:
        assert sorted(told) == [attempt.id for attempt in history.attempts()]
        assert len(told) == 400
        history.check()


def test_nobody_waits_while_rows_are_read(
    history: History, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(schema, "BUSY_S", 0.05)
    with open_history(tmp_path) as game:

        def slow() -> Iterator[tuple[int, Row]]:
            for place in range(3):
                game.append(plain(game))
                yield place, (*ATTEMPTS.row_of(ATTEMPTS.values_of(plain(history))), None, None)

        assert history.merge(slow()) == Merged(added=3, already_there=0)
        assert game.count() == 6


def test_threads_share_one_history(history: History) -> None:
    def work() -> None:
        for _ in range(50):
            history.append(plain(history))

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert history.count() == 200
