"""Several pages of one visitor: the game is played in one, and ends there before it goes on elsewhere."""

import asyncio
import shlex
import sys
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, asynccontextmanager, suppress
from pathlib import Path

import aiohttp
import pytest
from served import WAIT_S

from trainer.commands.serve import server
from trainer.commands.serve.names import Names
from trainer.commands.serve.places import Why

# A game that says when it begins and ends, and takes a moment for that.
GAME = """
import sys, time
with open(sys.argv[1], "a", 1) as told:
    print("begins", file=told)
    print("__GANGLION__", flush=True)
    sys.stdout.buffer.write(b"D\\0\\0\\0\\1x")
    sys.stdout.flush()
    sys.stdin.read()
    time.sleep(0.2)
    print("ends", file=told)
"""


class Page:
    """A page of a visitor's, which answers as a browser does."""

    def __init__(self, websocket: aiohttp.ClientWebSocketResponse, *, answers: bool) -> None:
        self._websocket, self._plays = websocket, asyncio.Event()
        self._reader = asyncio.create_task(self._read()) if answers else None

    async def _read(self) -> None:
        async for _ in self._websocket:
            self._plays.set()

    async def plays(self) -> bool:
        """Whether it has a game, or was told why not."""
        assert self._reader is not None
        plays = asyncio.create_task(self._plays.wait())
        await asyncio.wait((plays, self._reader), timeout=WAIT_S, return_when=asyncio.FIRST_COMPLETED)
        plays.cancel()
        return self._plays.is_set()

    async def told(self) -> int | None:
        """Why it has no game any more."""
        assert self._reader is not None
        await asyncio.wait_for(self._reader, WAIT_S)
        return self._websocket.close_code

    @property
    def is_told(self) -> bool:
        """Whether it has no game any more."""
        return self._reader is not None and self._reader.done()

    async def close(self) -> None:
        """Close it, as a browser does."""
        await self._websocket.close()


class Site:
    """A server, and the visitors who come."""

    def __init__(self, url: str, told: Path, http: aiohttp.ClientSession, stack: AsyncExitStack) -> None:
        self._url, self._told, self._http, self._stack = url, told, http, stack

    async def page(self, visitor: str, *, here: bool = False, answers: bool = True) -> Page:
        """Open another page of a visitor's."""
        headers = {"Origin": self._url, "Cookie": f"visitor={visitor * 32}"}
        address = f"{self._url}/ws" + ("?here=1" if here else "")
        opening = self._http.ws_connect(address, headers=headers, autoping=answers)
        return Page(await self._stack.enter_async_context(opening), answers=answers)

    @property
    def told(self) -> list[str]:
        """What the games said."""
        return self._told.read_text().split()


@pytest.fixture
async def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Site]:
    """A server of games that say when they begin and end."""
    told = tmp_path / "told"
    command = f"exec {shlex.join([sys.executable, '-c', GAME, str(told)])}"
    monkeypatch.setattr(server, "command_line", lambda *_: command)
    async with open_site(told) as site:
        yield site


@asynccontextmanager
async def open_site(told: Path) -> AsyncIterator[Site]:
    ports: asyncio.Queue[int] = asyncio.Queue()
    serving = asyncio.create_task(server.Serving([], Names("127.0.0.1")).run(0, ports.put_nowait))
    url = f"http://127.0.0.1:{await ports.get()}"
    async with (
        aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http,
        AsyncExitStack() as stack,
    ):
        yield Site(url, told, http, stack)
    serving.cancel()
    with suppress(asyncio.CancelledError):
        await serving


async def test_a_second_page_is_told_and_the_first_plays_on(site: Site) -> None:
    first = await site.page("a")
    assert await first.plays()
    for _ in range(3):
        assert await (await site.page("a")).told() == Why.ELSEWHERE
    other = await site.page("b")
    assert await other.plays()
    assert not first.is_told
    assert site.told == ["begins"] * 2


async def test_of_many_pages_at_once_one_plays(site: Site) -> None:
    pages = await asyncio.gather(*(site.page("a") for _ in range(6)))
    assert sum(await asyncio.gather(*(page.plays() for page in pages))) == 1
    assert site.told == ["begins"]


async def test_wanted_here_the_game_ends_there_first(site: Site) -> None:
    first = await site.page("a")
    assert await first.plays()
    second = await site.page("a", here=True)
    assert await second.plays()
    assert await first.told() == Why.MOVED
    assert site.told == ["begins", "ends", "begins"]
    assert await (await site.page("a")).told() == Why.ELSEWHERE
    back = await site.page("a", here=True)
    assert await back.plays()
    assert await second.told() == Why.MOVED
    assert site.told == ["begins", "ends", "begins", "ends", "begins"]


async def test_a_page_that_is_loaded_again_plays_on(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "MOST_OPEN", 1)  # its own place is free for it
    page = await site.page("a")
    for _ in range(4):
        assert await page.plays()
        closing = asyncio.create_task(page.close())
        page = await site.page("a")
        await closing
    assert await page.plays()
    assert site.told == ["begins", "ends"] * 4 + ["begins"]
    assert await (await site.page("b")).told() == Why.FULL


async def test_a_page_that_went_without_a_word_holds_nobody_up(site: Site) -> None:
    await site.page("a", answers=False)
    second = await site.page("a")
    assert await second.plays()
    assert site.told == ["begins", "ends", "begins"]
