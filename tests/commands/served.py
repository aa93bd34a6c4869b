"""``trainer serve`` as a program of its own, and the games that it starts."""

import os
import re
import sqlite3
import subprocess
import sys
from contextlib import closing, suppress
from pathlib import Path

WAIT_S = 30


class Served:
    """``trainer serve`` on a port that was free."""

    def __init__(self, data: Path, *options: str) -> None:
        environ = {**os.environ, "TEXTUAL_ANIMATIONS": "none", "TERM": "linux", "TRAINER_GLYPHS": "plain"}
        self.data = data
        self.program = subprocess.Popen(
            [sys.executable, "-m", "trainer", "serve", "--port", "0", "--data", str(data), *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=environ,
        )
        assert self.program.stdout is not None
        self.said = self.program.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+", self.said)
        assert found, self.said + self.program.stdout.read()
        self.url = found[0]

    def end(self, how: int) -> tuple[int, str]:
        """End it by a signal: its exit code, and what else it said."""
        self.program.send_signal(how)
        out, _ = self.program.communicate(timeout=WAIT_S)
        return self.program.returncode, out

    def calls(self, player: str) -> list[tuple[str, str]]:
        """The level and the answer of each call of a player's, in order, read without the trainer."""
        with closing(sqlite3.connect(self.data / "players" / player / "history.sqlite3")) as history:
            return list(history.execute("SELECT level, call FROM attempts ORDER BY epoch_ms, number"))

    def players(self) -> set[str]:
        """Who has a folder."""
        folder = self.data / "players"
        return set(os.listdir(folder)) if folder.is_dir() else set()


def games(word: str) -> list[int]:
    """The processes of the games with a word on their command line: a player, or where the data is."""
    found = []
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            with suppress(OSError):
                words = (folder / "cmdline").read_bytes().split(b"\0")
                if word.encode() in words and b"--player" in words:
                    found.append(int(folder.name))
    return found
