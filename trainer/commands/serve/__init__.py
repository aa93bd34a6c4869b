"""``trainer serve``: the game in a browser, for each visitor one of their own.

Nothing of what a visitor's page says is believed before it is looked at.
"""

import argparse
import asyncio
import hashlib
import os
import re
import secrets
import shlex
import subprocess
import sys
from collections.abc import MutableMapping, Sequence
from errno import EADDRNOTAVAIL
from functools import partial
from typing import Any

from trainer.commands.console import CommandError, UsageError
from trainer.commands.serve.names import PUBLIC, Names, Origin, is_local
from trainer.history.files import data_folder
from trainer.settings.players import checked
from trainer.settings.settings import CELL_SHAPES

EXTRA = "potting-angles[web]"
# Variables that tell of the terminal that the server was started in, and of its player: nothing to a browser.
FOREIGN = (
    *("TMUX", "STY", "KITTY_WINDOW_ID", "VTE_VERSION", "WT_SESSION", "ALACRITTY_WINDOW_ID"),
    *("ITERM_SESSION_ID", "KONSOLE_VERSION", "TERMINAL_EMULATOR", "XTERM_VERSION", "NO_COLOR"),
    *("TRAINER_GLYPHS", "TRAINER_COLOURS", "TRAINER_PLAYER"),
)


def serve(args: argparse.Namespace) -> int:
    """Serve the game until it is ended from outside.

    Raises
    ------
    CommandError
        If the extra isn't installed, or the address can't be used.
    UsageError
        If a player is named, the host is empty, or what is said to be public is no place of a page.
    """
    if args.player is not None:
        raise UsageError("serve: each visitor has a history of their own, so --player can't be given here")
    if not args.host.strip():  # it would mean every address of this machine
        raise UsageError("serve: --host is empty; allowed is a name or an address of this machine")
    names = Names(args.host, [_public(said) for said in args.public])
    data = data_folder(args.data)
    try:
        from trainer.commands.serve.server import NoSuchHost, Serving
    except ModuleNotFoundError as error:
        raise CommandError(
            f"serve needs {error.name}, which isn't installed; install the extra: pip install '{EXTRA}', "
            "or in the trainer's folder pip install '.[web]'"
        ) from None
    for_a_browser(os.environ)
    options = ["--data", str(data)] if args.now is None else ["--data", str(data), "--now", args.now]
    serving = Serving(options, names)
    try:
        asyncio.run(serving.run(args.port, partial(_say, names)))
    except (OSError, UnicodeError) as error:
        why = (error.strerror or "").rpartition(": ")[2] if isinstance(error, OSError) else "no such host"
        if not isinstance(error, OSError) or isinstance(error, NoSuchHost) or error.errno == EADDRNOTAVAIL:
            raise CommandError(
                f"serve: --host {args.host[:60]!r} is no name or address of this machine: {why}"
            ) from None
        raise CommandError(
            f"serve: port {args.port} of {args.host[:60]!r} can't be used: {why}; give another with --port"
        ) from None
    return 0


def _public(said: str) -> Origin:
    try:
        return Origin.of(said.rstrip("/"))
    except ValueError:
        raise UsageError(
            f"serve: --public {said[:60]!r} is no place of a page; allowed is {PUBLIC}"
        ) from None


def _say(names: Names, port: int) -> None:
    """Where it is, and who can come."""
    host = names.host
    if not (is_local(host) or names.public):
        how = "over plain http, by this machine's address or a name that --public allows"
        said = f"trainer: whoever reaches {host} can play here, {how}; the usual host is 127.0.0.1"
        print(said, file=sys.stderr, flush=True)
    shown = f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
    where = " or ".join([*map(str, names.public), *([] if names.public else [shown])])
    there = f" (served at {shown})" if names.public else ""
    print(f"Open {where} in a browser{there}; ctrl+c ends it.", flush=True)


def for_a_browser(environ: MutableMapping[str, str]) -> None:
    """Have the environment tell of the page's terminal: it has every colour, and draws quadrants itself.

    Quadrants are what is taken where no more is known; of sextants and wedges it would take whatever font
    the browser finds.
    """
    for name in FOREIGN:
        environ.pop(name, None)
    environ.update(TERM="xterm-256color", COLORTERM="truecolor")


# Of one game, however it is played or abused; an honest one takes a quarter of the memory.
MOST_MEMORY = 1 << 30  # bytes that are its own or mapped
MOST_TIME_S = 4 * 3600  # of one core
SECRET = re.compile(r"[0-9a-f]{32}")
USUAL_SIZE = (80, 24)
MOST_SIZE = (500, 200)  # columns and rows
CELL = re.compile(r"([1-9][0-9]?)x([1-9][0-9]?)")
SMALLEST_CELL, LARGEST_CELL = (4, 8), (20, 40)  # pixels: a page's font is 6 to 16 of them


def new_secret() -> str:
    """What a visitor's browser keeps, to be known by on the next visit."""
    return secrets.token_hex(16)


def secret_of(cookie: str | None) -> str | None:
    """A visitor's secret, where the cookie is one that we make."""
    return cookie if cookie is not None and SECRET.fullmatch(cookie) else None


def player_named(secret: str) -> str:
    """The player that a visitor is: a name that says nothing of the secret."""
    return checked("visitor-" + hashlib.sha256(secret.encode()).hexdigest()[:16])


def command_line(
    options: Sequence[str], player: str, shape: float | None, cell: tuple[int, int] | None = None
) -> str:
    """What starts a visitor's game, for the shell."""
    # -P: nothing that lies where the server was started is taken for a module.
    words = [sys.executable, "-P", "-m", "trainer", *options, "--player", player]
    if shape is not None:
        words += ["--cell-shape", f"{shape:.3f}"]
    if cell is not None:
        words += ["--cell-pixels", f"{cell[0]}x{cell[1]}"]
    if os.name == "nt":
        return subprocess.list2cmdline(words)
    limits = f"ulimit -v {MOST_MEMORY // 1024}; ulimit -t {MOST_TIME_S}"
    return f"{{ {limits}; }} 2>/dev/null; exec {shlex.join(words)}"  # where a system knows them


def shape_of(said: str | None) -> float | None:
    """Height of a cell over its width, as the page says it; None where that can't be."""
    try:
        shape = float(said or "nan")
    except ValueError:
        return None
    return shape if CELL_SHAPES[0] <= shape <= CELL_SHAPES[1] else None


def cell_of(said: str | None) -> tuple[int, int] | None:
    """Pixels of a cell, across and down, as the page says them; None, for cells, where that can't be."""
    found = CELL.fullmatch(said or "")
    if found is None:
        return None
    wide, high = int(found[1]), int(found[2])
    fits = all(
        low <= n <= most for low, n, most in zip(SMALLEST_CELL, (wide, high), LARGEST_CELL, strict=True)
    )
    return (wide, high) if fits and shape_of(str(high / wide)) is not None else None


def size_of(width: Any, height: Any) -> tuple[int, int]:
    """Columns and rows, as the page says them, or the nearest that a screen may have."""
    found = []
    for said, usual, most in zip((width, height), USUAL_SIZE, MOST_SIZE, strict=True):
        try:
            found.append(min(max(int(said), 1), most))
        except (TypeError, ValueError, OverflowError):
            found.append(usual)
    return found[0], found[1]
