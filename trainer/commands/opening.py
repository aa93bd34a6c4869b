"""Opening a player's game from the arguments of a command."""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from trainer.commands.problems import CommandError
from trainer.game.game import Game
from trainer.records.clock import Clock, FixedClock, SystemClock
from trainer.records.folder import data_folder
from trainer.records.store import Records
from trainer.shots.shelf import Shelf, open_shelf

OWN_LEVELS = "levels"  # the folder of a player's own levels, inside the data folder


def clock_of(args: argparse.Namespace) -> Clock:
    """The clock that ``--now`` stops, or the system's."""
    if args.now is None:
        return SystemClock()
    try:
        return FixedClock(args.now)
    except ValueError as error:
        raise CommandError(f"--now: {error}") from None


def shelf_of(args: argparse.Namespace) -> Shelf:
    """The built-in levels and the player's own."""
    return open_shelf(folder_of(args) / OWN_LEVELS)


def folder_of(args: argparse.Namespace) -> Path:
    """The data folder that the arguments name."""
    return data_folder(args.data)


@contextmanager
def open_records(args: argparse.Namespace) -> Iterator[Records]:
    """The player's history, closed at the end."""
    with Records.open(folder_of(args), clock_of(args)) as records:
        yield records


@contextmanager
def open_game(args: argparse.Namespace) -> Iterator[Game]:
    """The player's game, closed at the end."""
    with open_records(args) as records:
        yield Game(records, shelf_of(args))
