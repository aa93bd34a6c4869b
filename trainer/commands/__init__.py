"""What each command does, once its arguments are read. Nothing here imports Textual but ``play.show``."""

import argparse
import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from trainer.history.errors import Damaged

# Command: its module and function. Only the one that is asked for is imported, so that a start is quick.
WHERE = {
    "app": ("play", "app"),
    "play": ("play", "play"),
    "today": ("play", "today"),
    "warmup": ("play", "warmup"),
    "shot": ("shot", "shot"),
    "levels": ("levels", "levels"),
    "tables": ("levels", "tables"),
    "table": ("table", "table"),
    "terminal": ("terminal", "terminal"),
    "keys": ("player", "keys"),
    "simulate": ("simulate", "simulate"),
    "card": ("card", "card"),
    "report": ("report", "report"),
    "export": ("history", "export"),
    "import": ("history", "import_"),
    "undo": ("history", "undo"),
    "backups": ("history", "backups"),
    "restore": ("history", "restore"),
    "players": ("player", "players"),
    "serve": ("serve", "serve"),
}


def run(name: str, args: argparse.Namespace) -> int:
    """Carry out a command.

    Where the history turns out to be damaged, the newest good copy takes its place, and the command begins
    once more.
    """
    from trainer.history.errors import Damaged

    module, function = WHERE[name]
    carry_out: Any = getattr(import_module(f"trainer.commands.{module}"), function)
    args.recovered = ""
    try:
        return int(carry_out(args))
    except Damaged as error:
        # Without its traceback, whose frames hold the file open.
        damage = Damaged(str(error), error.file, error.why)
    said = _recovered(damage, args)
    if said is None:
        raise damage
    args.recovered = said
    if args.recovered:
        print(f"trainer: {args.recovered}", file=sys.stderr, flush=True)
    return int(carry_out(args))


def _recovered(error: "Damaged", args: argparse.Namespace) -> str | None:
    """What was done about a damaged history; None where nothing could be."""
    from trainer.commands.opening import clock_of, settings_of
    from trainer.history.restore import recover

    return recover(error, clock_of(args), settings_of(args)[0].day_begins)
