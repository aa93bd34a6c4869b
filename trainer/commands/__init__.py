"""What each command does, once its arguments are read. Nothing here imports Textual but ``app``."""

import argparse
from collections.abc import Callable

from trainer.commands import card, glyphs, history, levels, play, shot, simulate, tables

RUN: dict[str, Callable[[argparse.Namespace], int]] = {
    "app": play.app,
    "play": play.play,
    "shot": shot.shot,
    "levels": levels.levels,
    "tables": tables.tables,
    "glyphs": glyphs.glyphs,
    "simulate": simulate.simulate,
    "card": card.card,
    "report": history.report,
    "export": history.export,
    "import": history.import_,
}
