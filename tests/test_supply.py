"""What the trainer needs from elsewhere: three packages, and no network but to serve a browser."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import trainer
from trainer.cli import main

ROOT = Path(__file__).resolve().parents[1]
# A process that may open no socket to anywhere; an event loop wakes itself by a pair of AF_UNIX. A hook can't
# be taken away again.
CLOSED = """
import socket, sys


def guard(event, args):
    if event == "socket.__new__" and args[1] not in (0, socket.AF_UNIX, getattr(socket, "AF_UNSPEC", 0)):
        raise RuntimeError("a socket to elsewhere")
    to_elsewhere = ("socket.connect", "socket.bind", "socket.get", "socket.send", "urllib.", "webbrowser.")
    if event.startswith(to_elsewhere):
        raise RuntimeError(event)


sys.addaudithook(guard)
"""
EVERY_COMMAND = """
from trainer.cli import main

data = ["--data", "data", "--now", "2026-03-01T12:00:00+00:00"]


def run(*words):
    assert main([*words, *data]) == 0, words


run("simulate", "--into", "data", "--days", "2", "--shots", "12")
run("levels")
run("tables")
run("terminal")
run("keys")
run("today")
run("report", "--page", "page.html")
run("card", "--svg", "card.svg")
run("shot", "--seed", "4")
run("notebook", "1/2", "left", "thin")
run("play", "eighths", "--lines", "--shots", "1")
run("warmup", "--lines", "--shots", "1")
run("export", "calls.csv")
run("import", "calls.csv")
run("undo", "--yes")
run("backups")
run("restore", min(Path("data", "backups").glob("*.sqlite3")).stem, "--yes")
run("players")
"""
THE_GAME = """
import asyncio

from trainer.app.app import TrainerApp
from trainer.play.game import Game
from trainer.history.clock import SystemClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf


async def play(game):
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        for key in ("1", "enter", "escape", "p", "escape", "w", "escape", "t", "escape", "question_mark"):
            await pilot.pause()
            await pilot.press(key)


with History.open(Path("data"), SystemClock()) as history:
    asyncio.run(play(Game(history, open_shelf())))
    assert history.count() == 1
"""


def closed(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a program that may use no network."""
    program = f"{CLOSED}\nfrom pathlib import Path\n{code}"
    return subprocess.run(
        [sys.executable, "-c", program],
        cwd=folder,
        input="1\n" * 9,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.slow
@pytest.mark.parametrize("code", [EVERY_COMMAND, THE_GAME], ids=["every command", "the game"])
def test_nothing_uses_the_network(code: str, tmp_path: Path) -> None:
    done = closed(code, tmp_path)
    assert done.returncode == 0, done.stdout[-500:] + done.stderr


@pytest.mark.parametrize(
    "code",
    [
        "socket.create_connection(('127.0.0.1', 9))",
        "socket.getaddrinfo('localhost', 80)",
        "socket.socket(socket.AF_INET, socket.SOCK_DGRAM)",
        "import urllib.request; urllib.request.urlopen('http://localhost/')",
    ],
)
def test_the_guard_of_that_test_sees_what_would(code: str, tmp_path: Path) -> None:
    assert "RuntimeError" in closed(code, tmp_path).stderr


def test_that_test_runs_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    there = re.findall(r"^ {4}([a-z]+) ", capsys.readouterr().out, re.M)
    assert len(there) > 10
    assert sorted([*re.findall(r'^run\("(\w+)"', EVERY_COMMAND, re.M), "serve"]) == sorted(there)


def test_serve_is_the_command_that_needs_a_socket(tmp_path: Path) -> None:
    code = "from trainer.cli import main; main(['serve', '--port', '0', '--data', 'data'])"
    assert "RuntimeError" in closed(code, tmp_path).stderr


def test_each_package_that_is_imported_is_declared_with_its_reason() -> None:
    modules = set()
    for file in Path(trainer.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                modules |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                modules.add(node.module.split(".")[0])
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    project = tomllib.loads(text)["project"]
    declared = {re.split(r"[<>=]", name)[0] for name in project["dependencies"]}
    extra = {re.split(r"[<>=]", name)[0] for name in project["optional-dependencies"]["web"]}
    # Textual is built on rich. Who imports the extra, test_layers says.
    assert modules - set(sys.stdlib_module_names) - {"trainer", "rich"} == declared | {
        name.replace("-", "_") for name in extra
    }
    assert not declared & extra
    for name in declared | extra:
        assert re.search(rf'^  "{name}[^"]*",\s+# \w+', text, re.M), f"{name}: why?"
        assert f"`{name}`" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
