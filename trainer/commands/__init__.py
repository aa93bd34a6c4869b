"""What each command does, once its arguments are read. Nothing here imports Textual but ``screen``."""

import argparse
from importlib import import_module

# Command: its module here and the function in it. Only what is asked for is imported: a start has no time.
WHERE = {
    "app": ("play", "app"),
    "play": ("play", "play"),
    "today": ("today", "today"),
    "warmup": ("today", "warmup"),
    "shot": ("shot", "shot"),
    "levels": ("levels", "levels"),
    "tables": ("tables", "tables"),
    "table": ("table", "table"),
    "glyphs": ("glyphs", "glyphs"),
    "simulate": ("simulate", "simulate"),
    "card": ("card", "card"),
    "report": ("history", "report"),
    "export": ("history", "export"),
    "import": ("history", "import_"),
    "undo": ("undo", "undo"),
    "backups": ("backups", "backups"),
    "restore": ("backups", "restore"),
    "players": ("players", "players"),
}


def run(name: str, args: argparse.Namespace) -> int:
    """Do what a command does; its exit code."""
    module, function = WHERE[name]
    return int(getattr(import_module(f"trainer.commands.{module}"), function)(args))
