"""``trainer players`` and ``trainer keys``: who plays here, and with which keys."""

import argparse
import json
import sys
from pathlib import Path

from trainer.commands.opening import clock_of, folder_of, history_of, settings_of
from trainer.drills.words import counted
from trainer.history import TrainerError
from trainer.history.files import data_folder
from trainer.history.store import FILE
from trainer.settings.keys import listed
from trainer.settings.players import player_folder
from trainer.settings.players import players as named
from trainer.settings.settings import FILE as SETTINGS_FILE

NAMELESS = "(no name)"


def players(args: argparse.Namespace) -> int:
    """List the players of a data folder."""
    data = data_folder(args.data)
    rows, problems = [], []
    for name in (None, *named(data)):
        row: dict[str, str | int | None] = {"name": name, "calls": 0, "last_day": None}
        try:
            row |= _played(args, player_folder(data, name))
        except TrainerError as error:
            row["calls"] = None
            problems.append(str(error))
        if name is not None or row["calls"] != 0:
            rows.append(row)
    if args.json:
        print(json.dumps({"players": rows, "problems": problems}, ensure_ascii=False))
        return 0
    if not rows:
        print("Nobody has played yet. trainer --player NAME plays as somebody with a history of their own.")
    wide = max((len(str(row["name"] or NAMELESS)) for row in rows), default=0)
    for row in rows:
        calls, last = row["calls"], row["last_day"]
        said = "can't be read" if calls is None else counted(int(calls), "call")
        print(f"{row['name'] or NAMELESS:<{wide}}  {said}" + (f", last on {last}" if last else ""))
    for problem in problems:
        print(f"trainer: {problem}", file=sys.stderr)
    return 0


def _played(args: argparse.Namespace, folder: Path) -> dict[str, str | int | None]:
    """How many calls count, and the last day with practice."""
    if not (folder / FILE).exists():
        return {}
    with history_of(folder, clock_of(args)) as history:
        days = history.days()
        return {"calls": history.count(), "last_day": days[-1] if days else None}


def keys(args: argparse.Namespace) -> int:
    """List every action with its keys, as lines that the settings take."""
    settings, problems = settings_of(args)
    print(f"# Lines for {folder_of(args) / SETTINGS_FILE}. Those with # are as usual:")
    print('# change the keys and take the # away. More than one stand apart by blanks, as "v tab".')
    print('# hand = "left", or "right", above all tables of the file gives a key set for that hand alone.\n')
    print(listed(settings.hand, settings.keys), end="")
    for problem in problems:
        print(f"# {problem}")
    return 0
