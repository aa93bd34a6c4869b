"""What each command does, once its arguments are read. Nothing here imports Textual but ``app``."""

import argparse
from collections.abc import Callable

from trainer.commands import (
    backups,
    card,
    glyphs,
    history,
    levels,
    play,
    players,
    shot,
    simulate,
    table,
    tables,
    today,
    undo,
)

RUN: dict[str, Callable[[argparse.Namespace], int]] = {
    "app": play.app,
    "play": play.play,
    "today": today.today,
    "warmup": today.warmup,
    "shot": shot.shot,
    "levels": levels.levels,
    "tables": tables.tables,
    "table": table.table,
    "glyphs": glyphs.glyphs,
    "simulate": simulate.simulate,
    "card": card.card,
    "report": history.report,
    "export": history.export,
    "import": history.import_,
    "undo": undo.undo,
    "backups": backups.backups,
    "restore": backups.restore,
    "players": players.players,
}
