"""What each command does, once its arguments are read. Nothing here imports Textual but ``play.show``."""

import sys
from importlib import import_module

TYPE_CHECKING = False  # without typing itself, whose import is felt
if TYPE_CHECKING:
    import argparse
    from typing import Any

    from trainer.history.errors import Damaged

# The module of each command that isn't one by itself. Only the one that is asked for is imported, so that a
# start is quick.
WHERE = {
    **dict.fromkeys(("app", "today", "warmup"), "play"),
    **dict.fromkeys(("export", "import", "undo", "backups", "restore", "players"), "history"),
    "tables": "levels",
    "keys": "terminal",
}


def run(name: str, args: "argparse.Namespace") -> int:
    """Carry out a command.

    Where the history turns out to be damaged, the newest good copy takes its place, and the command begins
    once more.
    """
    from trainer.history.errors import Damaged

    module = import_module(f"trainer.commands.{WHERE.get(name, name)}")
    carry_out: Any = getattr(module, "import_" if name == "import" else name)
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


def _recovered(error: "Damaged", args: "argparse.Namespace") -> str | None:
    """What was done about a damaged history; None where nothing could be."""
    from trainer.commands.opening import clock_of, settings_of
    from trainer.history.repair import recover

    return recover(error, clock_of(args), settings_of(args)[0].day_begins)
