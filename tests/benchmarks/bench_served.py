"""The served game after hostile pages: what the server takes then, and whether honest visitors play.

Of each kind 200 messages, from as many pages at once as games fit, which then go without a word; 200 requests
that are none, and 200 pages of elsewhere. After each kind: memory and open files of the server, games that
are left. Then as many honest visitors at once as games fit, each of whom plays a shot; and how long the
server takes to end with all their games open. Usage: bench_served.py [KIND ...]
"""

import asyncio
import json
import os
import signal
import socket
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "commands"))

import aiohttp
from served import WAIT_S, Served, games
from test_serve_hostile import MADE_UP, resident

from trainer.commands.serve import player_named
from trainer.commands.serve.server import MOST_OPEN

MANY = 200
PATIENCE_S = 120.0
KINDS = {
    **MADE_UP,
    "not JSON": ["[", "[" * 30_000],
    "sizes": [
        '["resize", {"width": 1e999, "height": "x"}]',
        '["resize", {"width": 9e9, "height": -5}]',
    ],
    "a flood of keys": [json.dumps(["stdin", "123456789" * 500])],
}


def figures(served: Served) -> str:
    """What the server takes, and the games that are left."""
    pid = served.program.pid
    files = len(os.listdir(f"/proc/{pid}/fd"))
    return f"{resident(pid) / 2**20:5.0f} MB  {files:3} files  {len(games(str(served.data))):2} games"


async def gone(served: Served) -> float:
    """Wait until no game is left: how long that took, in seconds."""
    started = time.monotonic()
    while games(str(served.data)) and time.monotonic() - started < WAIT_S:
        await asyncio.sleep(0.05)
    took = time.monotonic() - started
    await asyncio.sleep(0.5)  # connections close
    return took


class Visitors:
    """Those who come to a server."""

    def __init__(self, served: Served, http: aiohttp.ClientSession) -> None:
        self._served, self._http = served, http

    def _come(self, secret: str, origin: str = "") -> "aiohttp.client._WSRequestContextManager":
        headers = {"Origin": origin or self._served.url, "Cookie": f"visitor={secret}"}
        return self._http.ws_connect(f"{self._served.url}/ws?width=100&height=30", headers=headers)

    async def hostile(self, number: int, said: list[str]) -> None:
        """Say all of it, and go without a word."""
        async with self._come(f"{number:032x}") as page:
            await page.receive(timeout=WAIT_S)
            for text in said:
                await page.send_str(text)
            await page.send_str('["ping", "1"]')
            while (answer := await page.receive(timeout=WAIT_S)).type is aiohttp.WSMsgType.BINARY:
                pass  # until all of it is heard
            if answer.type is aiohttp.WSMsgType.TEXT and (way := page.get_extra_info("transport")):
                way.abort()

    async def elsewhere(self) -> int:
        """Come from a page that isn't ours."""
        try:
            async with self._come("a" * 32, "http://elsewhere.example"):
                return 101
        except aiohttp.WSServerHandshakeError as error:
            return error.status

    async def honest(self, number: int, ready: asyncio.Barrier) -> float:
        """Play a shot, and stay until the server ends: the seconds until the call was kept."""
        secret, started, screen = f"{number:032x}", time.monotonic(), ""
        player = player_named(secret)

        async def read() -> None:
            nonlocal screen
            async for message in page:
                if message.type is aiohttp.WSMsgType.BINARY:
                    screen += message.data.decode()

        async with self._come(secret) as page, asyncio.timeout(PATIENCE_S):
            reader = asyncio.create_task(read())
            while "How full must the hit be?" not in screen:
                assert not reader.done(), f"closed with {page.close_code}"
                await asyncio.sleep(0.05)
            while player not in self._served.players():
                await page.send_str('["stdin", "1"]')
                await asyncio.sleep(0.5)
            took = time.monotonic() - started
            await ready.wait()
            await reader
            assert self._served.calls(player), "no call is kept"
            return took


def no_request(served: Served) -> None:
    """Ask for nothing that there can be."""
    host, port = served.url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=WAIT_S) as page:
        page.sendall(b"GET / HTTP/1.1\r\nHost: \xff:99999\r\n\r\n")
        answer = page.recv(4096).split(b" ")[1]
        assert answer == b"400", answer


async def attack(served: Served, visitors: Visitors, wanted: Callable[[str], bool]) -> None:
    """All that is hostile, kind by kind."""
    for kind, messages in KINDS.items():
        if wanted(kind):
            shares = [MANY // MOST_OPEN + (n < MANY % MOST_OPEN) for n in range(MOST_OPEN)]
            await asyncio.gather(*(visitors.hostile(n, messages * each) for n, each in enumerate(shares)))
            print(f"{kind:32} {await gone(served):4.1f} s  {figures(served)}", flush=True)
    if wanted("elsewhere"):
        refused = await asyncio.gather(*(visitors.elsewhere() for _ in range(MANY)))
        print(f"{'elsewhere: ' + str(set(refused)):32} {await gone(served):4.1f} s  {figures(served)}")
    if wanted("no request"):
        for _ in range(MANY):
            await asyncio.to_thread(no_request, served)
        print(f"{'no request: 400':32} {await gone(served):4.1f} s  {figures(served)}", flush=True)


async def bench(data: Path, names: list[str]) -> None:
    """Print the figures of one server."""
    served = Served(data)
    try:
        print(f"{'at the start':32}         {figures(served)}", flush=True)
        async with aiohttp.ClientSession(
            cookie_jar=aiohttp.DummyCookieJar(), connector=aiohttp.TCPConnector(limit=0, force_close=True)
        ) as http:
            visitors = Visitors(served, http)
            await attack(served, visitors, lambda kind: not names or kind in names)
            print(f"{'folders of hostile visitors':32} {len(served.players()):5}")
            ready = asyncio.Barrier(MOST_OPEN + 1)
            async with asyncio.TaskGroup() as group:
                playing = [group.create_task(visitors.honest(1000 + n, ready)) for n in range(MOST_OPEN)]
                await ready.wait()
                print(f"{f'{MOST_OPEN} honest visitors':32}         {figures(served)}", flush=True)
                started = time.monotonic()
                code, said = await asyncio.to_thread(served.end, signal.SIGTERM)
                took = time.monotonic() - started
            waited = [each.result() for each in playing]
            print(f"a call was kept after {min(waited):.1f} to {max(waited):.1f} s")
            left = len(games(str(data)))
            print(f"ended in {took:.1f} s with {code}, {left} games left, said: {said or 'nothing'}")
    finally:
        served.program.kill()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        asyncio.run(bench(Path(folder) / "data", sys.argv[1:]))
