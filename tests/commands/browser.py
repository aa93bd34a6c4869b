"""A real browser without a window, driven over its own DevTools protocol, and the terminal it shows."""

import asyncio
import base64
import itertools
import json
import re
import shutil
import struct
import tempfile
import zlib
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any

import aiohttp
import numpy as np
import pyte

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--enable-unsafe-swiftshader", "--disable-quic"),
    *("--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"),
    "--remote-debugging-port=0",
)
PATIENCE_S = 30.0  # a machine may be busy
SOON_S = 0.02
IMAGE = re.compile(rb"\x1bP.*?\x1b\\", re.DOTALL)  # sixels, of which the emulated terminal knows nothing
KEYS = {"enter": ("Enter", 13, "\r"), "escape": ("Escape", 27, "")}


class Browser:
    """A running browser; each visitor has cookies of their own."""

    def __init__(self, websocket: aiohttp.ClientWebSocketResponse) -> None:
        self._websocket = websocket
        self._numbers = itertools.count(1)
        self._waiting: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self._told: dict[str, Callable[[str, dict[str, Any]], None]] = {}
        self._reader = asyncio.create_task(self._read())

    async def _read(self) -> None:
        async for message in self._websocket:
            said = message.json()
            if "id" in said:
                self._waiting.pop(said["id"]).set_result(said)
            elif (told := self._told.get(said.get("sessionId", ""))) is not None:
                told(said["method"], said["params"])

    async def ask(self, method: str, session: str | None = None, **params: Any) -> dict[str, Any]:
        """Send a command and wait for its result."""
        number = next(self._numbers)
        message: dict[str, Any] = {"id": number, "method": method, "params": params}
        if session is not None:
            message["sessionId"] = session
        future = self._waiting[number] = asyncio.get_running_loop().create_future()
        await self._websocket.send_json(message)
        said = await asyncio.wait_for(future, PATIENCE_S)
        assert "error" not in said, f"{method}: {said['error']}"
        result: dict[str, Any] = said["result"]
        return result

    async def visitor(self) -> str:
        """Somebody new, with no cookie."""
        return str((await self.ask("Target.createBrowserContext"))["browserContextId"])

    async def tab(
        self,
        visitor: str,
        url: str,
        size: tuple[int, int] = (1280, 800),
        *,
        before: str = "",
        without: str = "",
    ) -> "Tab":
        """Another page of a visitor's, of a size in pixels of the page.

        ``before`` is a script that runs before the page's own; what ``without`` names isn't fetched.
        """
        made = await self.ask("Target.createTarget", url="about:blank", browserContextId=visitor)
        on = await self.ask("Target.attachToTarget", targetId=made["targetId"], flatten=True)
        tab = Tab(self, str(on["sessionId"]), str(made["targetId"]))
        self._told[tab.session] = tab.hear
        for domain in ("Network", "Page", "Runtime", "Log"):
            await tab.ask(f"{domain}.enable")
        await tab.resize(*size)
        await tab.ask("Page.addScriptToEvaluateOnNewDocument", source=before)
        await tab.ask("Network.setBlockedURLs", urls=[without] if without else [])
        await tab.ask("Page.navigate", url=url)
        return tab

    async def close(self) -> None:
        """End it."""
        with suppress(AssertionError, asyncio.TimeoutError, ConnectionError):
            await self.ask("Browser.close")
        self._reader.cancel()


class Tab:
    """One page: what it fetched and said, and the terminal it shows, read off what was sent to it."""

    def __init__(self, browser: Browser, session: str, target: str) -> None:
        self.browser, self.session, self.target = browser, session, target
        self.urls: list[str] = []
        self.complaints: list[str] = []
        self.closed, self.received, self.images = False, 0, 0
        self._screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self._screen)

    async def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """A command for this page."""
        return await self.browser.ask(method, self.session, **params)

    def hear(self, method: str, params: dict[str, Any]) -> None:
        """Something happened on the page."""
        if method == "Network.requestWillBeSent":
            self.urls.append(params["request"]["url"])
        elif method == "Network.webSocketCreated":
            self.urls.append(params["url"])
        elif method == "Network.webSocketFrameReceived" and params["response"]["opcode"] == 2:
            self.received += 1
            text, images = IMAGE.subn(b"", base64.b64decode(params["response"]["payloadData"]))
            self.images += images
            self._stream.feed(text)
        elif method == "Network.webSocketFrameSent" and '"resize"' in params["response"]["payloadData"]:
            said = json.loads(params["response"]["payloadData"])[1]
            self._screen.resize(said["height"], said["width"])
        elif method == "Network.webSocketClosed":
            self.closed = True
        elif method == "Runtime.exceptionThrown":
            self.complaints.append(str(params["exceptionDetails"]))
        elif method == "Log.entryAdded" and params["entry"]["level"] == "error":
            self.complaints.append(params["entry"]["text"])

    @property
    def lines(self) -> list[str]:
        """The rows of the terminal."""
        return [row.rstrip() for row in self._screen.display]

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows."""
        return self._screen.columns, self._screen.lines

    async def shows(self, text: str, *, gone: bool = False) -> None:
        """Wait until the terminal shows a text, or no longer does."""
        await self.until(lambda: any(text in line for line in self.lines) is not gone, text)

    async def until(self, holds: Callable[[], bool], what: str) -> None:
        """Wait for something."""
        for _ in range(int(PATIENCE_S / SOON_S)):
            if holds():
                return
            await asyncio.sleep(SOON_S)
        raise AssertionError(f"in {PATIENCE_S:.0f} s not: {what}\n" + "\n".join(self.lines))

    async def settled(self) -> None:
        """Wait until nothing more comes, and what came is drawn."""
        before = -1
        while before != self.received:
            before = self.received
            await asyncio.sleep(0.5)

    async def evaluate(self, code: str) -> Any:
        """The value of an expression on the page."""
        said = await self.ask("Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in said, said
        return said["result"].get("value")

    async def resize(self, width: int, height: int) -> None:
        """Give the window another size."""
        await self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=0,  # as the browser was started
            mobile=False,
        )

    async def press(self, key: str) -> None:
        """Press a key and let it go."""
        name, code, text = KEYS[key] if key in KEYS else (key, ord(key.upper()), key)
        common = {"key": name, "windowsVirtualKeyCode": code}
        kind = {"type": "keyDown", "text": text} if text else {"type": "rawKeyDown"}
        await self.ask("Input.dispatchKeyEvent", **kind, **common)
        await self.ask("Input.dispatchKeyEvent", type="keyUp", **common)

    async def click(self, column: int, row: int) -> None:
        """Click the middle of a cell."""
        box = await self.evaluate(
            "(() => { const r = document.querySelector('.xterm-screen').getBoundingClientRect();"
            " return [r.x, r.y, r.width, r.height]; })()"
        )
        columns, rows = self.size
        place = {"x": box[0] + (column + 0.5) * box[2] / columns, "y": box[1] + (row + 0.5) * box[3] / rows}
        await self.ask("Input.dispatchMouseEvent", type="mouseMoved", **place)
        for kind in ("mousePressed", "mouseReleased"):
            await self.ask("Input.dispatchMouseEvent", type=kind, button="left", clickCount=1, **place)

    async def picture(self) -> bytes:
        """What it looks like, as PNG."""
        return base64.b64decode((await self.ask("Page.captureScreenshot"))["data"])

    async def ball(self) -> tuple[int, int]:
        """Width and height of the orange ball of the inset, in pixels of the browser's own picture."""
        wide, high = await self.evaluate("[innerWidth, innerHeight]")
        clip = {"x": int(wide * 0.68), "y": 0, "width": int(wide * 0.32), "height": high // 2, "scale": 1}
        said = await self.ask("Page.captureScreenshot", clip=clip)
        red, green, blue = np.moveaxis(pixels_of(base64.b64decode(said["data"])).astype(int), 2, 0)
        orange = (red > 1.6 * blue + 40) & (red > green + 30)
        rows, columns = np.flatnonzero(orange.any(1)), np.flatnonzero(orange.any(0))
        return int(np.ptp(columns)) + 1, int(np.ptp(rows)) + 1

    async def close(self) -> None:
        """Close the page."""
        await self.browser.ask("Target.closeTarget", targetId=self.target)


def pixels_of(png: bytes) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """The pixels of a PNG of 8 bits a channel: rows, columns, red green blue.

    Source: W3C, Portable Network Graphics (third edition), 9.2 "Filter types for filter method 0".
    """
    at, packed, columns, rows, depth, channels = 8, b"", 0, 0, 0, 0
    while at < len(png):
        (length,), kind = struct.unpack(">I", png[at : at + 4]), png[at + 4 : at + 8]
        chunk = png[at + 8 : at + 8 + length]
        if kind == b"IHDR":
            columns, rows, depth, colour = struct.unpack(">IIBB", chunk[:10])
            channels = {2: 3, 6: 4}[colour]
            assert depth == 8
        elif kind == b"IDAT":
            packed += chunk
        at += length + 12
    lines = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(rows, 1 + columns * channels)
    above = [0] * (columns * channels)
    found = []
    for kind, *line in lines.tolist():
        if kind in (0, 2):  # as it is, or what is added to the line above
            above = [(a + b) % 256 for a, b in zip(line, above, strict=True)] if kind else line
            found.append(above)
            continue
        for i, value in enumerate(line):
            left, upper, corner = (line[i - channels], above[i], above[i - channels])
            if i < channels:
                left = corner = 0
            # The one of the three that is nearest to what goes on evenly, the first of those as near.
            even = left + upper - corner
            _, _, near = min((abs(even - each), n, each) for n, each in enumerate((left, upper, corner)))
            line[i] = (value + (0, left, upper, (left + upper) // 2, near)[kind]) % 256
        found.append(line)
        above = line
    return np.array(found, np.uint8).reshape(rows, columns, channels)[..., :3]


@asynccontextmanager
async def running(scale: float = 1) -> AsyncIterator[Browser]:
    """A browser with a profile of its own, ended afterwards; a page's pixel is ``scale`` of the screen's."""
    program = next(filter(None, map(shutil.which, NAMES)), None)
    assert program, f"no browser to test with: install one of {', '.join(NAMES)} (apt-get install chromium)"
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        process = await asyncio.create_subprocess_exec(
            program,
            *FLAGS,
            f"--force-device-scale-factor={scale}",
            f"--user-data-dir={profile}",
            stderr=asyncio.subprocess.DEVNULL,
        )
        try:
            port = Path(profile) / "DevToolsActivePort"
            for _ in range(int(PATIENCE_S / SOON_S)):
                if port.is_file() and len(port.read_text().splitlines()) == 2:
                    break
                assert process.returncode is None, f"{program} has ended with {process.returncode}"
                await asyncio.sleep(SOON_S)
            number, path = port.read_text().splitlines()
            async with (
                aiohttp.ClientSession() as http,
                http.ws_connect(f"ws://127.0.0.1:{number}{path}", max_msg_size=0) as websocket,
            ):
                browser = Browser(websocket)
                try:
                    yield browser
                finally:
                    await browser.close()
        finally:
            with suppress(ProcessLookupError):
                process.terminate()
            await process.wait()
