"""``trainer serve`` without a browser: what it says, and what it makes of what a visitor says."""

import asyncio
import os
import re
import shlex
import socket
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import aiohttp
import pytest
import textual_serve.server

from trainer.cli import main
from trainer.commands.serve import (
    cell_of,
    command_line,
    for_a_browser,
    new_secret,
    player_named,
    secret_of,
    server,
    shape_of,
    size_of,
)
from trainer.commands.serve.names import Names
from trainer.pictures.terminal import Depth, chosen_colours, chosen_glyphs
from trainer.settings.players import player_folder

Run = Callable[..., tuple[int, str, str]]
PAGE = Path(main.__code__.co_filename).parent / "commands" / "serve" / "index.html"
PUBLISHED = {"/static/": Path(textual_serve.server.__file__).parent / "static", "/addon-image/": server.ADDON}


def one_line(err: str) -> str:
    assert err.startswith("trainer: ")
    assert err.count("\n") == 1
    assert err.endswith("\n")
    return err


@pytest.mark.parametrize("package", ["textual_serve.server", "aiohttp"])
def test_without_the_extra_one_line_says_what_to_install(
    run: Run, monkeypatch: pytest.MonkeyPatch, package: str
) -> None:
    monkeypatch.delitem(sys.modules, "trainer.commands.serve.server", raising=False)
    monkeypatch.setitem(sys.modules, package, None)  # type: ignore[arg-type]
    code, out, err = run("serve")
    assert (code, out) == (1, "")
    said = one_line(err)
    assert package.partition(".")[0] in said
    assert "pip install 'potting-angles[web]'" in said


def test_a_port_in_use_is_one_line(run: Run) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        code, out, err = run("serve", "--port", port)
    assert (code, out) == (1, "")
    assert f"port {port}" in one_line(err)
    assert "--port" in err


@pytest.mark.parametrize("host", ["no.such.host.invalid", "a" * 80, "..", "203.0.113.1"])
def test_a_host_that_is_none_of_this_machine_is_one_line(run: Run, host: str) -> None:
    code, out, err = run("serve", "--port", "0", "--host", host)
    assert (code, out) == (1, "")
    assert f"--host '{host[:60]}' is no name or address of this machine" in one_line(err)
    assert "--port" not in err


@pytest.mark.parametrize(
    "args",
    [
        ("--port", "-1"),
        ("--port", "65536"),
        ("--port", "x"),
        ("--player", "Anna"),
        ("--host", " "),
        *(("--public", bad) for bad in ("", "x", "ftp://x", "https://", "https://a/b", "https://a:0")),
    ],
)
def test_what_is_not_meant_is_a_usage_error(run: Run, args: tuple[str, str]) -> None:
    code, out, err = run("serve", *args)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert args[0].removeprefix("--") in err


@pytest.mark.parametrize(
    "cookie",
    [
        None,
        "",
        "..",
        "../../x",
        "a" * 31,
        "a" * 33,
        "A" * 32,
        "g" * 32,
        "a" * 32 + "\n",
        "/" + "a" * 31,
        "１" * 32,
    ],
)
def test_only_a_cookie_of_ours_is_one(cookie: str | None) -> None:
    assert secret_of(cookie) is None


def test_each_secret_is_another_player_in_a_folder_inside(tmp_path: Path) -> None:
    secrets = {new_secret() for _ in range(200)}
    assert len(secrets) == 200
    assert {secret_of(secret) for secret in secrets} == secrets
    names = {player_named(secret) for secret in secrets}
    assert len(names) == 200
    for secret in secrets:
        name = player_named(secret)
        assert re.fullmatch(r"visitor-[0-9a-f]{16}", name)
        assert secret not in name
        assert not any(secret[i : i + 8] in name for i in range(24))
        assert player_folder(tmp_path, name) == tmp_path / "players" / name


@pytest.mark.skipif(os.name == "nt", reason="another shell")
@pytest.mark.parametrize("data", ["plain", "a b", 'it\'s; echo $HOME `id` "x" \\ *', "-x", "ä\n"])
def test_the_shell_hands_on_each_word_as_it_is(data: str) -> None:
    line = command_line(["--data", data], "visitor-0", 2.333, (9, 21))
    shown = line.replace(shlex.quote(sys.executable), "printf %s\\\\0", 1).replace("exec printf", "printf", 1)
    done = subprocess.run(["/bin/sh", "-c", shown], capture_output=True, check=True)
    words = ["-P", "-m", "trainer", "--data", data, "--player", "visitor-0", "--cell-shape", "2.333"]
    assert done.stdout.decode().split("\0") == [*words, "--cell-pixels", "9x21", ""]


@pytest.mark.parametrize(
    ("said", "shape"),
    [("2.333", 2.333), ("1.3", 1.3), ("3.2", 3.2)]
    + [(bad, None) for bad in (None, "", "x", "nan", "inf", "1e400", "-2", "1.29", "3.21", "2;id")],
)
def test_a_shape_is_believed_where_cells_can_have_it(said: str | None, shape: float | None) -> None:
    assert shape_of(said) == shape


@pytest.mark.parametrize(
    ("said", "cell"),
    [("9x21", (9, 21)), ("4x8", (4, 8)), ("20x40", (20, 40))]
    + [
        (bad, None)
        for bad in (None, "", "x", "9", "9x", "x21", "3x7", "21x42", "20x41", "0x0", "-9x21", "9x-21")
    ]
    + [
        (bad, None)
        for bad in ("9.6x21", "9x21x2", "9x21\n", "9X21", "09x21", "９x21", "1e1x21", "9" * 5000, "9x21;id")
    ]
    + [(bad, None) for bad in ("20x20", "4x40")],  # no cell has that shape
)
def test_pixels_of_a_cell_are_believed_where_a_cell_can_have_them(
    said: str | None, cell: tuple[int, int] | None
) -> None:
    assert cell_of(said) == cell


@pytest.mark.parametrize(
    ("said", "size"),
    [
        (("142", "38"), (142, 38)),
        ((213, 51.0), (213, 51)),
        ((None, None), (80, 24)),
        (("x", {}), (80, 24)),
        ((float("inf"), float("nan")), (80, 24)),
        ((10**9, -5), (500, 1)),
        (("9" * 5000, []), (80, 24)),
    ],
)
def test_a_size_is_one_that_a_screen_may_have(said: tuple[object, object], size: tuple[int, int]) -> None:
    assert size_of(*said) == size


def test_the_terminal_it_was_started_in_is_nothing_to_a_browser() -> None:
    environ = {
        **{"TERM": "linux", "TMUX": "1", "NO_COLOR": "1", "TRAINER_GLYPHS": "plain", "TRAINER_COLOURS": "16"},
        **{"KITTY_WINDOW_ID": "1", "TRAINER_PLAYER": "Anna", "TRAINER_DATA": "/x", "HOME": "/h"},
    }
    for_a_browser(environ)
    assert chosen_glyphs(environ, None).value == "quadrants"
    assert chosen_colours(environ, None).value is Depth.TRUE
    assert chosen_glyphs(environ, "halves").value == "halves"  # what a visitor chose stands
    assert set(environ) == {"TERM", "COLORTERM", "TRAINER_DATA", "HOME"}


def test_the_page_refers_to_nothing_outside() -> None:
    page = PAGE.read_text(encoding="utf-8")
    refers = re.findall(r"""(?:src|href|url)\s*[=(]\s*["']([^"']*)""", page)
    ours = {name: start for name in refers for start in PUBLISHED if name.startswith(start)}
    assert len(ours) >= 5
    assert set(refers) - set(ours) == {"/ws", "data:,"}
    assert {"/static/js/textual.js", "/addon-image/addon-image.js"} <= set(ours)
    for name, start in ours.items():
        file = PUBLISHED[start] / name.removeprefix(start)
        assert file.is_file()
        if file.suffix in (".css", ".js"):
            text = re.sub(r"/\*.*?\*/", "", file.read_text(encoding="utf-8"), flags=re.S)
            assert len(text) > 1000
            assert not re.search(r"""https?://|@import|["'(]//\w""", text)
    assert not re.search(r"https?://|@import", page)


async def asked_for(path: str, host: str, monkeypatch: pytest.MonkeyPatch, most: int) -> tuple[int, str]:
    """The status of an answer and where it sends to; of a server in this process, which starts no game."""
    monkeypatch.setattr(server, "MOST_OPEN", most)
    ports: asyncio.Queue[int] = asyncio.Queue()
    serving = asyncio.create_task(server.Serving([], Names("127.0.0.1")).run(0, ports.put_nowait))
    port = await ports.get()
    headers = {"Host": f"{host}:{port}", "Origin": f"http://{host}:{port}", "Cookie": "visitor=" + "a" * 32}
    async with aiohttp.ClientSession() as http:
        url = f"http://127.0.0.1:{port}{path}"
        async with http.get(url, headers=headers, allow_redirects=False) as answer:
            found = answer.status, answer.headers.get("Location", "").replace(str(port), "PORT")
    serving.cancel()
    with suppress(asyncio.CancelledError):
        await serving
    return found


async def test_a_visitor_is_led_to_the_one_name_of_the_server(monkeypatch: pytest.MonkeyPatch) -> None:
    assert await asked_for("/?x=1", "localhost", monkeypatch, 1) == (302, "http://127.0.0.1:PORT/?x=1")
    assert await asked_for("/", "127.0.0.1", monkeypatch, 1) == (200, "")
    assert await asked_for("/", "elsewhere.example", monkeypatch, 1) == (403, "")
    assert await asked_for("/static/../page.html", "127.0.0.1", monkeypatch, 1) == (404, "")
