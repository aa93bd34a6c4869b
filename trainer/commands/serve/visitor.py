"""Who a visitor is, and what their page may say: nothing of it is believed before it is looked at."""

import hashlib
import ipaddress
import os
import re
import secrets
import shlex
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

from trainer.settings.players import checked
from trainer.settings.settings import CELL_SHAPES

SECRET = re.compile(r"[0-9a-f]{32}")
USUAL_SIZE = (80, 24)
MOST_SIZE = (500, 200)  # columns and rows


def is_local(host: str) -> bool:
    """Whether only this machine reaches it by this name or address."""
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def new_secret() -> str:
    """What a visitor's browser keeps, to be known by on the next visit."""
    return secrets.token_hex(16)


def secret_of(cookie: str | None) -> str | None:
    """A visitor's secret, where the cookie is one that we make."""
    return cookie if cookie is not None and SECRET.fullmatch(cookie) else None


def player_named(secret: str) -> str:
    """The player that a visitor is: a name that says nothing of the secret."""
    return checked("visitor-" + hashlib.sha256(secret.encode()).hexdigest()[:16])


def command_line(options: Sequence[str], player: str, shape: float | None) -> str:
    """What starts a visitor's game, for the shell."""
    # -P: nothing that lies where the server was started is taken for a module.
    words = [sys.executable, "-P", "-m", "trainer", *options, "--player", player]
    if shape is not None:
        words += ["--cell-shape", f"{shape:.3f}"]
    return subprocess.list2cmdline(words) if os.name == "nt" else f"exec {shlex.join(words)}"


def shape_of(said: str | None) -> float | None:
    """Height of a cell over its width, as the page says it; None where that can't be."""
    try:
        shape = float(said or "nan")
    except ValueError:
        return None
    return shape if CELL_SHAPES[0] <= shape <= CELL_SHAPES[1] else None


def size_of(width: Any, height: Any) -> tuple[int, int]:
    """Columns and rows, as the page says them, or the nearest that a screen may have."""
    found = []
    for said, usual, most in zip((width, height), USUAL_SIZE, MOST_SIZE, strict=True):
        try:
            found.append(min(max(int(said), 1), most))
        except (TypeError, ValueError, OverflowError):
            found.append(usual)
    return found[0], found[1]
