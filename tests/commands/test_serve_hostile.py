"""``trainer serve`` against pages that aren't ours: no game hears what they make up, or outlives them."""

import asyncio
import re
import shlex
import signal
import socket
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from time import monotonic

import aiohttp
import pytest
from served import WAIT_S, Served, games
from textual import events
from textual._xterm_parser import XTermParser

from trainer.commands.serve import MOST_MEMORY, MOST_TIME_S, server
from trainer.commands.serve.names import Names
from trainer.commands.serve.typed import ESCAPE, typed

MOST = server.MOST_OPEN
SOON_S = 0.05
MADE_UP = {
    "no character has that number": ['["stdin", "\\u001b[1114112u"]'],
    "twenty digits": ['["stdin", "\\u001b[99999999999999999999u"]'],
    "in two parts": ['["stdin", "\\u001b"]', '["stdin", "[1114112u"]'],
    "in three parts": ['["stdin", "\\u001b["]', '["stdin", "1114112"]', '["stdin", "u"]'],
    "nothing": ['["stdin", ""]'],
    "a size": ['["stdin", "\\u001b[48;2000;3000;9;9t"]'],
    "a paste without an end": ['["stdin", "\\u001b[200~"]', '["stdin", "\\u001b[48;2000;3000;9;9t"]'],
}


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A server with an empty data folder."""
    server = Served(tmp_path / "data")
    with server.program:  # closes its output
        yield server
        if server.program.poll() is None:
            server.program.kill()


async def gone(served: Served) -> None:
    """Wait until no game is left."""
    for _ in range(int(WAIT_S / SOON_S)):
        if not games(str(served.data)):
            return
        await asyncio.sleep(SOON_S)
    raise AssertionError(f"{len(games(str(served.data)))} games are left")


def headers(served: Served, number: int) -> dict[str, str]:
    return {"Origin": served.url, "Cookie": f"visitor={number:032x}"}


@pytest.mark.slow
async def test_whatever_a_page_says_its_game_ends_with_it_and_honest_visitors_play(served: Served) -> None:
    address = served.url.replace("http", "ws") + "/ws?width=100&height=30"
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http:

        async def visit(number: int, said: list[str], met: asyncio.Barrier) -> float:
            """Memory of the games, in GB, while all of them are there."""
            async with http.ws_connect(address, headers=headers(served, number)) as page:
                assert (await page.receive(timeout=WAIT_S)).type is aiohttp.WSMsgType.BINARY
                for text in said:
                    await page.send_str(text)
                await page.send_str('["ping", "1"]')
                while (await page.receive(timeout=WAIT_S)).type is aiohttp.WSMsgType.BINARY:
                    pass  # frames, until it is answered
                await met.wait()
                await asyncio.sleep(0.5)
                found = games(str(served.data))
                return sum(resident(number) for number in found) / 2**30

        kinds = 2 * list(MADE_UP.values())
        met = asyncio.Barrier(len(kinds))
        memory = await asyncio.gather(*(visit(number, said, met) for number, said in enumerate(kinds)))
        assert max(memory) < 0.1 * len(kinds)
        await gone(served)
        met = asyncio.Barrier(MOST)
        await asyncio.gather(*(visit(100 + number, [], met) for number in range(MOST)))
    started = monotonic()
    assert served.end(signal.SIGTERM) == (0, "")
    assert monotonic() - started < 5
    assert not games(str(served.data))


def resident(number: int) -> int:
    """Bytes of memory that a process takes."""
    try:
        said = Path(f"/proc/{number}/status").read_text()
    except OSError:
        return 0
    found = re.search(r"VmRSS:\s+(\d+) kB", said)
    return 1024 * int(found[1]) if found else 0


@pytest.mark.slow
async def test_a_page_that_reads_nothing_and_goes_gives_its_place_back(served: Served) -> None:
    host, port = re.findall(r"[\d.]+", served.url)[0], int(served.url.rpartition(":")[2])
    lines = [
        "GET /ws?width=200&height=60&cell=9x21&shape=2.333 HTTP/1.1",
        *(f"Host: {host}:{port}", "Upgrade: websocket", "Connection: Upgrade", "Sec-WebSocket-Version: 13"),
        *(
            "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==",
            f"Origin: {served.url}",
            "Cookie: visitor=" + "a" * 32,
        ),
    ]
    with socket.create_server(("127.0.0.1", 0)):  # nothing else takes the port's number
        for _ in range(3):
            with socket.socket() as page:
                page.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
                page.connect((host, port))
                page.sendall("\r\n".join([*lines, "", ""]).encode())
                while not games(str(served.data)):
                    await asyncio.sleep(SOON_S)
                await asyncio.sleep(1.5)  # its first pictures are more than the socket takes
                page.setsockopt(
                    socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0"
                )  # goes without a word
            await gone(served)
    assert served.end(signal.SIGTERM) == (0, "")


async def test_a_page_hears_why_it_has_no_game(monkeypatch: pytest.MonkeyPatch) -> None:
    ports: asyncio.Queue[int] = asyncio.Queue()
    serving = asyncio.create_task(server.Serving([], Names("127.0.0.1")).run(0, ports.put_nowait))
    port = await ports.get()
    origin = {"Origin": f"http://127.0.0.1:{port}", "Cookie": "visitor=" + "a" * 32}
    said = {}
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http:
        for name, most, script in (
            ("full", 0, ""),
            ("died", 1, "print('__GANGLION__'); import os; os.abort()"),
            ("never began", 1, "raise SystemExit(1)"),
            ("left", 1, "print('__GANGLION__')"),
        ):
            monkeypatch.setattr(server, "MOST_OPEN", most)
            command = f"exec {shlex.join([sys.executable, '-c', script])}"
            monkeypatch.setattr(server, "command_line", lambda *_, command=command: command)
            async with http.ws_connect(f"ws://127.0.0.1:{port}/ws", headers=origin) as page:
                while (await page.receive(timeout=WAIT_S)).type is aiohttp.WSMsgType.BINARY:
                    pass
                said[name] = page.close_code
    serving.cancel()
    with suppress(asyncio.CancelledError):
        await serving
    assert said == {"full": 1013, "died": 1011, "never began": 1011, "left": 1001}
    page_text = server.PAGE.read_text(encoding="utf-8")
    assert all(f"{code}: [" in page_text for code in said.values())


FILMED = """
from io import StringIO
from trainer.app.textual_private import FaultApp, send

class Filmed(FaultApp):
    def on_mount(self):
        self.set_interval(1 / 60, lambda: send(self, "f" * 400_000))
        self.call_later(self.deliver_text, StringIO("<" + "p" * 400_000 + ">"), save_filename="picture.svg")

Filmed().run()
"""


async def test_a_picture_that_is_kept_while_a_film_runs_comes_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    ports: asyncio.Queue[int] = asyncio.Queue()
    command = f"exec {shlex.join([sys.executable, '-c', FILMED])}"
    monkeypatch.setattr(server, "command_line", lambda *_: command)
    serving = asyncio.create_task(server.Serving([], Names("127.0.0.1")).run(0, ports.put_nowait))
    url = f"http://127.0.0.1:{await ports.get()}"
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http:
        headers = {"Origin": url, "Cookie": "visitor=" + "a" * 32}
        async with http.ws_connect(f"{url}/ws", headers=headers, max_msg_size=0) as page:
            while (said := await page.receive(timeout=WAIT_S)).type is aiohttp.WSMsgType.BINARY:
                pass
            kind, key = said.json()
            assert kind == "deliver_file_start"
            fetched = asyncio.create_task(http.get(f"{url}/download/{key}").__aenter__())
            await asyncio.sleep(2)  # a slow page: frames wait, and so does what is fetched
            frames = 0
            while not fetched.done() or frames < 60:
                said = await page.receive(timeout=WAIT_S)
                assert said.type is aiohttp.WSMsgType.BINARY
                if b"f" * 9 in said.data:
                    assert said.data == b"f" * 400_000
                    frames += 1
            body = asyncio.create_task((await fetched).read())
            while not body.done():
                await page.receive(timeout=WAIT_S)
            assert await body == b"<" + b"p" * 400_000 + b">"
    serving.cancel()
    with suppress(asyncio.CancelledError):
        await serving


@pytest.mark.skipif(sys.platform == "win32", reason="other signals")
async def test_a_game_that_hears_nothing_is_killed() -> None:
    deaf = "import signal, time; signal.signal(15, signal.SIG_IGN); print('__GANGLION__', flush=True); "
    deaf += "time.sleep(99)"

    async def nowhere(_: object = None) -> None:
        pass

    game = server._Game(
        f"exec {shlex.join([sys.executable, '-c', deaf])}",
        write_bytes=nowhere,
        write_str=nowhere,
        close=nowhere,
        download_manager=server.Server("trainer").download_manager,
    )
    over = await game.play(80, 24)
    await asyncio.sleep(0.3)
    assert not over.done()
    started = monotonic()
    await game.stop()
    assert game._of.returncode == -signal.SIGKILL
    assert monotonic() - started < sum(server.ENDING_S) + 1


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/limits").exists(), reason="no list of a process's limits")
async def test_the_system_bounds_a_game(served: Served) -> None:
    address = served.url.replace("http", "ws") + "/ws?width=100&height=30"
    async with (
        aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http,
        http.ws_connect(address, headers=headers(served, 1)) as page,
    ):
        assert (await page.receive(timeout=WAIT_S)).type is aiohttp.WSMsgType.BINARY
        (number,) = games(str(served.data))
        limits = Path(f"/proc/{number}/limits").read_text()
    assert re.search(rf"Max address space +{MOST_MEMORY} ", limits)
    assert re.search(rf"Max cpu time +{MOST_TIME_S} ", limits)


def test_what_is_no_request_is_refused_in_a_line_and_is_nothing_to_the_operator(tmp_path: Path) -> None:
    served = Served(tmp_path / "data")
    port = int(served.url.rpartition(":")[2])
    ours = f"Host: 127.0.0.1:{port}"
    requests = [
        *("GET / HTTP/1.1\r\nHost: 127.0.0.1:99999", "GET / HTTP/1.1\r\nHost: localhost:x"),
        *("GET / HTTP/1.1\r\nHost: \xff", f"GET /static/{'a' * 5000} HTTP/1.1\r\n{ours}", "GET / HTTP/1.1"),
        *("\0\1", f"GET http://[ HTTP/1.1\r\n{ours}", f"GET ? HTTP/1.1\r\n{ours}"),
        *(f"POST / HTTP/1.1\r\n{ours}\r\nContent-Length: -1", f"GET /{'a' * 9000} HTTP/1.1\r\n{ours}"),
    ]
    with served.program:
        for said in requests:
            with socket.create_connection(("127.0.0.1", port), timeout=WAIT_S) as page:
                page.sendall(said.encode("latin-1") + b"\r\n\r\n")
                assert page.recv(4096).split(b" ")[1] == b"400", said
        assert served.end(signal.SIGTERM) == (0, "")


def keys(text: str) -> list[str]:
    """What a game makes of what is passed on."""
    parser = XTermParser()
    found = []
    for event in (*parser.feed(text), *parser.feed("")) if text else ():  # nothing is the end
        if isinstance(event, events.Key):
            found.append(event.key)
        else:
            found.append(type(event).__name__)
    return found


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("1", ["1"]),
        ("\r\t\x7f\x03ä", ["enter", "tab", "backspace", "ctrl+c", "ä"]),
        ("\x1b", ["escape"]),
        ("\x1b\x1b", ["escape", "escape"]),
        ("\x1b[A\x1bOB\x1b[1;5C\x1b[Z", ["up", "down", "ctrl+right", "shift+tab"]),
        ("\x1b[3~\x1b[5;2~\x1b[15~\x1bOP", ["delete", "shift+pageup", "f5", "f1"]),
        ("\x1bx", ["alt+x"]),
        ("\x1b[<0;10;5M\x1b[<0;10;5m", ["MouseDown", "MouseUp"]),
        ("\x1b[<64;10;5M\x1b[<35;200;60M", ["MouseScrollUp", "MouseMove"]),
        ("\x1b[200~a\r1\x1b[201~", ["Paste"]),
        ("\x1b[?2026;2$y", ["TerminalSupportsSynchronizedOutput"]),
    ],
)
def test_what_is_typed_is_passed_on(said: str, meant: list[str]) -> None:
    assert [key for key in keys(typed(said)) if key] == meant
    if said not in ("\x1b", "\x1b\x1b"):
        assert typed(said) == said


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("\x1b[48;2000;3000;9;9t", ""),
        ("\x1b[1114112u", ""),
        ("\x1b[97;5u", ""),
        ("\x1b[48:0;2000;3000;9;9t", ""),
        ("1\x1b[48;20", "1"),
        ("\x1b[", ""),
        ("\x1bO", ""),
        ("\x1b\x1b[48;9;9;9;9t", ESCAPE),
        ("\x1b[?2048;1$y", ""),
        ("\x1b[I\x1b[O", ""),
        ("\x1b[99999;99999R", ""),
        ("\x1b[<0;99999;5M", ""),
        ("\x1b[200~a", "a"),
        ("\x1b[200~a\x1b[48;9;9;9;9t\x1b[201~", "a"),
        ("", ""),
    ],
)
def test_what_no_keyboard_sends_is_left_out(said: str, left: str) -> None:
    assert typed(said) == left


@pytest.mark.parametrize("said", ["\x1b[48;2000;3000;9;9t", "\x1b[1114112u", "\x1b[200~\x1b[48;9;9;9;9t"])
def test_no_way_to_cut_a_sequence_gets_it_through(said: str) -> None:
    for first in range(len(said) + 1):
        for second in range(first, len(said) + 1):
            parts = said[:first], said[first:second], said[second:]
            passed = "".join(map(typed, parts))
            assert "\x1b" not in passed.replace(ESCAPE, ""), parts
            assert not {"Resize", "Paste"} & set(keys(passed)), parts
