"""Opening a player's game from the arguments of a command."""

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from trainer.commands.console import CommandError, bar, message_of
from trainer.geometry.tables import Table
from trainer.history.clock import ROLLOVER_HOUR, Clock, FixedClock, SystemClock, local_day
from trainer.history.files import data_folder
from trainer.history.store import History
from trainer.levels.shelf import Shelf, open_shelf, read_tables
from trainer.levels.table_file import read_table_file, with_own
from trainer.levels.toml_reader import SUFFIX, is_name
from trainer.pictures import GlyphSet
from trainer.pictures.terminal import Chosen, Depth, Source, chosen_colours, chosen_glyphs
from trainer.play.game import Game
from trainer.play.player_model import work
from trainer.settings.players import chosen_player, player_folder
from trainer.settings.settings import Settings, read_settings
from trainer.shots.check import table_named
from trainer.shots.style import USUAL, Style

OWN_LEVELS, OWN_TABLES = "levels", "tables"  # a player's own, inside the data folder


def clock_of(args: argparse.Namespace) -> Clock:
    """The clock that ``--now`` stops, or the system's."""
    if args.now is None:
        return SystemClock()
    try:
        return FixedClock(args.now)
    except ValueError as error:
        raise CommandError(f"--now: {error}") from None


def shelf_of(args: argparse.Namespace) -> Shelf:
    """The built-in levels and tables and the player's own."""
    folder = folder_of(args)
    return open_shelf(folder / OWN_LEVELS, folder / OWN_TABLES)


def own_level(folder: Path, name: str) -> Path:
    """The file of a player's own level."""
    return folder / OWN_LEVELS / f"{name}{SUFFIX}"


def tables_of(args: argparse.Namespace) -> tuple[dict[str, Table], tuple[str, ...]]:
    """The player's own tables, and the problems of those that can't be used."""
    return read_tables(folder_of(args) / OWN_TABLES)


def table_of(args: argparse.Namespace, name: str) -> Table:
    """The table of this name; for one of the player's own that can't be used, every problem is said."""
    file = folder_of(args) / OWN_TABLES / f"{name}{SUFFIX}"
    if is_name(name) and file.is_file():
        return read_table_file(file)
    return table_named(name, with_own(tables_of(args)[0]))


def folder_of(args: argparse.Namespace) -> Path:
    """The folder of the player whom the arguments name."""
    return player_folder(data_folder(args.data), player_of(args))


def player_of(args: argparse.Namespace) -> str | None:
    """The name of the player, None for the one without a name."""
    return chosen_player(args.player)


def settings_of(args: argparse.Namespace) -> tuple[Settings, tuple[str, ...]]:
    """The player's settings, and what is wrong with their file."""
    return read_settings(folder_of(args))


def style_of(args: argparse.Namespace) -> Style:
    """How lengths and parts of a ball are written; in JSON as usual, the same for everybody."""
    lines = getattr(args, "lines", False) and not getattr(args, "plain", False)
    return USUAL if lines or getattr(args, "json", False) else settings_of(args)[0].style


def today_of(args: argparse.Namespace) -> str:
    """The player's day it is, ``YYYY-MM-DD``."""
    return local_day(clock_of(args).now(), settings_of(args)[0].day_begins)


@contextmanager
def history_of(
    folder: Path, clock: Clock, rollover_hour: int = ROLLOVER_HOUR, *, asks: bool = False
) -> Iterator[History]:
    """The history of a folder, closed at the end; ``asks``: nothing is to be kept in it.

    Where something fails that has no message, the whole file is checked: if a value in it is none that the
    trainer writes, that is what is said.
    """
    with History.open(folder, clock, rollover_hour, asks=asks) as history:
        try:
            yield history
        except Exception as error:
            if message_of(error) is None:
                history.check()
            raise


@contextmanager
def open_history(args: argparse.Namespace, *, asks: bool = False) -> Iterator[History]:
    """The player's history, closed at the end; ``asks``: nothing is to be kept, so it may be read only."""
    begins = settings_of(args)[0].day_begins
    with history_of(folder_of(args), clock_of(args), begins, asks=asks) as history:
        yield history
        if history.unwritten is not None:
            print(f"trainer: {history.unwritten}", file=sys.stderr)
        history.keep_play()
        history.wait_for_copy()
        if history.backup_problem:
            print(f"trainer: {history.backup_problem}", file=sys.stderr)


@contextmanager
def open_game(args: argparse.Namespace, *, asks: bool = False) -> Iterator[Game]:
    """The player's game, closed at the end; ``asks``: nothing is to be kept, so it may be read only."""
    with open_history(args, asks=asks) as history:
        with bar(max(work(history.ever()), 1)) as progress:  # after an import everything is worked out anew
            game = Game(history, shelf_of(args), style=style_of(args), progress=progress.add)
        game.paced = settings_of(args)[0].pace == "on"
        yield game


def own_glyphs(settings: Settings) -> Chosen[GlyphSet]:
    """What pictures are drawn with: a variable says it, the settings, or what the terminal is known for."""
    try:
        found = chosen_glyphs(os.environ, settings.glyphs)
    except ValueError as error:
        raise CommandError(str(error)) from None
    known = found.source in (Source.VARIABLE, Source.OWN)
    return found if known or takes_shapes() else Chosen("plain", Source.KNOWN)


def takes_shapes() -> bool:
    """Whether what standard output is written in has more than letters."""
    try:
        "\N{QUADRANT UPPER LEFT}".encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def own_colours(settings: Settings) -> Chosen[Depth]:
    """How many colours pictures have, in the same order."""
    try:
        return chosen_colours(os.environ, settings.colours)
    except ValueError as error:
        raise CommandError(str(error)) from None
