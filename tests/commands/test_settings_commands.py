"""The player's settings in the commands: what the game starts with, and what is printed on a terminal."""

import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from trainer.app.app import TrainerApp
from trainer.cli import main
from trainer.pictures.terminal import Depth
from trainer.settings.settings import FILE, Settings, save_settings

Run = Callable[..., tuple[int, str, str]]
PICTURE = ("shot", "--seed", "3", "--view", "plan", "--size", "60x18")


@pytest.fixture(autouse=True)
def _known_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("TMUX", "STY", "WT_SESSION", "VTE_VERSION", "KITTY_WINDOW_ID", "TERM_PROGRAM"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def data(tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    folder.mkdir()
    return folder


class Terminal:
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True

    def write(self, text: str) -> int:
        return len(text)

    def flush(self) -> None:
        pass

    def fileno(self) -> int:
        raise OSError


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Callable[..., tuple[int, list[TrainerApp]]]:
    """A command on a terminal: its exit code, and the games that it started."""

    def runner(*args: str) -> tuple[int, list[TrainerApp]]:
        started: list[TrainerApp] = []

        async def instead(app: TrainerApp, **_: object) -> None:
            started.append(app)

        with monkeypatch.context() as patch:
            patch.setattr(TrainerApp, "run_async", instead)
            for name in ("stdin", "stdout", "stderr"):
                patch.setattr(sys, name, Terminal())
            return main(args), started

    return runner


@pytest.mark.parametrize("args", [(), ("play", "eighths")])
def test_the_game_starts_with_the_settings_and_variables_go_before(
    start: Any, data: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...]
) -> None:
    def drawn() -> tuple[str, Depth, float]:
        code, (app,) = start(*args)
        assert code == 0
        return app.glyphs, app.colours, app.cell_aspect

    assert drawn() == ("quadrants", Depth.MANY, 2.0)
    save_settings(data, Settings("sextants", "true", 2.3))
    assert drawn() == ("sextants", Depth.TRUE, 2.3)
    monkeypatch.setenv("TRAINER_GLYPHS", "halves")
    assert drawn() == ("halves", Depth.TRUE, 2.3)
    monkeypatch.setenv("TRAINER_COLOURS", "16")
    assert drawn() == ("halves", Depth.FEW, 2.3)
    monkeypatch.setattr("trainer.pictures.terminal.asked_aspect", lambda: 1.8)
    assert drawn()[2] == 2.3
    save_settings(data, Settings())
    assert drawn()[2] == 1.8


def test_colours_are_found_out_for_the_game_too(
    start: Any, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for environ, colours in (
        ({"COLORTERM": "truecolor"}, Depth.TRUE),
        ({"COLORTERM": "", "TERM": "xterm-16color"}, Depth.FEW),
        ({"TERM": ""}, Depth.NONE),
    ):
        for name, value in environ.items():
            monkeypatch.setenv(name, value)
        assert start()[1][0].colours == colours


@pytest.mark.parametrize("text", ["glyphs = ", "glyphs = 'x'", "[[", "new = 1"])
def test_a_faulty_file_never_stops_the_game(start: Any, data: Path, text: str) -> None:
    (data / FILE).write_text(text)
    code, (app,) = start()
    assert code == 0
    assert (app.glyphs, app.colours, app.cell_aspect) == ("quadrants", Depth.MANY, 2.0)
    assert len(app._problems) == 1
    assert (data / FILE).read_text() == text


@pytest.mark.parametrize(("name", "value"), [("TRAINER_GLYPHS", "octopus"), ("TRAINER_COLOURS", "lots")])
def test_a_variable_that_says_nothing_is_one_line(
    run: Run, start: Any, monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    monkeypatch.setenv(name, value)
    code, started = start()
    assert (code, started) == (1, [])


def test_what_is_printed_on_a_terminal_is_as_the_game_draws(
    run: Run, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    elsewhere = run(*PICTURE)
    save_settings(data, Settings("plain", "256", 1.4))
    assert run(*PICTURE) == elsewhere  # a file or a pipe is no terminal
    monkeypatch.setattr("trainer.commands.shot._to_terminal", lambda: True)
    code, out, _ = run(*PICTURE)
    assert code == 0
    assert out.isascii()
    assert "38;2" not in out
    assert out != run(*PICTURE, "--glyphs", "quadrants")[1]
    save_settings(data, Settings("plain", "256", 2.0))
    assert run(*PICTURE)[1] != out  # flatter cells take more rows for the same ball
    monkeypatch.setenv("TRAINER_COLOURS", "none")
    assert "\x1b" not in run(*PICTURE)[1]
    (data / FILE).write_text("broken")
    assert run(*PICTURE)[0] == 0


def test_the_glyphs_are_said_with_who_says_so(run: Run, data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "drawn with quadrants, which nearly every terminal draws" in run("terminal")[1]
    monkeypatch.setenv("TERM", "xterm-kitty")
    assert "drawn with slanted, which this terminal is known to draw" in run("terminal")[1]
    save_settings(data, Settings("sextants"))
    assert "drawn with sextants, as your settings say" in run("terminal")[1]
    monkeypatch.setenv("TRAINER_GLYPHS", "halves")
    assert "drawn with halves, as the variable TRAINER_GLYPHS says" in run("terminal")[1]
    (data / FILE).write_text("glyph = 1")
    code, out, _ = run("terminal")
    assert code == 0
    assert "did you mean glyphs?" in out


def test_the_keys_are_listed_as_lines_that_the_settings_take(run: Run, data: Path) -> None:
    (data / FILE).write_text('hand = "left"\n[keys]\nwhy = "f2"\nnxt = "k"\n')
    code, out, err = run("--data", str(data), "keys")
    assert (code, err) == (0, "")
    assert tomllib.loads(out) == {"keys": {"why": "f2"}}
    assert '# next_view          = "v"' in out
    assert '# call               = "space"' in out  # of the left hand
    assert "keys.'nxt': no such action" in out


def test_the_game_starts_with_the_players_keys(
    start: Callable[..., tuple[int, list[TrainerApp]]], data: Path
) -> None:
    save_settings(data, Settings(hand="right", keys={"why": ("f2",)}))
    _, (app,) = start("--data", str(data))
    assert app.keys.of["why"] == ("f2",)
    assert app.keys.of["leave_set"] == ("backspace",)
