"""``trainer report``."""

import argparse
import json
from pathlib import Path

from trainer.commands.console import UsageError
from trainer.commands.opening import open_game
from trainer.drills.words import counted
from trainer.history.errors import shown
from trainer.history.files import write_text
from trainer.history.streaks import RULE
from trainer.play.measure import measures_of
from trainer.report import report as reports
from trainer.report import wording as words
from trainer.report.notebook import Notebook
from trainer.report.weeks import LEAST_WEEKS, calendar_of
from trainer.report.wording import kind_words

MOST_WEEKS = 12  # that the text shows
PAGES = (".html", ".htm")


def report(args: argparse.Namespace) -> int:
    """Say what the player sees well, and what thick or thin, and which weeks had practice."""
    if args.page is not None:
        return _page(args)
    with open_game(args, asks=True) as game:
        if args.json:
            print(json.dumps(reports.report(game)))
            return 0
        if not game.attempts and not Notebook(game).notes:
            print("Nothing is known yet: play a set first.")
            return 0
        calendar = calendar_of(game, MOST_WEEKS)
        weeks = max(LEAST_WEEKS, min(calendar.long, MOST_WEEKS))
        lines, changes = words.calendar_lines(calendar, weeks, game.style), reports.change_lines(game)
        settled = sum(kind.settled for kind in reports.game_kinds(game))
        headline, rows = reports.headline(game), reports.game_kinds(game)
        views = reports.view_lines(game)
        looks = reports.looks_line(game)
        sighting, said = reports.sighting_line(game), game.diagnosis.said
        table = reports.table_lines(Notebook(game))
        measured = words.measure_lines(measures_of(game.history), MOST_WEEKS, game.style)
    print(headline, said, "", sep="\n")
    for row in rows:
        if row.attempts:
            said = kind_words(row, game.style)
            print(f"  {row.band:>7} {row.side:<5}  {counted(row.attempts, 'call'):>9}  {said}")
    for line in filter(None, (*views, looks, sighting)):
        print(line)
    if table:
        print("At the table:", *table, sep="\n")
    print("", *lines, "", words.streak_words(calendar.streak), RULE, sep="\n")
    print(words.runs_words(calendar, settled), "", sep="\n")
    if measured:
        print(f"{words.MEASURED}:", *measured, "", sep="\n")
    print(f"{words.COMPARED}:")
    for said, _ in changes:
        print(f"  {said}")
    print(words.POWER)
    return 0


def _page(args: argparse.Namespace) -> int:
    """Write the report as a page."""
    from trainer.report.page import page

    if args.json:
        raise UsageError("--page and --json: one of them at a time")
    target = Path(args.page)
    if target.suffix.lower() not in PAGES:
        raise UsageError(f"--page: {shown(target)} has no known ending; allowed: {', '.join(PAGES)}")
    with open_game(args, asks=True) as game:
        text = page(game)
    write_text(target, text)
    print(f"The report is written to {shown(target)}")
    return 0
