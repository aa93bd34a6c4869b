"""Opening the game on the screen."""

import argparse
import os
import sys

from trainer.commands.opening import open_game, own_colours, own_glyphs, player_of, settings_of
from trainer.commands.problems import CommandError


def show(
    args: argparse.Namespace,
    wanted: argparse.Namespace | None = None,
    *,
    table: bool = False,
    instead: str = "trainer play --lines",
) -> int:
    """Open the game: at home, with the set that is wanted, or at the table notebook.

    ``instead`` is what does the same without a terminal.

    Raises
    ------
    CommandError
        If there is no terminal.
    Damaged
        If the history turned out to be, while the game was on the screen.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise CommandError("the game needs a terminal for input and output; for scripts there is: " + instead)
    settings, problems = settings_of(args)
    glyphs, colours = own_glyphs(os.environ, settings), own_colours(os.environ, settings)
    from trainer.app.app import TrainerApp

    with open_game(args) as game:
        start = None
        if wanted is not None:
            level = game.level(wanted.level, wanted.drill)
            start = game.begin(level, wanted.shots, wanted.seed)
        app = TrainerApp(
            game,
            start,
            glyphs=glyphs.value,
            colours=colours.value,
            cell_aspect=settings.cell_shape,
            problems=problems,
            player=player_of(args),
            table=table,
            recovered=args.recovered,
        )
        app.run()
    if app.damage is not None:
        raise app.damage
    return 0
