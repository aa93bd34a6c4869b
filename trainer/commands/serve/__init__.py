"""``trainer serve``: the game in a browser, for each visitor one of their own."""

import argparse
import asyncio
import os
import sys
from collections.abc import MutableMapping
from functools import partial

from trainer.commands.problems import CommandError, UsageError
from trainer.commands.serve.visitor import is_local
from trainer.history.files import data_folder

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
        If a player is named, or the host is empty.
    """
    if args.player is not None:
        raise UsageError("serve: each visitor has a history of their own, so --player can't be given here")
    if not args.host.strip():  # it would mean every address of this machine
        raise UsageError("serve: --host is empty; allowed is a name or an address of this machine")
    data = data_folder(args.data)
    try:
        from trainer.commands.serve.server import Serving
    except ModuleNotFoundError as error:
        raise CommandError(
            f"serve needs {error.name}, which isn't installed; install the extra: pip install '{EXTRA}', "
            "or in the trainer's folder pip install '.[web]'"
        ) from None
    for_a_browser(os.environ)
    options = ["--data", str(data)] if args.now is None else ["--data", str(data), "--now", args.now]
    serving = Serving(options, args.host)
    try:
        asyncio.run(serving.run(args.port, partial(_say, args.host)))
    except (OSError, UnicodeError) as error:
        why = (error.strerror or "").rpartition(": ")[2] if isinstance(error, OSError) else "no such host"
        raise CommandError(
            f"serve: port {args.port} of {args.host[:60]!r} can't be used: {why}; give another with --port"
        ) from None
    return 0


def _say(host: str, port: int) -> None:
    """Where it is, and who can come."""
    if not is_local(host):
        said = f"trainer: whoever reaches {host} can play here, over plain http; the usual host is 127.0.0.1"
        print(said, file=sys.stderr, flush=True)
    shown = f"[{host}]" if ":" in host else host
    print(f"Open http://{shown}:{port} in a browser; ctrl+c ends it.", flush=True)


def for_a_browser(environ: MutableMapping[str, str]) -> None:
    """Have the environment tell of the page's terminal: it has every colour, and draws quadrants itself.

    Quadrants are what is taken where no more is known; of sextants and wedges it would take whatever font
    the browser finds.
    """
    for name in FOREIGN:
        environ.pop(name, None)
    environ.update(TERM="xterm-256color", COLORTERM="truecolor")
