"""``trainer report``, ``trainer export`` and ``trainer import``."""

import argparse
import json
from pathlib import Path

from trainer.commands.opening import open_game, open_records
from trainer.drills.words import counted
from trainer.game import report as reports
from trainer.game.words import kind_words
from trainer.records import transfer
from trainer.records.errors import shown


def report(args: argparse.Namespace) -> int:
    """Say what the player sees well, and what thick or thin."""
    with open_game(args) as game:
        if args.json:
            print(json.dumps(reports.report(game)))
            return 0
        headline, rows = reports.headline(game), reports.game_kinds(game)
        sighting = reports.sighting_line(game)
    print(headline)
    for row in rows:
        if row.attempts:
            print(f"  {row.band:>7} {row.side:<5}  {counted(row.attempts, 'call'):>9}  {kind_words(row)}")
    if sighting:
        print(sighting)
    return 0


def export(args: argparse.Namespace) -> int:
    """Write every attempt to a file."""
    with open_records(args) as records:
        count = transfer.export(records, Path(args.file))
    print(f"{count} attempts written to {shown(Path(args.file))}")
    return 0


def import_(args: argparse.Namespace) -> int:
    """Take in the attempts of an exported file."""
    with open_records(args) as records:
        result = transfer.import_(records, Path(args.file))
    undone = f", {result.undone} taken back" if result.undone else ""
    print(f"{result.added} attempts added, {result.already_there} were there already{undone}")
    return 0
