"""The game in a real browser: played by keys and by clicks, each visitor with a history of their own."""

import os
import re
import signal
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path

import aiohttp
import numpy as np
import pytest
from browser import Tab, pixels_of, running
from served import WAIT_S, Served, games
from textual.geometry import Region

from trainer.app.app import TrainerApp
from trainer.app.widgets.picture import Picture
from trainer.history.clock import SystemClock
from trainer.history.store import History
from trainer.levels.shelf import open_shelf
from trainer.pictures.asked import Answer
from trainer.pictures.colours import encode
from trainer.pictures.pixels import pixelled
from trainer.pictures.projection import Viewport
from trainer.pictures.terminal import Depth
from trainer.play.game import Game

pytestmark = pytest.mark.slow

SHOTS = 10  # of the first set
CLICKED = 3  # of the set after it
CELL = (9, 21)  # pixels of a page of the usual size, where it isn't scaled
SMALL = (740, 460)  # pixels: some 80 columns and 24 rows


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A server with an empty data folder, whose path a shell would misread."""
    server = Served(tmp_path / "data of 'nobody' $HOME; x")
    with server.program:  # closes its output
        yield server
        if server.program.poll() is None:
            server.program.kill()


async def play_shots(
    tab: Tab, call: Callable[[], Awaitable[None]], go_on: Callable[[], Awaitable[None]], many: int
) -> None:
    """So many shots of a set as the first one is."""
    for number in range(1, many + 1):
        await tab.shows(f"shot {number} of {SHOTS}")
        await tab.shows("How full must the hit be?")
        await call()
        await tab.shows("How full must the hit be?", gone=True)
        await go_on()


async def test_each_visitor_plays_by_keys_and_by_clicks_and_keeps_a_history(served: Served) -> None:
    async with running() as browser:
        anna = await browser.visitor()
        tab = await browser.tab(anna, served.url, SMALL)

        async def one() -> None:
            await tab.press("1")

        async def enter() -> None:
            await tab.press("enter")

        await play_shots(tab, one, enter, SHOTS)
        await tab.shows("too thin.")
        (name,) = served.players()
        assert re.fullmatch(r"visitor-[0-9a-f]{16}", name)
        by_keys = [("first", "full")] * SHOTS
        assert served.calls(name) == by_keys

        async def half() -> None:
            found = ((y, re.search(r"\b1 full\b.*?(\d 1/2)\b", line)) for y, line in enumerate(tab.lines))
            row, answer = next((y, match) for y, match in found if match)
            await tab.click(answer.start(1) + 2, row)

        async def picture() -> None:
            await tab.click(10, 5)

        await tab.press("r")
        await play_shots(tab, half, picture, CLICKED)
        await tab.shows(f"shot {CLICKED + 1} of {SHOTS}")
        both = by_keys + [("first", "1/2")] * CLICKED
        assert served.calls(name) == both

        # Somebody else begins with a first shot, in a folder of their own.
        ben = await browser.visitor()
        other = await browser.tab(ben, served.url)
        await other.shows(f"shot 1 of {SHOTS}")
        assert served.players() == {name}  # nothing is kept of whoever hasn't played
        await other.press("3")
        await other.shows("How full must the hit be?", gone=True)
        (others,) = served.players() - {name}
        assert served.calls(others) == [("first", "1/4")]

        # Another tab of the first visitor, by whichever name, is told; a later visit has their history.
        for url in (served.url, served.url.replace("127.0.0.1", "localhost")):
            again = await browser.tab(anna, url)
            assert "You are playing in another tab" in await over(again)
            await again.close()
        await tab.close()
        later = await browser.tab(anna, served.url)
        await later.shows(f"{SHOTS + CLICKED} calls kept")
        assert served.calls(name) == both
        assert len(served.players()) == 2

        for each in (tab, other, later):
            here = served.url.partition("://")[2]
            assert {url.split("/")[2] for url in each.urls} == {here}
            assert each.complaints == []
        # Nothing is the owner's.
        assert {path.name for path in served.data.iterdir()} == {"players"}


async def over(tab: Tab) -> str:
    """What a page says that has no game any more."""
    await tab.until(lambda: tab.closed, "the page hears of it")
    assert await tab.evaluate("getComputedStyle(document.querySelector('#over')).display") == "flex"
    return str(await tab.evaluate("document.querySelector('#over').innerText"))


async def test_a_set_goes_on_in_the_tab_where_it_is_wanted(served: Served) -> None:
    async with running() as browser:
        anna = await browser.visitor()
        first = await browser.tab(anna, served.url)
        await first.shows(f"shot 1 of {SHOTS}")
        await first.press("1")
        await first.shows("How full must the hit be?", gone=True)
        (name,) = served.players()
        for _ in range(2):  # loaded again
            await first.ask("Page.reload")
            await first.shows("go on at shot 2")
            await first.press("g")
            await first.shows(f"shot 2 of {SHOTS}")
        first.closed = False
        second = await browser.tab(anna, served.url)
        said = await over(second)
        assert "You are playing in another tab" in said
        assert "Play here instead" in said
        assert "Try again" in said
        assert len(games(name)) == 1
        await second.evaluate("document.querySelector('#over a').click()")
        await second.shows("go on at shot 2")
        said = await over(first)
        assert "goes on in another tab" in said
        assert "Play here instead" in said
        assert await second.evaluate("location.href") == f"{served.url}/"
        assert len(games(name)) == 1
        await second.press("g")
        await second.shows(f"shot 2 of {SHOTS}")
        await second.settled()
        await second.press("2")
        await second.shows("How full must the hit be?", gone=True)
        assert served.calls(name) == [("first", "full"), ("first", "1/2")]
        assert first.complaints == second.complaints == []


async def test_the_window_holds_80_columns_and_balls_are_round(served: Served) -> None:
    async with running() as browser:
        for pixels, cells in (((1280, 800), (142, 38)), ((900, 600), (80, 24)), (SMALL, (80, 24))):
            tab = await browser.tab(await browser.visitor(), served.url, pixels)
            await tab.shows(f"shot 1 of {SHOTS}")
            assert tab.size >= cells
            assert tab.size[1] >= 24
            await tab.settled()
            if where := os.environ.get("KEEP_PICTURES"):
                Path(where, f"served-{pixels[0]}.png").write_bytes(await tab.picture())
            wide, high = await tab.ball()
            assert wide > 60
            assert wide / high == pytest.approx(1, abs=0.08)  # a cell, of which it is some dozen wide
            await tab.close()


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT], ids=["SIGTERM", "ctrl+c"])
async def test_it_ends_cleanly_with_a_game_open(served: Served, how: signal.Signals) -> None:
    async with running() as browser:
        tab = await browser.tab(await browser.visitor(), served.url)
        await tab.shows(f"shot 1 of {SHOTS}")
        await tab.press("1")
        await tab.shows("How full must the hit be?", gone=True)
        (name,) = served.players()
        assert games(name)
        assert served.end(how) == (0, "")
        await tab.until(lambda: not games(name), "the game ends")
        assert len(served.calls(name)) == 1
        assert "The game has ended here" in await over(tab)


async def test_a_page_whose_game_cannot_be_says_so_and_offers_to_try_again(served: Served) -> None:
    served.data.mkdir()
    (served.data / "players").write_text("no folder")
    async with running() as browser:
        tab = await browser.tab(await browser.visitor(), served.url)
        said = await over(tab)
        assert "could not start or go on" in said
        assert "Try again" in said
        (served.data / "players").unlink()
        await tab.evaluate("document.querySelector('#over a').click()")
        await tab.shows(f"shot 1 of {SHOTS}")


async def test_a_game_whose_server_was_killed_ends_too(served: Served) -> None:
    async with running() as browser:
        tab = await browser.tab(await browser.visitor(), served.url)
        await tab.shows(f"shot 1 of {SHOTS}")
        assert games(str(served.data))
        served.program.kill()
        await tab.until(lambda: not games(str(served.data)), "the game ends")


async def test_a_picture_of_the_screen_is_a_download(served: Served, tmp_path: Path) -> None:
    async with running() as browser:
        visitor = await browser.visitor()
        await browser.ask(
            "Browser.setDownloadBehavior",
            behavior="allow",
            browserContextId=visitor,
            downloadPath=str(tmp_path / "downloads"),
        )
        tab = await browser.tab(visitor, served.url)
        await tab.shows(f"shot 1 of {SHOTS}")
        await tab.press("escape")
        await tab.shows("Table notebook")
        await tab.press("p")
        await tab.shows("Save as a web page")
        await tab.press("k")
        await tab.until(lambda: bool(list((tmp_path / "downloads").glob("report-*.html"))), "a download")
        (file,) = (tmp_path / "downloads").glob("report-*.html")
        assert file.read_text(encoding="utf-8").rstrip().endswith("</html>")


async def test_what_no_page_of_ours_sends_is_refused(served: Served) -> None:
    page, websocket = served.url + "/", served.url.replace("http", "ws") + "/ws?width=80&height=24"
    host = served.url.partition("://")[2]
    ours = "0123456789abcdef" * 2
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http:

        async def cookie(**headers: str) -> tuple[int, str]:
            async with http.get(page, headers=headers) as answer:
                set_ = answer.cookies.get("visitor")
                if set_ is not None:
                    assert set_["httponly"]
                    assert set_["samesite"] == "Lax"
                return answer.status, "" if set_ is None else set_.value

        assert await cookie(Cookie=f"visitor={ours}") == (200, ours)
        made = {await cookie() for _ in range(3)}
        for bad in ("../../x", "..", "a" * 32 + "'; x", ours.upper(), ours + "0", "$(x)"):
            made.add(await cookie(Cookie=f"visitor={bad}"))
        assert len(made) == 9
        assert all(status == 200 and re.fullmatch("[0-9a-f]{32}", secret) for status, secret in made)
        assert await cookie(Host=f"elsewhere.example:{host.partition(':')[2]}") == (403, "")

        async def connected(cookie: str | None, origin: str, host: str = host) -> int:
            headers = {"Host": host, "Origin": origin}
            if cookie is not None:
                headers["Cookie"] = f"visitor={cookie}"
            try:
                async with http.ws_connect(websocket, headers=headers) as open_:
                    await open_.send_str("[")
                    await open_.send_str('["resize", {"width": 1e999, "height": "x"}]')
                    await open_.send_str('["resize", {"width": 1000000, "height": 1000000}]')
                    await open_.send_str('["stdin", {"a": 1}]')
                    screen = ""
                    while "How full must the hit be?" not in screen:
                        message = await open_.receive(timeout=WAIT_S)
                        assert message.type is aiohttp.WSMsgType.BINARY
                        screen += message.data.decode()
                    return 101
            except aiohttp.WSServerHandshakeError as error:
                return error.status

        assert await connected(None, served.url) == 403
        assert await connected("../../x", served.url) == 403
        assert await connected(ours, "http://elsewhere.example") == 403
        assert await connected(ours, "http://elsewhere.example", "elsewhere.example") == 403
        assert served.players() == set()
        assert await connected(ours, served.url) == 101
        assert served.players() == set()


# A terminal that its script keeps under another name, and a browser without WebAssembly: what doesn't work
# in the page is what does without.
NO_TERMINAL = """
const define = Object.defineProperty;
Object.defineProperty = (on, name, how) => name === "terminal" ? on : define(on, name, how);
"""
NO_PIXELS = {
    "no wasm": {"before": "delete window.WebAssembly;"},
    "no terminal": {"before": NO_TERMINAL},
    "no add-on": {"without": "*addon-image.js"},
    "no whole cell": {},
}


def pictures_of(app: TrainerApp) -> Iterator[tuple[Region, np.ndarray, np.ndarray]]:
    """Where each picture is, its canvas in sRGB bytes, and the cells where nothing is written over it."""
    for picture in app.screen.query(Picture):
        region, drawing = picture.region, picture._drawing
        if region and drawing is not None:
            viewport = Viewport((region.width, region.height), CELL[1] / CELL[0], CELL)
            painted = drawing(viewport)
            bare = pixelled(painted, viewport, Depth.TRUE).written.glyphs == ""
            yield region, encode(painted.canvas.pixels), bare


async def test_pictures_are_the_canvas_in_the_page_s_own_pixels(served: Served) -> None:
    async with running() as browser:
        tab = await browser.tab(await browser.visitor(), served.url)
        await tab.shows(f"shot 1 of {SHOTS}")
        await tab.press("1")
        await tab.shows("How full must the hit be?", gone=True)
        await tab.settled()
        await tab.press("enter")
        await tab.shows(f"shot 2 of {SHOTS}")
        await tab.settled()
        pictures = [await tab.picture()]
        await tab.press("?")
        await tab.shows("Keys here")
        await tab.press("escape")
        await tab.shows(f"shot 2 of {SHOTS}")
        await tab.settled()
        pictures.append(await tab.picture())
        size = tab.size
        assert tab.images > 50
        assert tab.complaints == []
        assert {url.split("/")[2] for url in tab.urls} == {served.url.partition("://")[2]}
        assert f"&cell={CELL[0]}x{CELL[1]}" in tab.urls[-1]
        await tab.close()
        (name,) = served.players()
        await tab.until(lambda: not games(name), "the game ends")
    if where := os.environ.get("KEEP_PICTURES"):
        Path(where, "served-pixels.png").write_bytes(pictures[0])
    # The same set in this process asks the same shot.
    with History.open(served.data / "players" / name, SystemClock()) as history:
        game = Game(history, open_shelf())
        app = TrainerApp(game, game.begin(game.level("first", None)), answer=Answer(cell=CELL))
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            there = list(pictures_of(app))
    assert len(there) == 3
    for png in pictures:
        seen = pixels_of(png).astype(int)
        for (column, row, columns, rows), canvas, bare in there:
            part = seen[row * CELL[1] :, column * CELL[0] :][: rows * CELL[1], : columns * CELL[0]]
            differ = np.abs(part - canvas)[np.kron(bare, np.ones((CELL[1], CELL[0]), bool))]
            assert bare.mean() > 0.9
            assert differ.mean() < 6
            assert np.percentile(differ, 99) < 24
    # What was over the pictures leaves nothing beside them.
    before, after = (pixels_of(png).astype(int) for png in pictures)
    assert np.abs(before - after).max() < 24


@pytest.mark.parametrize("scale", [1.25, 1.5, 2])
async def test_cells_are_whole_pixels_of_the_page_however_it_is_scaled(served: Served, scale: float) -> None:
    async with running(scale) as browser:
        tab = await browser.tab(await browser.visitor(), served.url, (900, 600))
        await tab.shows(f"shot 1 of {SHOTS}")
        await tab.until(lambda: tab.images > 20, "pictures in pixels")
        await tab.settled()
        if where := os.environ.get("KEEP_PICTURES"):
            Path(where, f"served-scaled-{scale}.png").write_bytes(await tab.picture())
        assert tab.size >= (80, 24)
        assert tab.size[1] >= 24
        wide, high = await tab.ball()
        assert wide > 60
        assert wide / high == pytest.approx(1, abs=0.03)
        assert tab.complaints == []


@pytest.mark.parametrize("missing", NO_PIXELS)
async def test_pictures_are_in_cells_where_the_page_has_no_pixels(served: Served, missing: str) -> None:
    async with running(1.1 if missing == "no whole cell" else 1) as browser:
        tab = await browser.tab(await browser.visitor(), served.url, **NO_PIXELS[missing])
        await tab.shows(f"shot 1 of {SHOTS}")
        await tab.settled()
        assert tab.size[0] >= 80
        assert tab.images == 0
        assert re.fullmatch(r".*/ws\?width=\d+&height=\d+&shape=[\d.]+", tab.urls[-1])
        assert any("▄" in line or "▐" in line for line in tab.lines)
        await tab.press("1")
        await tab.shows("How full must the hit be?", gone=True)


@pytest.mark.parametrize(
    ("cell", "pixels"), [("9x21", True), ("9x2100", False), ("9;21", False), ("9x9", False)]
)
async def test_what_a_page_says_of_its_pixels_is_looked_at(served: Served, cell: str, pixels: bool) -> None:
    websocket = served.url.replace("http", "ws") + "/ws"
    said = {"width": "80", "height": "24", "shape": "2.333", "cell": cell}
    headers = {"Origin": served.url, "Cookie": f"visitor={'0123456789abcdef' * 2}"}
    async with (
        aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http,
        http.ws_connect(websocket, params=said, headers=headers) as page,
    ):
        found = None
        while found is None:
            message = await page.receive(timeout=WAIT_S)
            assert message.type is aiohttp.WSMsgType.BINARY, message
            found = re.search("(\x1bP)|[▖▗▘▝]", message.data.decode())
    assert (found[1] is not None) is pixels
