"""The server: the page, and for each one that is open a game whose terminal it is.

All that comes from elsewhere than this server is left out of the page, and its policy forbids the browser to
fetch any.
"""

import asyncio
import json
import logging
import secrets
import signal
import socket
import sys
from asyncio.subprocess import Process
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress
from pathlib import Path

from aiohttp import WSMsgType, http_exceptions, web
from textual_serve.app_service import AppService
from textual_serve.server import Server

from trainer.commands.serve import (
    cell_of,
    command_line,
    new_secret,
    player_named,
    secret_of,
    shape_of,
    size_of,
)
from trainer.commands.serve.names import Names
from trainer.commands.serve.places import Place, Places, Why
from trainer.commands.serve.typed import typed

NoSuchHost = socket.gaierror  # what a host that there is none of fails with
PAGE = Path(__file__).parent / "index.html"
ADDON = (
    Path(__file__).parent / "addon-image"
)  # of xterm.js: pictures in true pixels; version 0.8.0, as published
NONCE = "NONCE"  # in the page: the word by which its own script may run
POLICY = "; ".join(
    (
        "default-src 'none'",
        f"script-src 'self' 'wasm-unsafe-eval' 'nonce-{NONCE}'",  # pictures are decoded in WebAssembly
        "style-src 'self' 'unsafe-inline'",  # the terminal writes styles of its own
        "font-src 'self'",
        "img-src data:",
        "connect-src 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "form-action 'none'",
    )
)
HEADERS = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff"}
COOKIE = "visitor"
KEPT_S = 400 * 24 * 3600  # from the last visit on; browsers keep no cookie for longer
MOST_OPEN = 16  # games at once; each is a process
AHEAD = 1 << 15  # bytes of a game's that are on their way to its page
MOST_SAID = 1 << 16  # bytes of one message
ENDING_S = (1.0, 0.5, 0.5)  # that a game may take to end: when asked, when told by a signal, and when killed
CLOSING_S = 1.0  # that a page may take to be told so
STUCK_S = 10.0  # after which a game that takes no input is given up
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]
FAULT = logging.getLogger("trainer.serve")


class _Game(AppService):
    """A page's game, which ends whatever state it is in."""

    async def play(self, width: int, height: int) -> asyncio.Task[None]:
        """Start it: what is returned is done when it has ended by itself."""
        self._of: Process = await self._open_app_process(width, height)
        self._over = asyncio.create_task(self.run())
        return self._over

    @property
    def failed(self) -> bool:
        """Whether it ended otherwise than by the visitor's leaving."""
        return self._of.returncode != 0

    async def stop(self) -> None:
        """End it: close its input and wait a little; a game that stays is killed."""
        await self._download_manager.cancel_app_downloads(self.app_service_id)
        self._over.cancel()  # it may wait for a page that reads nothing
        await asyncio.wait((self._over,))
        with suppress(RuntimeError, ConnectionError):
            self.stdin.write(self.encode_packet(b"M", b'{"type": "quit"}'))  # as a rule it listens
            self.stdin.close()
        for then, patience in zip((None, self._of.terminate, self._of.kill), ENDING_S, strict=True):
            if then is not None:
                with suppress(ProcessLookupError):
                    then()
            with suppress(TimeoutError):
                async with asyncio.timeout(patience):
                    await self._of.communicate()  # takes what it still says; else it would wait for us
                    return


class Serving:
    """Serves each visitor the game with a history of their own.

    Parameters
    ----------
    options : sequence of str
        The trainer's options that all games have in common.
    names : Names
        Where, and under which names.
    """

    def __init__(self, options: Sequence[str], names: Names) -> None:
        self._options, self._names = options, names
        self._page = PAGE.read_text(encoding="utf-8")
        self._places = Places()
        self._ending = asyncio.Event()
        self._files = Server("trainer")  # the terminal's script and fonts, and what a game has for download

    async def run(self, port: int, started: Callable[[int], None]) -> None:
        """Serve until a signal ends it; ``started`` is told the port as soon as it can be reached.

        Raises
        ------
        OSError
            If the address can't be used.
        """
        FAULT.addFilter(_in_a_line)
        app = web.Application(middlewares=[_refusing, self._checked])
        app.add_routes(
            [
                web.get("/", self._index),
                web.get("/ws", self._websocket),
                web.get("/download/{key}", self._files.handle_download),
                web.static("/static", self._files.statics_path),
                web.static("/addon-image", ADDON),
            ]
        )
        app.on_shutdown.append(self._end_games)
        runner = web.AppRunner(app, access_log=None, logger=FAULT)
        await runner.setup()
        try:
            await web.TCPSite(runner, self._names.host, port).start()
            over = asyncio.Event()
            for number in (signal.SIGINT, signal.SIGTERM):
                with suppress(NotImplementedError):  # on Windows
                    asyncio.get_running_loop().add_signal_handler(number, over.set)
            started(runner.addresses[0][1])
            await over.wait()
        finally:
            await runner.cleanup()

    async def _end_games(self, app: web.Application) -> None:
        """End every game, all at once; else the server would wait for them."""
        self._ending.set()
        await self._places.close()

    async def _index(self, request: web.Request) -> web.Response:
        """The page, and the cookie by which a visitor is known."""
        nonce = secrets.token_hex(16)
        answer = web.Response(
            text=self._page.replace(NONCE, nonce),
            content_type="text/html",
            headers=HEADERS | {"Content-Security-Policy": POLICY.replace(NONCE, nonce)},
        )
        secret = secret_of(request.cookies.get(COOKIE)) or new_secret()
        named = self._names.named(_asked(request))
        secure = named is not None and named.scheme == "https"
        answer.set_cookie(COOKIE, secret, max_age=KEPT_S, httponly=True, samesite="Lax", secure=secure)
        return answer

    async def _websocket(self, request: web.Request) -> web.WebSocketResponse:
        """A visitor's game, as long as the page is open, if it is played in no other."""
        secret = secret_of(request.cookies.get(COOKIE))
        if secret is None or not self._names.is_ours(request.headers.get("Origin", ""), _asked(request)):
            raise web.HTTPForbidden(text="Open the page first.")
        # A page on a slow link holds up its game, which then shows fewer frames, instead of lagging behind.
        if request.transport is not None:
            request.transport.get_extra_info("socket").setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, AHEAD)
        websocket = web.WebSocketResponse(
            heartbeat=15, max_msg_size=MOST_SAID, timeout=CLOSING_S / 2, autoping=False
        )
        await websocket.prepare(request)  # a page hears why it has no game in no other way
        place = Place(websocket.ping)
        why = await self._places.take(secret, place, MOST_OPEN, here="here" in request.query)
        if why is not None:
            await _close(websocket, request, why)
            return websocket
        try:
            await self._visit(request, websocket, secret, place)
        finally:
            self._places.give_back(secret)
        return websocket

    async def _visit(
        self, request: web.Request, websocket: web.WebSocketResponse, secret: str, place: Place
    ) -> None:
        """Play until the page or the game ends, or it is wanted elsewhere; both have ended then."""
        said = request.query
        game = _Game(
            command_line(
                self._options,
                player_named(secret),
                shape_of(said.get("shape")),
                cell_of(said.get("cell")),
            ),
            write_bytes=websocket.send_bytes,
            write_str=websocket.send_str,
            close=_leave,
            download_manager=self._files.download_manager,
        )
        over = await game.play(*size_of(said.get("width"), said.get("height")))
        heard = asyncio.create_task(_hear(websocket, game, place))
        ending = asyncio.create_task(self._ending.wait())
        wanted = asyncio.create_task(place.wanted.wait())
        await asyncio.wait((over, heard, ending, wanted), return_when=asyncio.FIRST_COMPLETED)
        why = Why.MOVED if wanted.done() else Why.LEFT
        place.leave()
        for task in (heard, ending, wanted):
            task.cancel()
        if over.done():
            await game.stop()
            why = Why.FAILED if game.failed else why
        closing = _close(websocket, request, why)
        await asyncio.gather(heard, ending, wanted, game.stop(), closing, return_exceptions=True)

    @web.middleware
    async def _checked(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        """Serve a visitor under the names that there are, each of them one place."""
        asked = _asked(request)
        if not self._names.serves(asked):
            raise web.HTTPForbidden(text=self._names.said)
        host = self._names.leads_to(asked)
        if host is not None:
            raise web.HTTPFound(request.url.with_host(host))
        return await handler(request)


def _asked(request: web.Request) -> str:
    """The name by which a visitor came; there is none where it isn't said."""
    return request.headers.get("Host", "")


@web.middleware
async def _refusing(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Refuse what can't be a request of a browser's: a host, a port or a path that there can't be."""
    try:
        return await handler(request)
    except (ValueError, OSError) as error:
        if isinstance(error, ConnectionError):
            raise
        raise web.HTTPBadRequest(text="This can't be asked for.") from None


def _in_a_line(record: logging.LogRecord) -> bool:
    """Whether a fault is ours, told in a line; what others sent is nothing to the operator."""
    fault = record.exc_info[1] if record.exc_info else None
    if isinstance(fault, http_exceptions.HttpProcessingError | web.HTTPException | ConnectionError):
        return False
    why = record.getMessage() if fault is None else f"{type(fault).__name__}: {fault}"
    print(f"trainer: serve: {' '.join(why.split())[:200]}", file=sys.stderr, flush=True)
    return False


async def _leave() -> None:
    """The game says that it ends: its process does, and then the page is closed."""


async def _close(websocket: web.WebSocketResponse, request: web.Request, code: Why) -> None:
    """Close a page's connection, even where the page reads nothing; by the code it knows what to say."""
    try:
        async with asyncio.timeout(CLOSING_S):
            await websocket.close(code=code)
    except (TimeoutError, ConnectionError):
        if request.transport is not None:
            request.transport.abort()


async def _hear(websocket: web.WebSocketResponse, service: AppService, place: Place) -> None:
    """Listen to a page for as long as it is there and its game takes what it says."""
    with suppress(ConnectionError, TimeoutError):
        async for message in websocket:
            if message.type is WSMsgType.PING:
                await websocket.pong(message.data)
            elif message.type is WSMsgType.PONG:
                place.answered()
            elif message.type is WSMsgType.TEXT:
                async with asyncio.timeout(STUCK_S):
                    await _pass_on(message.data, websocket, service)


async def _pass_on(text: str, websocket: web.WebSocketResponse, service: AppService) -> None:
    """Give the game what its page says; what no page says is left out."""
    try:
        kind, *values = json.loads(text)
    except (ValueError, TypeError, RecursionError):
        return
    value = values[0] if values else None
    if kind == "stdin" and isinstance(value, str):
        if keys := typed(value):  # a game would take nothing for the end of all
            await service.send_bytes(keys.encode("utf-8", "replace"))
    elif kind == "resize" and isinstance(value, dict):
        await service.set_terminal_size(*size_of(value.get("width"), value.get("height")))
    elif kind == "ping" and isinstance(value, str):
        await websocket.send_json(["pong", value])
    elif kind == "focus":
        await service.focus()
    elif kind == "blur":
        await service.blur()
